package workbook

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// plain marks the bytes that stand for themselves in XML text.
var plain = func() (table [256]bool) {
	for c := 0x20; c < 0x80; c++ {
		table[c] = c != '&'
	}
	table['\t'], table['\n'] = true, true
	return table
}()

// appendText appends the text that a piece of XML stands for: references are replaced, line ends
// become line feeds (XML 1.0, section 2.11), and what is no character of XML is refused.
func appendText(dst, raw []byte, cdata bool) ([]byte, error) {
	for at := 0; ; {
		from := at
		for at < len(raw) && plain[raw[at]] {
			at++
		}
		dst = append(dst, raw[from:at]...)
		if at == len(raw) {
			return dst, nil
		}
		c := raw[at]
		switch {
		case c == '\r':
			dst = append(dst, '\n')
			at++
			if at < len(raw) && raw[at] == '\n' {
				at++
			}
		case c == '&' && cdata:
			dst = append(dst, c)
			at++
		case c == '&':
			r, size, err := reference(raw[at:])
			if err != nil {
				return dst, err
			}
			dst = utf8.AppendRune(dst, r)
			at += size
		default:
			r, size := utf8.DecodeRune(raw[at:])
			if r == utf8.RuneError && size <= 1 || !isCharacter(r) {
				return dst, fmt.Errorf("the XML holds the byte 0x%02X where no character has it: the file is damaged", c)
			}
			dst = append(dst, raw[at:at+size]...)
			at += size
		}
	}
}

// attrText returns the text of an attribute.
func attrText(raw []byte) (string, error) {
	text, err := appendText(nil, raw, false)
	return string(text), err
}

// reference reads a reference such as &amp; or &#233; and returns the character and its length.
func reference(raw []byte) (rune, int, error) {
	end := bytes.IndexByte(raw[:min(len(raw), 16)], ';')
	if end < 0 {
		return 0, 0, errors.New("the XML holds an & that begins no character: the file is damaged")
	}
	name := raw[1:end]
	switch string(name) {
	case "amp":
		return '&', end + 1, nil
	case "lt":
		return '<', end + 1, nil
	case "gt":
		return '>', end + 1, nil
	case "quot":
		return '"', end + 1, nil
	case "apos":
		return '\'', end + 1, nil
	}
	if r, ok := numbered(name); ok {
		return r, end + 1, nil
	}
	return 0, 0, fmt.Errorf("the XML holds &%s; which is no character", bytes.ToValidUTF8(name, []byte("?")))
}

// numbered reads #233 and #xE9.
func numbered(name []byte) (rune, bool) {
	if len(name) < 2 || name[0] != '#' {
		return 0, false
	}
	name = name[1:]
	base := rune(10)
	if name[0] == 'x' {
		name, base = name[1:], 16
	}
	if len(name) == 0 {
		return 0, false
	}
	var r rune
	for _, c := range name {
		digit, ok := hexDigit(c)
		if !ok || digit >= base {
			return 0, false
		}
		if r = r*base + digit; r > utf8.MaxRune {
			return 0, false
		}
	}
	return r, isCharacter(r)
}

// isCharacter reports whether XML 1.0, section 2.2, allows the character.
func isCharacter(r rune) bool {
	switch {
	case r < 0x20:
		return r == '\t' || r == '\n' || r == '\r'
	case r >= 0xD800 && r <= 0xDFFF, r == 0xFFFE, r == 0xFFFF, r > utf8.MaxRune:
		return false
	}
	return true
}

func hexDigit(c byte) (rune, bool) {
	switch {
	case c >= '0' && c <= '9':
		return rune(c - '0'), true
	case c|0x20 >= 'a' && c|0x20 <= 'f':
		return rune(c|0x20-'a') + 10, true
	}
	return 0, false
}

// unescape replaces, in place, the escapes by which a workbook writes characters that XML does not
// allow: _x000D_ for a carriage return, _x005F_ for an underscore that would begin an escape
// (ISO/IEC 29500-1 clause 22.4.2.4, bstr). Halves of a pair without the other become U+FFFD.
func unescape(text []byte) []byte {
	first := bytes.Index(text, []byte("_x"))
	if first < 0 {
		return text
	}
	out := text[:first]
	for at := first; at < len(text); {
		unit, ok := escape(text[at:])
		if !ok {
			out = append(out, text[at])
			at++
			continue
		}
		at += escapeLength
		if utf16.IsSurrogate(unit) {
			if low, ok := escape(text[at:]); ok && utf16.DecodeRune(unit, low) != utf8.RuneError {
				unit = utf16.DecodeRune(unit, low)
				at += escapeLength
			}
		}
		out = utf8.AppendRune(out, unit)
	}
	return out
}

const escapeLength = len("_x000D_")

func escape(text []byte) (rune, bool) {
	if len(text) < escapeLength || text[0] != '_' || text[1] != 'x' || text[6] != '_' {
		return 0, false
	}
	var unit rune
	for _, c := range text[2:6] {
		digit, ok := hexDigit(c)
		if !ok {
			return 0, false
		}
		unit = unit<<4 | digit
	}
	return unit, true
}

// sharedTexts returns the list of texts that cells refer to by number, and reads it when it is first
// wanted.
func (w *workbook) sharedTexts() ([]string, error) {
	if w.loaded || w.sharedPart == "" {
		return w.shared, nil
	}
	list := textList{limits: w.limits}
	if err := w.readPart(w.sharedPart, list.read); err != nil {
		return nil, err
	}
	w.shared, w.loaded = list.texts, true
	return w.shared, nil
}

// textList gathers texts in few large pieces: a piece is one string, and each text a slice of it.
type textList struct {
	limits grid.Limits
	texts  []string
	piece  []byte
	ends   []int // of the texts in piece
}

const pieceSize = 256 << 10

func (l *textList) read(s *scanner) error {
	if err := s.root("sst"); err != nil {
		return err
	}
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			l.flush()
			return nil
		}
		if string(s.name) != "si" {
			continue
		}
		if n := int64(len(l.texts) + len(l.ends)); n >= l.limits.SharedStrings {
			return &grid.LimitError{Limit: "texts", Value: n + 1, Max: l.limits.SharedStrings}
		}
		start := len(l.piece)
		if l.piece, err = appendRich(l.piece, s, l.limits.CellLength); err != nil {
			return err
		}
		l.piece = l.piece[:start+len(unescape(l.piece[start:]))]
		l.ends = append(l.ends, len(l.piece))
		if len(l.piece) >= pieceSize {
			l.flush()
		}
	}
}

func (l *textList) flush() {
	piece := string(l.piece)
	start := 0
	for _, end := range l.ends {
		l.texts = append(l.texts, piece[start:end])
		start = end
	}
	l.piece, l.ends = l.piece[:0], l.ends[:0]
}

// appendRich appends the text of the element just started, an "si" or an "is": that of its "t" and of
// the "t" of its runs "r", and not that of the phonetic runs "rPh" (ISO/IEC 29500-1 clause 18.4).
// Blanks at the ends are kept whatever xml:space says, so nothing that was typed is lost.
func appendRich(dst []byte, s *scanner, longest int64) ([]byte, error) {
	start := len(dst)
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if !ok || err != nil {
			return dst, err
		}
		switch string(s.name) {
		case "t":
			if dst, err = appendElement(dst, start, s, longest); err != nil {
				return dst, err
			}
		case "r":
			for run := s.depth(); ; {
				ok, err := s.child(run)
				if err != nil {
					return dst, err
				}
				if !ok {
					break
				}
				if string(s.name) == "t" {
					if dst, err = appendElement(dst, start, s, longest); err != nil {
						return dst, err
					}
				}
			}
		}
	}
}

// appendElement appends the text of the element just started. The cell's text began at start.
func appendElement(dst []byte, start int, s *scanner, longest int64) ([]byte, error) {
	for depth := s.depth(); ; {
		t, err := s.next()
		if err != nil {
			return dst, err
		}
		switch {
		case t == textRun && s.depth() == depth:
			if dst, err = appendText(dst, s.text, s.cdata); err != nil {
				return dst, err
			}
			if n := int64(len(dst) - start); n > longest {
				return dst, &grid.LimitError{Limit: "cell", Value: n, Max: longest}
			}
		case t == endTag && s.depth() < depth:
			return dst, nil
		}
	}
}
