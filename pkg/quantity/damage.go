package quantity

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// windows1252 holds the signs that Windows code page 1252 has at 0x80 to 0x9F;
// 0 where it has none.
var windows1252 = [32]rune{
	'€', 0, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', 0, 'Ž', 0,
	0, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', 0, 'ž', 'Ÿ',
}

// unmojibake undoes what happens to UTF-8 that was opened as Windows-1252:
// 8Â½" becomes 8½" again. It reports false where the text was not so damaged.
func unmojibake(s string) (string, bool) {
	if !strings.ContainsAny(s, "ÂÃâï") {
		return "", false
	}
	raw := make([]byte, 0, len(s))
	for _, c := range s {
		switch {
		case c < 0x100:
			raw = append(raw, byte(c))
		default:
			found := false
			for i, w := range windows1252 {
				if w == c {
					raw = append(raw, byte(0x80+i))
					found = true
					break
				}
			}
			if !found {
				return "", false
			}
		}
	}
	repaired := string(raw)
	if !utf8.ValidString(repaired) || repaired == s {
		return "", false
	}
	return repaired, true
}

// dateProposals reports whether s is a calendar date, as a spreadsheet makes it
// of 8-9 or 3/4, and what may have been typed. Each proposal has the default
// unit behind it, where there is one.
func dateProposals(s string, unit Unit) ([]string, bool) {
	var l lexer
	if len(s) > maxLength || !l.run(s) {
		return nil, false
	}
	numbers, sizes, month, signs, ok := dateParts(&l, s)
	if !ok {
		return nil, false
	}
	day := 0
	switch {
	case month != 0 && len(numbers) >= 1 && len(numbers) <= 5:
		day = numbers[0]
		if sizes[0] == 4 && len(numbers) > 1 { // 2024 Sep 08
			day = numbers[1]
		}
		if day > 31 && day >= 1900 && day <= 2100 { // Sep-2024
			day %= 100
		}
		if day < 1 || day > 99 {
			return nil, false
		}
	case month == 0 && len(numbers) >= 3 && len(numbers) <= 7 && signs >= 2:
		switch {
		case sizes[0] == 4 && year(numbers[0]):
			month, day = numbers[1], numbers[2]
		case sizes[2] == 4 && year(numbers[2]), sizes[2] == 2:
			day, month = numbers[0], numbers[1]
		default:
			return nil, false
		}
		if day < 1 || month < 1 || day > 31 || month > 31 || min(day, month) > 12 {
			return nil, false
		}
	case month == 0 && len(numbers) == 2 && signs == 1 && max(sizes[0], sizes[1]) == 4 &&
		year(max(numbers[0], numbers[1])) && min(numbers[0], numbers[1]) >= 1 && min(numbers[0], numbers[1]) <= 12:
		day, month = max(numbers[0], numbers[1])%100, min(numbers[0], numbers[1]) // 2024-09
		if day == 0 {
			return nil, true
		}
	default:
		return nil, false
	}
	return typed(day, month, unit), true
}

// dateParts takes apart what has numbers, a month name, and nothing but signs between them.
func dateParts(l *lexer, s string) (numbers, sizes []int, month, signs int, ok bool) {
	for i := 0; i < l.n; i++ {
		t := &l.token[i]
		text := s[t.at:t.end]
		switch {
		case t.kind == kNumber && t.places == 0:
			numbers, sizes = append(numbers, int(min(t.num, 1<<20))), append(sizes, len(text))
		case t.kind == kNumber && !t.comma && t.places <= 4: // 08.09
			whole, frac, _ := strings.Cut(text, ".")
			a, _ := strconv.Atoi(whole)
			b, _ := strconv.Atoi(frac)
			if whole != "" {
				numbers, sizes = append(numbers, a), append(sizes, len(whole))
			}
			numbers, sizes = append(numbers, b), append(sizes, len(frac))
			signs++
		case t.is(wMonth):
			if month != 0 {
				return nil, nil, 0, 0, false
			}
			month = int(t.word.arg)
		case t.kind == kDash, t.kind == kSlash, t.kind == kDot:
			signs++
		case t.kind == kComma, t.kind == kColon:
		case strings.EqualFold(text, "t"), strings.EqualFold(text, "z"):
		default:
			return nil, nil, 0, 0, false
		}
	}
	return numbers, sizes, month, signs, true
}

func year(n int) bool { return n >= 1900 && n <= 2100 }

// typed lists what a spreadsheet may have turned into the day and month.
func typed(day, month int, unit Unit) (texts []string) {
	end := ""
	if unit != NoUnit {
		end = " " + unit.String()
	}
	d, m := strconv.Itoa(day), strconv.Itoa(month)
	add := func(a, sign, b string) { texts = append(texts, a+sign+b+end) }
	if day <= month {
		add(d, "-", m)
		if day != month {
			add(m, "-", d)
		}
	} else {
		add(m, "-", d)
		add(d, "-", m)
	}
	small, large := min(day, month), max(day, month)
	if small < large && (large == 2 || large == 4) {
		add(strconv.Itoa(small), "/", strconv.Itoa(large))
	}
	return texts
}
