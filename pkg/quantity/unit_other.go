package quantity

import "math/big"

// The units beyond the list of the format. A measure in one of them is converted exactly and has no stated unit; the
// words of the finder keep it.
const (
	micrometre Unit = listedCount + iota
	decimetre
	kilometre
	thou
	twelfthLine
	fortiethLine
	surveyFoot
	fathom
	chain
	furlong
	mile
	microgram
	decagram
	hectogram
	tonne
	carat
	scruple
	dramApothec
	dramAvoir
	stone
	troyPound
	unitCount
)

// OtherUnit is a unit that is read although a Quantity cannot state it: one of it is Numerator/Denominator of
// Unit, CM or G, in lowest terms.
type OtherUnit struct {
	Name                   string
	Unit                   Unit
	Numerator, Denominator uint64
}

// OtherUnits returns the units beyond the list that are read exactly, lengths first.
func OtherUnits() []OtherUnit {
	var all []OtherUnit
	for u := listedCount; u < unitCount; u++ {
		into := CM
		if units[u].dimension == Mass {
			into = G
		}
		r := ratios[u][into]
		all = append(all, OtherUnit{Name: units[u].code, Unit: into, Numerator: r.p, Denominator: r.q})
	}
	return all
}

// Size writes how large the unit is: "20 cm", "127/600 cm".
func (o OtherUnit) Size() string {
	r := new(big.Rat).SetFrac(new(big.Int).SetUint64(o.Numerator), new(big.Int).SetUint64(o.Denominator))
	text := r.RatString()
	if places, exact := r.FloatPrec(); exact {
		text = r.FloatString(places)
	}
	return text + " " + o.Unit.String()
}

// otherUnit reads a unit beyond the list behind the number m, and what makes it plain where its name alone has several
// meanings: avoirdupois, troy, metric, or the size in brackets. It returns the unit and how many tokens it takes;
// 0 for a text that begins no such unit. Where the meaning stays open it fails.
func (p *parser) otherUnit(m *measure) (u Unit, n int) {
	t, next := p.tok(), p.peek(1)
	switch {
	case t.is(wSurvey) && next.is(wUnit) && next.word.unit == FT:
		return surveyFoot, 2
	case t.is(wCountry) && next.is(wSurvey) && p.peek(2).is(wUnit) && p.peek(2).word.unit == FT:
		return surveyFoot, 3
	case t.is(wTroy) && next.is(wUnit) && next.word.unit == LB:
		return troyPound, 2
	case t.is(wMetric) && next.is(wCarat):
		return carat, 2
	case t.is(wAvoir) && next.is(wDram):
		return dramAvoir, 2
	case t.is(wApothecary) && next.is(wDram):
		return dramApothec, 2
	case t.is(wApothecary) && next.is(wOther) && next.word.unit == scruple:
		return scruple, 2
	case t.is(wOther):
		return t.word.unit, 1
	case t.is(wCarat):
		if next.is(wMetric) || next.kind == kOpen && p.peek(2).is(wMetric) || !fineness(m) {
			return carat, 1
		}
		p.failAt(CodeUnitAmbiguous, m.at, t.end,
			"this may be the fineness of gold, which is no weight, or metric carats of 200 mg",
			"write the weight in g or mg, or \"metric carat\"; the fineness belongs to the material")
	case t.is(wDram):
		switch {
		case next.is(wAvoir):
			return dramAvoir, 2
		case next.is(wApothecary):
			return dramApothec, 2
		case next.kind == kOpen && p.peek(2).is(wAvoir):
			return dramAvoir, 1
		case next.kind == kOpen && p.peek(2).is(wApothecary):
			return dramApothec, 1
		}
		p.failAt(CodeUnitAmbiguous, t.at, t.end, "an avoirdupois dram is 1.77 g, an apothecaries' dram 3.89 g",
			"write dram avoirdupois or dram apothecaries, or give the weight in g")
	case t.is(wLine):
		if size, ok := p.inchPart(1); ok {
			return size, 1
		}
		p.failAt(CodeUnitAmbiguous, t.at, t.end,
			"a line is 1/12 in to some, 1/40 in to button makers, and 2.26 mm in old French measure",
			"give the size in mm, or the line with its size: 1 line (1/12 in)")
	case t.is(wMil):
		if next.kind == kOpen && p.peek(2).is(wOther) && p.peek(2).word.unit == thou {
			return thou, 1
		}
		p.failAt(CodeUnitAmbiguous, t.at, t.end,
			"a mil is a thousandth of an inch to some, a millimetre to others, and 10 km in Swedish", "write mm, or thou")
	}
	return NoUnit, 0
}

// fineness reports whether a number of carats is one that gold is stamped with.
func fineness(m *measure) bool {
	if m.den != 1 {
		return false
	}
	switch m.num {
	case 8, 9, 10, 12, 14, 15, 18, 20, 21, 22, 23, 24:
		return true
	}
	return false
}

// inchPart reads (1/12 in) or (1/40 in) behind the word line, n tokens further on.
func (p *parser) inchPart(n int) (Unit, bool) {
	if p.peek(n).kind != kOpen || p.peek(n+1).kind != kNumber || p.peek(n+1).num != 1 || p.peek(n+2).kind != kSlash ||
		p.peek(n+3).kind != kNumber {
		return NoUnit, false
	}
	if in := p.peek(n + 4); in.kind != kInch && !(in.is(wUnit) && in.word.unit == IN) {
		return NoUnit, false
	}
	switch p.peek(n + 3).num {
	case 12:
		return twelfthLine, true
	case 40:
		return fortiethLine, true
	}
	return NoUnit, false
}

// explained skips what names a unit beyond the list once more, in the brackets behind it: (thou), (metric carat), (1/12
// in), (avoirdupois dram).
func (p *parser) explained() bool {
	start := p.i
	if _, ok := p.inchPart(-1); ok && (p.hi.unit == twelfthLine || p.hi.unit == fortiethLine) {
		p.i += 4
		return p.tok().kind == kClose
	}
	named := false
	for t := p.tok(); t.is(wOther|wCarat|wDram|wLine|wMil|wSurvey|wCountry|wAvoir|wApothecary|wMetric|wTroy) ||
		t.is(wUnit) && named; t = p.tok() {
		named = true
		p.i++
	}
	if named && p.hi.unit >= listedCount && p.tok().kind == kClose {
		return true
	}
	p.i = start
	return false
}
