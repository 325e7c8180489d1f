package edtf

import (
	"fmt"
	"strconv"
)

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
		if !couldBe(n, o) {
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
		if stated != OrderUnknown {
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
		if couldBe(n, o) {
			if only != OrderUnknown {
				return OrderUnknown
			}
			only = o
		}
	}
	return only
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
		e.Help = "state the order of the dates (dmy, mdy or ymd) and a pivot for the year (1950: from 1950 to 2049), or type year-month-day with four digits of the year"
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
