package edtf

import "strings"

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
