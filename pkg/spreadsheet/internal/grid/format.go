package grid

import (
	"strings"
	"unicode/utf8"
)

// IsDateFormat reports whether a number with this format code is shown as a date, a time of day or
// an elapsed time. Letters in quotes, colours, conditions and languages in brackets do not count.
// Only the first section of the code is asked, the one for positive numbers.
func IsDateFormat(code string) bool {
	f := parseFormat(code)
	return f.day || f.clock || f.elapsed
}

// IsTimeFormat reports whether a number with this format code is shown as a time of day or an elapsed
// time, with no day beside it.
func IsTimeFormat(code string) bool {
	f := parseFormat(code)
	return !f.day && (f.clock || f.elapsed)
}

// IsElapsedFormat reports whether a number with this format code is shown as an elapsed time, such
// as [h]:mm, which does not start again after 24 hours.
func IsElapsedFormat(code string) bool {
	return parseFormat(code).elapsed
}

// FormatUnit returns the words that a format code puts behind a number: "in" for 0.0" in". Without
// any it returns the currency sign before the number, if there is one. It is empty for dates, for
// percentages, and for codes with words between the digits, such as 0"ft "00"in", where no one unit
// belongs to the number.
func FormatUnit(code string) string {
	f := parseFormat(code)
	if !f.plain() || f.percent > 0 {
		return ""
	}
	if unit := strings.TrimSpace(f.suffix); unit != "" {
		return unit
	}
	if prefix := strings.TrimSpace(f.prefix); f.currency || isCurrency(prefix) {
		return prefix
	}
	return ""
}

// format is what the first section of a format code comes to.
type format struct {
	prefix, suffix string // literal text before and behind the digits
	numeric        bool   // holds digits, or is general
	general        bool   // holds the word General
	split          bool   // holds words between the digits
	currency       bool   // the prefix has a sign in brackets, as in [$€-407]
	day            bool   // shows a day, a month or a year
	clock          bool   // shows hours, minutes or seconds
	elapsed        bool   // shows hours, minutes or seconds in brackets
	zeros          int    // number of noughts that stand before the point
	percent        int    // number of percent signs: each is a factor of 100
	thousands      int    // number of trailing commas: each is a divisor of 1000
}

// plain reports whether the digits of the number stand together, with at most literal text around.
func (f *format) plain() bool {
	return f.numeric && !f.split && !f.day && !f.clock && !f.elapsed
}

// parseFormat reads the first section of a format code by the rules of ISO/IEC 29500-1 clause
// 18.8.31. It takes any text; what it does not know is literal text.
func parseFormat(code string) format {
	var f format
	var literal []byte // since the last digit
	months := false    // an m is a month, or the minutes beside hours or seconds
	point := false
	digits := false // any digit placeholder so far
	placeholder := func() {
		if digits && strings.TrimSpace(string(literal)) != "" {
			f.split = true
		}
		if !digits {
			f.prefix = string(literal)
		}
		literal = literal[:0]
		digits, f.numeric = true, true
	}
	for at := 0; at < len(code); {
		c := code[at]
		rest := code[at:]
		switch {
		case c == ';':
			at = len(code)
			continue
		case c == '"':
			end := strings.IndexByte(rest[1:], '"')
			if end < 0 {
				end = len(rest) - 1
			}
			literal = append(literal, rest[1:1+end]...)
			at += end + 2
			continue
		case c == '\\', c == '_', c == '*':
			_, size := utf8.DecodeRuneInString(rest[1:])
			if c == '\\' {
				literal = append(literal, rest[1:1+size]...)
			}
			at += 1 + size
			continue
		case c == '[':
			end := strings.IndexByte(rest, ']')
			if end < 0 {
				end = len(rest) - 1
			}
			inside := strings.ToLower(rest[1:max(1, end)])
			switch {
			case inside != "" && (strings.Trim(inside, "h") == "" || strings.Trim(inside, "m") == "" || strings.Trim(inside, "s") == ""):
				f.elapsed = true
			case strings.HasPrefix(inside, "$"):
				sign, _, _ := strings.Cut(rest[2:max(2, end)], "-")
				literal = append(literal, sign...)
				f.currency = f.currency || sign != "" && !digits
			}
			at += end + 1
			continue
		case hasFold(rest, "general"):
			placeholder()
			f.general = true
			at += len("general")
			continue
		case hasFold(rest, "am/pm"):
			f.clock = true
			at += len("am/pm")
			continue
		case hasFold(rest, "a/p"):
			f.clock = true
			at += len("a/p")
			continue
		case c == '0', c == '#', c == '?':
			placeholder()
			if c == '0' && !point {
				f.zeros++
			}
		case c >= '1' && c <= '9' && digits:
			placeholder() // the denominator of # ?/8
		case c == '.' && (digits || f.elapsed || f.clock):
			point = true
		case c == ',' && digits && len(literal) == 0:
			commas := len(rest) - len(strings.TrimLeft(rest, ","))
			next := strings.TrimLeft(rest, ",")
			if next == "" || !strings.ContainsRune("0#?", rune(next[0])) {
				f.thousands += commas
			}
			at += commas
			continue
		case c == '/' && digits && len(literal) == 0:
			point = true // a fraction: no padding of its parts
			f.zeros = 0
		case c == '%':
			f.percent++
		case (c == 'E' || c == 'e') && digits && len(rest) > 1 && (rest[1] == '+' || rest[1] == '-'):
			point = true
			f.zeros = 0
			at += 2
			continue
		case c|0x20 == 'y', c|0x20 == 'd', c|0x20 == 'e', c|0x20 == 'g', c|0x20 == 'b':
			f.day = true
		case c|0x20 == 'h', c|0x20 == 's':
			f.clock = true
		case c|0x20 == 'm':
			months = true
		default:
			literal = append(literal, c)
		}
		at++
	}
	if months && !f.clock && !f.elapsed {
		f.day = true
	}
	if digits {
		f.suffix = string(literal)
	} else {
		f.prefix = string(literal)
	}
	if code == "" {
		f.numeric, f.general = true, true
	}
	return f
}

func hasFold(s, prefix string) bool {
	return len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix)
}

// isCurrency reports whether the text is one of the signs that people put before an amount.
func isCurrency(s string) bool {
	switch s {
	case "£", "€", "$", "¥", "kr", "kr.", "Kr", "Fr", "Fr.", "CHF", "GBP", "EUR", "USD", "SEK", "NOK", "DKK":
		return true
	}
	return false
}
