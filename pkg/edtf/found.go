package edtf

import (
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

// Found is a reading of the day something was found. Either Date is set, with
// Time where one stood beside it, or Absent.
type Found struct {
	Date Date
	// Time is the local time, hh:mm or hh:mm:ss, with Z or ±hh:mm where an
	// offset is stated. It never moves the day.
	Time string
	// Absent is the reason where the text says only that there is no date.
	Absent string
	// Ambiguous reports whether Options.Order decided between two readings.
	Ambiguous bool
	// Notes say what the reading assumed.
	Notes []Note
}

// NormaliseFound reads the day, month, season or year of a find as people write
// it, with a time beside it, or an interval of these. It accepts ISO 8601 and
// canonical EDTF, numbers with points, slashes or hyphens in the order that the
// numbers prove or Options states, names of months in six languages, and serial
// dates of workbooks where Options allows them. What has two readings, cannot
// be, or lies after Options.Today is refused with an [*Error]. What it returns
// it reads again as the same: the text of Date, a blank and Time.
func NormaliseFound(s string, o Options) (Found, error) {
	return inLanguages(s, o.settled(), func(o Options) (Found, uint32, *Error) {
		r := reader{input: s, text: strings.TrimSpace(s), options: o}
		found, err := r.found()
		if err == nil && found.Time != "" && found.Date.Precision() != PrecisionDay {
			err = r.notRead() // a time belongs to a day, not to a month or a season
		}
		found.Notes = r.notes
		return found, r.clash, err
	}, func(f Found) string { return strings.TrimSpace(f.Date.String() + " " + f.Time) })
}

// Grammar: text (of a day).
func (r *reader) found() (Found, *Error) {
	if r.text == "" {
		return Found{}, r.failText("date-empty", "there is no date",
			"type the day, such as 2026-04-12, or why there is none, such as not noted")
	}
	if mayBeCanonical(r.text) {
		if d, f := parse(markBehind(r.text)); !f.failed() {
			return r.foundCanonical(d)
		}
	}
	if reason, ok := lexicon.Absence(r.text, "date"); ok {
		return Found{Absent: reason}, nil
	}
	if d, ok := r.weekDate(); ok {
		return Found{Date: d}, r.future(d)
	}
	var ts tokens
	short := ts.split(r.text, r.options.Language)
	if r.clash = ts.best(); !short || ts.n == 0 {
		return Found{}, r.notRead()
	}
	if ts.at(0).isNumber() && (ts.n == 1 || ts.n == 3 && ts.at(2).isNumber() && (ts.at(1).is('.') || ts.at(1).is(','))) {
		if found, err, done := r.bareNumber(&ts); done {
			return found, err
		}
	}
	if d, err, done := r.weekInWords(&ts); done {
		return Found{Date: d}, err
	}
	return r.written(&ts)
}

// foundCanonical judges a date that is EDTF already.
//
// Grammar: canonical.
func (r *reader) foundCanonical(d Date) (Found, *Error) {
	var found Found
	if d.clock.set {
		c := d.clock
		if c.zone == hourZone {
			c.zone = minuteZone
		}
		if c.offset > 14*60 || c.offset < -14*60 {
			return found, r.failText("time-offset", "no place has such an offset from UTC",
				"type the offset of the place, such as +02:00")
		}
		found.Time = c.String()
		d = single(d.from)
	}
	if d.kind == kindSingle && d.from.mask&yearMask == 0 && d.from.mask != 0 {
		if whole := d.from.dropUnspecified(); whole.mask == 0 {
			r.note("date-coarsened", "unspecified digits are left out: "+string(whole.append(nil)))
			d = single(whole)
		}
	}
	if !ValidFound(d) {
		return found, r.refuseFound(d)
	}
	if d.kind == kindSingle && d.from.isSeason() && int32(d.from.month) == d.from.year%100+1 {
		r.note("season-or-years", "read as EDTF, "+seasonText(d.from.month)+" "+r.text[:4]+"; for two years type "+r.text[:4]+
			"/"+r.text[:2]+r.text[5:])
	}
	found.Date = d
	return found, r.future(d)
}

// dropUnspecified leaves out a month or day that is XX.
func (p point) dropUnspecified() point {
	if p.mask&dayMask == dayMask {
		p = p.drop(dayPart)
	}
	if p.mask&monthMask == monthMask && !p.hasDay() {
		p = p.drop(monthPart)
	}
	return p
}

// refuseFound says why a date cannot be the day of a find.
func (r *reader) refuseFound(d Date) *Error {
	const help = "type a day, month, season or year, or an interval with both its ends, such as 2026-04-12/2026-04-14"
	earliest, latest, hasEarliest, hasLatest := d.Years()
	switch {
	case d.IsInterval() && (d.start != Stated || d.end != Stated):
		return r.failText("date-open", "a date of finding has both its ends", help)
	case d.IsSet():
		return r.failText("date-too-vague", "a set of dates is no date of finding", help)
	case hasEarliest && (earliest < 1 || earliest > 9999), hasLatest && (latest < 1 || latest > 9999):
		return r.failText("date-impossible", "nobody went out with a detector in that year", help)
	}
	e := r.failText("date-too-vague",
		"a date of finding has no unspecified digits, parts of a year beyond the four seasons or parts qualified alone", help)
	if d.kind == kindSingle && d.from.isSeason() && int32(d.from.month) == d.from.year%100+1 {
		e.Proposals = []string{interval(Stated, yearPoint(earliest), Stated, yearPoint(earliest+1)).String()} // 2025-26
	} else if hasEarliest && hasLatest && earliest < latest {
		e.Proposals = []string{interval(Stated, yearPoint(earliest), Stated, yearPoint(latest)).String()}
	}
	return e
}

func seasonText(code uint8) string {
	return [...]string{"spring", "summer", "autumn", "winter"}[(code-21)%4]
}

// written reads a date in words or numbers, and the time behind it.
//
// Grammar: between.
func (r *reader) written(ts *tokens) (Found, *Error) {
	var found Found
	q := ts.takeMarks()
	i := 0
	for (ts.at(i).hasClass(sinceWord) || ts.at(i).hasClass(betweenWord) ||
		ts.at(i).hasClass(fillerWord) && (ts.at(i+1).hasClass(sinceWord) || ts.at(i+1).hasClass(betweenWord))) &&
		ts.monthValue(i) == 0 {
		i++
	}
	first, next := r.readDay(ts, i)
	if next == i {
		return found, r.notRead()
	}
	second := written{}
	if after, ok := ts.connector(next); ok {
		var end int
		if second, end = r.readDay(ts, after); end > after {
			next = end
			if first.completeFrom(second); first.day > 0 && first.month == 0 && first.count == 0 {
				return found, r.notRead() // 14 & January 2024
			}
		} else {
			second = written{}
		}
	}
	if first.isYearPair() {
		if second.any() {
			return found, r.notRead()
		}
		first, second = first.splitYears()
	}
	shared := r.options.Order == OrderUnknown && first.count == 3 && second.count == 3
	if shared {
		// Both ends of a range are written in one order, which one may prove.
		if o := provenOrder(first.numbers); o != OrderUnknown {
			r.options.Order = o
		} else {
			r.options.Order = provenOrder(second.numbers)
		}
	}
	d, err := r.between(ts, &first, &second, q)
	if err != nil {
		return found, err
	}
	found.Ambiguous = !shared && (first.ambiguous || second.ambiguous)
	if found.Time, err = r.timeAfter(ts, next, second.any()); err != nil {
		return found, err
	}
	if !ValidFound(d) {
		return found, r.refuseFound(d)
	}
	found.Date = d
	return found, r.future(d)
}

// between works out the day, or the interval where a second day is written.
func (r *reader) between(ts *tokens, first, second *written, q qualifier) (Date, *Error) {
	p, err := r.resolve(first, ts)
	if err != nil || !second.any() {
		return single(p.qualified(q)), err
	}
	until, err := r.resolve(second, ts)
	if err != nil {
		return Date{}, err
	}
	if reversed(p, until) {
		return Date{}, r.failText("date-reversed", "the end is before the start",
			"type the earlier date first, such as 2026-04-12/2026-04-14")
	}
	if p == until {
		return single(p.qualified(q)), nil
	}
	return interval(Stated, p.qualified(q), Stated, until.qualified(q)), nil
}

// timeAfter reads what follows the date, which is a time or nothing.
func (r *reader) timeAfter(ts *tokens, i int, ranged bool) (string, *Error) {
	for ts.at(i).is(',') || ts.at(i).is('-') && ts.at(i).gap || ts.at(i).is(';') || ts.at(i).is('.') && i+1 == ts.n {
		i++
	}
	// 2026 r.
	if t := ts.at(i); t.kind == wordToken && t.end-t.start == 1 && r.text[t.start]|0x20 == 't' ||
		t.word.also&alsoYear != 0 {
		i++
	}
	if i >= ts.n || ts.isDayPart(i) {
		return "", nil
	}
	rest := r.text[ts.at(i).start:]
	c, left := scanTime(rest)
	left = strings.TrimSpace(left)
	if !c.set || left != "" && left != "?" && left != ")" {
		if h, tail, ok := cutNumber(rest, 4); ok && len(rest)-len(tail) == 4 && tail == "" && h/100 < 24 && h%100 < 60 {
			c = clock{set: true, hour: uint8(h / 100), minute: uint8(h % 100)}
		} else {
			return "", r.fail("date-not-read", rest, "what follows the date is not read",
				"type the date and at most a time, such as 2026-04-12 14:30; put other words in the notes")
		}
	}
	if ranged {
		return "", r.fail("time-not-read", rest, "a time stands beside one day, not beside an interval",
			"type the day, or leave the time out")
	}
	return c.String(), nil
}

// isDayPart reports whether all that is left says a part of the day: it is kept in the words alone.
//
// Grammar: day-part.
func (ts *tokens) isDayPart(i int) bool {
	for ; i < ts.n; i++ {
		if t := ts.at(i); t.word.also&(alsoDayPart|alsoThe) == 0 && !t.hasClass(fillerWord) {
			return false
		}
	}
	return true
}

// takeMarks removes the words and signs for about and probably, wherever they
// stand, and returns the qualifier they make.
//
// Grammar: marks.
func (ts *tokens) takeMarks() qualifier {
	var q qualifier
	for i := 0; i < ts.n; i++ {
		t := ts.at(i)
		var is qualifier
		switch {
		case t.hasClass(approxWord), t.is('~'):
			is = approximate
		case t.hasClass(unsureWord), t.is('?'):
			is = uncertain
		case t.is('%'):
			is = approximate | uncertain
		case t.is('(') || t.is(')') || t.is('[') || t.is(']'):
		default:
			continue
		}
		if t.hasClass(approxWord) && ts.at(i+1).isNumber() && (ts.at(i+2).is(':') || ts.isOclock(i+2)) {
			continue // "um 14:30 Uhr": at, not about
		}
		q |= is
		ts.remove(i, i+1)
		i--
	}
	return q
}

// isOclock reports whether the word for hours stands at i.
func (ts *tokens) isOclock(i int) bool {
	t := ts.at(i)
	return t.kind == wordToken && t.hasClass(timeWord) && lexicon.Says("oclock", ts.text[t.start:t.end])
}

// connector reports whether a range goes on at i, and where its end begins.
//
// Grammar: joint (of a day).
func (ts *tokens) connector(i int) (int, bool) {
	t := ts.at(i)
	switch {
	case t.is('-'), t.is('/'), t.is('&'), t.hasClass(toWord), t.hasClass(untilWord), t.hasClass(andWord),
		t.word.also&alsoAnd != 0 && ts.at(i+1).isNumber():
	case t.kind == wordToken && t.hasClass(endingWord) && t.end-t.start <= 2 && t.gap: // French à
	default:
		return i, false
	}
	i++
	for ts.at(i).hasClass(fillerWord) || ts.at(i).hasClass(toWord) {
		i++
	}
	return i, true
}
