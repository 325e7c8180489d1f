package edtf

import "strings"

// fault is what a strict reading stumbles over: cheap to return, for the
// readers of human text try the strict one first. The zero value is no fault;
// at counts bytes from 1.
type fault struct {
	at            int
	code, message string
}

func (f fault) failed() bool { return f.at > 0 }

// shift moves a fault by the place where its part begins.
func (f fault) shift(by int) fault {
	if f.failed() {
		f.at += by
	}
	return f
}

// Parse reads canonical text: EDTF level 0 and 1, and the parts of level 2 that
// the package comment names. Nothing around or inside it is passed over, not
// even a blank. What Parse accepts, String writes back byte for byte.
func Parse(s string) (Date, error) {
	d, f := parse(s)
	if f.failed() {
		at := min(f.at-1, len(s))
		return Date{}, &Error{Input: s, Code: f.code, Part: s[at:], At: at, Message: f.message,
			Help: "canonical dates are EDTF, such as 2026-04-12, 1690/1790, 186X or 1350~"}
	}
	return d, nil
}

// canonicalSigns are the bytes that canonical text is made of.
var canonicalSigns = func() (signs [256]bool) {
	for _, c := range "0123456789XYESTZ-/.,~?%[]{}+:" {
		signs[c] = true
	}
	return signs
}()

// mayBeCanonical reports whether a text holds no sign that Parse would refuse: the words and blanks that people write.
func mayBeCanonical(s string) bool {
	for i := range len(s) {
		if !canonicalSigns[s[i]] {
			return false
		}
	}
	return true
}

func parse(s string) (Date, fault) {
	if s == "" {
		return Date{}, fault{1, "date-empty", "there is no date"}
	}
	if s[0] == '[' || s[0] == '{' {
		return parseSet(s)
	}
	if slash := strings.IndexByte(s, '/'); slash >= 0 {
		return parseInterval(s, slash)
	}
	if t := strings.IndexByte(s, 'T'); t >= 0 {
		return parseMoment(s, t)
	}
	p, f := parsePoint(s)
	if f.failed() {
		return Date{}, f
	}
	return single(p), fault{}
}

// parseMoment reads a date and time: EDTF level 0 asks for complete ones.
func parseMoment(s string, t int) (Date, fault) {
	p, f := parsePoint(s[:t])
	if f.failed() {
		return Date{}, f
	}
	if p.day == 0 || p.mask != 0 || p.marks() != 0 {
		return Date{}, fault{1, "date-not-read", "a date before a time is one whole day"}
	}
	c, f := parseClock(s[t+1:])
	if f.failed() {
		return Date{}, f.shift(t + 1)
	}
	d := single(p)
	d.clock = c
	return d, fault{}
}

func parseInterval(s string, slash int) (Date, fault) {
	start, from, f := parseSide(s[:slash])
	if f.failed() {
		return Date{}, f
	}
	end, to, f := parseSide(s[slash+1:])
	if f.failed() {
		return Date{}, f.shift(slash + 1)
	}
	if start != Stated && end != Stated {
		return Date{}, fault{1, "date-not-read", "an interval states one of its ends at least"}
	}
	if start == Stated && end == Stated && reversed(from, to) {
		return Date{}, fault{slash + 2, "date-reversed", "the end is before the start"}
	}
	return interval(start, from, end, to), fault{}
}

func parseSide(s string) (Side, point, fault) {
	switch s {
	case "":
		return Unknown, point{}, fault{}
	case "..":
		return Open, point{}, fault{}
	}
	p, f := parsePoint(s)
	return Stated, p, f
}

// reversed reports whether to certainly ends before from begins. Seasons have
// no days, so two of one year go by their numbers, and beside other dates a
// season may reach into the years next to it.
func reversed(from, to point) bool {
	first, ok := from.bound(false)
	last, ok2 := to.bound(true)
	if ok && ok2 {
		return first.Compare(last) > 0
	}
	a, b := from.yearBound(false), to.yearBound(true)
	if a == b && !ok && !ok2 && (from.month-21)/4 == (to.month-21)/4 {
		return from.month > to.month
	}
	return a > b
}

// parseSet reads [..] one of a set and {..} all of a set.
func parseSet(s string) (Date, fault) {
	d := Date{kind: kindOneOf, level: 2, set: s}
	closing := byte(']')
	if s[0] == '{' {
		d.kind, closing = kindAllOf, '}'
	}
	last := len(s) - 1
	if last == 0 || s[last] != closing {
		return Date{}, fault{len(s), "set-not-closed", "a set ends with its bracket"}
	}
	for at := 1; at <= last; {
		end := at
		for end < last && s[end] != ',' {
			end++
		}
		if f := d.addMember(s[at:end], at == 1, end == last); f.failed() {
			return Date{}, f.shift(at)
		}
		at = end + 1
	}
	d.set = strings.Clone(s)
	return d, fault{}
}

// addMember reads one member of a set and widens the bounds of the set by it.
func (d *Date) addMember(s string, first, last bool) fault {
	from, to, ranged := strings.Cut(s, "..")
	if !ranged {
		p, f := parsePoint(s)
		if f.failed() {
			return f
		}
		d.widen(p, p, first)
		return fault{}
	}
	switch {
	case from == "" && to == "",
		from == "" && !first,
		to == "" && !last:
		return fault{1, "set-member", "two dots open a set at its start or its end only"}
	case from == "":
		p, f := parsePoint(to)
		if f.failed() {
			return f.shift(2)
		}
		d.widen(p, p, first)
		d.start, d.from = Open, point{}
	case to == "":
		p, f := parsePoint(from)
		if f.failed() {
			return f
		}
		d.widen(p, p, first)
		d.end, d.to = Open, point{}
	default:
		p, f := parsePoint(from)
		if f.failed() {
			return f
		}
		q, f := parsePoint(to)
		if f.failed() {
			return f.shift(len(from) + 2)
		}
		if reversed(p, q) {
			return fault{len(from) + 3, "date-reversed", "the end is before the start"}
		}
		d.widen(p, q, first)
	}
	return fault{}
}

func (d *Date) widen(p, q point, first bool) {
	d.marks |= p.marks() | q.marks()
	if first {
		d.from, d.to = p, q
		return
	}
	if d.start == Stated && sooner(p, d.from, false) {
		d.from = p
	}
	if sooner(d.to, q, true) {
		d.to = q
	}
}

// sooner compares the first or last days of two points, or their years where
// one is a season.
func sooner(p, q point, last bool) bool {
	a, ok := p.bound(last)
	b, ok2 := q.bound(last)
	if ok && ok2 {
		return a.Compare(b) < 0
	}
	return p.yearBound(last) < q.yearBound(last)
}

// parsePoint reads a date without time: a year, a month or season, a day.
func parsePoint(s string) (point, fault) {
	var p point
	i, f := p.readYear(s)
	if f.failed() {
		return p, f
	}
	for _, which := range [...]part{monthPart, dayPart} {
		if i == len(s) {
			break
		}
		if s[i] != '-' {
			return p, fault{i + 1, "date-not-read", "a hyphen or the end is expected here"}
		}
		if p.isLong() || p.significant > 0 {
			return p, fault{i + 1, "date-not-read", "such a year has no month"}
		}
		i++
		if i, f = p.readPart(s, i, which); f.failed() {
			return p, f
		}
	}
	if i < len(s) {
		return p, fault{i + 1, "date-not-read", "the date ends before this"}
	}
	return p, p.check(s)
}

// check refuses what the calendar does not have.
func (p point) check(s string) fault {
	if p.isSeason() && p.hasDay() {
		return fault{6, "date-impossible", "a season has no days"}
	}
	if p.month > 12 && p.month < 21 || p.month > 41 {
		return fault{6, "date-impossible", "there is no such month or season"}
	}
	if p.mask == 0 && !p.hasDay() || p.isSeason() {
		return fault{}
	}
	if p.mask == 0 {
		if p.day > daysIn(p.yearBound(false), p.month) {
			return fault{max(1, len(s)-1), "date-impossible", "the month has no such day"}
		}
		return fault{}
	}
	if _, ok := p.search(false); !ok {
		return fault{1, "date-impossible", "no date fits these digits"}
	}
	return fault{}
}

func (p *point) readYear(s string) (int, fault) {
	i := p.readMark(s, 0, &p.before, yearPart)
	long := i < len(s) && s[i] == 'Y'
	if long {
		i++
	}
	if i < len(s) && s[i] == '-' {
		p.negative = true
		i++
	}
	from := i
	for i < len(s) && (isDigit(s[i]) || s[i] == 'X' && !long) {
		if i-from == 9 {
			return i, fault{from + 1, "year-too-long", "a year has nine digits at most"}
		}
		p.year *= 10
		if s[i] != 'X' {
			p.year += int32(s[i] - '0')
		}
		i++
	}
	digits := i - from
	switch {
	case digits == 0:
		return i, fault{i + 1, "date-not-read", "a year is expected here"}
	case long && s[from] == '0':
		return i, fault{from + 1, "year-digits", "a year after Y does not begin with 0"}
	case !long && digits != 4:
		return i, fault{from + 1, "year-digits", "a year has four digits, or Y before five or more"}
	}
	if !long {
		for k := range 4 {
			if s[from+k] == 'X' {
				p.mask |= 8 >> k
			}
		}
	}
	if p.negative && p.year == 0 && p.mask == 0 {
		return i, fault{from, "date-impossible", "year 0 has no minus sign"}
	}
	i, f := p.readExtras(s, i, long)
	if f.failed() {
		return i, f
	}
	if long && p.magnitude() <= 9999 {
		return i, fault{from + 1, "year-digits", "Y is for years beyond four digits only"}
	}
	return p.readAfter(s, i, yearPart)
}

// readExtras reads the exponent and the significant digits of a year.
func (p *point) readExtras(s string, i int, long bool) (int, fault) {
	if long && i < len(s) && s[i] == 'E' {
		exponent, rest, ok := cutNumber(s[i+1:], 1)
		if !ok || exponent == 0 || countDigits(int(p.year))+exponent > 9 {
			return i, fault{i + 1, "year-too-long", "a year has nine digits at most"}
		}
		p.exponent = uint8(exponent)
		i = len(s) - len(rest)
	}
	if i < len(s) && s[i] == 'S' {
		significant, rest, ok := cutNumber(s[i+1:], 1)
		if !ok || significant == 0 || p.mask != 0 || significant > countDigits(p.magnitude()) {
			return i, fault{i + 1, "year-digits", "the year has not so many significant digits"}
		}
		p.significant = uint8(significant)
		i = len(s) - len(rest)
	}
	return i, fault{}
}

func (p *point) readPart(s string, i int, which part) (int, fault) {
	i = p.readMark(s, i, &p.before, which)
	if i+2 > len(s) {
		return i, fault{i + 1, "date-not-read", "two digits are expected here"}
	}
	var value, mask uint8
	for k := range 2 {
		c := s[i+k]
		value *= 10
		switch {
		case c == 'X':
			mask |= 2 >> k
		case isDigit(c):
			value += c - '0'
		default:
			return i, fault{i + k + 1, "date-not-read", "two digits are expected here"}
		}
	}
	if value == 0 && mask == 0 {
		return i, fault{i + 1, "date-impossible", "months and days begin with 01"}
	}
	if which == monthPart {
		if mask != 0 && value > 12 {
			return i, fault{i + 1, "date-impossible", "no month fits these digits"}
		}
		p.month, p.mask = value, p.mask|mask<<4
	} else {
		p.day, p.mask = value, p.mask|mask<<6
	}
	return p.readAfter(s, i+2, which)
}

// readAfter reads a qualifier behind a part. One part is qualified on one side
// only.
func (p *point) readAfter(s string, i int, which part) (int, fault) {
	next := p.readMark(s, i, &p.after, which)
	if next > i && p.before>>(2*which)&3 != 0 {
		return i, fault{i + 1, "date-not-read", "a part is qualified on one side only"}
	}
	return next, fault{}
}

func (p *point) readMark(s string, i int, marks *uint8, which part) int {
	if i == len(s) {
		return i
	}
	var q qualifier
	switch s[i] {
	case '?':
		q = uncertain
	case '~':
		q = approximate
	case '%':
		q = uncertain | approximate
	default:
		return i
	}
	*marks |= uint8(q) << (2 * which)
	return i + 1
}
