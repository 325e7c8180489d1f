package coordinate

// MayBeLetters tells whether a text may be a reference by grid letters. It is quick, and wrong only in
// one way: what it answers false to, [Normalise] does not read as one.
func MayBeLetters(s string) bool {
	figures := 0
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c >= 0x80:
			return true
		case c >= '0' && c <= '9':
			figures++
		}
	}
	if figures >= 2 { // one for the easting and one for the northing at least
		return true
	}
	// Letters alone are a square of 100 km where the system is named beside them.
	text, bad := tidy(s)
	if bad != nil {
		return false
	}
	_, system, _ := takeSystem(unlabelled(text))
	return system != nil
}
