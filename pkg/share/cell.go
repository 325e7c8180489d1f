package share

import (
	"math"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
)

// unknownUncertainty is taken, in metres, for a position that says nothing of how well it is known.
const unknownUncertainty = 30

// anchorSide is the side of the cell that a piece of land keeps, in units of 1e-7 degree.
const anchorSide = 10_000

// sides of cells in units of 1e-7 degree, with their names. Each lies within one of the next, for all
// have their origin at 0 and each side is a multiple of the one before.
var sides = []struct {
	side int64
	name string
}{{10_000, "grid-0.001"}, {100_000, "grid-0.01"}, {500_000, "grid-0.05"}, {1_000_000, "grid-0.1"},
	{5_000_000, "grid-0.5"}, {10_000_000, "grid-1"}}

const (
	sideOpen       = 100_000
	sideCoarse     = 1_000_000
	sideRestricted = 10_000_000
)

// gridName is the name of a side.
func gridName(side int64) string {
	for _, s := range sides {
		if s.side == side {
			return s.name
		}
	}
	return ""
}

// sideOf is the side with a name, 0 for none.
func sideOf(name string) int64 {
	for _, s := range sides {
		if s.name == name {
			return s.side
		}
	}
	return 0
}

// parent is the next larger side, 0 for none.
func parent(side int64) int64 {
	for _, s := range sides {
		if s.side > side {
			return s.side
		}
	}
	return 0
}

// units turns degrees into whole units of 1e-7 degree.
func units(n find.Number) int64 { return floorDiv(int64(n.Decimal()), 100) }

func unitsOf(degrees float64) int64 { return int64(math.Floor(degrees*1e7 + 1e-4)) }

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

func pointAt(lat, lon int64) coordinate.Point {
	return coordinate.Point{Latitude: float64(lat) / 1e7, Longitude: float64(lon) / 1e7}
}

// anchorOf is the cell of 0.001 degree that a point lies in.
func anchorOf(p coordinate.Point) register.Cell {
	return register.Cell{floorDiv(unitsOf(p.Latitude), anchorSide), floorDiv(unitsOf(p.Longitude), anchorSide)}
}

// cellAround returns the centre of the cell of a side around an anchor.
func cellAround(a register.Cell, side int64) (lat, lon int64) {
	return centre(a[0]*anchorSide, side), centre(a[1]*anchorSide, side)
}

// radiusOf is the radius of the circle that a cell is told as: its diagonal at its centre, rounded up to
// 100 m. The spot lies in the circle; it may lie outside the square.
func radiusOf(lat, lon, side int64) float64 {
	top, bottom := min(lat+side/2, 900_000_000), max(lat-side/2, -900_000_000)
	mid := pointAt(lat, lon)
	half := max(coordinate.Distance(mid, pointAt(top, lon+side/2)), coordinate.Distance(mid, pointAt(bottom, lon+side/2)))
	return math.Ceil(2*half/100) * 100
}

// onGrid reports whether a position is the centre of a cell of the grid that it names.
func onGrid(p *find.Position, name string) bool {
	side := sideOf(name)
	if side == 0 || p == nil || !p.Latitude.Known() || !p.Longitude.Known() {
		return false
	}
	lat, lon := units(p.Latitude), units(p.Longitude)
	return centre(lat, side) == lat && centre(lon, side) == lon
}

// cellCodes are names of the cells that a point lies in, in codes that people paste from maps: a geohash of
// six letters (1.2 km by 0.6 km; base 32 of 5 bits a letter, longitude first) and an open location code of eight
// (275 m; base 20 of 8000/400/20/1 by 400 of a degree). Both from memory.
func cellCodes(p coordinate.Point) (out []string) {
	const base32 = "0123456789bcdefghjkmnpqrstuvwxyz"
	low, high := [2]float64{-180, -90}, [2]float64{180, 90}
	at := [2]float64{p.Longitude, p.Latitude}
	var hash []byte
	bits, n := 0, 0
	for i := 0; len(hash) < 6; i++ {
		axis := i % 2
		mid := (low[axis] + high[axis]) / 2
		bits <<= 1
		if at[axis] >= mid {
			bits |= 1
			low[axis] = mid
		} else {
			high[axis] = mid
		}
		if n++; n == 5 {
			hash = append(hash, base32[bits])
			bits, n = 0, 0
		}
	}
	const base20 = "23456789cfghjmpqrvwx"
	var code []byte
	lat, lon := min(p.Latitude+90, 179.999999), p.Longitude+180
	for side := 20.0; len(code) < 8; side /= 20 {
		code = append(code, base20[int(lat/side)%20], base20[int(lon/side)%20])
	}
	return []string{string(hash), string(code)}
}
