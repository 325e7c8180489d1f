package quantity

import (
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/text"
)

// UnitOfHeading finds the unit in the heading of a column: "Depth (in)",
// "Depth [cm]", "depth_in", "weight g", "Tiefe (cm)". It reports false where
// there is none, where two differ ("in/cm"), and for gr, which may be the
// grain or the gram. Outside brackets the short words in, m and g count only
// behind the name of a measure, so that "Found in" has no unit.
func UnitOfHeading(s string) (Unit, bool) {
	if len(s) > maxLength {
		return NoUnit, false
	}
	if inner, ok := inBrackets(s); ok {
		return onlyUnit(inner)
	}
	// The last word, with the name of a measure somewhere before it.
	start := len(s)
	for start > 0 {
		c, size := utf8.DecodeLastRuneInString(s[:start])
		if !text.IsLetter(c) && !text.IsMark(c) && c != '"' && c != '.' {
			break
		}
		start -= size
	}
	if start == 0 || s[start-1] == '/' {
		return NoUnit, false
	}
	u, ok := onlyUnit(s[start:])
	if !ok {
		return NoUnit, false
	}
	if name := s[start:]; len(name) > 2 || len(name) == 2 && u != IN {
		return u, true
	}
	var l lexer
	if !l.run(spaced(s[:start])) {
		return NoUnit, false
	}
	for i := 0; i < l.n; i++ {
		if l.token[i].is(wNoise) {
			return u, true
		}
	}
	return NoUnit, false
}

// spaced writes blanks for the signs that join the words of a heading.
func spaced(s string) string {
	b := []byte(s)
	for i, c := range b {
		if c == '_' || c == '.' || c == '-' {
			b[i] = ' '
		}
	}
	return string(b)
}

// inBrackets returns what stands in the last brackets of s.
func inBrackets(s string) (string, bool) {
	end := -1
	for i := len(s) - 1; i >= 0; i-- {
		switch s[i] {
		case ')', ']', '}':
			if end < 0 {
				if c, _ := utf8.DecodeRuneInString(s[i+1:]); text.IsLetter(c) {
					return "", false
				}
				end = i
			}
		case '(', '[', '{':
			if end >= 0 {
				return s[i+1 : end], true
			}
		}
	}
	return "", false
}

// onlyUnit reads a text that is one unit and nothing else, but for "in" before
// it ("in cm", "in inches") and a point behind it.
func onlyUnit(s string) (Unit, bool) {
	var l lexer
	if !l.run(s) {
		return NoUnit, false
	}
	var p parser
	p.lexer = l
	if p.tok().is(wUnit) && p.tok().word.unit == IN && p.n > 1 && p.peek(1).is(wUnit|wTroy) {
		p.i++
	}
	for _, d := range [...]Dimension{Length, Mass} {
		q := p
		q.dimension = d
		var m measure
		if q.unit(&m) && q.tok().kind == kEnd && m.unit < listedCount {
			return m.unit, true
		}
	}
	return NoUnit, false
}
