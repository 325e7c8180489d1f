package edtf

import (
	"strconv"
	"strings"
)

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
			if day, ok := serialDay(int(whole.value), epoch); ok && whole.digits == 5 {
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
	const help = "look at the cell: a serial date is a whole number of days, such as 46124, with the time of day as its fraction"
	digits, fraction, _ := strings.Cut(strings.Replace(r.text, ",", ".", 1), ".")
	n, err := strconv.Atoi(digits)
	if err != nil {
		return found, r.failText("serial-impossible", "no workbook has such a serial date", help)
	}
	if r.options.Serial == Epoch1900 && n == 60 {
		return found, r.failText("serial-impossible", "serial 60 is 29 February 1900, a day that never was",
			"type the date that is meant, such as 1900-02-28 or 1900-03-01")
	}
	day, ok := serialDay(n, r.options.Serial)
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
func SerialDay(serial int, e Epoch) (Day, bool) { return serialDay(serial, e) }

func serialDay(n int, e Epoch) (Day, bool) {
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
	// Week 1 holds 4 January, and weeks begin on Monday.
	fourth := Day{year, 1, 4}
	monday := fourth.AddDays(-fourth.weekday())
	week, weekday := n, 1
	if len(digits) == 3 {
		week, weekday = n/10, n%10
	}
	first := monday.AddDays((week - 1) * 7)
	// The last week of a year is the one that holds its 28 December.
	if week < 1 || first.Compare(Day{year, 12, 28}) > 0 || weekday < 1 || weekday > 7 {
		return Date{}, false
	}
	if len(digits) == 2 {
		return interval(Stated, dayPoint(first), Stated, dayPoint(first.AddDays(6))), true
	}
	return DayDate(first.AddDays(weekday - 1)), true
}

func dayPoint(d Day) point {
	p := yearPoint(d.Year)
	p.month, p.day = d.Month, d.Day
	return p
}
