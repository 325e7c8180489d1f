package share

import (
	"math"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
)

// unknownUncertainty is taken, in metres, for a position that says nothing of how well it is known.
const unknownUncertainty = 30

// steps are the sides of cells in units of 1e-7 degree, finest first, with their names.
var steps = []struct {
	side int64
	name string
}{{100_000, "grid-0.01"}, {1_000_000, "grid-0.1"}, {10_000_000, "grid-1"}}

// stepOf is the number of the step with a name, -1 for none.
func stepOf(name string) int {
	for i, s := range steps {
		if s.name == name {
			return i
		}
	}
	return -1
}

// units turns degrees into whole units of 1e-7 degree.
func units(n find.Number) int64 { return floorDiv(int64(n.Decimal()), 100) }

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}

// centre returns the centre of the cell that holds v: (floor(v/d) + 1/2) d, in whole units.
func centre(v, side int64) int64 { return floorDiv(v, side)*side + side/2 }

func number(v int64) find.Number { return find.Float(float64(v) / 1e7) }

// halfDiagonal returns half the diagonal, in metres, of a cell around its centre.
func halfDiagonal(lat, lon, side int64) float64 {
	point := func(lat, lon int64) coordinate.Point {
		return coordinate.Point{Latitude: float64(lat) / 1e7, Longitude: float64(lon) / 1e7}
	}
	top, bottom := min(lat+side/2, 900_000_000), max(lat-side/2, -900_000_000)
	mid := point(lat, lon)
	return max(coordinate.Distance(mid, point(top, lon+side/2)), coordinate.Distance(mid, point(bottom, lon+side/2)))
}

// generalise puts a position on the grid, no finer than step, and returns the name of the grid
// that it stands on now. A position that is on a grid at least as coarse already stays. A point
// less certain than its cell goes one step coarser.
func generalise(p *find.Position, step int, already string) string {
	for i, s := range steps {
		if s.name == already && i >= step {
			*p = find.Position{Latitude: p.Latitude, Longitude: p.Longitude, Uncertainty: p.Uncertainty, UncertaintyBasis: &find.Term{Code: "generalised"}}
			if half := halfDiagonal(units(p.Latitude), units(p.Longitude), s.side); !p.Uncertainty.Known() || p.Uncertainty.Float() < half {
				p.Uncertainty = find.Float(math.Ceil((half+unknownUncertainty)/10) * 10)
			}
			return already
		}
	}
	lat, lon := units(p.Latitude), units(p.Longitude)
	uncertainty := p.Uncertainty.Float()
	if !p.Uncertainty.Known() {
		uncertainty = unknownUncertainty
	}
	for ; ; step++ {
		side := steps[step].side
		la, lo := centre(lat, side), centre(lon, side)
		half := halfDiagonal(la, lo, side)
		if uncertainty > half && step < len(steps)-1 {
			continue
		}
		*p = find.Position{Latitude: number(la), Longitude: number(lo), Uncertainty: find.Float(math.Ceil((half+uncertainty)/10) * 10),
			UncertaintyBasis: &find.Term{Code: "generalised"}}
		return steps[step].name
	}
}

// cellKey names the cell of a position, for counting what else lies in it.
func cellKey(p *find.Position, step int) [2]int64 {
	side := steps[step].side
	return [2]int64{floorDiv(units(p.Latitude), side), floorDiv(units(p.Longitude), side)}
}

// onGrid tells whether a position is the centre of a cell of the grid that it names.
func onGrid(p *find.Position, name string) bool {
	for _, s := range steps {
		if s.name == name {
			lat, lon := units(p.Latitude), units(p.Longitude)
			return centre(lat, s.side) == lat && centre(lon, s.side) == lon
		}
	}
	return false
}
