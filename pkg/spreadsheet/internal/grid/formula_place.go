package grid

import (
	"strconv"
	"strings"
)

// place is a cell or a range that a formula names.
type place struct {
	sheet string // empty for the sheet of the formula
	Range
	isRange bool
}

// parsePlace reads a reference at the start of a text, such as A5, $A$5, A4:A7, Sheet2!B3 or 'my sheet'!B3.
func parsePlace(s string) (p place, rest string, ok bool) {
	if strings.HasPrefix(s, "'") {
		end := 1
		for {
			i := strings.IndexByte(s[end:], '\'')
			if i < 0 {
				return p, s, false
			}
			if end += i + 1; !strings.HasPrefix(s[end:], "'") {
				break
			}
			end++
		}
		p.sheet = strings.ReplaceAll(s[1:end-1], "''", "'")
		if s = s[end:]; !strings.HasPrefix(s, "!") {
			return p, s, false
		}
		s = s[1:]
	} else if name, after, found := strings.Cut(s, "!"); found && name != "" && !strings.ContainsAny(name,
		`+-*/^&=<>(),:"% `) {
		p.sheet, s = strings.TrimPrefix(name, "$"), after
	}
	n := refLength(s)
	if n == 0 {
		return p, s, false
	}
	text := s[:n]
	if s = s[n:]; strings.HasPrefix(s, ":") {
		m := refLength(s[1:])
		if m == 0 {
			return p, s, false
		}
		text += s[:m+1]
		s = s[m+1:]
		p.isRange = true
	}
	r, err := ParseRange(text)
	p.Range = r
	return p, s, err == nil
}

// refLength returns the length of the reference to a cell at the start of a text, 0 if there is none.
func refLength(s string) int {
	at := 0
	part := func(in func(c byte) bool, most int) bool {
		if at < len(s) && s[at] == '$' {
			at++
		}
		from := at
		for at < len(s) && in(s[at]) {
			at++
		}
		return at > from && at-from <= most
	}
	if !part(func(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }, 3) ||
		!part(func(c byte) bool { return c-'0' <= 9 }, 7) {
		return 0
	}
	if at < len(s) && (s[at] == '_' || s[at] == '(' || s[at] == '!' || s[at] == '.' || s[at]|0x20 >= 'a' &&
		s[at]|0x20 <= 'z') {
		return 0
	}
	return at
}

// ShiftFormula returns a formula as it stands so many columns and rows away: references without a $ move along.
// It is how a formula that many cells share is written out.
func ShiftFormula(formula string, columns, rows int) string {
	var b strings.Builder
	for at := 0; at < len(formula); {
		c := formula[at]
		if c == '"' || c == '\'' {
			end := strings.IndexByte(formula[at+1:], c)
			if end < 0 {
				end = len(formula) - at - 2
			}
			b.WriteString(formula[at : at+end+2])
			at += end + 2
			continue
		}
		if n := refLength(formula[at:]); n > 0 {
			b.WriteString(shiftRef(formula[at:at+n], columns, rows))
			at += n
			continue
		}
		n := max(1, len(word(formula[at:])))
		b.WriteString(formula[at : at+n])
		at += n
	}
	return b.String()
}

func shiftRef(ref string, columns, rows int) string {
	column, row, err := ParseRef(ref)
	if err != nil {
		return ref
	}
	letter, digit := "", ""
	if strings.HasPrefix(ref, "$") {
		letter = "$"
	} else {
		column += columns
	}
	if strings.LastIndexByte(ref, '$') > 0 {
		digit = "$"
	} else {
		row += rows
	}
	if column < 1 || column > MaxColumns || row < 1 || row > MaxRows {
		return "#REF!"
	}
	return letter + ColumnName(column) + digit + strconv.Itoa(row)
}
