package edtf

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
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

// bareNumber reads a text that is one number: a year, a day in ISO 8601 basic
// form, or a serial date. done is false where another reading should be tried.
//
// Grammar: serial.
func (r *reader) bareNumber(ts *tokens) (found Found, err *Error, done bool) {
	whole := ts.at(0)
	if whole.dot && whole.digits == 4 || ts.n == 3 && r.options.Serial == NoSerial && whole.digits < 5 {
		return found, nil, false
	}
	if ts.n == 3 && (ts.at(1).is('.') && ts.at(2).digits <= 2 && whole.digits <= 2) {
		return found, nil, false
	}
	if ts.n == 1 && whole.digits == 8 {
		d := Day{int(whole.value / 10000), uint8(whole.value / 100 % 100), uint8(whole.value % 100)}
		if !d.IsValid() || d.Year == 0 {
			return found, r.failText("date-impossible", "eight digits are year, month and day, and this is no such day",
				"type the date with hyphens, such as 2026-04-12"), true
		}
		found.Date = DayDate(d)
		return found, r.future(found.Date), true
	}
	if ts.n == 1 && whole.digits <= 2 && r.options.Serial == NoSerial {
		return found, r.failText("year-two-digits", "this is a number, and no date",
			"type the whole date with four digits of the year, such as 2026-04-12"), true
	}
	if r.options.Serial == NoSerial {
		e := r.failText("serial-not-expected", "this looks like the serial date of a workbook",
			"say which date system the workbook has, 1900 or 1904, or type the date, such as 2026-04-12")
		for _, epoch := range [...]Epoch{Epoch1900, Epoch1904} {
			if day, ok := SerialDay(int(whole.value), epoch); ok && whole.digits == 5 {
				e.Proposals = append(e.Proposals, day.String())
			}
		}
		return found, e, true
	}
	found, err = r.serial()
	return found, err, true
}

// serial reads a serial date with its fraction of a day.
func (r *reader) serial() (Found, *Error) {
	var found Found
	const help = "look at the cell: a serial date is a whole number of days, such as 46124, with the time of day as its " +
		"fraction"
	digits, fraction, _ := strings.Cut(strings.Replace(r.text, ",", ".", 1), ".")
	n, err := strconv.Atoi(digits)
	if err != nil {
		return found, r.failText("serial-impossible", "no workbook has such a serial date", help)
	}
	if r.options.Serial == Epoch1900 && n == 60 {
		return found, r.failText("serial-impossible", "serial 60 is 29 February 1900, a day that never was",
			"type the date that is meant, such as 1900-02-28 or 1900-03-01")
	}
	day, ok := SerialDay(n, r.options.Serial)
	if !ok {
		return found, r.failText("serial-impossible", "no workbook has such a serial date", help)
	}
	if fraction = strings.TrimRight(fraction, "0"); fraction != "" {
		part, err := strconv.ParseFloat("0."+fraction, 64)
		if err != nil {
			return found, r.failText("serial-impossible", "no workbook has such a serial date", help)
		}
		seconds := int(part*86400 + 0.5)
		if seconds == 86400 {
			seconds = 86399
		}
		c := clock{set: true, hour: uint8(seconds / 3600), minute: uint8(seconds / 60 % 60), second: uint8(seconds % 60)}
		c.seconds = c.second > 0
		found.Time = c.String()
	}
	found.Date = DayDate(day)
	r.note("serial-date", "serial "+digits+" of the date system "+r.options.Serial.String()+" is "+day.String())
	return found, r.future(found.Date)
}

// SerialDay returns the day of a workbook's serial number, and whether there is
// one: serial 60 of the 1900 system never was, and serials end with the year
// 9999.
func SerialDay(n int, e Epoch) (Day, bool) {
	switch {
	case e == Epoch1900 && n >= 1 && n < 60:
		return Day{1899, 12, 31}.AddDays(n), true
	case e == Epoch1900 && n > 60 && n <= 2958465:
		return Day{1899, 12, 30}.AddDays(n), true
	case e == Epoch1904 && n >= 0 && n <= 2957003:
		return Day{1904, 1, 1}.AddDays(n), true
	}
	return Day{}, false
}

// weekDate reads ISO 8601 week dates and ordinal dates: 1985-W15-5, 1985W155,
// 1985-W15 (an interval of seven days), 1985-102.
//
// Grammar: week.
func (r *reader) weekDate() (Date, bool) {
	t := r.text
	if len(t) < 7 || len(t) > 10 || !isDigit(t[0]) || !isDigit(t[3]) {
		return Date{}, false
	}
	year, rest, ok := cutNumber(t, 4)
	if !ok || year < 1 || len(t)-len(rest) != 4 {
		return Date{}, false
	}
	if len(t) == 8 && t[4] == '-' && t[5] != 'W' {
		n, left, ok := cutNumber(t[5:], 3)
		days := 365
		if isLeap(year) {
			days = 366
		}
		if !ok || left != "" || n < 1 || n > days {
			return Date{}, false
		}
		return DayDate(Day{year, 1, 1}.AddDays(n - 1)), true
	}
	rest = strings.TrimPrefix(rest, "-")
	if rest == "" || rest[0] != 'W' {
		return Date{}, false
	}
	if rest[1:] == "" || !isDigit(rest[1]) {
		return Date{}, false
	}
	digits := strings.Replace(rest[1:], "-", "", 1)
	n, left, ok := cutNumber(digits, 3)
	if !ok || left != "" || len(digits) < 2 || len(digits) > 3 {
		return Date{}, false
	}
	if len(digits) == 2 {
		return weekOf(year, n)
	}
	week, ok := weekOf(year, n/10)
	if weekday := n % 10; ok && weekday >= 1 && weekday <= 7 {
		monday, _, _, _ := week.Span()
		return DayDate(monday.AddDays(weekday - 1)), true
	}
	return Date{}, false
}

// weekOf returns the days of a week of a year, by ISO 8601: weeks begin on Monday, week 1 holds 4 January, and the
// last of a year its 28 December.
func weekOf(year, week int) (Date, bool) {
	fourth := Day{year, 1, 4}
	first := fourth.AddDays((week-1)*7 - fourth.weekday())
	if week < 1 || first.Compare(Day{year, 12, 28}) > 0 {
		return Date{}, false
	}
	return interval(Stated, dayPoint(first), Stated, dayPoint(first.AddDays(6))), true
}

// weekInWords reads the number of a week of a year: week 37 of 2024, KW 37/2024, 37. vecka 2024. done is false where
// the text is none.
//
// Grammar: week.
func (r *reader) weekInWords(ts *tokens) (d Date, err *Error, done bool) {
	i, number := 1, ts.at(1)
	if n := ts.at(0); n.isNumber() {
		number, i = n, ts.skipEnding(1)
		if ts.at(i).word.also&alsoWeek == 0 {
			return d, nil, false
		}
	} else if n.word.also&alsoWeek == 0 || !number.isNumber() {
		return d, nil, false
	}
	if number.digits > 2 {
		return d, nil, false
	}
	for i++; ts.at(i).is(',') || ts.at(i).is('/') || ts.at(i).is('-') || ts.at(i).hasClass(fillerWord) || ts.isOf(i) ||
		ts.at(i).hasClass(yearWord); {
		i++
	}
	var w written
	if i = ts.readYear(i, &w); !w.hasYear || i != ts.n {
		return d, nil, false
	}
	p, err := r.resolve(&w, ts)
	if err != nil {
		return d, err, true
	}
	d, ok := weekOf(int(p.year), int(number.value))
	if !ok {
		return d, r.failText("date-impossible", "that year has no such week", "type a day, such as 2026-04-12"), true
	}
	return d, r.future(d), true
}

func dayPoint(d Day) point {
	p := yearPoint(d.Year)
	p.month, p.day = d.Month, d.Day
	return p
}
