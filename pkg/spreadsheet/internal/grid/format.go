package grid

import (
	"strings"
	"unicode/utf8"
)

// Format is a number format: how a number is to be shown. It is parsed once and shared by all cells that have
// it.
type Format struct {
	Code string // as the file has it

	tokens         []token
	country        string // language of the names of months, as a hexadecimal LCID; empty for none
	prefix, suffix string // literal text before and behind the digits
	numeric        bool   // has digits, or is general
	general        bool   // has the word General
	split          bool   // has words between the digits
	currency       bool   // the prefix has a sign in brackets, as in [$€-407]
	day            bool   // shows a day, a month or a year
	clock          bool   // shows hours, minutes or seconds
	elapsed        bool   // shows hours, minutes or seconds in brackets
	zeros          int    // digits that stand before the point at least
	decimals       int    // digits that stand behind the point at least
	percent        int    // number of percent signs: each is a factor of 100
	thousands      int    // number of trailing commas: each is a divisor of 1000
}

// token is a piece of a format code. Its kind is L for literal text, or the letter or sign that it is, with M
// for minutes, A for AM/PM, G for General, and H for an elapsed time.
type token struct {
	kind byte
	text string
}

// ParseFormat reads the first section of a format code, the one for positive numbers, by the rules of
// ISO/IEC 29500-1 clause 18.8.31. It takes any text; what it does not know is literal text.
func ParseFormat(code string) *Format {
	f := &Format{Code: code}
	for rest := code; rest != "" && rest[0] != ';'; {
		rest = rest[f.lex(rest):]
	}
	f.findMinutes()
	for _, t := range f.tokens {
		switch t.kind {
		case 'y', 'm', 'd':
			f.day = true
		case 'h', 'M', 's', 'A':
			f.clock = true
		case 'H':
			f.elapsed = true
		}
	}
	if !f.IsDate() {
		f.readDigits()
	}
	return f
}

// lex takes the next token off and returns its length.
func (f *Format) lex(rest string) int {
	c := rest[0]
	switch {
	case c == '"':
		end := strings.IndexByte(rest[1:], '"')
		if end < 0 {
			end = len(rest) - 1
		}
		f.add('L', rest[1:1+end])
		return min(end+2, len(rest))
	case c == '\\', c == '_', c == '*':
		_, size := utf8.DecodeRuneInString(rest[1:])
		if c == '\\' {
			f.add('L', rest[1:1+size])
		}
		return 1 + size
	case c == '[':
		return f.lexBrackets(rest)
	}
	for word, kind := range map[string]byte{"general": 'G', "standard": 'G', "am/pm": 'A', "a/p": 'A'} {
		if len(rest) >= len(word) && strings.EqualFold(rest[:len(word)], word) {
			f.add(kind, rest[:len(word)])
			return len(word)
		}
	}
	switch letter := c | 0x20; letter {
	case 'y', 'm', 'd', 'h', 's', 'e', 'b', 'g', 'j', 't':
		n := len(rest) - len(strings.TrimLeft(rest, string([]byte{c | 0x20, c &^ 0x20})))
		switch {
		case (letter == 'j' || letter == 't') && n == 1:
			f.add('L', rest[:1])
			return 1
		case letter == 'j': // as German programs write the year, and the day
			letter = 'y'
		case letter == 't':
			letter = 'd'
		case letter == 'e' && n == 1 && len(rest) > 1 && (rest[1] == '+' || rest[1] == '-'):
			f.add('E', rest[:2])
			return 2
		case letter == 'g': // the name of an era
			return n
		case letter == 'e', letter == 'b':
			letter = 'y'
		}
		f.add(letter, rest[:n])
		return n
	}
	if strings.IndexByte("0#?.,%/@", c) >= 0 {
		f.add(c, rest[:1])
		return 1
	}
	if c >= '1' && c <= '9' {
		f.add('9', rest[:1])
		return 1
	}
	_, size := utf8.DecodeRuneInString(rest)
	f.add('L', rest[:size])
	return size
}

// lexBrackets takes an elapsed time, a currency or a language off; colours and conditions are passed over.
func (f *Format) lexBrackets(rest string) int {
	end := strings.IndexByte(rest, ']')
	if end < 0 {
		end = len(rest) - 1
	}
	inside := strings.ToLower(rest[1:max(1, end)])
	if first := strings.Trim(inside, "h"); inside != "" && (first == "" || strings.Trim(inside, "m") == "" ||
		strings.Trim(inside, "s") == "") {
		f.add('H', inside)
	} else if strings.HasPrefix(inside, "$") {
		sign, country, _ := strings.Cut(rest[2:max(2, end)], "-")
		f.country = strings.ToLower(country)
		if sign != "" {
			f.currency = f.currency || !f.hasDigits()
			f.add('L', sign)
		}
	}
	return end + 1
}

func (f *Format) add(kind byte, text string) {
	if n := len(f.tokens); kind == 'L' && n > 0 && f.tokens[n-1].kind == 'L' {
		f.tokens[n-1].text += text
		return
	}
	f.tokens = append(f.tokens, token{kind, text})
}

func (f *Format) hasDigits() bool {
	for _, t := range f.tokens {
		if strings.IndexByte("0#?G", t.kind) >= 0 {
			return true
		}
	}
	return false
}

// findMinutes tells minutes from months: they follow hours or come before seconds.
func (f *Format) findMinutes() {
	last := -1
	for i, t := range f.tokens {
		switch t.kind {
		case 'm':
			if last >= 0 && len(t.text) <= 2 && (f.tokens[last].kind == 'h' || f.tokens[last].kind == 'H') {
				f.tokens[i].kind = 'M'
			}
		case 's':
			if last >= 0 && f.tokens[last].kind == 'm' {
				f.tokens[last].kind = 'M'
			}
		case 'y', 'd', 'h', 'H':
		default:
			continue
		}
		last = i
	}
}

// readDigits finds what stands around the digits of a number, and how many there are.
func (f *Format) readDigits() {
	literal := ""
	point, digits, fraction := false, false, false
	for i, t := range f.tokens {
		switch t.kind {
		case '0', '#', '?', 'G':
			if digits && strings.TrimSpace(literal) != "" {
				f.split = true
			}
			if !digits {
				f.prefix = literal
			}
			literal, digits = "", true
			switch {
			case t.kind == 'G':
				f.general = true
			case t.kind == '0' && point:
				f.decimals++
			case t.kind == '0':
				f.zeros++
			}
		case '.':
			point = point || digits
		case ',':
			if digits && literal == "" && !f.digitFollows(i) {
				f.thousands++
			}
		case '/', 'E':
			fraction = fraction || digits
		case '%':
			f.percent++
		case '9':
			if !fraction { // else it is the denominator of # ?/8
				literal += t.text
			}
		case 'L':
			literal += t.text
		}
	}
	if fraction {
		f.zeros, f.decimals = 0, 0
	}
	f.numeric = digits
	if digits {
		f.suffix = literal
	} else {
		f.prefix = literal
	}
}

// digitFollows reports whether a comma stands between digits.
func (f *Format) digitFollows(at int) bool {
	for _, t := range f.tokens[at+1:] {
		if t.kind != ',' {
			return t.kind == '0' || t.kind == '#' || t.kind == '?'
		}
	}
	return false
}

// IsDate reports whether numbers are shown as a date, a time of day or an elapsed time.
func (f *Format) IsDate() bool { return f != nil && (f.day || f.clock || f.elapsed) }

// Unit returns the words that the format puts behind a number: "in" for 0.0" in". Without any it returns the
// currency sign before the number, if there is one. It is empty for dates, for percentages, and for codes with
// words between the digits, such as 0"ft "00"in", where no one unit belongs to the number.
func (f *Format) Unit() string {
	if f == nil || !f.plain() || f.percent > 0 {
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

// plain reports whether the digits of the number stand together, with at most literal text around.
func (f *Format) plain() bool { return f.numeric && !f.split && !f.IsDate() }

// precision returns what part of a date is shown.
func (f *Format) precision() Precision {
	var y, m, d, h, s bool
	for _, t := range f.tokens {
		switch t.kind {
		case 'y':
			y = true
		case 'm':
			m = true
		case 'd':
			d = d || len(t.text) <= 2 // ddd is the day of the week
		case 'h', 'M', 'H':
			h = true
		case 's':
			s = true
		}
	}
	switch {
	case s:
		return Second
	case h:
		return Minute
	case y && m && d:
		return Day
	case y && m:
		return Month
	case y && !d:
		return Year
	}
	return NoYear
}

// isCurrency reports whether the text is one of the signs that people put before an amount.
func isCurrency(s string) bool {
	switch s {
	case "£", "€", "$", "¥", "kr", "kr.", "Kr", "Fr", "Fr.", "CHF", "GBP", "EUR", "USD", "SEK", "NOK", "DKK":
		return true
	}
	return false
}
