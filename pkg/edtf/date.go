// Package edtf reads and writes the dates of a find report: the day something
// was found, and how old it is thought to be.
//
// [Parse] reads canonical text and nothing else: the Extended Date/Time Format
// (EDTF) in the Library of Congress specification of 4 February 2019, which is
// a profile of ISO 8601-1 and ISO 8601-2. [NormaliseFound] reads a day of
// finding as people write it ("12/4/26 14:30", "d. 12. april 2026"), and
// [NormaliseDating] reads an age as people write it ("late 17th to early 18th
// century", "c. 1350", "XVIIIe siècle", "Roman"), in English, German, Dutch,
// French, Danish and Swedish. Both return a [Date], whose String is canonical
// and is read back by Parse as the same value.
//
// # Grammar
//
// Parse accepts EDTF levels 0 and 1 whole, and of level 2 what finds need:
//
//	date      = year | year-month | year-month-day | year-season
//	year      = [-]dddd, or Y[-]ddddd... beyond four digits
//	season    = 21 to 41 (spring to winter, by hemisphere, quarters, terms)
//	moment    = date T hh:mm:ss [Z | ±hh | ±hh:mm]
//	interval  = date/date, with .. for an open and nothing for an unknown side
//	qualifier = ? uncertain, ~ approximate, % both; after a part for it and all
//	            before it, in front of a part for that part alone
//	digit     = X where it is not specified, anywhere in a date
//	set       = [a,b..c] one of these, {a,b..c} all of these
//	long year = Y17E7 exponential, 1950S2 with two significant digits
//
// Years are astronomical: 0 is 1 BC, -199 is 200 BC. The calendar is the
// proleptic Gregorian one. A year has at most nine digits.
//
// # Conventions
//
// Where people differ the reading is fixed: a century is 1701/1800; early, mid
// and late are its thirds 1701/1733, 1734/1766 and 1767/1800; "beginning" and
// "end" of a century are read as early and late; halves and quarters are exact
// (1701/1750, 1701/1725); "1860s" is 186X; "1700s" is refused, for it may be a
// decade or a century, but Danish "1700-tallet" and Swedish "1700-talet" are the
// eighteenth century; "c. 1350" is 1350~; "before 1900" is ../1900 and "after
// 1840" is 1840/..; a century or decade after "before" or "after" is left out
// of the span (../1700, 1801/..), after "until" or "since" it is in it; 200 BC is
// -0199. The turn of two named centuries is the last ten years of the one and
// the first ten of the other ("turn of the 18th/19th century" is 1791/1810,
// our own convention); the turn of one century is ambiguous and refused.
// A period word stays a word and never becomes years.
//
// # Not done here
//
// No locale is guessed, no clock is read, and no date is chosen where the text
// leaves two: the error names both. Julian dates are not converted.
//
// This package is unstable: it may change between any two versions.
package edtf

import "strings"

// Date is one EDTF date, interval or set. It is a small comparable value; its
// zero value is no date at all, which is not the same as an unknown one.
//
// The grammar that [Parse] accepts and String writes stands in the package
// comment.
type Date struct {
	kind       kind
	start, end Side
	level      uint8
	marks      qualifier // of all parts together
	clock      clock
	from, to   point // of a set: its earliest and its latest member
	set        string
}

type kind uint8

const (
	kindNone kind = iota
	kindSingle
	kindInterval
	kindOneOf
	kindAllOf
)

// Side tells what stands at one end of a date: a stated date, an open end
// (".." in EDTF, goes on without limit) or an unknown one (left empty).
type Side uint8

// The sides of an interval; Stated is the zero value.
const (
	Stated Side = iota
	Open
	Unknown
)

// String returns "stated", "open" or "unknown".
func (s Side) String() string {
	switch s {
	case Open:
		return "open"
	case Unknown:
		return "unknown"
	}
	return "stated"
}

// Precision tells how fine a date is stated, from a day to a millennium.
type Precision uint8

// The precisions from fine to coarse. Season stands for every part of a year
// that EDTF numbers from 21 to 41. The zero value belongs to the zero Date.
const (
	PrecisionNone Precision = iota
	PrecisionDay
	PrecisionMonth
	PrecisionSeason
	PrecisionYear
	PrecisionDecade
	PrecisionCentury
	PrecisionMillennium
)

var precisionNames = [...]string{"", "day", "month", "season", "year", "decade", "century", "millennium"}

// String returns the word for the precision, such as "month"; the zero value
// gives the empty string.
func (p Precision) String() string {
	if int(p) < len(precisionNames) {
		return precisionNames[p]
	}
	return ""
}

// DayDate returns the date of one day. A day that does not exist, or whose year
// has more than four digits, gives the zero value.
func DayDate(d Day) Date {
	if !d.IsValid() || d.Year > 9999 || d.Year < -9999 {
		return Date{}
	}
	p := yearPoint(d.Year)
	p.month, p.day = d.Month, d.Day
	return single(p)
}

// IsZero reports whether there is no date at all.
func (d Date) IsZero() bool { return d == Date{} }

// IsInterval reports whether the date is an interval, open or closed.
func (d Date) IsInterval() bool { return d.kind == kindInterval }

// IsSet reports whether the date is a set: one of several dates, or all of them.
func (d Date) IsSet() bool { return d.kind == kindOneOf || d.kind == kindAllOf }

// Level returns the EDTF level, 0 to 2, that is needed to write the date.
func (d Date) Level() int { return int(d.level) }

// Approximate reports whether any part of the date carries ~ or %.
func (d Date) Approximate() bool { return d.marks&approximate != 0 }

// Uncertain reports whether any part of the date carries ? or %.
func (d Date) Uncertain() bool { return d.marks&uncertain != 0 }

// Sides tells what stands at the start and at the end. For one date both are
// Stated; a set that begins or ends with ".." is Open there.
func (d Date) Sides() (start, end Side) { return d.start, d.end }

// Start returns the earlier date of an interval, the earliest of a set, or the
// date itself; the zero Date where that side is open or unknown.
func (d Date) Start() Date {
	if d.kind == kindNone || d.start != Stated {
		return Date{}
	}
	return single(d.from)
}

// End returns the later date of an interval, the latest of a set, or the date
// itself; the zero Date where that side is open or unknown.
func (d Date) End() Date {
	if d.kind == kindNone || d.end != Stated {
		return Date{}
	}
	return single(d.to)
}

// Time returns the local time that an EDTF date and time carries, such as
// "23:20:30+04:30", or the empty string.
func (d Date) Time() string {
	if !d.clock.set {
		return ""
	}
	return d.clock.String()
}

// Precision returns how fine the date is stated; of an interval or a set the
// coarser of its ends. "201X" has the precision of a decade, the interval
// 1701/1800 that of a year, for its ends are years.
func (d Date) Precision() Precision {
	p := PrecisionNone
	if d.kind == kindNone {
		return p
	}
	if d.start == Stated {
		p = d.from.precision()
	}
	if d.end == Stated {
		p = max(p, d.to.precision())
	}
	return p
}

// String writes canonical EDTF. The zero value gives the empty string.
func (d Date) String() string {
	if d.IsSet() {
		return d.set
	}
	var buf [64]byte
	return string(d.append(buf[:0]))
}

// AppendText appends the canonical text to b; it never fails.
func (d Date) AppendText(b []byte) ([]byte, error) { return d.append(b), nil }

// MarshalText writes what String writes.
func (d Date) MarshalText() ([]byte, error) { return d.append(nil), nil }

// UnmarshalText reads canonical text with [Parse]; empty text is the zero value.
func (d *Date) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = Date{}
		return nil
	}
	parsed, err := Parse(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

func (d Date) append(b []byte) []byte {
	switch d.kind {
	case kindNone:
		return b
	case kindOneOf, kindAllOf:
		return append(b, d.set...)
	case kindInterval:
		b = appendSide(b, d.start, d.from)
		b = append(b, '/')
		return appendSide(b, d.end, d.to)
	}
	b = d.from.append(b)
	if d.clock.set {
		b = append(b, 'T')
		b = d.clock.append(b)
	}
	return b
}

func appendSide(b []byte, s Side, p point) []byte {
	switch s {
	case Open:
		return append(b, '.', '.')
	case Unknown:
		return b
	}
	return p.append(b)
}

func single(p point) Date {
	return Date{kind: kindSingle, from: p, to: p, level: p.level(), marks: p.marks()}
}

// interval joins two sides; the point of a side that is not stated is ignored.
// Unspecified digits in an interval belong to level 2.
func interval(start Side, from point, end Side, to point) Date {
	d := Date{kind: kindInterval, start: start, end: end}
	if start == Stated {
		d.from = from
		d.level = from.level()
		d.marks = from.marks()
	} else {
		d.level = 1
	}
	if end == Stated {
		d.to = to
		d.level = max(d.level, to.level())
		d.marks |= to.marks()
	} else {
		d.level = max(d.level, 1)
	}
	if d.from.mask|d.to.mask != 0 {
		d.level = 2
	}
	return d
}

// Coarsen returns the date stated no finer than the given precision, as a copy
// for others needs it: 2026-04-12 to a month is 2026-04, to a century 20XX. A
// day or month coarsened to a season becomes its year, for no season can be
// told from a month alone. The ends of an interval are coarsened each and
// become one date where they are then equal; members of a set likewise. A time
// of day is dropped. A date that is coarse enough is returned as it is.
func (d Date) Coarsen(to Precision) Date {
	switch {
	case d.kind == kindNone || to <= PrecisionDay && !d.clock.set:
		return d
	case d.IsSet():
		return d.coarsenSet(to)
	case d.kind == kindSingle:
		return single(d.from.coarsen(to))
	}
	from, until := d.from.coarsen(to), d.to.coarsen(to)
	if d.start == Stated && d.end == Stated && from == until {
		return single(from)
	}
	return interval(d.start, from, d.end, until)
}

func (d Date) coarsenSet(to Precision) Date {
	var b strings.Builder
	b.WriteByte(d.set[0])
	seen := make(map[string]bool)
	for member := range strings.SplitSeq(d.set[1:len(d.set)-1], ",") {
		from, until, ranged := strings.Cut(member, "..")
		text := coarsenText(from, to)
		if ranged {
			if end := coarsenText(until, to); end != text {
				text += ".." + end
			}
		}
		if seen[text] {
			continue
		}
		seen[text] = true
		if b.Len() > 1 {
			b.WriteByte(',')
		}
		b.WriteString(text)
	}
	b.WriteByte(d.set[len(d.set)-1])
	set, f := parse(b.String())
	if f.failed() {
		return Date{}
	}
	return set
}

func coarsenText(s string, to Precision) string {
	if s == "" {
		return s
	}
	p, f := parsePoint(s)
	if f.failed() {
		return s
	}
	return string(p.coarsen(to).append(nil))
}

func (p point) coarsen(to Precision) point {
	if p.precision() >= to {
		if to < PrecisionYear || !p.hasMonth() {
			return p
		}
	}
	if p.hasDay() && to > PrecisionDay {
		p = p.drop(dayPart)
	}
	if p.hasMonth() && (to > PrecisionSeason || to == PrecisionSeason && !p.isSeason()) {
		p = p.drop(monthPart)
	}
	if to <= PrecisionYear {
		return p
	}
	return p.coarsenYear(int(to - PrecisionYear))
}

// drop removes a part and carries what qualified the whole date to the part
// before it.
func (p point) drop(which part) point {
	q := p.after >> (2 * which) & 3
	p.after &^= 3 << (2 * which)
	p.before &^= 3 << (2 * which)
	if which == dayPart {
		p.day, p.mask = 0, p.mask&^dayMask
	} else {
		p.month, p.mask = 0, p.mask&^monthMask
	}
	up := which - 1
	if left := p.before >> (2 * up) & 3; left != 0 && q != 0 {
		p.before |= q << (2 * up) // a part is qualified on one side only
	} else {
		p.after |= q << (2 * up)
	}
	return p
}

// coarsenYear makes the last digits of a year unspecified, or, where the year
// is too long for that or has significant digits, leaves so many fewer of them.
func (p point) coarsenYear(digits int) point {
	if !p.isLong() && p.significant == 0 {
		for i := range digits {
			unit := int32(1)
			for range i {
				unit *= 10
			}
			p.year -= p.year / unit % 10 * unit
			p.mask |= 1 << i
		}
		return p
	}
	kept := max(1, countDigits(p.magnitude())-digits)
	if p.significant == 0 || int(p.significant) > kept {
		p.significant = uint8(kept)
	}
	return p
}

// ValidFound reports whether the date is one that found.date may hold: a day, a
// month, a year or a season (21 to 24), each with ? ~ or % behind it, or one
// closed interval of these; years from 0001 to 9999 in four digits, no
// unspecified digits, no time of day.
func ValidFound(d Date) bool {
	switch d.kind {
	case kindSingle:
		return !d.clock.set && d.from.validFound()
	case kindInterval:
		return d.start == Stated && d.end == Stated && d.from.validFound() && d.to.validFound()
	}
	return false
}

func (p point) validFound() bool {
	return !p.negative && !p.isLong() && p.year > 0 && p.significant == 0 && p.mask == 0 &&
		p.month <= 24 && p.before == 0 && p.after&^(3<<(2*p.lastPart())) == 0
}
