package edtf

type qualifier uint8

const (
	uncertain   qualifier = 1
	approximate qualifier = 2
)

func (q qualifier) byte() byte { return " ?~%"[q&3] }

// part names the components of a date, and is their place in bit sets.
type part uint8

const (
	yearPart part = iota
	monthPart
	dayPart
)

// point is one date without an interval: a year, with a month or a season, and
// a day. Unspecified digits count as 0 in the value and have a bit in mask.
type point struct {
	year          int32 // the magnitude; the mantissa where exponent is set
	negative      bool
	exponent      uint8
	significant   uint8
	mask          uint8 // year digits 0x01 (units) to 0x08, month 0x10 0x20, day 0x40 0x80
	month, day    uint8 // month is 21 to 41 for the parts of a year
	before, after uint8 // qualifiers, two bits a part
}

const (
	yearMask  uint8 = 0x0f
	monthMask uint8 = 0x30
	dayMask   uint8 = 0xc0
)

func yearPoint(year int) point {
	if year < 0 {
		return point{year: int32(-year), negative: true}
	}
	return point{year: int32(year)}
}

func (p point) hasMonth() bool { return p.month != 0 || p.mask&monthMask != 0 }
func (p point) hasDay() bool   { return p.day != 0 || p.mask&dayMask != 0 }
func (p point) isSeason() bool { return p.month > 20 }
func (p point) isLong() bool   { return p.year > 9999 || p.exponent > 0 }

// lastPart is the finest part that is stated.
func (p point) lastPart() part {
	switch {
	case p.hasDay():
		return dayPart
	case p.hasMonth():
		return monthPart
	}
	return yearPart
}

func (p point) marks() qualifier {
	all := p.before | p.after
	return qualifier((all | all>>2 | all>>4) & 3)
}

// qualified returns p with q added for the whole date.
func (p point) qualified(q qualifier) point {
	p.after |= uint8(q) << (2 * p.lastPart())
	return p
}

func (p point) level() uint8 {
	switch {
	case p.before != 0, p.exponent > 0, p.significant > 0, p.month > 24:
		return 2
	case p.after&^(3<<(2*p.lastPart())) != 0:
		return 2
	}
	if p.mask != 0 {
		// Level 1 lets a year end in X or XX, or month and day be XX whole.
		switch {
		case p.mask&^yearMask == 0 && !p.hasMonth() && p.mask <= 3 && p.mask&1 != 0:
		case p.mask == monthMask && !p.hasDay(), p.mask == dayMask, p.mask == monthMask|dayMask:
		default:
			return 2
		}
		return 1
	}
	if p.after != 0 || p.negative || p.isLong() || p.isSeason() {
		return 1
	}
	return 0
}

func (p point) precision() Precision {
	switch {
	case p.significant > 0:
		switch digits := countDigits(p.magnitude()) - int(p.significant); {
		case digits <= 0:
			return PrecisionYear
		case digits == 1:
			return PrecisionDecade
		case digits == 2:
			return PrecisionCentury
		}
		return PrecisionMillennium
	case p.mask&0x0c != 0:
		return PrecisionMillennium
	case p.mask&0x02 != 0:
		return PrecisionCentury
	case p.mask&0x01 != 0:
		return PrecisionDecade
	case p.isSeason():
		return PrecisionSeason
	case !p.hasMonth(), p.mask&monthMask != 0:
		return PrecisionYear
	case !p.hasDay(), p.mask&dayMask != 0:
		return PrecisionMonth
	}
	return PrecisionDay
}

// magnitude is the year without its sign, the exponent worked out.
func (p point) magnitude() int {
	year := int(p.year)
	for range p.exponent {
		year *= 10
	}
	return year
}

func countDigits(n int) int {
	digits := 0
	for ; n > 0; n /= 10 {
		digits++
	}
	return digits
}

func (p point) append(b []byte) []byte {
	b = p.mark(b, p.before, yearPart)
	if p.isLong() {
		b = append(b, 'Y')
	}
	if p.negative {
		b = append(b, '-')
	}
	b = appendDigits(b, int(p.year), p.width())
	for i := range 4 {
		if p.mask&(1<<i) != 0 {
			b[len(b)-1-i] = 'X'
		}
	}
	if p.exponent > 0 {
		b = append(b, 'E')
		b = appendDigits(b, int(p.exponent), 1)
	}
	if p.significant > 0 {
		b = append(b, 'S')
		b = appendDigits(b, int(p.significant), 1)
	}
	b = p.mark(b, p.after, yearPart)
	if !p.hasMonth() {
		return b
	}
	b = p.appendPart(b, monthPart, p.month, p.mask>>4&3)
	if !p.hasDay() {
		return b
	}
	return p.appendPart(b, dayPart, p.day, p.mask>>6&3)
}

// width is the least number of digits of the year: four, or those of the
// mantissa of an exponential year.
func (p point) width() int {
	if p.exponent > 0 {
		return 1
	}
	return 4
}

func (p point) appendPart(b []byte, which part, value, mask uint8) []byte {
	b = append(b, '-')
	b = p.mark(b, p.before, which)
	b = appendTwo(b, value)
	if mask&1 != 0 {
		b[len(b)-1] = 'X'
	}
	if mask&2 != 0 {
		b[len(b)-2] = 'X'
	}
	return p.mark(b, p.after, which)
}

func (p point) mark(b []byte, marks uint8, which part) []byte {
	if q := qualifier(marks >> (2 * which) & 3); q != 0 {
		b = append(b, q.byte())
	}
	return b
}
