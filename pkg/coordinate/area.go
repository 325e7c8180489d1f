package coordinate

import (
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
)

// Verdict says on which side of an edge a place lies. The zero Verdict is CannotTell.
type Verdict uint8

// The verdicts.
const (
	CannotTell Verdict = iota // the circle of the radius touches the edge
	Inside
	Outside
)

// String returns "cannot tell", "inside" or "outside".
func (v Verdict) String() string {
	switch v {
	case Inside:
		return "inside"
	case Outside:
		return "outside"
	}
	return "cannot tell"
}

// Area is one or more polygons with holes on WGS 84, edges straight in longitude and latitude as GeoJSON has it
// (RFC 7946, section 3.1.1). The zero Area is empty: no place can be told to lie in it or out of it. It does not hold a
// pole; an area across the antimeridian may be cut there or run on past 180 degrees.
type Area struct {
	polygons [][]ring   // each an outer ring and its holes
	index    *areaIndex // nil where there are few sides
}

// ring is a closed line; the last point is the first again.
type ring []Point

// NewArea makes an area of the coordinates of a GeoJSON Polygon: an outer ring and its holes, each a list of longitude,
// latitude pairs. Rings may run either way round. It refuses rings that are not closed, have fewer than four points,
// no surface, or cross themselves, and holes that begin outside the outer ring. How many points there may be is for
// the caller to bound.
func NewArea(coordinates [][][]float64) (Area, error) {
	return NewMultiArea([][][][]float64{coordinates})
}

// NewMultiArea makes an area of the coordinates of a GeoJSON MultiPolygon.
func NewMultiArea(coordinates [][][][]float64) (Area, error) {
	var a Area
	if len(coordinates) == 0 {
		return Area{}, errors.New("reading an area: it has no polygon")
	}
	for i, polygon := range coordinates {
		if len(polygon) == 0 {
			return Area{}, fmt.Errorf("reading an area: polygon %d has no ring", i+1)
		}
		var rings []ring
		var outer Area
		for j, line := range polygon {
			r, err := newRing(line)
			if err != nil {
				return Area{}, fmt.Errorf("reading an area: polygon %d: ring %d: %w", i+1, j+1, err)
			}
			if j > 0 {
				if j == 1 {
					outer = Area{polygons: [][]ring{rings[:1]}}
					outer.index = newAreaIndex(outer.polygons)
				}
				if in, d := outer.locate(r[0]); !in && d > 1e-9 {
					return Area{}, fmt.Errorf("reading an area: polygon %d: ring %d is a hole that begins outside its polygon", i+1,
						j+1)
				}
			}
			rings = append(rings, r)
		}
		a.polygons = append(a.polygons, rings)
	}
	a.index = newAreaIndex(a.polygons)
	return a, nil
}

func newRing(line [][]float64) (ring, error) {
	if len(line) < 4 {
		return nil, errors.New("a ring needs four points, of which the last is the first again")
	}
	r := make(ring, len(line))
	for i, c := range line {
		if len(c) < 2 {
			return nil, fmt.Errorf("point %d lacks its longitude or its latitude", i+1)
		}
		p := Point{Longitude: c[0], Latitude: c[1]}
		if !(math.Abs(p.Latitude) <= 90 && math.Abs(p.Longitude) <= 540) {
			return nil, fmt.Errorf("point %d is not a longitude and a latitude in degrees; longitude comes first", i+1)
		}
		r[i] = p
	}
	if r[0] != r[len(r)-1] {
		return nil, errors.New("the ring is not closed: its last point has to be the first again")
	}
	sum := 0.0
	for i := range len(r) - 1 {
		sum += (r[i].Longitude-r[0].Longitude)*(r[i+1].Latitude-r[0].Latitude) - (r[i+
			1].Longitude-r[0].Longitude)*(r[i].Latitude-r[0].Latitude)
	}
	if math.Abs(sum) < 1e-16 {
		return nil, errors.New("the ring encloses no surface")
	}
	if i, j, crossed := r.crossing(); crossed {
		return nil, fmt.Errorf("the ring crosses itself: sides %d and %d meet", i+1, j+1)
	}
	return r, nil
}

// crossing looks for two sides of a ring that cross. Sides are taken in order of their western end, so that only those
// that overlap in longitude are compared.
func (r ring) crossing() (int, int, bool) {
	sides := make([]int, len(r)-1)
	for i := range sides {
		sides[i] = i
	}
	west := func(i int) float64 { return min(r[i].Longitude, r[i+1].Longitude) }
	slices.SortFunc(sides, func(a, b int) int {
		switch wa, wb := west(a), west(b); {
		case wa < wb:
			return -1
		case wa > wb:
			return 1
		}
		return a - b
	})
	left := 1_000_000 + 400*len(r)
	for k, i := range sides {
		east := max(r[i].Longitude, r[i+1].Longitude)
		for _, j := range sides[k+1:] {
			if west(j) > east {
				break
			}
			if left--; left < 0 { // a comb made to be slow; such a ring is taken as it is
				return 0, 0, false
			}
			if cross(r[i], r[i+1], r[j], r[j+1]) {
				return min(i, j), max(i, j), true
			}
		}
	}
	return 0, 0, false
}

// cross reports whether two sides cross at a point inside both.
func cross(a, b, c, d Point) bool {
	turn := func(p, q, r Point) float64 {
		return (q.Longitude-p.Longitude)*(r.Latitude-p.Latitude) - (q.Latitude-p.Latitude)*(r.Longitude-p.Longitude)
	}
	return turn(a, b, c)*turn(a, b, d) < 0 && turn(c, d, a)*turn(c, d, b) < 0
}

// IsZero reports whether the area is empty.
func (a Area) IsZero() bool { return len(a.polygons) == 0 }

// Contains tells on which side of the edge a place lies whose position is known to a radius in metres. It cannot tell
// where the circle reaches the edge, where the point is not valid, and for an empty area; a radius that is not a
// number or below zero counts as unbounded.
func (a Area) Contains(p Point, radius float64) Verdict {
	if a.IsZero() || !p.Valid() || !(radius >= 0) || math.IsInf(radius, 0) {
		return CannotTell
	}
	in, plane, nearest := a.nearest(p)
	// Up to twenty kilometres and away from the poles the plane is true to a fiftieth.
	// a micrometre for the arithmetic
	if clear := plane < 20_000 && math.Abs(p.Latitude) < 80 && 0.9*plane > radius+1; !clear && p.fromEdge(plane,
		nearest) <= radius+1e-6 {
		return CannotTell
	}
	if in {
		return Inside
	}
	return Outside
}

// Meets reports whether a corner of one of two areas lies in the other, or on its edge. Areas that only cross do not.
func (a Area) Meets(b Area) bool {
	return a.cornerIn(b) || b.cornerIn(a)
}

func (a Area) cornerIn(b Area) bool {
	return slices.ContainsFunc(a.polygons, func(polygon []ring) bool {
		return slices.ContainsFunc(polygon[0], func(p Point) bool { return b.Contains(p, 0) != Outside })
	})
}

// Distance returns the metres from p to the nearest edge of the area, inside or outside, 0 on it. It is NaN for an
// empty area or a point that is not valid.
func (a Area) Distance(p Point) float64 {
	if a.IsZero() || !p.Valid() {
		return math.NaN()
	}
	_, d := a.locate(p)
	return d
}

// locate reports whether p lies inside, and how far the nearest edge is.
func (a Area) locate(p Point) (inside bool, metres float64) {
	inside, plane, nearest := a.nearest(p)
	return inside, p.fromEdge(plane, nearest)
}

// nearest reports whether p lies inside by counting crossings, and where the nearest place on the edge is, as
// degrees from p. It is sought on a plane that touches the ellipsoid at p; metres is its distance there.
func (a Area) nearest(p Point) (inside bool, metres float64, nearest Point) {
	if a.index != nil {
		return a.index.nearest(p)
	}
	return a.plain(p)
}

// plain is nearest by a look at every side.
func (a Area) plain(p Point) (inside bool, metres float64, nearest Point) {
	f := newFrame(p)
	number := 0
	for _, polygon := range a.polygons {
		within := false
		for _, r := range polygon {
			within = f.sides(r, r.base(p), 0, len(r)-1, number) != within
			number += len(r) - 1
		}
		inside = inside || within
	}
	return inside, math.Sqrt(f.best), f.nearest
}

// frame is the plane that touches the ellipsoid at a point, and the nearest place on it so far.
type frame struct {
	p       Point
	sx, sy  float64 // metres of a degree
	best    float64 // square metres
	number  int     // of the side that it lies on; of several as near, the first counts
	nearest Point   // degrees from p
}

func newFrame(p Point) frame {
	meridian, prime := wgs84.radii(p.Latitude)
	return frame{p: p, sy: meridian * radians, sx: prime * radians * math.Max(math.Cos(p.Latitude*radians), 1e-9),
		best: math.Inf(1)}
}

// base is how many degrees east of p the ring begins, from -180 to 180. The ring runs on from there.
func (r ring) base(p Point) float64 { return math.Remainder(r[0].Longitude-p.Longitude, 360) }

// sides looks at some sides of a ring, of which number is that of its first. It reports whether a ray eastwards from p
// crosses an odd number of them.
func (f *frame) sides(r ring, base float64, from, to, number int) (odd bool) {
	x0, y0 := base+(r[from].Longitude-r[0].Longitude), r[from].Latitude-f.p.Latitude
	for i := from + 1; i <= to; i++ {
		x1, y1 := base+(r[i].Longitude-r[0].Longitude), r[i].Latitude-f.p.Latitude
		if (y0 > 0) != (y1 > 0) && x0-y0*(x1-x0)/(y1-y0) > 0 {
			odd = !odd
		}
		dx, dy := (x1-x0)*f.sx, (y1-y0)*f.sy
		t := 0.0
		if l := dx*dx + dy*dy; l > 0 {
			t = min(1, max(0, -(x0*f.sx*dx+y0*f.sy*dy)/l))
		}
		x, y := x0+t*(x1-x0), y0+t*(y1-y0)
		if d := x*f.sx*x*f.sx + y*f.sy*y*f.sy; d < f.best || d == f.best && number+i < f.number {
			f.best, f.nearest, f.number = d, Point{Longitude: x, Latitude: y}, number+i
		}
		x0, y0 = x1, y1
	}
	return odd
}

// fromEdge measures on the ellipsoid how far a place is that nearest has found.
func (p Point) fromEdge(plane float64, nearest Point) float64 {
	if plane < 10 { // below this the plane is exact, and keeps its small figures
		return plane
	}
	q := Point{Longitude: math.Remainder(p.Longitude+nearest.Longitude, 360),
		Latitude: min(90, max(-90, p.Latitude+nearest.Latitude))}
	return Distance(p, q)
}

// AreaSet is a list of areas in which those near a place are found without asking them all. It is safe for concurrent
// use. The zero AreaSet is empty.
type AreaSet struct {
	areas []Area // in the order of the tree
	tree  tree
}

// NewAreaSet makes a set of areas.
func NewAreaSet(areas []Area) AreaSet {
	list := make([]box, len(areas))
	for i, a := range areas {
		list[i] = nowhere
		for _, polygon := range a.polygons {
			for _, r := range polygon {
				list[i] = list[i].with(boxOf(r))
			}
		}
		if a.IsZero() {
			list[i] = box{-180, -90, 180, 90}
		}
	}
	s := AreaSet{areas: make([]Area, len(areas))}
	boxes := make([]box, len(areas))
	for to, from := range tiled(list) {
		s.areas[to], boxes[to] = areas[from], list[from]
	}
	s.tree = newTree(boxes)
	return s
}

// Len returns how many areas there are.
func (s AreaSet) Len() int { return len(s.areas) }

// shortest is the smallest radius of curvature of WGS 84, in metres: that of the meridian at the equator.
const shortest = 6_335_000

// Near returns the areas of which Area.Contains may say something else than Outside of a place, in no order.
func (s AreaSet) Near(p Point, radius float64) iter.Seq[Area] {
	return func(yield func(Area) bool) {
		if len(s.areas) == 0 {
			return
		}
		// A way on the ellipsoid is longer than one on a sphere of that radius with the same latitudes and longitudes.
		angle := (radius + 1) / shortest * 1.01
		north, east := angle/radians, 360.0
		if lat := math.Abs(p.Latitude) * radians; lat+angle < math.Pi/2 {
			east = math.Asin(math.Sin(angle)/math.Cos(lat)) / radians
		}
		all := !p.Valid() || !(radius >= 0)
		on := true
		s.tree.visit(func(b box) bool {
			dx, dy := b.apart(p)
			return on && (all || dx <= east && dy <= north)
		}, func(i int) { on = on && yield(s.areas[i]) })
	}
}
