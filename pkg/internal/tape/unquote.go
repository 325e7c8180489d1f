package tape

import (
	"unicode/utf16"
	"unicode/utf8"
)

// AppendString appends what a string node says to b.
func (t *Tape) AppendString(b []byte, i uint32) []byte {
	raw := t.Bytes(i)
	if !t.Nodes[i].Escaped {
		return append(b, raw...)
	}
	return unquoted(b, raw)
}

// unquoted appends what a text with escapes says.
func unquoted(b, raw []byte) []byte {
	for at := 0; at < len(raw); {
		c := raw[at]
		if c != '\\' {
			b = append(b, c)
			at++
			continue
		}
		switch c := raw[at+1]; c {
		case 'b':
			b = append(b, '\b')
		case 'f':
			b = append(b, '\f')
		case 'n':
			b = append(b, '\n')
		case 'r':
			b = append(b, '\r')
		case 't':
			b = append(b, '\t')
		case 'u':
			r, _ := codeUnit(raw[at:])
			if utf16.IsSurrogate(r) { // with its other half behind it
				at += 6
				low, _ := codeUnit(raw[at:])
				r = utf16.DecodeRune(r, low)
			}
			b = utf8.AppendRune(b, r)
			at += 4
		default:
			b = append(b, c)
		}
		at += 2
	}
	return b
}

// Float returns the value of a number node. It is exact as strconv.ParseFloat is: fifteen digits and
// a power of ten are whole numbers that a float64 holds, and their quotient is rounded once. False
// where there are more digits.
func (t *Tape) Float(i uint32) (float64, bool) {
	raw := t.Bytes(i)
	negative := raw[0] == '-'
	if negative {
		raw = raw[1:]
	}
	var n uint64
	digits, places := 0, -1
	for _, c := range raw {
		if c == '.' {
			places = 0
			continue
		}
		if c-'0' > 9 { // an exponent
			return 0, false
		}
		n = n*10 + uint64(c-'0')
		digits++
		if places >= 0 {
			places++
		}
	}
	if digits > 15 {
		return 0, false
	}
	f := float64(n)
	if places > 0 {
		f /= powers[places]
	}
	if negative {
		f = -f
	}
	return f, true
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}
