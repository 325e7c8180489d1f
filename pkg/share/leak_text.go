package share

import (
	"encoding/binary"
	"strconv"
	"strings"
	"unicode/utf16"
)

// idsOf returns from and to of every UUID in a text, in its usual form (RFC 9562 section 4).
func idsOf(text string) (out [][2]int) {
	for at := 0; at < len(text); {
		dash := strings.IndexByte(text[at:], '-')
		if dash < 0 {
			break
		}
		dash += at
		at = dash + 1
		from := dash - 8
		if from < 0 || from+36 > len(text) || text[from+13] != '-' || text[from+18] != '-' || text[from+23] != '-' {
			continue
		}
		if isHex(text[from:from+8]) && isHex(text[from+9:from+13]) && isHex(text[from+14:from+18]) &&
			isHex(text[from+19:from+23]) && isHex(text[from+24:from+36]) {
			out = append(out, [2]int{from, from + 36})
			at = from + 36
		}
	}
	return out
}

func isHex(s string) bool {
	for i := range len(s) {
		if c := s[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') && (c < 'A' || c > 'F') {
			return false
		}
	}
	return true
}

// sumsOf returns from and to of every run of 64 hexadecimal digits: a SHA-256 sum.
func sumsOf(text string) (out [][2]int) {
	run := 0
	for i := 0; i <= len(text); i++ {
		if i < len(text) && isHex(text[i:i+1]) {
			run++
			continue
		}
		if run == 64 {
			out = append(out, [2]int{i - 64, i})
		}
		run = 0
	}
	return out
}

// stampsOf returns from and to of every day in the form of ISO 8601, with the time behind it.
func stampsOf(text string) (out [][2]int) {
	for at := 0; at < len(text); {
		dash := strings.IndexByte(text[at:], '-')
		if dash < 0 {
			break
		}
		dash += at
		at = dash + 1
		from := dash - 4
		if from >= 0 && from+15 <= len(text) && text[from+7] == '/' && text[from+12] == '-' &&
			countDigits(text[from:from+15]) == 12 {
			out = append(out, [2]int{from, from + 15}) // from month to month
			at = from + 15
			continue
		}
		if from < 0 || from+10 > len(text) || text[from+7] != '-' || countDigits(text[from:from+10]) != 8 || from > 0 &&
			alphanumeric(text[from-1]) {
			continue
		}
		end := from + 10
		if end < len(text) && text[end] == 'T' {
			for end++; end < len(text) && (alphanumeric(text[end]) || strings.IndexByte(":.+-", text[end]) >= 0); end++ {
			}
		}
		out = append(out, [2]int{from, end})
		at = end
	}
	return out
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
	var out strings.Builder
	out.Grow(len(text))
	for i := 0; i < len(text); i++ {
		if text[i] != '\\' || i+1 == len(text) {
			out.WriteByte(text[i])
			continue
		}
		i++
		switch c := text[i]; c {
		case 'n', 'r', 't', 'b', 'f':
			out.WriteByte(' ')
		case 'u':
			r, n := escapedRune(text[i:])
			out.WriteRune(r)
			i += n - 1
		default:
			out.WriteByte(c)
		}
	}
	return out.String()
}

// escapedRune reads uXXXX, and a pair of surrogates, and returns how many bytes it took.
func escapedRune(s string) (rune, int) {
	unit := func(s string) (rune, bool) {
		if len(s) < 5 || s[0] != 'u' {
			return 0, false
		}
		v, err := strconv.ParseUint(s[1:5], 16, 16)
		return rune(v), err == nil
	}
	high, ok := unit(s)
	if !ok {
		return 'u', 1
	}
	if utf16.IsSurrogate(high) && len(s) > 6 && s[5] == '\\' {
		if low, ok := unit(s[6:]); ok {
			return utf16.DecodeRune(high, low), 11
		}
	}
	return high, 5
}

func alphanumeric(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9'
}
