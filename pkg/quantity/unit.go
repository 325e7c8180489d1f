package quantity

import (
	"fmt"
	"math/big"
)

// Dimension is what a unit measures. The zero value is None.
type Dimension uint8

// The dimensions a Unit can have.
const (
	None   Dimension = iota // no unit: a count, or nothing known
	Length                  // depths and sizes
	Mass                    // weights
)

// String returns "length", "mass" or "none".
func (d Dimension) String() string {
	switch d {
	case Length:
		return "length"
	case Mass:
		return "mass"
	}
	return "none"
}

// Unit is one of the units that a find report may state. The zero value is
// NoUnit. The list is closed for version 1 of the format.
type Unit uint8

// The units, with their exact size. Inch, foot, yard and pound are those of
// the international agreement of 1959; the troy units follow from the grain.
const (
	NoUnit Unit = iota
	MM          // millimetre
	CM          // centimetre
	M           // metre
	IN          // inch, 25.4 mm
	FT          // foot, 304.8 mm
	YD          // yard, 914.4 mm
	MG          // milligram
	G           // gram
	KG          // kilogram
	GR          // grain, 0.06479891 g
	OZ          // avoirdupois ounce, 28.349523125 g
	OZT         // troy ounce, 31.1034768 g
	DWT         // pennyweight, 1.55517384 g
	LB          // avoirdupois pound, 453.59237 g
	listedCount
)

// Lengths are counted in 118,110,000ths of a millimetre, so that the survey foot (1200/3937 m) and the twelfth of
// an inch are whole numbers; masses in 1e-13 g.
const (
	millimetre = 118_110_000
	inch       = 254 * millimetre / 10
	gram       = 10_000_000_000_000
	grain      = 647_989_100_000
	pound      = 7000 * grain
)

// units is the table of units with their exact size, those of the list and the others that are read.
var units = [unitCount]struct {
	code      string
	dimension Dimension
	size      uint64
}{
	NoUnit: {"", None, 1},
	MM:     {"mm", Length, millimetre},
	CM:     {"cm", Length, 10 * millimetre},
	M:      {"m", Length, 1000 * millimetre},
	IN:     {"in", Length, inch},
	FT:     {"ft", Length, 12 * inch},
	YD:     {"yd", Length, 36 * inch},
	MG:     {"mg", Mass, gram / 1000},
	G:      {"g", Mass, gram},
	KG:     {"kg", Mass, 1000 * gram},
	GR:     {"gr", Mass, grain},
	OZ:     {"oz", Mass, pound / 16},
	OZT:    {"ozt", Mass, 480 * grain},
	DWT:    {"dwt", Mass, 24 * grain},
	LB:     {"lb", Mass, pound},

	micrometre:   {"micrometre", Length, millimetre / 1000},
	decimetre:    {"decimetre", Length, 100 * millimetre},
	kilometre:    {"kilometre", Length, 1_000_000 * millimetre},
	thou:         {"thou (1/1000 in)", Length, inch / 1000},
	twelfthLine:  {"line of 1/12 in", Length, inch / 12},
	fortiethLine: {"line of 1/40 in", Length, inch / 40},
	surveyFoot:   {"US survey foot", Length, 1_200_000 * (millimetre / 3937)},
	fathom:       {"fathom", Length, 72 * inch},
	chain:        {"chain", Length, 792 * inch},
	furlong:      {"furlong", Length, 7920 * inch},
	mile:         {"mile", Length, 63_360 * inch},
	microgram:    {"microgram", Mass, gram / 1_000_000},
	decagram:     {"decagram", Mass, 10 * gram},
	hectogram:    {"hectogram", Mass, 100 * gram},
	tonne:        {"tonne", Mass, 1_000_000 * gram},
	carat:        {"metric carat", Mass, gram / 5},
	scruple:      {"scruple", Mass, 20 * grain},
	dramApothec:  {"apothecaries' dram", Mass, 60 * grain},
	dramAvoir:    {"avoirdupois dram", Mass, pound / 256},
	stone:        {"stone", Mass, 14 * pound},
	troyPound:    {"troy pound", Mass, 5760 * grain},
}

// String returns the code of the unit as the format writes it: "mm", "in",
// "gr". NoUnit and values outside the list give "".
func (u Unit) String() string {
	if u >= listedCount {
		return ""
	}
	return units[u].code
}

// Dimension returns what u measures; None for NoUnit and for values outside
// the list.
func (u Unit) Dimension() Dimension {
	if u >= listedCount {
		return None
	}
	return units[u].dimension
}

// ParseUnit reads the code of a unit exactly as String writes it. The empty
// text is not a unit here. For headings see UnitOfHeading.
func ParseUnit(code string) (Unit, error) {
	for u := MM; u < listedCount; u++ {
		if units[u].code == code {
			return u, nil
		}
	}
	return NoUnit, fmt.Errorf("unit %q: expected one of mm cm m in ft yd mg g kg gr oz ozt dwt lb", clip(code))
}

// ratio is an exact factor p/q in lowest terms.
type ratio struct{ p, q uint64 }

// ratios holds the factor from each unit to each other of its dimension;
// {0, 0} elsewhere.
var ratios = func() (table [unitCount][unitCount]ratio) {
	for a := range table {
		for b := range table[a] {
			if units[a].dimension == units[b].dimension {
				g := gcd(units[a].size, units[b].size)
				table[a][b] = ratio{units[a].size / g, units[b].size / g}
			}
		}
	}
	return table
}()

// The units beyond the list of the format. A measure in one of them is converted exactly and has no stated unit; the
// words of the finder keep it.
const (
	micrometre Unit = listedCount + iota
	decimetre
	kilometre
	thou
	twelfthLine
	fortiethLine
	surveyFoot
	fathom
	chain
	furlong
	mile
	microgram
	decagram
	hectogram
	tonne
	carat
	scruple
	dramApothec
	dramAvoir
	stone
	troyPound
	unitCount
)

// OtherUnit is a unit that is read although a Quantity cannot state it: one of it is Numerator/Denominator of
// Unit, CM or G, in lowest terms.
type OtherUnit struct {
	Name                   string
	Unit                   Unit
	Numerator, Denominator uint64
}

// OtherUnits returns the units beyond the list that are read exactly, lengths first.
func OtherUnits() []OtherUnit {
	var all []OtherUnit
	for u := listedCount; u < unitCount; u++ {
		into := CM
		if units[u].dimension == Mass {
			into = G
		}
		r := ratios[u][into]
		all = append(all, OtherUnit{Name: units[u].code, Unit: into, Numerator: r.p, Denominator: r.q})
	}
	return all
}

// Size writes how large the unit is: "20 cm", "127/600 cm".
func (o OtherUnit) Size() string {
	r := new(big.Rat).SetFrac(new(big.Int).SetUint64(o.Numerator), new(big.Int).SetUint64(o.Denominator))
	text := r.RatString()
	if places, exact := r.FloatPrec(); exact {
		text = r.FloatString(places)
	}
	return text + " " + o.Unit.String()
}

// otherUnit reads a unit beyond the list behind the number m, and what makes it plain where its name alone has several
// meanings: avoirdupois, troy, metric, or the size in brackets. It returns the unit and how many tokens it takes;
// 0 for a text that begins no such unit. Where the meaning stays open it fails.
func (p *parser) otherUnit(m *measure) (u Unit, n int) {
	t, next := p.tok(), p.peek(1)
	switch {
	case t.is(wSurvey) && next.is(wUnit) && next.word.unit == FT:
		return surveyFoot, 2
	case t.is(wCountry) && next.is(wSurvey) && p.peek(2).is(wUnit) && p.peek(2).word.unit == FT:
		return surveyFoot, 3
	case t.is(wTroy) && next.is(wUnit) && next.word.unit == LB:
		return troyPound, 2
	case t.is(wMetric) && next.is(wCarat):
		return carat, 2
	case t.is(wAvoir) && next.is(wDram):
		return dramAvoir, 2
	case t.is(wApothecary) && next.is(wDram):
		return dramApothec, 2
	case t.is(wApothecary) && next.is(wOther) && next.word.unit == scruple:
		return scruple, 2
	case t.is(wOther):
		return t.word.unit, 1
	case t.is(wCarat):
		if next.is(wMetric) || next.kind == kOpen && p.peek(2).is(wMetric) || !fineness(m) {
			return carat, 1
		}
		p.failAt(CodeUnitAmbiguous, m.at, t.end,
			"this may be the fineness of gold, which is no weight, or metric carats of 200 mg",
			"write the weight in g or mg, or \"metric carat\"; the fineness belongs to the material")
	case t.is(wDram):
		switch {
		case next.is(wAvoir):
			return dramAvoir, 2
		case next.is(wApothecary):
			return dramApothec, 2
		case next.kind == kOpen && p.peek(2).is(wAvoir):
			return dramAvoir, 1
		case next.kind == kOpen && p.peek(2).is(wApothecary):
			return dramApothec, 1
		}
		p.failAt(CodeUnitAmbiguous, t.at, t.end, "an avoirdupois dram is 1.77 g, an apothecaries' dram 3.89 g",
			"write dram avoirdupois or dram apothecaries, or give the weight in g")
	case t.is(wLine):
		if size, ok := p.inchPart(1); ok {
			return size, 1
		}
		p.failAt(CodeUnitAmbiguous, t.at, t.end,
			"a line is 1/12 in to some, 1/40 in to button makers, and 2.26 mm in old French measure",
			"give the size in mm, or the line with its size: 1 line (1/12 in)")
	case t.is(wMil):
		if next.kind == kOpen && p.peek(2).is(wOther) && p.peek(2).word.unit == thou {
			return thou, 1
		}
		p.failAt(CodeUnitAmbiguous, t.at, t.end,
			"a mil is a thousandth of an inch to some, a millimetre to others, and 10 km in Swedish", "write mm, or thou")
	}
	return NoUnit, 0
}

// fineness reports whether a number of carats is one that gold is stamped with.
func fineness(m *measure) bool {
	if m.den != 1 {
		return false
	}
	switch m.num {
	case 8, 9, 10, 12, 14, 15, 18, 20, 21, 22, 23, 24:
		return true
	}
	return false
}

// inchPart reads (1/12 in) or (1/40 in) behind the word line, n tokens further on.
func (p *parser) inchPart(n int) (Unit, bool) {
	if p.peek(n).kind != kOpen || p.peek(n+1).kind != kNumber || p.peek(n+1).num != 1 || p.peek(n+2).kind != kSlash ||
		p.peek(n+3).kind != kNumber {
		return NoUnit, false
	}
	if in := p.peek(n + 4); in.kind != kInch && !(in.is(wUnit) && in.word.unit == IN) {
		return NoUnit, false
	}
	switch p.peek(n + 3).num {
	case 12:
		return twelfthLine, true
	case 40:
		return fortiethLine, true
	}
	return NoUnit, false
}

// explained skips what names a unit beyond the list once more, in the brackets behind it: (thou), (metric carat), (1/12
// in), (avoirdupois dram).
func (p *parser) explained() bool {
	start := p.i
	if _, ok := p.inchPart(-1); ok && (p.hi.unit == twelfthLine || p.hi.unit == fortiethLine) {
		p.i += 4
		return p.tok().kind == kClose
	}
	named := false
	for t := p.tok(); t.is(wOther|wCarat|wDram|wLine|wMil|wSurvey|wCountry|wAvoir|wApothecary|wMetric|wTroy) ||
		t.is(wUnit) && named; t = p.tok() {
		named = true
		p.i++
	}
	if named && p.hi.unit >= listedCount && p.tok().kind == kClose {
		return true
	}
	p.i = start
	return false
}

// isPartOf reports whether part is less than one of the unit of m, in a smaller unit of its family.
func isPartOf(m, part *measure) bool {
	if family(m.unit)&family(part.unit) == 0 || units[m.unit].size <= units[part.unit].size || m.den != 1 ||
		m.stepDen != 1 {
		return false
	}
	r := ratios[m.unit][part.unit]
	limit, ok := mul(part.den, r.p)
	scaled, ok2 := mul(part.num, r.q)
	return ok && ok2 && scaled < limit
}

// add adds a part to m, which is then in the unit of the part; false if the number is too large.
func (m *measure) add(part *measure) bool {
	r := ratios[m.unit][part.unit] // num*p/q + part
	whole, ok1 := mul(m.num, r.p)
	whole, ok2 := mul(whole, part.den)
	add, ok3 := mul(part.num, r.q)
	den, ok4 := mul(part.den, r.q)
	if !ok1 || !ok2 || !ok3 || !ok4 || whole+add < whole {
		return false
	}
	g := gcd(whole+add, den)
	m.num, m.den = (whole+add)/max(g, 1), den/max(g, 1)
	m.stepNum, m.stepDen, m.unit, m.compound = part.stepNum, part.stepDen, part.unit, true
	return true
}

// impliedUnit gives a last number without unit the next smaller one: 1'3 and
// 1 m 20.
func (p *parser) impliedUnit(m, part *measure) bool {
	last := p.token[p.i-1]
	switch {
	case m.unit == FT:
		part.unit = IN
	case m.unit == M && last.kind == kNumber && last.places == 0 && part.num >= 10 && part.num < 100:
		part.unit = CM
	case m.unit == LB:
		part.unit = OZ
	default:
		return false
	}
	return true
}
