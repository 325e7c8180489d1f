package edtf

// Span returns the first and the last calendar day that the date covers.
// Qualifiers do not widen it; unspecified digits give the days that bound it.
// A side without a bound has the zero Day and its open flag set: that is a side
// that is open or unknown (see [Date.Sides]), and both sides of a season, for
// EDTF fixes no days for the seasons 21 to 32 (see [Date.Years]). The zero Date
// has no bounds.
func (d Date) Span() (earliest, latest Day, openEarliest, openLatest bool) {
	earliest, latest, openEarliest, openLatest = Day{}, Day{}, true, true
	if d.kind == kindNone {
		return
	}
	if d.start == Stated {
		if day, ok := d.from.bound(false); ok {
			earliest, openEarliest = day, false
		}
	}
	if d.end == Stated {
		if day, ok := d.to.bound(true); ok {
			latest, openLatest = day, false
		}
	}
	return
}

// Years returns the first and the last astronomical year that the date covers,
// and for each whether there is one. A season counts as its year.
func (d Date) Years() (earliest, latest int, hasEarliest, hasLatest bool) {
	if d.kind == kindNone {
		return
	}
	if d.start == Stated {
		earliest, hasEarliest = d.from.yearBound(false), true
	}
	if d.end == Stated {
		latest, hasLatest = d.to.yearBound(true), true
	}
	return
}

// bound returns the first or the last day of a point, and whether it has one.
func (p point) bound(last bool) (Day, bool) {
	if p.month >= 21 && p.month <= 32 {
		return Day{}, false
	}
	if p.isSeason() {
		first, final := partOfYear(p.month)
		year := p.yearBound(last)
		if last {
			return Day{year, final, daysIn(year, final)}, true
		}
		return Day{year, first, 1}, true
	}
	if p.mask == 0 && p.hasDay() {
		return Day{p.yearBound(last), p.month, p.day}, true
	}
	if p.mask == 0 && !p.hasMonth() {
		if last {
			return Day{p.yearBound(true), 12, 31}, true
		}
		return Day{p.yearBound(false), 1, 1}, true
	}
	return p.search(last)
}

// yearBound returns the first or the last year of a point.
func (p point) yearBound(last bool) int {
	switch {
	case p.significant > 0:
		year := p.magnitude()
		unit := 1
		for range countDigits(year) - int(p.significant) {
			unit *= 10
		}
		year -= year % unit
		if last != p.negative {
			year += unit - 1
		}
		return p.signed(year)
	case p.mask == 0:
		return p.signed(p.magnitude())
	}
	day, _ := p.search(last)
	return day.Year
}

func (p point) signed(year int) int {
	if p.negative {
		return -year
	}
	return year
}

// search walks the days a point may be from its first or its last one, and
// returns the first that the calendar has.
func (p point) search(last bool) (Day, bool) {
	var places [4]int
	free, count := 0, 1
	if p.mask&yearMask != 0 {
		unit := 1
		for i := range 4 {
			if p.mask&(1<<i) != 0 {
				places[free] = unit
				free++
				count *= 10
			}
			unit *= 10
		}
	}
	for k := range count {
		if last != p.negative {
			k = count - 1 - k
		}
		year := p.yearWith(places[:free], k)
		if year == 0 && p.negative {
			continue
		}
		if day, ok := p.searchYear(year, last); ok {
			return day, true
		}
	}
	return Day{}, false
}

// yearWith fills the digits of k into the unspecified places of the year.
func (p point) yearWith(places []int, k int) int {
	if len(places) == 0 {
		return p.signed(p.magnitude())
	}
	year := int(p.year)
	for _, unit := range places {
		year += k % 10 * unit
		k /= 10
	}
	return p.signed(year)
}

func (p point) searchYear(year int, last bool) (Day, bool) {
	if p.isSeason() {
		return Day{year, 1, 1}, true
	}
	for i := range uint8(12) {
		month := 1 + i
		if last {
			month = 12 - i
		}
		if p.hasMonth() && !fits(month, p.month, p.mask>>4&3) {
			continue
		}
		days := daysIn(year, month)
		for j := range days {
			day := 1 + j
			if last {
				day = days - j
			}
			if !p.hasDay() || fits(day, p.day, p.mask>>6&3) {
				return Day{year, month, day}, true
			}
		}
	}
	return Day{}, false
}

// fits reports whether a number may stand for a two-digit pattern: its value
// with unspecified digits as 0, and a mask with 1 for units and 2 for tens.
func fits(n, value, mask uint8) bool {
	return (mask&1 != 0 || n%10 == value%10) && (mask&2 != 0 || n/10 == value/10)
}

// partOfYear returns the first and last month of the EDTF groupings 33 to 41:
// quarters, terms of four months and halves.
func partOfYear(code uint8) (first, final uint8) {
	switch {
	case code <= 36:
		return (code-33)*3 + 1, (code - 32) * 3
	case code <= 39:
		return (code-37)*4 + 1, (code - 36) * 4
	}
	return (code-40)*6 + 1, (code - 39) * 6
}
