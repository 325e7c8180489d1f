package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

// A span is the days from first to last, both included.
type span struct{ first, last edtf.Day }

// foundSpan returns the days on which the find may have been made. A season counts as its whole
// year. False where no day is given or the date cannot be read.
func foundSpan(f *find.Find) (span, bool) {
	if f.Found == nil || f.Found.Date == "" {
		return span{}, false
	}
	return spanOf(f.Found.Date)
}

// spanOf returns the days that a day, month, year or closed interval covers.
func spanOf(date string) (span, bool) {
	if len(date) == len("2026-04-12") { // as most are
		if m, ok := momentOf(date); ok {
			return span{m.day, m.day}, true
		}
	}
	d := dateOf(date)
	return d.span, d.spans
}

func spanOfDate(d edtf.Date) (span, bool) {
	first, last, openFirst, openLast := d.Span()
	if !openFirst && !openLast {
		return span{first, last}, true
	}
	from, to, hasFrom, hasTo := d.Years()
	if !hasFrom || !hasTo {
		return span{}, false
	}
	if openFirst {
		first = edtf.Day{Year: from, Month: 1, Day: 1}
	}
	if openLast {
		last = edtf.Day{Year: to, Month: 12, Day: 31}
	}
	return span{first, last}, true
}

// oneDay returns the day of a span that is one day.
func (s span) oneDay() (edtf.Day, bool) { return s.first, s.first == s.last }

// A moment is a day with the time of day it may carry, as it was written.
type moment struct {
	day    edtf.Day
	minute int // of the day; -1: no time
	zone   zone
	offset int // minutes east of UTC, where the zone is stated
}

// zone says how a time tells its distance from UTC.
type zone uint8

const (
	local  zone = iota // not at all
	utc                // Z: the clock of a machine, perhaps not that of the finder
	stated             // an offset
)

// momentOf reads a day, or a day with a time (the moment of the schema). It takes memory of its
// own for nothing.
func momentOf(s string) (moment, bool) {
	if len(s) < 10 || s[4] != '-' || s[7] != '-' {
		return moment{}, false
	}
	y, ok1 := digits(s[:4])
	m, ok2 := digits(s[5:7])
	d, ok3 := digits(s[8:10])
	out := moment{day: edtf.Day{Year: y, Month: uint8(m), Day: uint8(d)}, minute: -1}
	if !ok1 || !ok2 || !ok3 || !out.day.IsValid() {
		return moment{}, false
	}
	if len(s) > 10 {
		if s[10] != 'T' {
			return moment{}, false
		}
		c, ok := clockOf(s[11:])
		if !ok {
			return moment{}, false
		}
		out.minute, out.zone, out.offset = c.minute, c.zone, c.offset
	}
	return out, true
}

// clockOf reads hh:mm or hh:mm:ss with an offset, if any; the day stays empty and the seconds are
// passed over.
func clockOf(s string) (moment, bool) {
	if len(s) < 5 || s[2] != ':' {
		return moment{}, false
	}
	h, ok1 := digits(s[:2])
	m, ok2 := digits(s[3:5])
	if !ok1 || !ok2 || h > 23 || m > 59 {
		return moment{}, false
	}
	c := moment{minute: h*60 + m}
	rest := s[5:]
	for rest != "" && (rest[0] == ':' || rest[0] == '.' || rest[0] >= '0' && rest[0] <= '9') {
		rest = rest[1:]
	}
	switch {
	case rest == "":
	case rest == "Z":
		c.zone = utc
	case len(rest) == 6 && rest[3] == ':' && (rest[0] == '+' || rest[0] == '-'):
		h, ok1 := digits(rest[1:3])
		m, ok2 := digits(rest[4:6])
		if !ok1 || !ok2 {
			return moment{}, false
		}
		c.zone, c.offset = stated, h*60+m
		if rest[0] == '-' {
			c.offset = -c.offset
		}
	default:
		return moment{}, false
	}
	return c, true
}

// digits reads a short run of decimal digits.
func digits[T string | []byte](s T) (int, bool) {
	n := 0
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, len(s) > 0
}

// daysBetween counts the days from one day to a later one; below zero where it is earlier.
func daysBetween(from, to edtf.Day) int { return dayNumber(to) - dayNumber(from) }

// dayNumber counts days so that the day after has the next number (proleptic Gregorian calendar,
// counted from 1 March of year 0).
func dayNumber(d edtf.Day) int {
	y, m := d.Year, int(d.Month)-3
	if m < 0 {
		y, m = y-1, m+12
	}
	cycle := y / 400
	if y%400 < 0 {
		cycle--
	}
	y -= cycle * 400
	return cycle*146097 + y*365 + y/4 - y/100 + (m*153+2)/5 + int(d.Day) - 1
}

// minutesText writes a number of minutes as people say it.
func minutesText(n int) string {
	if n < 120 {
		return fmt.Sprintf("%d minutes", n)
	}
	return fmt.Sprintf("%d hours", n/60)
}

// dayOf is the day with a number of dayNumber.
func dayOf(n int) edtf.Day {
	cycle := n / 146097
	if n%146097 < 0 {
		cycle--
	}
	n -= cycle * 146097
	y := (n - n/1460 + n/36524 - n/146096) / 365
	n -= y*365 + y/4 - y/100
	m := (5*n + 2) / 153
	d := edtf.Day{Year: cycle*400 + y, Month: uint8(m + 3), Day: uint8(n - (m*153+2)/5 + 1)}
	if d.Month > 12 {
		d.Month, d.Year = d.Month-12, d.Year+1
	}
	return d
}
