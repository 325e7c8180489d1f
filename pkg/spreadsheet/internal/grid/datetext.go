package grid

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/lexicon"
)

// lcids are the languages of a format by the low byte of its LCID ([MS-LCID]). English stands for all others, as
// most programs write it where a format names no language.
var lcids = map[string]string{"09": "en", "07": "de", "13": "nl", "06": "da", "1d": "sv", "14": "nb", "0c": "fr",
	"15": "pl"}

// monthNames are the names of the months in a language, the first form of each in the lexicon; the short names are
// their first three letters.
func monthNames(tag string) (names [12]string) {
	for _, e := range lexicon.ByTag(cmp.Or(tag, "en")).Words["month"] {
		name := e.Forms[0]
		if tag == "" || tag == "en" || tag == "de" { // which write them with a capital
			name = strings.ToUpper(name[:1]) + name[1:]
		}
		if m := e.Is.Int(); names[m-1] == "" {
			names[m-1] = name
		}
	}
	return names
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
	var names [12]string // read where one is asked for
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
			if n > 2 && names[0] == "" {
				names = monthNames(lcids[f.language()])
			}
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
