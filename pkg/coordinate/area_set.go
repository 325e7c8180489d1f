package coordinate

import (
	"iter"
	"math"
)

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
