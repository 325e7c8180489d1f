package text

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// IsHidden reports whether a character shows nothing by itself and can make others show something else: a control
// character but for tab and line ends, or a mark that turns the direction of writing (Unicode Standard Annex #9,
// section 2).
func IsHidden(r rune) bool {
	switch {
	case r == '\t', r == '\n', r == '\r':
		return false
	case r < 0x20, r >= 0x7F && r < 0xA0:
		return true
	case r == 0x061C, r == 0x200E, r == 0x200F, r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069:
		return true
	}
	return false
}

// HasHidden reports whether a text has a character that IsHidden.
func HasHidden(s string) bool {
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c >= 0x7F {
			return strings.IndexFunc(s[i:], IsHidden) >= 0
		}
	}
	return false
}

// Visible returns a text with its hidden characters made visible: a control character as its picture (Unicode,
// block Control Pictures), any other as [U+202E].
func Visible(s string) string {
	if !HasHidden(s) {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case !IsHidden(r):
			_, size := utf8.DecodeRuneInString(s[i:])
			b.WriteString(s[i : i+size])
		case r < 0x20:
			b.WriteRune(0x2400 + r)
		case r == 0x7F:
			b.WriteRune(0x2421)
		default:
			fmt.Fprintf(&b, "[U+%04X]", r)
		}
	}
	return b.String()
}
