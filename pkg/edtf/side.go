package edtf

import (
	"strconv"
	"strings"
)

// sideKind is what one date of a text amounts to.
type sideKind uint8

const (
	noSide      sideKind = iota
	bareSide             // a number of one or two digits
	yearSide             // n is the year as written
	decadeSide           // n is its first year as written
	centurySide          // n counts centuries, or spans of unit years
	partSide             // a part without its century: "early" in "early to mid"
	pointSide            // a month or a day, in p
)

// side is one date of a text, before the eras and the words that two dates
// share are settled.
type side struct {
	kind     sideKind
	n        int
	unit     int  // years in a "century": 100, or 1000 for a millennium
	named    bool // the word century stands beside the ordinal
	hundreds bool // the whole hundred of a decadeSide: 1700s, 1700-tallet
	years    bool // a word for years stands before it
	decade   bool // a decade without its century: the 60s of 1850s-60s
	era      int8
	q        qualifier
	closing  bool // the marks stand behind the date
	part     fraction
	p        point
	from, to int
}

// fraction is a part of a century: from the start of the k1-th of n1 parts to
// the end of the k2-th of n2. The zero value is the whole.
type fraction struct{ k1, n1, k2, n2 int8 }

func (f fraction) isZero() bool { return f == fraction{} }

// bounds returns the first and the last year of the part, counted from 0.
func (f fraction) bounds(unit int) (lo, hi int) {
	if f.isZero() {
		return 0, unit - 1
	}
	return unit * int(f.k1-1) / int(f.n1), unit*int(f.k2)/int(f.n2) - 1
}

// readSide reads one date from token i. Its kind is noSide where there is none.
//
// Grammar: side.
func (r *reader) readSide(ts *tokens, i int) (side, int, *Error) {
	var s side
	s.unit = 100
	s.from = i
	plural := false
	for {
		t := ts.at(i)
		switch {
		case ts.isMark(i):
			s.q |= ts.markOf(i)
		case t.hasClass(eraWord):
			s.era = t.word.arg
		case t.hasClass(yearWord):
			s.years, plural = true, plural || t.word.arg == 1
		case t.hasClass(fillerWord) && !(t.roman > 0 && t.capital && ts.partFollows(i)),
			t.hasClass(sinceWord) && t.word.arg == of, t.hasClass(orWord) && !s.part.isZero(), t.hasClass(periodTailWord),
			t.hasClass(endingWord) && t.gap && (ts.at(i+1).isNumber() || ts.at(i+1).kind == wordToken):
		default:
			if next, ok := ts.readFraction(i, &s.part); ok {
				i = next
				if ts.at(i).is('-') && !ts.partFollows(i+1) && ts.at(i+1).kind != noToken && (!ts.at(i).gap || ts.at(i+1).gap) {
					i++ // mid-18th century
				}
				if next, how := ts.join(i); how == joinedTo || how == joinedOr || how == joinedAnd && i < ts.n {
					var more fraction
					if end, ok := ts.readFraction(next, &more); ok {
						s.part.k2, s.part.n2 = more.k2, more.n2
						i = end
						if ts.at(i).is('-') {
							i++
						}
					}
				}
				continue
			}
			return r.readCore(ts, i, s, plural)
		}
		i++
	}
}

// readCore reads the number or name of a date and what belongs behind it.
//
// Grammar: core-date.
func (r *reader) readCore(ts *tokens, i int, s side, plural bool) (side, int, *Error) {
	start := i
	t := ts.at(i)
	switch {
	case t.isNumber():
		var err *Error
		if i, err = r.readNumber(ts, i, &s, plural); err != nil {
			return s, i, err
		}
	case ts.isCenturyLetter(i):
		s.kind, s.n, s.named = centurySide, int(ts.at(i+1).value), true
		i = ts.skipEnding(i + 2)
	case t.hasClass(ordinalWord) && t.word.arg > 0:
		s.kind, s.n = centurySide, int(t.word.arg)
		i = ts.readCentury(i+1, &s)
	case t.roman > 0 && !t.hasClass(monthWord):
		s.kind, s.n = centurySide, int(t.roman)
		i = ts.readCentury(ts.skipEnding(i+1), &s)
		if word := ts.text[t.start:t.end]; !s.named && i == start+1 && t.capital && t.roman > 3 && len(word) > 2 &&
			strings.HasSuffix(strings.TrimSuffix(word, "."), "e") {
			s.named = true // XVIIIe
			r.note("century-by-numeral", word+" is read as a century")
		}
	case t.hasClass(monthWord), t.hasClass(seasonWord), t.hasClass(weekdayWord):
		return r.readPoint(ts, i, s)
	}
	if i == start {
		if !s.part.isZero() {
			s.kind = partSide
		}
		s.to = i
		return s, i, nil
	}
	return s, ts.readBehind(i, &s), nil
}

// readPoint reads a month, a day or a season as the days of finding are read.
func (r *reader) readPoint(ts *tokens, i int, s side) (side, int, *Error) {
	w, next := r.readDay(ts, i)
	if next == i {
		return s, i, nil
	}
	p, err := r.resolve(&w, ts)
	if err != nil {
		return s, i, err
	}
	s.kind, s.p = pointSide, p
	if w.ambiguous {
		r.note("date-order-assumed", "day and month are read in the stated order "+r.options.Order.String())
	}
	return s, ts.readBehind(next, &s), nil
}

// readNumber reads a date that begins with a number.
func (r *reader) readNumber(ts *tokens, i int, s *side, plural bool) (int, *Error) {
	t := ts.at(i)
	if run := ts.run(i); run.count >= 3 && run.sign[0] == run.sign[1] && run.sign[0] != 'r' && run.sign[0] != ' ' ||
		ts.monthAfter(i) > 0 && t.digits <= 2 || t.digits == 4 && ts.monthValue(i+1) > 0 && !ts.isCenturyWord(i+2) {
		read, next, err := r.readPoint(ts, i, *s)
		if err != nil {
			return i, err
		}
		if read.kind == pointSide {
			*s = read
			return next, nil
		}
	}
	n := int(t.value)
	if t.digits > 6 {
		return i, r.datingNotRead(ts.rest(i))
	}
	next := i + 1
	if at := ts.hundredsAt(next); at > 0 && t.digits >= 3 {
		return at, r.setDecade(ts, i, at, s, true)
	}
	if t.digits >= 3 {
		if at := ts.decadeAt(next); at > 0 {
			return at, r.setDecade(ts, i, at, s, false)
		}
		if plural && n%10 == 0 {
			return next, r.setDecade(ts, i, next, s, false)
		}
		s.kind, s.n = yearSide, n
		return r.mintMark(ts, next), nil
	}
	if end := ts.decadeAt(next); t.digits == 2 && n%10 == 0 && (s.years || end > 0) {
		if at := r.decadeOfCentury(ts, max(next, end), n, s); at > 0 {
			return at, nil
		}
		if end > 0 {
			s.kind, s.n, s.decade = bareSide, n, true
			return end, nil
		}
	}
	after := ts.skipEnding(next)
	if e := ts.at(after); e.hasClass(endingWord) && (!e.gap || after == next && ts.isCenturyWord(after+1)) {
		after++ // a second ending, or one behind a blank: 18 th century
	}
	if ts.isGluedCentury(after) {
		s.kind, s.n, s.named = centurySide, n, true
		return after + 1, nil
	}
	s.n = n
	if t.dot || after > next || ts.isCenturyWord(after) {
		s.kind = centurySide
		if t.dot && !ts.isCenturyWord(after) && ts.at(after).hasClass(eraWord) {
			s.kind = bareSide
		}
		return ts.readCentury(after, s), nil
	}
	s.kind = bareSide
	return next, nil
}

// decadeOfCentury reads the century behind the tens of a decade: lata 60. XX w., 60er Jahre des 19. Jahrhunderts. It
// returns 0 where there is none.
//
// Grammar: decade-of-century.
func (r *reader) decadeOfCentury(ts *tokens, i, tens int, s *side) int {
	for i = ts.skipEnding(i); ts.at(i).is('-') || ts.at(i).is('\'') || ts.at(i).hasClass(endingWord) ||
		ts.at(i).word.also&alsoOf != 0; {
		i++
	}
	of, next, err := r.readSide(ts, i)
	if err != nil || of.kind != centurySide || !of.named || of.unit != 100 || !of.part.isZero() {
		return 0
	}
	s.kind, s.n, s.era, s.q = decadeSide, 100*(of.n-1)+tens, of.era, s.q|of.q
	return next
}

// mintMark passes over the letters of a mint behind the year of a coin, 1944-D, at the end of a text.
//
// Grammar: mint.
func (r *reader) mintMark(ts *tokens, i int) int {
	mark := ts.at(i + 1)
	if !ts.at(i).is('-') || ts.at(i).gap || mark.gap || i+2 != ts.n || mark.kind != wordToken {
		return i
	}
	letters := ts.text[mark.start:mark.end]
	if len(letters) > 2 || strings.ToUpper(letters) != letters || strings.ToLower(letters) == letters {
		return i
	}
	r.note("mint-mark", letters+" behind the year is taken for the mark of a mint")
	return i + 2
}

// hundredsAt returns the token behind the ending of 1700-tallet, or 0.
//
// Grammar: hundreds.
func (ts *tokens) hundredsAt(i int) int {
	if ts.at(i).is('-') || ts.at(i).is('\'') {
		i++
	}
	if ts.at(i).hasClass(hundredsWord) {
		return i + 1
	}
	return 0
}

// decadeAt returns the token behind the ending of 1860s, 1860's, 1860er Jahre
// or 1860'erne, or 0.
//
// Grammar: decade.
func (ts *tokens) decadeAt(i int) int {
	quote := ts.at(i).is('\'') || ts.at(i).is('-') && !ts.at(i).gap && !ts.at(i+1).gap
	if quote {
		i++
	}
	t := ts.at(i)
	if t.gap || t.dot && !quote || t.kind != wordToken {
		return 0
	}
	if t.word.also&alsoDecade != 0 || quote && t.hasClass(yearWord) && t.word.arg == 1 { // 1860-årene
		i++
		if ts.at(i).hasClass(yearWord) {
			i++
		}
		return i
	}
	return 0
}

// setDecade makes the side a decade, or the hundred years of 1700s and 1700-tallet.
func (r *reader) setDecade(ts *tokens, i, end int, s *side, hundreds bool) *Error {
	n := int(ts.at(i).value)
	part := ts.part(i, end)
	switch {
	case n == 0 || n > 9990 || n%10 != 0:
		return r.fail("dating-not-read", part, "a decade begins with a year that ends in 0",
			"type the year, or the decade, such as 1860s")
	case n%100 == 0 && !s.part.isZero():
		s.kind, s.n, s.named = centurySide, n/100+1, true
		if !hundreds {
			r.note("hundred-not-decade", "a part of "+part+" is read as that part of the century; for the ten years from "+
				strconv.Itoa(n)+" type them")
		}
		return nil
	case n%100 == 0 && hundreds:
		s.hundreds = true
	case n%100 == 0:
		s.hundreds = true
		r.note("hundred-not-decade", part+" is read as the hundred years from "+strconv.Itoa(n)+
			", which hold the ten years too; if only those are meant, type "+strconv.Itoa(n/10)+"X")
	}
	s.kind, s.n = decadeSide, n
	return nil
}

// isCenturyWord reports whether century, in a word or as c., s. or e. after an
// ordinal, stands at i.
func (ts *tokens) isCenturyWord(i int) bool {
	if ts.at(i).is('-') {
		i++
	}
	return ts.at(i).hasClass(centuryWord) || ts.isCenturyAbbreviation(i)
}

// isCenturyAbbreviation reads 17th c., 18e s. and 18e e., each at the end of a
// date.
func (ts *tokens) isCenturyAbbreviation(i int) bool {
	t := ts.at(i)
	switch {
	case t.word.also&alsoCentury == 0 || ts.letter(i) == 0:
		return false
	case t.word.also&alsoAbout != 0: // c also means about
		return !ts.isCenturyLetter(i) && !(ts.at(i+1).isNumber() && ts.at(i+1).digits >= 3)
	}
	return t.gap
}

// isGluedCentury reports whether ending and century are one word: 18thC.
func (ts *tokens) isGluedCentury(i int) bool {
	t := ts.at(i)
	if t.kind != wordToken || t.gap {
		return false
	}
	switch text := ts.text[t.start:t.end]; text {
	case "thC", "stC", "ndC", "rdC", "thc", "stc", "ndc", "rdc", "thC.", "stC.", "ndC.", "rdC.", "thc.", "stc.", "ndc.",
		"rdc.":
		return true
	}
	return false
}

// readCentury passes over the word century.
//
// Grammar: century.
func (ts *tokens) readCentury(i int, s *side) int {
	at := i
	if ts.at(at).is('-') && !ts.at(at).gap {
		at++
	}
	if ts.at(at).hasClass(centuryWord) || ts.isCenturyAbbreviation(at) {
		s.named = true
		if ts.at(at).hasClass(centuryWord) && ts.at(at).word.arg == 1 {
			s.unit = 1000
		}
		return at + 1
	}
	return i
}

// readBehind reads the era, the marks and the part that stand behind a date.
//
// Grammar: behind.
func (ts *tokens) readBehind(i int, s *side) int {
	for {
		t := ts.at(i)
		switch {
		case ts.isMark(i) && (!t.hasClass(approxWord) || i+1 == ts.n && s.kind != centurySide): // also 1700 ca.
			s.q |= ts.markOf(i)
			s.closing = true
		case t.hasClass(eraWord):
			s.era = t.word.arg
		// 1799 datiert
		case t.hasClass(yearWord), t.hasClass(periodTailWord), t.hasClass(fillerWord) && i+1 == ts.n && s.kind != pointSide:
		default:
			if (s.kind == centurySide || s.hundreds) && s.part.isZero() {
				at := i
				if ts.at(at).is(',') {
					at++
				}
				if next, ok := ts.readFraction(at, &s.part); ok {
					if ts.at(next).isNumber() || ts.at(next).is('-') && ts.at(next+1).isNumber() || ts.at(next).roman > 0 {
						s.part = fraction{} // it belongs to the next date
						s.to = i
						return i
					}
					if s.hundreds { // 1700-tallets første halvdel
						s.kind, s.n, s.named, s.hundreds = centurySide, s.n/100+1, true, false
					}
					i = next
					continue
				}
			}
			s.to = i
			return i
		}
		i++
	}
}

// partFollows reports whether a part of a century begins at i.
func (ts *tokens) partFollows(i int) bool {
	var f fraction
	_, ok := ts.readFraction(i, &f)
	return ok
}

// readFraction reads early, mid, late, first half, 2nd quarter, 1. Hälfte.
//
// Grammar: part.
func (ts *tokens) readFraction(i int, f *fraction) (int, bool) {
	t := ts.at(i)
	if t.hasClass(thirdWord) {
		k := t.word.arg + 1
		if n := ts.at(i + 1); n.hasClass(fractionWord) { // latter half
			if n.word.arg == 2 && k == 3 {
				k = 2
			}
			if k <= n.word.arg {
				*f = fraction{k, n.word.arg, k, n.word.arg}
				return i + 2, true
			}
		}
		*f = fraction{k, 3, k, 3}
		return i + 1, true
	}
	k := int8(0)
	next := i + 1
	switch {
	case t.hasClass(ordinalWord):
		k = t.word.arg
	case t.isNumber() && t.digits == 1:
		k = int8(t.value)
		if next = ts.skipEnding(next); ts.at(next).hasClass(endingWord) {
			next++
		}
	case t.roman > 0 && t.roman < 5:
		k = int8(t.roman)
		next = ts.skipEnding(next)
	default:
		return i, false
	}
	n := ts.at(next)
	parts := n.word.arg
	if n.hasClass(ordinalWord) && n.word.arg == 3 {
		parts = 3 // first third
	} else if ts.letter(next) == 'h' && n.dot && t.dot && n.capital {
		parts = 2 // 2. H. 18. Jh.
	} else if n.word.also&alsoHalf != 0 {
		parts = 2
	} else if !n.hasClass(fractionWord) {
		return i, false
	}
	if k == -1 {
		k = parts
	}
	if k < 1 || k > parts {
		return i, false
	}
	*f = fraction{k, parts, k, parts}
	return next + 1, true
}
