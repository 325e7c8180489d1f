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
	unitCount
)

// units is the table of units. The exact size is in whole numbers: lengths in tenths of a millimetre, masses
// in billionths of a gram.
var units = [unitCount]struct {
	code      string
	dimension Dimension
	size      uint64
}{
	NoUnit: {"", None, 1},
	MM:     {"mm", Length, 10},
	CM:     {"cm", Length, 100},
	M:      {"m", Length, 10_000},
	IN:     {"in", Length, 254},
	FT:     {"ft", Length, 3_048},
	YD:     {"yd", Length, 9_144},
	MG:     {"mg", Mass, 1_000_000},
	G:      {"g", Mass, 1_000_000_000},
	KG:     {"kg", Mass, 1_000_000_000_000},
	GR:     {"gr", Mass, 64_798_910},
	OZ:     {"oz", Mass, 28_349_523_125},
	OZT:    {"ozt", Mass, 31_103_476_800},
	DWT:    {"dwt", Mass, 1_555_173_840},
	LB:     {"lb", Mass, 453_592_370_000},
}

// Units returns every unit but NoUnit, lengths first.
func Units() []Unit {
	all := make([]Unit, 0, unitCount-1)
	for u := MM; u < unitCount; u++ {
		all = append(all, u)
	}
	return all
}

// String returns the code of the unit as the format writes it: "mm", "in",
// "gr". NoUnit and values outside the list give "".
func (u Unit) String() string {
	if u >= unitCount {
		return ""
	}
	return units[u].code
}

// Dimension returns what u measures; None for NoUnit and for values outside
// the list.
func (u Unit) Dimension() Dimension {
	if u >= unitCount {
		return None
	}
	return units[u].dimension
}

// ParseUnit reads the code of a unit exactly as String writes it. The empty
// text is not a unit here. For headings see UnitOfHeading.
func ParseUnit(code string) (Unit, error) {
	for u := MM; u < unitCount; u++ {
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
