package render

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
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
	return unicode.IsControl(r) || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == 0x200e || r == 0x200f || r == 0x61c
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

// writeJSON writes a value as CleanJSON would, piece by piece: a report of all the notices that there
// may be is more than memory should hold twice.
func writeJSON(w io.Writer, v any) error {
	c := cleaner{w: w}
	if err := json.MarshalWrite(&c, v, jsontext.WithIndent("  "), jsontext.AllowInvalidUTF8(true)); err != nil {
		return err
	}
	if _, err := w.Write(append(CleanJSON(c.rest), '\n')); err != nil {
		return err
	}
	return nil
}

// cleaner passes JSON on as CleanJSON makes it.
type cleaner struct {
	w    io.Writer
	rest []byte // the beginning of a letter of which the rest is still to come
}

// Write takes a piece, which may end within a letter.
func (c *cleaner) Write(p []byte) (int, error) {
	text := append(c.rest, p...)
	whole := len(text)
	for i := 1; i < utf8.UTFMax && i <= len(text); i++ {
		if at := len(text) - i; utf8.RuneStart(text[at]) {
			if !utf8.FullRune(text[at:]) {
				whole = at
			}
			break
		}
	}
	if _, err := c.w.Write(CleanJSON(text[:whole])); err != nil {
		return 0, err
	}
	c.rest = append([]byte(nil), text[whole:]...)
	return len(p), nil
}
