package quantity

// MayState reports whether a text may be a length or a weight with its unit. It is quick, and wrong only
// in one way: what it answers false to, [NormaliseLength] and [NormaliseMass] refuse or read without a
// unit.
func MayState(s string) bool {
	if mayBeCanonical(s) {
		return true
	}
	if len(s) > maxLength {
		return false
	}
	var l lexer
	if !l.run(s) {
		return false
	}
	const units = wUnit | wTroy | wGrain | wUnlisted | wOther | wCarat | wDram | wDozen | wLine | wMil | wSurvey | wCountry | wAvoir | wApothecary | wMetric
	for i := range l.token[:l.n] {
		if t := &l.token[i]; t.kind == kInch || t.kind == kFoot || t.is(units) {
			return true
		}
	}
	return false
}
