package grid

import (
	"fmt"
	"strings"
	"time"
)

// monthNames are the names of months by the language of a format, the low byte of its LCID ([MS-LCID]); the
// short names are their first three letters. English stands for all others, as most programs write it where
// a format names no language.
var monthNames = map[string][12]string{
	"09": {"January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
		"November", "December"},
	"07": {"Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November",
		"Dezember"},
	"13": {"januari", "februari", "maart", "april", "mei", "juni", "juli", "augustus", "september", "oktober",
		"november", "december"},
	"06": {"januar", "februar", "marts", "april", "maj", "juni", "juli", "august", "september", "oktober", "november",
		"december"},
	"1d": {"januari", "februari", "mars", "april", "maj", "juni", "juli", "augusti", "september", "oktober",
		"november", "december"},
	"14": {"januar", "februar", "mars", "april", "mai", "juni", "juli", "august", "september", "oktober", "november",
		"desember"},
	"0c": {"janvier", "février", "mars", "avril", "mai", "juin", "juillet", "août", "septembre", "octobre", "novembre",
		"décembre"},
}

// systemDate are the codes for "as the country of whoever looks has it".
func (f *Format) systemDate() bool {
	return f.Code == ShortDate || strings.HasPrefix(f.country, "f800") || strings.HasPrefix(f.country, "x-sys") ||
		strings.HasPrefix(f.country, "f400")
}

// ShortDate is the code of the built-in format 14, whose look depends on the country of whoever looks; so
// does that of 22, which adds the time.
const ShortDate = "mm-dd-yy"

// dateText returns a day as the format shows it. It reports false where the look depends on whoever looks, and
// for formats with a time of day.
func (f *Format) dateText(day time.Time) (string, bool) {
	if f.systemDate() || f.clock || f.elapsed {
		return "", false
	}
	names, ok := monthNames[f.language()]
	if !ok {
		names = monthNames["09"]
	}
	var b strings.Builder
	for _, t := range f.tokens {
		n := len(t.text)
		switch t.kind {
		case 'y':
			if n <= 2 {
				fmt.Fprintf(&b, "%02d", day.Year()%100)
			} else {
				fmt.Fprintf(&b, "%04d", day.Year())
			}
		case 'm':
			b.WriteString(monthText(day.Month(), n, names))
		case 'd':
			if n > 2 {
				return "", false // the name of the day of the week
			}
			fmt.Fprintf(&b, "%0*d", n, day.Day())
		case '@':
		default:
			b.WriteString(t.text)
		}
	}
	return strings.TrimSpace(b.String()), true
}

func monthText(m time.Month, n int, names [12]string) string {
	name := names[m-1]
	switch {
	case n <= 2:
		return fmt.Sprintf("%0*d", n, int(m))
	case n == 3:
		return string([]rune(name)[:3])
	case n == 5:
		return string([]rune(name)[:1])
	}
	return name
}

// language returns the part of the LCID that names a language.
func (f *Format) language() string {
	if len(f.country) < 2 {
		return strings.Repeat("0", 2-len(f.country)) + f.country
	}
	return f.country[len(f.country)-2:]
}
