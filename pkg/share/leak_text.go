package share

import (
	"encoding/binary"
	"strings"
	"unicode/utf16"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// stamped are UUIDs in their usual form (RFC 9562 section 4), SHA-256 sums in hexadecimal digits, and days and spans of
// months in the form of ISO 8601.
var stamped = later(`([0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})|(\b[0-9a-fA-F]{64}\b)|` +
	`(\d{4}-\d{2}/\d{4}-\d{2}|\b\d{4}-\d{2}-\d{2}(?:T[\dA-Za-z:.+-]*)?)`)

// fixedOf returns from and to of every id, sum and stamp in a text.
func fixedOf(text string) (ids, sums, stamps [][2]int) {
	for _, m := range stamped().FindAllStringSubmatchIndex(text, -1) {
		at := [2]int{m[0], m[1]}
		switch {
		case m[2] >= 0:
			ids = append(ids, at)
		case m[4] >= 0:
			sums = append(sums, at)
		default:
			stamps = append(stamps, at)
		}
	}
	return ids, sums, stamps
}

// blank puts blanks in the place of stretches of a text, so that offsets stay.
func blank(text string, lists ...[][2]int) string {
	var out []byte
	for _, list := range lists {
		for _, m := range list {
			if out == nil {
				out = []byte(text)
			}
			for i := m[0]; i < m[1]; i++ {
				out[i] = ' '
			}
		}
	}
	if out == nil {
		return text
	}
	return string(out)
}

// plain is the text of a file in UTF-8. A file in UTF-16 that says so is turned into it.
func plain(raw []byte) string {
	var order binary.ByteOrder
	switch {
	case len(raw) >= 2 && raw[0] == 0xff && raw[1] == 0xfe:
		order = binary.LittleEndian
	case len(raw) >= 2 && raw[0] == 0xfe && raw[1] == 0xff:
		order = binary.BigEndian
	default:
		return strings.TrimPrefix(string(raw), "\ufeff")
	}
	wide := make([]uint16, 0, len(raw)/2)
	for i := 2; i+1 < len(raw); i += 2 {
		wide = append(wide, order.Uint16(raw[i:]))
	}
	return string(utf16.Decode(wide))
}

// unescaped undoes the escapes of JSON strings (RFC 8259 section 7) wherever they stand.
func unescaped(text string) string {
	if !strings.Contains(text, `\`) {
		return text
	}
	return escapes().ReplaceAllStringFunc(text, func(run string) string {
		var plain string
		if json.Unmarshal([]byte(`"`+run+`"`), &plain, jsontext.AllowInvalidUTF8(true)) != nil {
			return run[1:]
		}
		return strings.Map(func(r rune) rune {
			if r < ' ' {
				return ' '
			}
			return r
		}, plain)
	})
}

var escapes = later(`(?s)(?:\\u[0-9a-fA-F]{4})+|\\.`)
