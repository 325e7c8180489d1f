package quantity

import "fmt"

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

// Units returns every unit but NoUnit, lengths first.
func Units() []Unit {
	all := make([]Unit, 0, listedCount-1)
	for u := MM; u < listedCount; u++ {
		all = append(all, u)
	}
	return all
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
