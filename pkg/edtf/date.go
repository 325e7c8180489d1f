package edtf

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
