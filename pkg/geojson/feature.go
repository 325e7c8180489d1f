package geojson

import (
	"maps"
	"math"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
)

// feature is a Feature as read. What is wrong with it is no reason to lose it, or those beside it: it is reported, and
// what could not be read is kept as text.
type feature struct {
	Type       string                    `json:"type"`
	ID         jsontext.Value            `json:"id"`
	BBox       jsontext.Value            `json:"bbox"`
	Place      jsontext.Value            `json:"geometry"`
	Properties map[string]jsontext.Value `json:"properties"`
	Others     map[string]jsontext.Value `json:",embed"` // foreign members, RFC 7946 section 6.1

	geometry *geometry // nil: none, or none that could be read
	lost     string    // the geometry that could not be read, or the whole feature
	faults   []string
	surface  bool      // the geometry is, or claims to be, a polygon
	emptied  bool      // the geometry is there and has no coordinates
	outside  []float64 // a point out of the range of degrees
}

type geometry struct {
	Type        string         `json:"type"`
	Coordinates jsontext.Value `json:"coordinates"`
	Geometries  jsontext.Value `json:"geometries"` // of a collection
}

func fail(line int, msg, help string) error {
	return &find.ReadError{Code: "geojson-invalid", Line: line, Msg: msg, Help: help}
}

// parseFeature reads one feature and proves it by RFC 7946 section 3.2.
func parseFeature(v jsontext.Value) feature {
	var f feature
	if v.Kind() != '{' || json.Unmarshal(v, &f) != nil {
		return feature{lost: string(v), faults: []string{"the feature cannot be read; it is kept as text"}}
	}
	say := func(wrong bool, message string) {
		if wrong {
			f.faults = append(f.faults, message)
		}
	}
	say(f.Type != "Feature", "the type is not Feature")
	say(f.Place == nil, "there is no member geometry; null stands for a place that is not known")
	k := f.ID.Kind()
	say(f.ID != nil && k != '"' && k != '0', "the id is neither text nor a number")
	say(!soundBBox(f.BBox), "the bbox is not west, south, east and north in degrees")
	for _, name := range []string{"coordinates", "geometries", "features"} {
		say(f.Others[name] != nil, "the member "+name+" belongs to another kind of object")
	}
	f.setGeometry()
	return f
}

// setGeometry reads the geometry. One in another system than WGS 84 is not taken for one.
func (f *feature) setGeometry() {
	if f.Place == nil || f.Place.Kind() == 'n' {
		return
	}
	var g geometry
	err := json.Unmarshal(f.Place, &g)
	f.surface = g.Type == "Polygon" || g.Type == "MultiPolygon"
	switch {
	case err != nil:
		err = fail(0, "the geometry cannot be read", "")
	case f.Others["crs"] != nil:
		err = fail(0, "the feature has a crs member, and GeoJSON knows only WGS 84", "")
	default:
		plain := g.plain()
		if plain == nil {
			f.emptied = true
			return
		}
		if err = plain.check(); err == nil {
			f.geometry, f.surface = plain, plain.Type == "Polygon" || plain.Type == "MultiPolygon"
			return
		}
		f.outside = plain.outside()
	}
	f.lost = string(f.Place)
	if f.outside == nil {
		f.faults = append(f.faults, err.(*find.ReadError).Msg)
	}
}

// outside returns a point that is out of the range of degrees, nil for anything else.
func (g *geometry) outside() []float64 {
	var p []float64
	if g.Type != "Point" || json.Unmarshal(g.Coordinates, &p) != nil || len(p) < 2 {
		return nil
	}
	return p
}

// plain is what a geometry amounts to: nothing where its coordinates are an empty list, which a
// reader may take for null (RFC 7946 section 3.1), and its one geometry where it is a collection of
// one, which section 3.1.8 advises against.
func (g *geometry) plain() *geometry {
	if g.Type == "GeometryCollection" {
		var list []geometry
		if json.Unmarshal(g.Geometries, &list) == nil && len(list) == 1 && list[0].Type != g.Type {
			return list[0].plain()
		}
		return g
	}
	if _, known := nesting[g.Type]; known && string(g.Coordinates) == "[]" {
		return nil
	}
	return g
}

// nesting is how deep the positions of a geometry stand.
var nesting = map[string]int{"Point": 0, "MultiPoint": 1, "LineString": 1, "MultiLineString": 2, "Polygon": 2,
	"MultiPolygon": 3}

func (f *feature) text(name string) string {
	var s string
	if v := f.Properties[name]; v.Kind() == '"' {
		_ = json.Unmarshal(v, &s)
	}
	return s
}

func (f *feature) id() string {
	var s string
	if f.ID.Kind() == '"' {
		_ = json.Unmarshal(f.ID, &s)
		return s
	}
	return string(f.ID)
}

// check proves a geometry: type, nesting, ranges, closed rings.
func (g *geometry) check() error {
	depth, ok := nesting[g.Type]
	if !ok {
		if g.Type == "GeometryCollection" {
			return nil
		}
		return fail(0, "the type of a geometry is not one of those of RFC 7946", "capitals matter: Point, Polygon")
	}
	if g.Coordinates == nil {
		return fail(0, "a geometry has no coordinates", "")
	}
	return checkCoordinates(g.Coordinates, depth, g.Type == "Polygon" || g.Type == "MultiPolygon")
}

func checkCoordinates(v jsontext.Value, depth int, rings bool) error {
	if depth == 0 {
		_, err := position(v)
		return err
	}
	var list []jsontext.Value
	if v.Kind() != '[' || json.Unmarshal(v, &list) != nil {
		return fail(0, "the coordinates of a geometry are not nested as its type asks",
			"RFC 7946 section 3.1 shows each type")
	}
	for _, item := range list {
		if err := checkCoordinates(item, depth-1, rings); err != nil {
			return err
		}
	}
	if depth == 1 && rings {
		if len(list) < 4 {
			return fail(0, "a ring of a polygon has fewer than four positions", "the last repeats the first")
		}
		first, _ := position(list[0])
		last, _ := position(list[len(list)-1])
		if first[0] != last[0] || first[1] != last[1] {
			return fail(0, "a ring of a polygon is not closed", "repeat the first position at the end")
		}
	}
	return nil
}

// position reads a position of two or more numbers.
func position(v jsontext.Value) ([]float64, error) {
	var p []float64
	if v.Kind() != '[' || json.Unmarshal(v, &p) != nil || len(p) < 2 {
		return nil, fail(0, "a position is not a list of two numbers", "longitude first, then latitude: [-1.2, 52.5]")
	}
	if math.Abs(p[0]) > 180 || math.Abs(p[1]) > 90 {
		return nil, fail(0, "coordinates are out of the range of degrees",
			"GeoJSON holds WGS 84 longitude and latitude, in this order; metres of a national grid must be converted first")
	}
	return p, nil
}

// soundBBox proves a bounding box: RFC 7946 section 5. West may be greater than east where the box
// crosses the antimeridian.
func soundBBox(v jsontext.Value) bool {
	if v == nil {
		return true
	}
	var b []float64
	if v.Kind() != '[' || json.Unmarshal(v, &b) != nil || len(b) != 4 && len(b) != 6 {
		return false
	}
	n := len(b) / 2
	return math.Abs(b[0]) <= 180 && math.Abs(b[n]) <= 180 && math.Abs(b[1]) <= 90 && math.Abs(b[n+1]) <= 90 &&
		b[1] <= b[n+1]
}

// cellText writes a property as the text of a cell.
func cellText(v jsontext.Value) string {
	if v.Kind() == '"' {
		var s string
		_ = json.Unmarshal(v, &s)
		return s
	}
	if v.Kind() == 'n' {
		return ""
	}
	return string(v)
}

// texts returns the properties of a feature as texts, by name.
func (f *feature) texts() []intake.Text {
	out := make([]intake.Text, 0, len(f.Properties))
	for _, name := range slices.Sorted(maps.Keys(f.Properties)) {
		out = append(out, intake.Text{Name: name, Text: cellText(f.Properties[name])})
	}
	return out
}
