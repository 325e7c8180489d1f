package kml

import (
	"errors"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
)

// empty reports whether there is no geometry at all.
func (g *geometries) empty() bool {
	for i := range g.Multi {
		if !g.Multi[i].empty() {
			return false
		}
	}
	return len(g.Points)+len(g.Lines)+len(g.Rings)+len(g.Models)+len(g.Tracks)+len(g.Many)+len(g.Polygons) == 0
}

// polygons returns all polygons, those inside a MultiGeometry too.
func (g *geometries) polygons() []polygon {
	out := g.Polygons
	for i := range g.Multi {
		out = append(out[:len(out):len(out)], g.Multi[i].polygons()...)
	}
	return out
}

// points returns all points, those inside a MultiGeometry too.
func (g *geometries) points() []point {
	out := g.Points
	for i := range g.Multi {
		out = append(out[:len(out):len(out)], g.Multi[i].points()...)
	}
	return out
}

// single reports whether there is one point and nothing else.
func (g *geometries) single() bool {
	for i := range g.Multi {
		if m := &g.Multi[i]; !m.empty() && !m.single() {
			return false
		}
	}
	return len(g.points()) == 1 && len(g.polygons()) == 0 &&
		len(g.Lines)+len(g.Rings)+len(g.Models)+len(g.Tracks)+len(g.Many) == 0
}

// coordinates returns all coordinates as they stand.
func (g *geometries) coordinates() string {
	var out []string
	for _, list := range [][]point{g.Points, g.Lines, g.Rings} {
		for _, p := range list {
			out = append(out, strings.Join(strings.Fields(p.Coordinates), " "))
		}
	}
	for _, p := range g.Polygons {
		out = append(out, strings.Join(strings.Fields(p.Outer.Coordinates), " "))
	}
	for i := range g.Multi {
		out = append(out, g.Multi[i].coordinates())
	}
	text := strings.Join(out, "; ")
	if text == "" {
		return "not a point"
	}
	return text
}

// place returns the longitude and latitude of the one point of a placemark, nil if it has none or
// is something else. The error says what is wrong with the coordinates of the point.
func (p *placemark) place() ([]find.Number, error) {
	if !p.single() {
		return nil, nil
	}
	list, err := tuples(p.points()[0].Coordinates)
	if err != nil {
		return nil, err
	}
	if len(list) != 1 {
		return nil, errors.New("a point does not have one pair of coordinates")
	}
	return list[0], nil
}

// tuples reads coordinates: longitude, latitude and perhaps a height, with commas and no blanks
// between (OGC 12-007r2 section 10.3), tuples parted by blanks. Heights are not taken over.
func tuples(text string) ([][]find.Number, error) {
	var out [][]find.Number
	for field := range strings.FieldsSeq(text) {
		parts := strings.Split(field, ",")
		if len(parts) != 2 && len(parts) != 3 {
			return nil, errors.New("coordinates are not longitude, latitude and perhaps a height")
		}
		pair := make([]find.Number, 2)
		for i := range pair {
			n, err := find.ParseNumber(parts[i])
			if err != nil || !n.Known() {
				return nil, errors.New("coordinates are not decimal numbers")
			}
			pair[i] = n
		}
		if lon, lat := pair[0].Float(), pair[1].Float(); lon < -180 || lon > 180 || lat < -90 || lat > 90 {
			return nil, errors.New("coordinates are out of the range of degrees")
		}
		out = append(out, pair)
	}
	return out, nil
}

// area returns the polygons of a placemark as one area, nil if it has none. The error says what is wrong with it.
func (p *placemark) area() (*find.Area, error) {
	var out [][]find.Ring
	for _, g := range p.polygons() {
		lines := []point{g.Outer}
		for _, in := range g.Inner {
			lines = append(lines, in.Rings...)
		}
		var rings []find.Ring
		for _, line := range lines {
			r, err := ring(line.Coordinates)
			if err != nil {
				return nil, err
			}
			rings = append(rings, r)
		}
		out = append(out, rings)
	}
	if out == nil {
		if !p.empty() {
			return nil, errors.New("the area of a permission is not a polygon")
		}
		return nil, nil
	}
	return find.AreaOf(out, len(p.Multi) > 0), nil
}

// ring reads a LinearRing: OGC 12-007r2 section 10.8 asks for four tuples or more, the last like
// the first.
func ring(text string) (find.Ring, error) {
	list, err := tuples(text)
	if err != nil {
		return nil, err
	}
	if len(list) < 4 {
		return nil, errors.New("a ring of a polygon has fewer than four pairs of coordinates")
	}
	first, last := list[0], list[len(list)-1]
	if first[0] != last[0] || first[1] != last[1] {
		return nil, errors.New("a ring of a polygon is not closed")
	}
	r := make(find.Ring, len(list))
	for i, p := range list {
		r[i] = jsontext.Value("[" + p[0].String() + "," + p[1].String() + "]")
	}
	return r, nil
}
