package edtf

import (
	"iter"
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// Proof tells how many texts of a column can only be read in one order, and
// where the first of them stands.
type Proof struct {
	Count int
	First int // index among the samples; meaningless where Count is 0
}

// Evidence is what a column of dates says of the order in which it is written.
type Evidence struct {
	// Samples counts the texts, Dates those that are three numbers.
	Samples, Dates int
	// DayMonthYear, MonthDayYear and YearMonthDay count the texts that are a
	// date in that order alone.
	DayMonthYear, MonthDayYear, YearMonthDay Proof
	// Open counts the texts that may be read in more than one order, such as
	// 12/4/2026, and Alike those where that makes no difference, such as
	// 5/5/2026.
	Open, Alike int
	// Contradictory reports whether some texts prove day before month, and others
	// month before day. Nothing is decided then.
	Contradictory bool
}

// ProveOrder reads the dates of one column and returns the order that they
// prove: a value over 12 tells the day from the month. Texts that are no three
// numbers are passed over. Dates that begin with a year of four digits tell their
// order themselves and decide the column only where there are no others. The
// order is OrderUnknown where nothing is proven or the proofs contradict each
// other.
func ProveOrder(samples iter.Seq[string]) (Order, Evidence) {
	var e Evidence
	var readable [4]int
	others := 0
	var short shortYears
	for s := range samples {
		index := e.Samples
		e.Samples++
		n, ok := threeNumbers(s)
		if !ok {
			continue
		}
		e.Dates++
		if n[0].digits == 4 {
			e.YearMonthDay.add(index)
			continue
		}
		others++
		short.add(n, s, index)
		count := 0
		for o := DayMonthYear; o <= YearMonthDay; o++ {
			if couldBe(n, o) && !(o == YearMonthDay && slip(n)) {
				readable[o]++
				count++
			}
		}
		switch o := provenOrder(n); {
		case o == DayMonthYear:
			e.DayMonthYear.add(index)
		case o == MonthDayYear:
			e.MonthDayYear.add(index)
		case o == YearMonthDay:
			e.YearMonthDay.add(index)
		case n[0].value == n[1].value && !couldBe(n, YearMonthDay) && count > 0:
			e.Alike++
		case count > 0:
			e.Open++
		}
	}
	short.prove(&e)
	return e.decide(readable, others), e
}

// shortYears are the dates of a column whose day or year of two digits is a
// value over 12 and stands first, between slashes or points.
type shortYears struct {
	dates             int
	first, last       int // of the first of them
	sameYear, sameDay bool
	year              bool // one of them can be nothing but a year first
	days              Proof
}

func (y *shortYears) add(n [3]number, text string, index int) {
	if n[2].digits != 2 || !strings.ContainsAny(text[:min(len(text), 4)], "/.") {
		return
	}
	if y.dates++; y.dates == 1 {
		y.first, y.last, y.sameYear, y.sameDay = n[0].value, n[2].value, true, true
	}
	y.year = y.year || provenOrder(n) == YearMonthDay
	y.sameYear = y.sameYear && n[0].value == y.first
	y.sameDay = y.sameDay && n[2].value == y.last
	if n[0].value > 12 && couldBe(n, DayMonthYear) && couldBe(n, YearMonthDay) {
		y.days.add(index)
	}
}

// prove counts those dates as proofs of the day before the month, unless their
// first number may be one year.
func (y *shortYears) prove(e *Evidence) {
	if y.days.Count == 0 || y.year || y.sameYear && !y.sameDay {
		return
	}
	e.Open -= y.days.Count
	if e.DayMonthYear.Count == 0 || y.days.First < e.DayMonthYear.First {
		e.DayMonthYear.First = y.days.First
	}
	e.DayMonthYear.Count += y.days.Count
}

func (p *Proof) add(index int) {
	if p.Count == 0 {
		p.First = index
	}
	p.Count++
}

// decide weighs the proofs. readable counts, for each order, the dates without
// a leading year of four digits that can be read in it.
func (e *Evidence) decide(readable [4]int, others int) Order {
	dmy, mdy := e.DayMonthYear.Count > 0, e.MonthDayYear.Count > 0
	switch {
	case dmy && mdy:
		e.Contradictory = true
		return OrderUnknown
	case dmy:
		return DayMonthYear
	case mdy && readable[DayMonthYear] > readable[MonthDayYear]:
		// 16-03-24 may be a day or a year first, but never a month: the one that proves the month is the slip, or nothing is.
		e.DayMonthYear.Count, e.Contradictory = others-readable[MonthDayYear], true
		return OrderUnknown
	case mdy:
		return MonthDayYear
	case others == 0 && e.YearMonthDay.Count > 0:
		return YearMonthDay
	}
	// No date proves an order alone, but one order may be left by all of them.
	only := OrderUnknown
	for o := DayMonthYear; o <= YearMonthDay; o++ {
		if others > 0 && readable[o] == others {
			if only != OrderUnknown {
				return OrderUnknown
			}
			only = o
		}
	}
	return only
}

// threeNumbers reads the numbers of a date such as 12/4/2026 at the start of a
// text, or behind a day of the week.
func threeNumbers(s string) (n [3]number, ok bool) {
	rest := strings.TrimSpace(s)
	if word, after, ok := strings.Cut(rest, " "); ok && word[0]-'0' > 9 && lexicon.Says("weekday",
		strings.Trim(word, ".,")) {
		rest = strings.TrimLeft(after, " ")
	}
	sign := byte(0)
	for k := range n {
		value, after, ok := cutNumber(rest, 4)
		if !ok {
			return n, false
		}
		n[k] = number{value, uint8(len(rest) - len(after))}
		if k == 2 {
			return n, after == "" || after[0] == ' ' || after[0] == 'T' || after[0] == '.' || after[0] == ','
		}
		if after == "" || k == 1 && after[0] != sign {
			return n, false
		}
		if sign = after[0]; sign != '/' && sign != '.' && sign != '-' && sign != ' ' {
			return n, false
		}
		rest = strings.TrimLeft(after[1:], " '")
	}
	return n, false
}

// Roles of the words in a pattern of a heading.
const (
	noRole = iota
	dayRole
	monthRole
	yearRole
	yearOrDayRole // j: Jahr, jaar or jour
)

// OrderOfHeading reads the order that a heading states, as "Datum (tt.mm.jjjj)",
// "Date (dd/mm/yyyy)", "dato (dd-mm-åååå)", "date (jj/mm/aaaa)" or
// "day/month/year", and whether it states one.
func OrderOfHeading(s string) (Order, bool) {
	var roles [3]int
	known := 0
	start := -1
	var folded []byte
	flush := func() {
		role := roleOf(string(folded))
		folded = folded[:0]
		start = -1
		if role == noRole {
			known = 0
			return
		}
		if known == 3 {
			copy(roles[:], roles[1:])
			known--
		}
		roles[known] = role
		known++
	}
	for i, r := range s + " " {
		if text.IsLetter(r) || text.IsMark(r) {
			if start < 0 {
				start = i
			}
			folded = text.AppendLetter(folded, r)
			continue
		}
		if start < 0 {
			if r != ' ' {
				known = 0 // two signs end a pattern
			}
			continue
		}
		word := string(folded)
		flush()
		if known == 3 {
			if o := orderOfRoles(roles); o != OrderUnknown {
				return o, true
			}
		}
		if o, err := ParseOrder(word); err == nil && o != OrderUnknown {
			return o, true
		}
		if r != '/' && r != '.' && r != '-' && r != ' ' {
			known = 0
		}
	}
	return OrderUnknown, false
}

// roleOf returns what a folded word of a pattern stands for. One that is the day in one language and the year in
// another is both.
func roleOf(w string) int {
	day, month, year := lexicon.Means("date-pattern", "day", w), lexicon.Means("date-pattern", "month", w),
		lexicon.Means("date-pattern", "year", w)
	switch {
	case day && year:
		return yearOrDayRole
	case day:
		return dayRole
	case month:
		return monthRole
	case year:
		return yearRole
	}
	return noRole
}

func orderOfRoles(roles [3]int) Order {
	has := [5]bool{}
	for _, role := range roles {
		has[role] = true
	}
	for i, role := range roles {
		if role == yearOrDayRole {
			roles[i] = yearRole
			if has[yearRole] {
				roles[i] = dayRole // jj/mm/aaaa
			}
		}
	}
	switch roles {
	case [3]int{dayRole, monthRole, yearRole}:
		return DayMonthYear
	case [3]int{monthRole, dayRole, yearRole}:
		return MonthDayYear
	case [3]int{yearRole, monthRole, dayRole}:
		return YearMonthDay
	}
	return OrderUnknown
}
