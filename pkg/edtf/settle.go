package edtf

import "strconv"

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
