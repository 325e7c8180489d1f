package edtf

import (
	"cmp"
	"fmt"
)

// Day is one calendar day in the proleptic Gregorian calendar. Year is
// astronomical (0 is 1 BC); Month runs from 1 to 12 and Day from 1. The zero
// value is no day at all, for month 0 does not exist.
type Day struct {
	Year       int
	Month, Day uint8
}

// IsZero reports whether the day is the zero value, which is no day.
func (d Day) IsZero() bool { return d == Day{} }

// IsValid reports whether the day exists in the calendar.
func (d Day) IsValid() bool {
	return d.Month >= 1 && d.Month <= 12 && d.Day >= 1 && d.Day <= daysIn(d.Year, d.Month)
}

// ParseDay reads a day as ISO 8601 writes it, 2026-04-12: what String writes
// for years of four digits, and nothing else.
func ParseDay(s string) (Day, error) {
	d, err := Parse(s)
	if err != nil || d.Precision() != PrecisionDay || d.IsInterval() || d.IsSet() || d.Time() != "" {
		return Day{}, fmt.Errorf("%q is not a day such as 2026-04-12", s)
	}
	day, _, _, _ := d.Span()
	if day.String() != s { // with a qualifier, such as 2026-04-12~
		return Day{}, fmt.Errorf("%q is not a day such as 2026-04-12", s)
	}
	return day, nil
}

// String writes the day as ISO 8601 does (2026-04-12). A year beyond four
// digits is written with the letter Y of EDTF in front, which no standard
// allows before a month: such text is for reading, not for parsing. The zero
// value gives the empty string.
func (d Day) String() string {
	if d.IsZero() {
		return ""
	}
	var buf [24]byte
	b := appendYear(buf[:0], d.Year)
	b = append(b, '-')
	b = appendTwo(b, d.Month)
	b = append(b, '-')
	b = appendTwo(b, d.Day)
	return string(b)
}

// Compare returns -1, 0 or +1 as d is before, equal to or after other.
func (d Day) Compare(other Day) int {
	if c := cmp.Compare(d.Year, other.Year); c != 0 {
		return c
	}
	if c := cmp.Compare(d.Month, other.Month); c != 0 {
		return c
	}
	return cmp.Compare(d.Day, other.Day)
}

// AddDays returns the day n days later, or earlier where n is negative. A day
// that does not exist gives the zero value.
func (d Day) AddDays(n int) Day {
	if !d.IsValid() {
		return Day{}
	}
	return dayOfNumber(d.number() + int64(n))
}

// number counts days from 1 March of year 0, so that the leap day is the last
// of its year and months follow one formula.
func (d Day) number() int64 {
	year, month := int64(d.Year), int64(d.Month)
	if month <= 2 {
		year--
		month += 12
	}
	cycle := floorDiv(year, 400)
	inCycle := year - cycle*400
	inYear := (153*(month-3)+2)/5 + int64(d.Day) - 1
	return cycle*daysPerCycle + inCycle*365 + inCycle/4 - inCycle/100 + inYear
}

// daysPerCycle is the length of the 400-year cycle of the Gregorian calendar.
const daysPerCycle = 400*365 + 97

func dayOfNumber(n int64) Day {
	cycle := floorDiv(n, daysPerCycle)
	inCycle := n - cycle*daysPerCycle
	year := (inCycle - inCycle/1460 + inCycle/36524 - inCycle/146096) / 365
	inYear := inCycle - (365*year + year/4 - year/100)
	month := (5*inYear + 2) / 153
	day := inYear - (153*month+2)/5 + 1
	year += cycle * 400
	month += 3
	if month > 12 {
		month -= 12
		year++
	}
	return Day{int(year), uint8(month), uint8(day)}
}

// weekday returns 0 for Monday to 6 for Sunday. 1 March of year 0 was a
// Wednesday in the proleptic Gregorian calendar.
func (d Day) weekday() int {
	n := (d.number() + 2) % 7
	if n < 0 {
		n += 7
	}
	return int(n)
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func isLeap(year int) bool {
	return year%4 == 0 && (year%100 != 0 || year%400 == 0)
}

// daysIn returns the number of days in a month from 1 to 12.
func daysIn(year int, month uint8) uint8 {
	switch month {
	case 2:
		if isLeap(year) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// appendYear writes a year in EDTF: four digits, or Y and all of them.
func appendYear(b []byte, year int) []byte {
	if year > 9999 || year < -9999 {
		b = append(b, 'Y')
	}
	if year < 0 {
		b = append(b, '-')
		year = -year
	}
	return appendDigits(b, year, 4)
}

func appendTwo(b []byte, n uint8) []byte {
	return append(b, '0'+n/10, '0'+n%10)
}

// appendDigits writes n, which is not negative, with at least width digits.
func appendDigits(b []byte, n, width int) []byte {
	var digits [20]byte
	at := len(digits)
	for n > 0 || width > 0 {
		at--
		digits[at] = '0' + byte(n%10)
		n /= 10
		width--
	}
	return append(b, digits[at:]...)
}
