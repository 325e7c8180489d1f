package render

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Clean makes text from a file harmless on a terminal: control characters, escapes and characters
// that turn the direction of writing are shown as a replacement character, and so is what is no
// UTF-8.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t':
			return ' '
		case obeyed(r):
			return unicode.ReplacementChar
		}
		return r
	}, s)
}

// obeyed tells a character that a terminal obeys instead of showing it.
func obeyed(r rune) bool {
	return unicode.IsControl(r) || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == 0x200e ||
		r == 0x200f || r == 0x61c
}

// CleanJSON writes the characters of a JSON text that a terminal would obey as escapes. The text
// means the same. White space of JSON stays, and what is no UTF-8 becomes a replacement character.
func CleanJSON(text []byte) []byte {
	harmless := func(r rune) bool { return !obeyed(r) || r == '\n' || r == '\t' || r == '\r' }
	if bytes.IndexFunc(text, func(r rune) bool { return !harmless(r) || r == utf8.RuneError }) < 0 {
		return text
	}
	out := make([]byte, 0, len(text)+64)
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		if harmless(r) {
			out = utf8.AppendRune(out, r)
		} else {
			out = fmt.Appendf(out, `\u%04x`, r)
		}
		text = text[size:]
	}
	return out
}
