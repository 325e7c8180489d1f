package edtf

import "strconv"

// written is a date on its way from tokens to a point. Numbers are 0 where they
// are not stated.
type written struct {
	year, month, day int
	hasYear          bool
	season           uint8
	numbers          [3]number // numbers whose order is to be found
	count            uint8     // how many there are
	weekday          int8      // 1 for Monday to 7; 0 is none
	ambiguous        bool
	shared           bool   // a day alone, before the numbers of a whole date
	part             string // early, in front of a month
	from, to         int    // the tokens
}

// number is a written number and how many digits it has.
type number struct {
	value  int
	digits uint8
}

func (w *written) any() bool {
	return w.hasYear || w.month > 0 || w.day != 0 || w.season > 0 || w.count > 0
}

// isYearPair reports whether the reading is two years, such as 2024-2025.
func (w *written) isYearPair() bool {
	return w.count == 2 && w.numbers[0].digits == 4 && (w.numbers[1].digits == 4)
}

func (w *written) splitYears() (first, second written) {
	first = written{year: w.numbers[0].value, hasYear: true, from: w.from, to: w.from + 1}
	second = written{year: w.numbers[1].value, hasYear: true, from: w.from + 2, to: w.to}
	return first, second
}

// completeFrom takes from the end of a range what its start leaves out.
func (w *written) completeFrom(end written) {
	if w.isYearPair() {
		return
	}
	if w.count == 2 && end.count == 3 { // 12/4-14/4/2026
		w.numbers[2] = end.numbers[2]
		if end.numbers[0].digits == 4 {
			w.numbers = [3]number{end.numbers[0], w.numbers[0], w.numbers[1]}
		}
		w.count = 3
		return
	}
	if w.count == 0 && w.day > 0 && w.month == 0 && end.count == 3 { // 12. bis 14.4.2026
		w.numbers, w.shared = end.numbers, true
		w.numbers[0] = number{w.day, 2}
		w.count, w.day = 3, 0
		return
	}
	if !w.hasYear && w.month > 0 && end.count == 3 { // 23 aug to 29/9-2024
		for _, n := range end.numbers {
			if n.digits == 4 {
				w.year, w.hasYear = n.value, true
			}
		}
	} else if !w.hasYear && w.count == 0 {
		w.year, w.hasYear = end.year, end.hasYear
	}
	if w.month == 0 && w.day > 0 && end.day > 0 {
		w.month = end.month
	}
}

// run is a row of numbers with what stands between them: a sign, a blank, or
// 'r' for a hyphen between blanks.
type run struct {
	count int
	at    [5]int
	sign  [5]byte
}

func (ts *tokens) run(i int) run {
	var r run
	for r.count < len(r.at) && ts.at(i).isNumber() {
		t, next := ts.at(i), ts.at(i+1)
		if next.is(':') || r.count > 0 && next.kind == wordToken && !next.gap && next.end-next.start == 1 &&
			ts.text[next.start]|0x20 == 'h' {
			break // a time
		}
		r.at[r.count] = i
		r.count++
		sign := byte(0)
		switch {
		case next.is('.') || next.is('/') || next.is('-'):
			sign = next.sign
			if next.is('-') && next.gap && ts.at(i+2).gap {
				sign = 'r'
			}
			i += 2
			if ts.at(i).is('\'') {
				i++
			}
		case next.isNumber() && t.dot:
			sign = '.'
			i++
		case next.isNumber() && next.gap:
			sign = ' '
			i++
		default:
			return r
		}
		r.sign[r.count-1] = sign
	}
	return r
}

func isRangeSign(c byte) bool { return c == '-' || c == '/' || c == 'r' }

// readDay reads one date, or the start of a range that the end will complete,
// from token i. It returns the token behind it, or i where there is none.
//
// Grammar: day.
func (r *reader) readDay(ts *tokens, i int) (written, int) {
	var w written
	start := i
	i = ts.skipBefore(i, &w)
	w.from = i
	t := ts.at(i)
	next := i
	switch {
	case t.isNumber():
		next = r.readNumbers(ts, i, &w)
	case t.hasClass(seasonWord):
		next = ts.readSeason(i, &w)
	case t.word.month > 0 && ts.monthValue(i) > 0:
		next = r.readMonthFirst(ts, i, &w)
	case t.is('\''):
		next = ts.readYear(i, &w)
	}
	if next == i {
		return written{}, start
	}
	w.to = next
	return w, next
}

// skipBefore passes over weekdays and small words in front of a date.
//
// Grammar: before.
func (ts *tokens) skipBefore(i int, w *written) int {
	for {
		t := ts.at(i)
		if next := ts.at(i + 1); t.kind == wordToken && !t.dot && next.isNumber() && !next.gap {
			return i // l2/04/2026: the letter may be a one
		}
		switch {
		// mar. 12 mai
		case t.hasClass(weekdayWord) && ts.at(i+1).kind != noToken, t.word.also&alsoWeekday != 0 && ts.monthAfter(i+1) > 0:
			w.weekday = t.word.day + 1
		case t.hasClass(fillerWord), t.hasClass(yearWord), t.is(','),
			t.word.also&alsoDayPart != 0 && ts.at(i+1).kind != noToken: // the morning of 14 May, the weekend of April 12
			for t.kind == wordToken && ts.at(i+1).word.also&alsoOf != 0 && ts.monthValue(i+1) == 0 {
				i++
			}
		case t.hasClass(thirdWord) && w.part == "" && ts.partOf(i) > i: // early April
			w.part = ts.text[t.start:t.end]
			i = ts.partOf(i) - 1
		case t.kind == wordToken && t.end-t.start <= 2 && t.word.class != noClass && !t.hasClass(monthWord) &&
			(ts.at(i+1).isNumber() || ts.at(i+1).is(',')): // Mi, do, le
		default:
			return i
		}
		i++
	}
}

// partOf returns where the month, season or year begins of which the word at i names a part, or i.
func (ts *tokens) partOf(i int) int {
	at := i + 1
	for ts.at(at).word.also&(alsoThe|alsoOf) != 0 && ts.monthValue(at) == 0 {
		at++
	}
	if ts.at(at).is('-') {
		at++
	}
	if t := ts.at(at); t.hasClass(monthWord) || t.hasClass(seasonWord) || t.isNumber() && t.digits == 4 {
		return at
	}
	return i
}

// readNumbers reads a date that begins with a number.
//
// Grammar: numbers, year-first, day-month.
func (r *reader) readNumbers(ts *tokens, i int, w *written) int {
	run := ts.run(i)
	s := run.sign
	switch {
	case run.count >= 3 && s[0] == s[1] && s[0] != 'r',
		// 12/4 2026, 12/4-2026
		run.count == 3 && s[0] == '/' && (s[1] == ' ' || s[1] == '-') && ts.at(run.at[2]).digits == 4 && ts.at(i).digits <= 2:
		return ts.takeNumbers(run, 0, 3, w)
	case run.count >= 4 && s[1] == s[2] && isRangeSign(s[0]) && s[1] != 'r' && ts.at(run.at[0]).digits <= 2:
		w.day = dayOf(ts.at(i)) // 12-14/4/2026: the end completes it
		return i + 1
	case run.count == 2 && isRangeSign(s[0]) && ts.monthAfter(run.at[1]) > 0 && ts.at(run.at[0]).digits <= 2:
		w.day = dayOf(ts.at(i)) // 12-14 April 2026
		return i + 1
	case run.count >= 2 && s[0] != 'r' && s[0] != ' ' && (run.count == 2 || s[1] != s[0]) && ts.monthAfter(run.at[1]) == 0:
		return ts.takeNumbers(run, 0, 2, w)
	}
	if ts.at(i).digits == 4 {
		next := ts.readYear(i, w)
		at := next
		if ts.at(at).is(',') || ts.at(at).is('-') {
			at++
		}
		if t := ts.at(at); t.hasClass(seasonWord) {
			w.season = uint8(t.word.arg)
			return at + 1
		} else if t.hasClass(monthWord) {
			w.month = int(t.word.month)
			next = at + 1
			if d := ts.at(next); d.is('-') && ts.at(next+1).isNumber() && !d.gap {
				next++
			}
			if d := ts.at(next); d.isNumber() && d.digits <= 2 && !ts.at(next+1).is(':') {
				w.day = dayOf(d)
				next = ts.skipEnding(next + 1)
			}
		}
		return next
	}
	if ts.at(i).digits > 2 {
		return i
	}
	month := ts.monthAfter(i)
	if month == 0 {
		after := ts.skipEnding(i + 1)
		if _, ranged := ts.connector(after); ranged {
			w.day = dayOf(ts.at(i))
			return after
		}
		return i
	}
	w.day = dayOf(ts.at(i))
	w.month = ts.monthValue(month)
	return ts.readYearAfter(month+1, w)
}

// dayOf is the day that a number names; -1 for 0, which is none.
//
// Grammar: n.
func dayOf(t *token) int {
	if t.value == 0 {
		return -1
	}
	return int(t.value)
}

// takeNumbers keeps numbers whose order is not known yet.
func (ts *tokens) takeNumbers(run run, from, count int, w *written) int {
	w.count = uint8(count)
	for k := range count {
		t := ts.at(run.at[from+k])
		w.numbers[k] = number{int(t.value), t.digits}
	}
	return run.at[from+count-1] + 1
}

// monthAfter returns the place of the month name that follows the day at i, or
// 0. Endings and small words may stand between.
func (ts *tokens) monthAfter(i int) int {
	i = ts.skipEnding(i + 1)
	if t := ts.at(i); t.is('-') || t.is('/') || t.is('.') && !t.gap { // 23 - August - 2025
		i++
	}
	for ts.at(i).hasClass(fillerWord) || ts.at(i).hasClass(orWord) || ts.isOf(i) || ts.at(i).hasClass(endingWord) ||
		ts.at(i).is('\'') {
		i++
	}
	if ts.monthValue(i) > 0 {
		return i
	}
	return 0
}

// isOf reports whether a word says of.
func (ts *tokens) isOf(i int) bool {
	t := ts.at(i)
	return t.hasClass(sinceWord) && t.word.arg == of && ts.monthValue(i) == 0
}

// monthValue returns the month that a token names, also as a Roman numeral in
// capitals (12.IV.2026), or 0.
//
// Grammar: month.
func (ts *tokens) monthValue(i int) int {
	t := ts.at(i)
	// des. 2025
	if next := ts.at(i + 1); t.hasClass(monthWord) || t.word.month > 0 && next.isNumber() && next.digits == 4 {
		return int(t.word.month)
	}
	if t.kind == wordToken && t.roman >= 1 && t.roman <= 12 && (t.capital && isCapitalNumeral(ts.text[t.start:t.end]) ||
		!t.capital && t.dot && !t.gap && ts.at(i+1).digits == 4 && !ts.at(i+1).gap) { // 6.iv.2024
		return int(t.roman)
	}
	return 0
}

func isCapitalNumeral(s string) bool {
	for i := range len(s) {
		if c := s[i]; c != 'I' && c != 'V' && c != 'X' && c != '.' {
			return false
		}
	}
	return true
}

// skipEnding passes over the ending of an ordinal: 12th, 1er, 1:a.
//
// Grammar: ordinal.
func (ts *tokens) skipEnding(i int) int {
	if ts.at(i).is(':') && ts.at(i+1).word.also&alsoEnding != 0 {
		return i + 2
	}
	if t := ts.at(i); t.word.also&alsoEnding != 0 && !t.gap {
		return i + 1
	}
	return i
}

// readYearAfter reads a year behind a month, if there is one.
func (ts *tokens) readYearAfter(i int, w *written) int {
	at := i
	for t := ts.at(at); t.is(',') || t.is('.') || (t.is('-') || t.is('/')) && (!t.gap || ts.at(at+1).digits == 4 ||
		!ts.at(at+1).gap && ts.at(at+1).digits == 2) || // 3 maj -23
		t.hasClass(fillerWord) || t.hasClass(endingWord) || t.hasClass(orWord) ||
		t.hasClass(yearWord) && t.word.arg == 0 || ts.isOf(at); t = ts.at(at) {
		at++
	}
	if next := ts.readYear(at, w); next > at {
		return next
	}
	return i
}

// readYear reads a year of four digits, or of two that no time begins with.
//
// Grammar: year.
func (ts *tokens) readYear(i int, w *written) int {
	at := i
	if ts.at(at).is('\'') {
		at++
	}
	t := ts.at(at)
	if !t.isNumber() || t.digits != 4 && t.digits != 2 || ts.at(at+1).is(':') {
		return i
	}
	if t.digits == 2 && ts.at(at+1).is('.') && ts.at(at+2).isNumber() {
		return i
	}
	w.year, w.hasYear = int(t.value), true
	if t.digits == 2 {
		w.year = -1 - w.year // two digits; resolve asks the pivot
	}
	return at + 1
}

// Grammar: month-first.
func (r *reader) readMonthFirst(ts *tokens, i int, w *written) int {
	w.month = int(ts.at(i).word.month)
	i++
	if d := ts.at(i); d.is('-') && !d.gap && ts.at(i+1).isNumber() && ts.at(i+1).digits <= 2 && ts.at(i+2).is('-') {
		i++
	}
	d := ts.at(i)
	if !d.isNumber() || d.digits > 2 || ts.at(i+1).is(':') {
		return ts.readYearAfter(i, w)
	}
	after := ts.skipEnding(i + 1)
	if ts.at(after).is('-') && ts.at(after+1).isNumber() && ts.at(after+1).digits <= 2 { // April 12-14, 2026
		beyond := ts.skipEnding(after + 2)
		var end written
		if next := ts.readYearAfter(beyond, &end); end.hasYear && next > beyond {
			w.day = dayOf(d)
			w.year, w.hasYear = end.year, true
			ts.list[after+1].digits = 2
			return r.swapMonth(ts, after, w)
		}
	}
	var with written
	if next := ts.readYearAfter(after, &with); with.hasYear {
		w.day = dayOf(d)
		w.year, w.hasYear = with.year, true
		return next
	}
	if to, ranged := ts.connector(after); ranged && ts.monthValue(to) > 0 { // April 12 - May 2, 2026
		w.day = dayOf(d)
		return after
	}
	if d.digits == 2 && d.value > 31 { // April 98; April 26 may be a day without year
		w.year, w.hasYear = -1-int(d.value), true
		return i + 1
	}
	w.day = dayOf(d)
	return after
}

// swapMonth moves the month name behind the second day of "April 12-14, 2026",
// so that the end of the range is read like any other.
func (r *reader) swapMonth(ts *tokens, dash int, w *written) int {
	second := ts.skipEnding(dash + 2)
	if ts.at(second).is(',') && ts.n > second {
		month := token{kind: wordToken, word: word{class: monthWord, arg: int8(w.month), month: int8(w.month)}, gap: true,
			start: ts.at(second).start, end: ts.at(second).end}
		ts.list[second] = month
		return dash
	}
	if ts.n == maxTokens {
		return dash
	}
	copy(ts.list[second+1:ts.n+1], ts.list[second:ts.n])
	ts.n++
	ts.list[second] = token{kind: wordToken, word: word{class: monthWord, arg: int8(w.month), month: int8(w.month)},
		gap:   true,
		start: ts.list[second+1].start, end: ts.list[second+1].start}
	return dash
}

// readSeason reads a season and its year; a winter may name two years.
//
// Grammar: season.
func (ts *tokens) readSeason(i int, w *written) int {
	w.season = uint8(ts.at(i).word.arg)
	i++
	next := ts.readYearAfter(i, w)
	if !w.hasYear {
		return i
	}
	if t := ts.at(next); (t.is('/') || t.is('-')) && ts.at(next+1).isNumber() && w.season == 24 && w.year > 0 {
		if end := int(ts.at(next + 1).value); end == w.year+1 || end == (w.year+1)%100 {
			return next + 2
		}
	}
	return next
}

// resolve makes a point of a written date, or says what is missing or wrong.
func (r *reader) resolve(w *written, ts *tokens) (point, *Error) {
	text := ts.part(w.from, w.to)
	if w.count > 0 {
		if err := r.order(w, text); err != nil {
			return point{}, err
		}
		if w.shared && w.day != w.numbers[0].value {
			return point{}, r.impossible(text, "the number before the whole date is no day")
		}
	}
	if !w.hasYear {
		return point{}, r.fail("year-missing", text, "the year is missing",
			"type the year with four digits behind the day and month")
	}
	if w.year < 0 {
		year, err := r.pivot(-1-w.year, text)
		if err != nil {
			return point{}, err
		}
		w.year = year
	}
	p := yearPoint(w.year)
	if w.part != "" {
		r.note("part-passed-over", "the whole month, season or year is read, for \""+w.part+"\" has no fixed days")
	}
	if w.season > 0 {
		p.month = w.season
		return p, nil
	}
	if w.month > 12 {
		return p, r.impossible(text, "there is no month "+strconv.Itoa(w.month))
	}
	p.month = uint8(w.month)
	if w.day != 0 {
		if w.day < 0 {
			return p, r.impossible(text, "there is no day 0")
		}
		if w.month == 0 || w.day > int(daysIn(w.year, p.month)) {
			return p, r.impossible(text, "month "+strconv.Itoa(w.month)+" of "+strconv.Itoa(w.year)+" has no day "+
				strconv.Itoa(w.day))
		}
		p.day = uint8(w.day)
		day := Day{w.year, p.month, p.day}
		if w.weekday > 0 && day.weekday() != int(w.weekday-1) {
			r.note("weekday-differs", day.String()+" is not the day of the week that is written beside it")
		}
	}
	return p, nil
}

func (r *reader) impossible(part, message string) *Error {
	return r.fail("date-impossible", part, message, "look at the day, the month and the order of both")
}

// pivot gives a two-digit year its century.
func (r *reader) pivot(year int, part string) (int, *Error) {
	pivot := r.options.Pivot
	if pivot < 1 || pivot > 9900 {
		return 0, r.fail("year-two-digits", part, "the year has two digits only",
			"type the year with four digits, or state a pivot: with pivot 1950 the years run from 1950 to 2049")
	}
	full := pivot + ((year-pivot)%100+100)%100
	r.note("year-two-digits", "a year of two digits is read by the stated pivot")
	return full, nil
}
