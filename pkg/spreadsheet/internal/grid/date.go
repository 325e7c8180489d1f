package grid

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/lexicon"
)

// Day numbers of the two date systems, ISO/IEC 29500-1 clause 18.17.4.1: in the 1900 system 1 is
// 1900-01-01, in the 1904 system 0 is 1904-01-01; the last day of both is 9999-12-31.
const (
	lastSerial1900 = 2958465
	lastSerial1904 = lastSerial1900 - 1462
	// leapBug is the serial of 29 February 1900 in the 1900 system, a day that never was.
	leapBug = 60
)

// DateParts reads a serial, as a spreadsheet stores a date, in the 1900 or the 1904 system, and
// returns it in ISO 8601: 2024-09-08 for a whole day, 2024-09-08T14:30:00 with a time of day, and
// 14:30:00 for a time of day without a day (a serial between 0 and 1). Times are rounded to the
// second. Text that is already such a date is returned as it is, without the part of the time that
// is zero.
//
// It reports false for what is no serial of a day that exists: words, negative numbers, years after
// 9999, and in the 1900 system 0 and 60, which stand for the days 0 January and 29 February 1900.
func DateParts(serial string, epoch1904 bool) (text string, ok bool) {
	serial = strings.TrimSpace(serial)
	if !IsNumber(serial) {
		return isoDate(serial)
	}
	value, err := strconv.ParseFloat(serial, 64)
	if err != nil || value < 0 || value >= lastSerial1900+1 {
		return "", false
	}
	day := math.Floor(value)
	second := int(math.Round((value - day) * 86400))
	if second == 86400 {
		day, second = day+1, 0
	}
	clock := fmt.Sprintf("%02d:%02d:%02d", second/3600, second/60%60, second%60)
	if value > 0 && value < 1 {
		if day == 1 {
			return "", false // less than half a second before midnight
		}
		return clock, true
	}
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case epoch1904:
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
		if day > lastSerial1904 {
			return "", false
		}
	case day == 0 || day == leapBug || day > lastSerial1900:
		return "", false
	case day < leapBug:
		start = time.Date(1899, 12, 31, 0, 0, 0, 0, time.UTC)
	}
	text = start.AddDate(0, 0, int(day)).Format(time.DateOnly)
	if second != 0 {
		text += "T" + clock
	}
	return text, true
}

// Serial returns the serial of a day in ISO 8601, with or without a time, in the 1900 system.
func Serial(iso string) (string, bool) {
	for _, layout := range []string{"2006-01-02", "2006-01-02T15:04:05", "2006-01-02T15:04"} {
		if t, err := time.Parse(layout, iso); err == nil {
			days := t.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
			return strconv.FormatFloat(days, 'g', 15, 64), days > leapBug
		}
	}
	return "", false
}

// isoDate reads what a cell of the type "d" holds, ISO/IEC 29500-1 clause 18.18.11.
func isoDate(s string) (string, bool) {
	for _, layout := range []string{
		"2006-01-02", "2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02T15:04:05Z", "15:04:05",
	} {
		t, err := time.Parse(layout, s)
		if err != nil {
			continue
		}
		t = t.Round(time.Second)
		switch {
		case layout == "15:04:05":
			return t.Format(time.TimeOnly), true
		case t.Hour() == 0 && t.Minute() == 0 && t.Second() == 0:
			return t.Format(time.DateOnly), true
		default:
			return t.Format("2006-01-02T15:04:05"), true
		}
	}
	return "", false
}

// IsNumber reports whether the text is a decimal number as XML Schema writes a double: an optional
// sign, digits with at most one point among them, and an optional exponent. NaN and INF are no
// numbers here, and neither is anything with blanks, a comma or a unit.
func IsNumber(s string) bool {
	at := 0
	if at < len(s) && (s[at] == '-' || s[at] == '+') {
		at++
	}
	digits := 0
	for at < len(s) && s[at]-'0' <= 9 {
		at++
		digits++
	}
	if at < len(s) && s[at] == '.' {
		at++
		for at < len(s) && s[at]-'0' <= 9 {
			at++
			digits++
		}
	}
	if digits == 0 {
		return false
	}
	if at < len(s) && s[at]|0x20 == 'e' {
		at++
		if at < len(s) && (s[at] == '-' || s[at] == '+') {
			at++
		}
		exponent := at
		for at < len(s) && s[at]-'0' <= 9 {
			at++
		}
		if at == exponent {
			return false
		}
	}
	return at == len(s)
}

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
