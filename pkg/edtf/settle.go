package edtf

import (
	"fmt"
	"strconv"
)

// settle gives one side, or both of a range, the era and the words they share,
// and refuses what stays open.
func (r *reader) settle(first, second *side, ts *tokens) *Error {
	if second != nil {
		if err := r.share(first, second, ts); err != nil {
			return err
		}
		if err := r.settleOne(second, ts); err != nil {
			return err
		}
	}
	return r.settleOne(first, ts)
}

// share lets "17th-18th c.", "early to mid 18th century", "43-410 AD" and
// "1690-95" complete each other.
func (r *reader) share(first, second *side, ts *tokens) *Error {
	if first.kind == partSide && second.kind == centurySide {
		first.kind, first.n, first.named, first.unit = centurySide, second.n, second.named, second.unit
	}
	if second.kind == decadeSide && second.hundreds && first.kind == bareSide {
		first.kind, first.n, first.hundreds = decadeSide, first.n*100, true // 16-1700-tallet
	}
	if second.kind == centurySide && second.named &&
		(first.kind == centurySide && !first.named || first.kind == bareSide) {
		first.kind, first.named, first.unit = centurySide, true, second.unit
	}
	if first.kind == centurySide && first.named &&
		(second.kind == centurySide && !second.named || second.kind == bareSide) {
		second.kind, second.named, second.unit = centurySide, true, first.unit
	}
	if second.hundreds && first.kind == yearSide && first.n%100 == 0 {
		first.kind, first.hundreds = decadeSide, true // 1600-1700-tallet
	}
	if first.kind == decadeSide && !first.hundreds && second.decade {
		second.kind, second.n, second.decade = decadeSide, first.n/100*100+second.n, false // 1850s-60s
	}
	if first.kind == centurySide && second.kind == centurySide && !first.named && !second.named && first.n < second.n &&
		second.n < first.n+4 && !ts.at(first.to-1).dot && !ts.at(second.to-1).dot {
		first.named, second.named = true, true
		r.note("century-by-numeral", ts.part(first.from, second.to)+" is read as centuries") // 16e-17e
	}
	if second.era != 0 && first.era == 0 {
		first.era = second.era
	}
	if first.era > 0 && second.era == 0 {
		second.era = first.era
	}
	if first.era < 0 && second.era == 0 {
		return r.failText("dating-ambiguous", "it is not said whether the end of the range is BC or AD",
			"write BC or AD behind both ends")
	}
	if second.kind == bareSide && first.kind == yearSide && first.era == 0 && second.era == 0 {
		return r.lengthen(first, second, ts)
	}
	return nil
}

// lengthen completes the second year of 1690-95 and 1690-5.
func (r *reader) lengthen(first, second *side, ts *tokens) *Error {
	unit := 100
	if ts.at(second.to-1).digits == 1 && second.n < 10 {
		unit = 10
	}
	year := first.n/unit*unit + second.n
	if year <= first.n || first.n < 1000 {
		return r.fail("dating-not-read", ts.part(first.from, second.to),
			"the second year is shortened and does not follow the first", "type both years with four digits")
	}
	r.note("year-shortened", "the second year is read as "+strconv.Itoa(year))
	second.kind, second.n = yearSide, year
	return nil
}

// settleOne refuses a side that names no year, and notes what is passed over.
func (r *reader) settleOne(s *side, ts *tokens) *Error {
	text := ts.part(s.from, s.to)
	switch s.kind {
	case bareSide:
		if s.decade {
			return r.datingNotRead(text)
		}
		if s.era == 0 {
			year, err := r.pivot(s.n, text)
			if err != nil {
				return err
			}
			s.n = year
		}
		s.kind = yearSide
	case partSide:
		return r.fail("dating-not-read", text, "it is not said of which century this is a part",
			"name the century, such as early 18th century")
	case centurySide:
		if !s.named {
			return r.fail("dating-not-read", text, "an ordinal alone is no century",
				"write the word century behind it, such as 18th century")
		}
		if s.n < 1 || s.n*s.unit > 99999 || s.era >= 0 && s.n*s.unit > 9999 {
			return r.fail("date-impossible", text, "there is no such century",
				"type the century, such as 18th century, or the years")
		}
		if lo, hi := s.part.bounds(s.unit); lo > hi {
			return r.fail("date-reversed", text, "the end is before the start", "name the earlier part of the century first")
		}
		return nil
	}
	if s.kind == yearSide && (s.n == 0 || s.era >= 0 && s.n > 9999) {
		return r.fail("date-impossible", text, "there is no such year", "type the year with four digits, or with BC")
	}
	if !s.part.isZero() {
		r.note("part-passed-over", "early, mid and late are fixed for centuries only, so the whole of "+text+" is read")
	}
	return nil
}

// points returns the first and the last date of a settled side, which are the
// same but for a century.
func (s side) points() (from, to point) {
	switch s.kind {
	case pointSide:
		from = s.p
	case decadeSide:
		from = point{year: int32(s.n), mask: 1}
		years := 9
		if s.hundreds {
			from.mask, years = 3, 99
		}
		if s.era < 0 {
			// The 190s BC run from 199 BC to 190 BC.
			from = yearPoint(1 - s.n - years)
			return from.qualified(s.q), yearPoint(1 - s.n).qualified(s.q)
		}
	case centurySide:
		lo, hi := s.part.bounds(s.unit)
		base := (s.n-1)*s.unit + 1
		if s.era < 0 {
			base = 1 - s.n*s.unit
		}
		return yearPoint(base + lo).qualified(s.q), yearPoint(base + hi).qualified(s.q)
	default:
		from = yearPoint(s.n)
		if s.era < 0 {
			from = yearPoint(1 - s.n)
		}
	}
	from = from.qualified(s.q)
	return from, from
}

// date makes the date of one side behind a word such as before.
func (s side) date(l lead) Date {
	from, to := s.points()
	// A century or decade is left out by before and after; the year that these
	// name is the bound itself.
	whole := s.kind == centurySide || s.kind == decadeSide
	switch l {
	case beforeLead:
		if whole {
			from = yearPoint(from.yearBound(false) - 1).qualified(s.q)
		}
		return interval(Open, point{}, Stated, from)
	case afterLead:
		if whole {
			to = yearPoint(to.yearBound(true) + 1).qualified(s.q)
		}
		return interval(Stated, to, Open, point{})
	case untilLead:
		if whole {
			to = yearPoint(to.yearBound(true)).qualified(s.q)
		}
		return interval(Open, point{}, Stated, to)
	case sinceLead, fromLead:
		if whole {
			from = yearPoint(from.yearBound(false)).qualified(s.q)
		}
		return interval(Stated, from, Open, point{})
	}
	if from == to {
		return single(from)
	}
	return interval(Stated, from, Stated, to)
}

// order finds which of the written numbers is the day, the month and the year.
func (r *reader) order(w *written, text string) *Error {
	if w.count == 2 {
		return r.monthAndYear(w, text)
	}
	n := w.numbers
	for k, x := range n {
		if x.digits != 1 && x.digits != 2 && (x.digits != 4 || k == 1) {
			return r.fail("date-not-read", text, "a date has a day, a month and a year of four digits",
				"type it as year-month-day, such as 2026-04-12")
		}
	}
	if n[0].digits == 4 {
		return r.assign(w, YearMonthDay, text)
	}
	var fits [4]bool
	count := 0
	var only Order
	for o := DayMonthYear; o <= YearMonthDay; o++ {
		if !couldBe(n, o) || o == YearMonthDay && r.options.Order != o && slip(n) {
			continue
		}
		fits[o] = true
		count++
		only = o
	}
	same := fits[DayMonthYear] && fits[MonthDayYear] && !fits[YearMonthDay] && n[0].value == n[1].value
	stated := r.options.Order
	switch {
	case count == 0:
		return r.impossible(text, "no order of day, month and year makes a date of this")
	case stated != OrderUnknown && fits[stated]:
		w.ambiguous = count > 1 && !same
		return r.assign(w, stated, text)
	case same:
		return r.assign(w, DayMonthYear, text)
	case count == 1 && (n[2].digits == 4 || stated == OrderUnknown):
		if stated != OrderUnknown && stated != YearMonthDay { // which tells nothing of days with the year behind
			other := *w
			e := r.fail("date-order-contradicted", text, "the numbers are no date in the stated order "+stated.String(),
				"look at the date; if it is right, type it with the year first")
			if bad := r.assign(&other, only, text); bad == nil && other.year > 0 {
				e.Proposals = []string{Day{other.year, uint8(other.month), uint8(other.day)}.String()}
			}
			return e
		}
		return r.assign(w, only, text)
	case stated != OrderUnknown && n[2].digits != 4:
		return r.impossible(text, "this is no date in the order "+stated.String())
	}
	if usual := r.options.usual; fits[usual] {
		w.ambiguous = true
		return r.assign(w, usual, text)
	}
	return r.orderUnknown(n, fits, text)
}

// couldBe reports whether three numbers are a date in the given order. A year
// of two digits is tried in every century that has the leap day.
func couldBe(n [3]number, o Order) bool {
	day, month, year := pick(n, o)
	if n[0].digits > 2 != (o == YearMonthDay) && (n[0].digits > 2 || n[2].digits > 2) {
		return false // a year of four digits tells its place
	}
	if year.digits != 2 && year.digits != 4 || day.digits > 2 || month.digits > 2 {
		return false
	}
	if month.value < 1 || month.value > 12 || day.value < 1 {
		return false
	}
	y := year.value
	if year.digits == 2 {
		y += 2000
	}
	return day.value <= int(daysIn(y, uint8(month.value)))
}

func pick(n [3]number, o Order) (day, month, year number) {
	switch o {
	case MonthDayYear:
		return n[1], n[0], n[2]
	case YearMonthDay:
		return n[2], n[1], n[0]
	}
	return n[0], n[1], n[2]
}

// provenOrder returns the only order in which three numbers are a date, or
// OrderUnknown where there is none or more than one.
func provenOrder(n [3]number) Order {
	if n[0].digits == 4 {
		return YearMonthDay
	}
	only := OrderUnknown
	for o := DayMonthYear; o <= YearMonthDay; o++ {
		if couldBe(n, o) && !(o == YearMonthDay && slip(n)) {
			if only != OrderUnknown {
				return OrderUnknown
			}
			only = o
		}
	}
	return only
}

// slip reports whether three numbers are a day that its month does not have, such as 31/2/26: a slip, and not 2031.
func slip(n [3]number) bool {
	return n[0].digits <= 2 && n[0].value > 28 && n[0].value <= 31 && n[1].value >= 1 && n[1].value <= 12 &&
		n[2].digits == 2 && !couldBe(n, DayMonthYear)
}

func (r *reader) assign(w *written, o Order, text string) *Error {
	day, month, year := pick(w.numbers, o)
	w.day, w.month, w.year, w.hasYear = day.value, month.value, year.value, true
	w.count = 0
	if day.value < 1 || month.value < 1 || month.value > 12 {
		return r.impossible(text, "there is no month "+strconv.Itoa(month.value)+" with a day "+strconv.Itoa(day.value))
	}
	if year.digits != 4 {
		w.year = -1 - year.value
	}
	return nil
}

// monthText is what a message calls a month.
func monthText(month int) string {
	if month < 1 || month > 12 {
		return strconv.Itoa(month)
	}
	return englishMonths[month-1]
}

var englishMonths = [12]string{"January", "February", "March", "April", "May", "June", "July", "August", "September",
	"October", "November", "December"}

// orderUnknown names all readings that the numbers leave.
func (r *reader) orderUnknown(n [3]number, fits [4]bool, text string) *Error {
	e := r.fail("date-order-unknown", text, "", "")
	var meant string
	for o := DayMonthYear; o <= YearMonthDay; o++ {
		if !fits[o] {
			continue
		}
		day, month, year := pick(n, o)
		y := fmt.Sprintf("%04d", year.value)
		if year.digits != 4 {
			y = fmt.Sprintf("'%02d", year.value)
			if r.options.Pivot > 0 {
				full, _ := r.pivot(year.value, text)
				y = string(appendDigits(nil, full, 4))
			}
		}
		if meant != "" {
			meant += " or "
		}
		meant += fmt.Sprintf("%d %s %s", day.value, monthText(month.value), y)
		if y[0] != '\'' {
			e.Proposals = append(e.Proposals, fmt.Sprintf("%s-%02d-%02d", y, month.value, day.value))
		}
	}
	r.notes = nil
	e.Message = "this may be " + meant + "; nothing tells which"
	e.Help = "state the order of the dates (dmy, mdy or ymd), or type year-month-day with four digits of the year"
	if n[2].digits != 4 && r.options.Pivot == 0 {
		e.Message += ", and the year has only two digits"
		e.Help = "state the order of the dates (dmy, mdy or ymd) and a pivot for the year (1950: from 1950 to 2049), or " +
			"type year-month-day with four digits of the year"
	}
	return e
}

// monthAndYear reads two numbers: 4/2026 or 2026/4.
func (r *reader) monthAndYear(w *written, text string) *Error {
	month, year := w.numbers[0], w.numbers[1]
	if month.digits == 4 {
		month, year = year, month
	}
	if year.digits != 4 || month.digits > 2 {
		return r.fail("year-missing", text, "two numbers are no day of a year",
			"type year-month-day, such as 2026-04-12, or the month with a year of four digits")
	}
	if month.value < 1 || month.value > 12 {
		e := r.impossible(text, "there is no month "+strconv.Itoa(month.value))
		if month.value == (year.value+1)%100 {
			e.Proposals = []string{fmt.Sprintf("%04d/%04d", year.value, year.value+1)}
		}
		return e
	}
	w.year, w.hasYear, w.month, w.count = year.value, true, month.value, 0
	return nil
}
