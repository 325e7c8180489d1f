package geojson

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// feature is a Feature as read.
type feature struct {
	Type       string                    `json:"type"`
	ID         jsontext.Value            `json:"id"`
	Geometry   *geometry                 `json:"geometry"`
	Properties map[string]jsontext.Value `json:"properties"`
	Others     map[string]jsontext.Value `json:",embed"` // foreign members, RFC 7946 section 6.1
	raw        jsontext.Value
}

type geometry struct {
	Type        string         `json:"type"`
	Coordinates jsontext.Value `json:"coordinates"`
	Geometries  jsontext.Value `json:"geometries"` // of a collection
}

// Decode reads a FeatureCollection. It goes over the input twice: once for the report and the
// permissions, which also proves that every feature is sound GeoJSON, and once for the finds.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	d := &decoder{r: r, o: o, in: &intake.Reader{What: "property", Unreadable: propertyUnreadable}}
	if err := d.survey(); err != nil {
		return nil, err
	}
	s := &find.Stream{Report: d.report, File: o.File, Format: "geojson", Notices: d.notices}
	s.SetEntries(func(yield func(*find.Entry, error) bool) {
		if err := d.finds(yield); err != nil {
			yield(nil, err)
		}
	})
	return s, nil
}

type decoder struct {
	r       io.ReadSeeker
	o       Options
	in      *intake.Reader
	report  *find.Report
	notices notice.List
	names   intake.Names    // people and land that features of others name
	title   string          // the name that others give a collection
	known   map[string]bool // names of their properties that have been looked at
}

func fail(line int, msg, help string) error {
	return &find.ReadError{Code: "geojson-invalid", Line: line, Msg: msg, Help: help}
}

// survey is the first pass.
func (d *decoder) survey() error {
	if _, err := d.r.Seek(0, io.SeekStart); err != nil {
		return err
	}
	cut := find.NewCutter(d.r, find.Options{Limits: d.o.Limits})
	tok, err := cut.Token()
	if err != nil {
		return cut.Explain(err)
	}
	if tok.Kind() != '{' {
		return fail(cut.Line(), "a GeoJSON text is one object", "it begins with {")
	}
	var kind string
	var header jsontext.Value
	var areas []feature
	features := false
	for cut.Peek() != '}' {
		name, err := cut.Token()
		if err != nil {
			return cut.Explain(err)
		}
		key := name.String()
		if key == "features" {
			features = true
			if areas, err = d.surveyFeatures(cut); err != nil {
				return cut.Explain(err)
			}
			continue
		}
		v, err := cut.Member()
		if err != nil {
			return cut.Explain(err)
		}
		switch key {
		case "type":
			_ = json.Unmarshal(v, &kind)
		case "findslip":
			header = v.Clone()
		case "name", "title":
			var text string
			if json.Unmarshal(v, &text) == nil && text != "" && d.title == "" && len(text) <= 500 {
				d.title = text
			}
		case "crs":
			if err := d.crs(v, cut.Line()); err != nil {
				return err
			}
		case "bbox":
			if err := checkBBox(v); err != nil {
				return err
			}
		case "geometry", "properties", "coordinates", "geometries":
			return fail(cut.Line(), fmt.Sprintf("%q does not belong into a FeatureCollection", key), "wrap the features into {\"type\": \"FeatureCollection\", \"features\": [...]}")
		}
	}
	if _, err := cut.Token(); err != nil {
		return cut.Explain(err)
	}
	if err := cut.End(); err != nil {
		return cut.Explain(err)
	}
	if kind != "FeatureCollection" {
		return fail(1, "the type is not FeatureCollection", "a report is a FeatureCollection of finds")
	}
	if !features {
		return fail(1, "the list of features is missing", `write "features": [...]`)
	}
	if err := d.header(header, areas); err != nil {
		return err
	}
	d.in.References = d.names.References(d.report)
	return nil
}

// surveyFeatures proves every feature and keeps those that are areas.
func (d *decoder) surveyFeatures(cut *find.Cutter) ([]feature, error) {
	tok, err := cut.Token()
	if err != nil {
		return nil, err
	}
	if tok.Kind() != '[' {
		return nil, fail(cut.Line(), "features is not a list", "write the features between [ and ]")
	}
	var areas []feature
	var held int64 // bytes of the areas
	for i := 0; cut.Peek() != ']'; i++ {
		v, err := cut.Record()
		if err != nil {
			return nil, err
		}
		f, err := parseFeature(v)
		if err != nil {
			var own *find.ReadError
			if errors.As(err, &own) {
				own.Line, own.Path = cut.Line(), fmt.Sprintf("/features/%d", i)
			}
			return nil, err
		}
		if record := f.text("record"); record == "permission" || record == "excluded" || record != "find" && f.isArea() {
			if held += int64(len(v)); held > cut.MostHeader() {
				return nil, find.TooLarge("geojson-too-large", cut.Line(), limit.Over("header", cut.MostHeader()))
			}
			f.raw = v.Clone()
			g, err := parseFeature(f.raw)
			if err != nil {
				return nil, err
			}
			areas = append(areas, g)
		} else if record != "find" {
			d.foreign(f.texts())
		}
	}
	_, err = cut.Token()
	return areas, err
}

// maxKnown bounds how many names of properties are remembered and told.
const maxKnown = 1000

// foreign looks at the properties of a feature of others before it is read.
func (d *decoder) foreign(texts []intake.Text) {
	d.names.Add(texts)
	for _, t := range texts {
		if d.known[t.Name] || len(d.known) >= maxKnown {
			continue
		}
		if d.known == nil {
			d.known = map[string]bool{}
		}
		d.known[t.Name] = true
		if heading.IsField(t.Name) {
			continue
		}
		message := fmt.Sprintf("the property %q is not understood; its text is kept among the columns", clip(t.Name))
		if near := heading.Nearest(t.Name); near != "" {
			message += fmt.Sprintf("; did you mean %q?", near)
		}
		n := notice.New(propertyUnknown, "", message)
		n.File = d.o.File
		d.notices.Add(n)
	}
}

// clip shortens a name for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "..."
	}
	return s
}

// parseFeature reads and proves one feature.
func parseFeature(v jsontext.Value) (feature, error) {
	var f feature
	if v.Kind() != '{' {
		return f, fail(0, "a feature is not an object", "")
	}
	var members struct {
		Geometry   jsontext.Value `json:"geometry"`
		Properties jsontext.Value `json:"properties"`
		CRS        jsontext.Value `json:"crs"`
		BBox       jsontext.Value `json:"bbox"`
		A          jsontext.Value `json:"coordinates"`
		B          jsontext.Value `json:"geometries"`
		C          jsontext.Value `json:"features"`
	}
	if err := json.Unmarshal(v, &members); err != nil {
		return f, fail(0, "a feature cannot be read", "")
	}
	if err := json.Unmarshal(v, &f); err != nil || f.Type != "Feature" {
		return f, fail(0, "a feature must have the type Feature, a geometry and properties", "RFC 7946 section 3.2 says how it is built")
	}
	switch {
	case members.Geometry == nil:
		return f, fail(0, "a feature has no member geometry", "write null where the place is not known")
	case members.Properties == nil:
		return f, fail(0, "a feature has no member properties", "write null or {} where there are none")
	case members.CRS != nil:
		return f, fail(0, "a feature has a crs member", "RFC 7946 knows only WGS 84 longitude and latitude")
	}
	if members.A != nil || members.B != nil || members.C != nil {
		return f, fail(0, "a feature has a member that belongs to another kind of object", "coordinates belong into geometry, features into the collection: RFC 7946 section 7.1")
	}
	if err := checkBBox(members.BBox); err != nil {
		return f, err
	}
	switch k := f.ID.Kind(); {
	case f.ID != nil && k != '"' && k != '0':
		return f, fail(0, "the id of a feature is neither text nor a number", "")
	}
	if f.Geometry != nil {
		f.Geometry = f.Geometry.plain()
	}
	if f.Geometry != nil {
		if err := f.Geometry.check(); err != nil {
			return f, err
		}
	}
	return f, nil
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
var nesting = map[string]int{"Point": 0, "MultiPoint": 1, "LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}

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
		return fail(0, "the coordinates of a geometry are not nested as its type asks", "RFC 7946 section 3.1 shows each type")
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

// checkBBox proves a bounding box: RFC 7946 section 5. West may be greater than east where the box
// crosses the antimeridian.
func checkBBox(v jsontext.Value) error {
	if v == nil {
		return nil
	}
	var b []float64
	if v.Kind() != '[' || json.Unmarshal(v, &b) != nil || len(b) != 4 && len(b) != 6 {
		return fail(0, "a bbox is not a list of four or six numbers", "west, south, east, north")
	}
	n := len(b) / 2
	if math.Abs(b[0]) > 180 || math.Abs(b[n]) > 180 || math.Abs(b[1]) > 90 || math.Abs(b[n+1]) > 90 || b[1] > b[n+1] {
		return fail(0, "a bbox is out of the range of degrees or its south is north of its north", "west, south, east, north")
	}
	return nil
}

// crs accepts the names of WGS 84 longitude and latitude that older programs write.
func (d *decoder) crs(v jsontext.Value, line int) error {
	var c struct {
		Properties struct {
			Name string `json:"name"`
		} `json:"properties"`
	}
	_ = json.Unmarshal(v, &c)
	switch c.Properties.Name {
	case "urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:OGC::CRS84", "OGC:CRS84":
		n := notice.New(crsNamed, "", "a crs member names WGS 84 longitude and latitude; RFC 7946 has none")
		n.File = d.o.File
		d.notices.Add(n)
		return nil
	}
	return fail(line, "the file has a crs member that is not WGS 84 longitude and latitude",
		"convert the coordinates to WGS 84 (EPSG:4326, longitude first) and leave the member out: RFC 7946 section 4")
}

// header makes the report from the foreign member and the features of permissions.
func (d *decoder) header(raw jsontext.Value, areas []feature) error {
	if raw == nil {
		d.report = &find.Report{Findslip: find.Version}
		n := notice.New(headerMissing, "", "the report is put together from the features")
		n.File = d.o.File
		d.notices.Add(n)
		d.report.Title = d.title
	} else {
		var err error
		if d.report, err = find.DecodeHeader(raw); err != nil {
			return err
		}
	}
	for i := range areas {
		if err := d.area(&areas[i]); err != nil {
			return err
		}
	}
	return nil
}

// isArea tells whether the geometry of a feature is a surface.
func (f *feature) isArea() bool {
	return f.Geometry != nil && (f.Geometry.Type == "Polygon" || f.Geometry.Type == "MultiPolygon")
}

// area puts the area of a permission, or an excluded part of it, where it belongs. A polygon that
// somebody else drew makes a permission.
func (d *decoder) area(f *feature) error {
	record := f.text("record")
	if record != "permission" && record != "excluded" {
		texts := f.texts()
		if id := f.id(); id != "" {
			texts = append(texts, intake.Text{Name: "id", Text: id})
		}
		pointer, left := intake.TakeArea(d.report, "", texts, &find.Area{Type: f.Geometry.Type, Coordinates: f.Geometry.Coordinates.Clone()})
		n := notice.New(areaTaken, pointer, intake.AreaMessage(left))
		n.File = d.o.File
		d.notices.Add(n)
		return nil
	}
	excluded := record == "excluded"
	id := f.id()
	if excluded {
		id = f.text("permission")
	}
	p := d.report.Permission(id)
	if p == nil {
		d.report.Permissions = append(d.report.Permissions, find.Permission{ID: id})
		p = &d.report.Permissions[len(d.report.Permissions)-1]
		if !excluded {
			for name, v := range f.Properties {
				if path, err := find.PathTo[find.Permission](name); err == nil {
					_ = find.Set(path, p, cellText(v))
				}
			}
		}
	}
	if f.Geometry == nil {
		return nil
	}
	a := find.Area{Type: f.Geometry.Type, Coordinates: f.Geometry.Coordinates.Clone()}
	if a.Type != "Polygon" && a.Type != "MultiPolygon" {
		return fail(0, "the area of a permission is not a Polygon or MultiPolygon", "")
	}
	if excluded {
		p.Excluded = append(p.Excluded, a)
	} else {
		p.Area = &a
	}
	return nil
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

// finds is the second pass.
func (d *decoder) finds(yield func(*find.Entry, error) bool) error {
	if _, err := d.r.Seek(0, io.SeekStart); err != nil {
		return err
	}
	cut := find.NewCutter(d.r, find.Options{Limits: d.o.Limits})
	if err := cut.Enter("features"); err != nil {
		return cut.Explain(err)
	}
	for i, index := 0, 0; cut.Peek() != ']'; i++ {
		v, err := cut.Record()
		if err != nil {
			return cut.Explain(err)
		}
		f, err := parseFeature(v)
		if err != nil {
			return cut.Explain(err)
		}
		if record := f.text("record"); record == "permission" || record == "excluded" || record != "find" && f.isArea() {
			continue
		}
		e := &find.Entry{Index: index, Find: new(find.Find), Size: len(v), Origin: find.Origin{File: d.o.File}}
		index++
		d.fill(e, &f)
		if !yield(e, nil) {
			return nil
		}
	}
	return nil
}

// texts returns the properties of a feature as texts, by name.
func (f *feature) texts() []intake.Text {
	out := make([]intake.Text, 0, len(f.Properties))
	for _, name := range slices.Sorted(maps.Keys(f.Properties)) {
		out = append(out, intake.Text{Name: name, Text: cellText(f.Properties[name])})
	}
	return out
}

// fill sets the members of a find from a feature.
func (d *decoder) fill(e *find.Entry, f *feature) {
	if id := f.id(); find.IsURN(id) {
		e.Find.ID = id
	} else if id != "" {
		intake.Column(e.Find, "id", id)
	}
	if f.text("record") == "find" {
		for _, t := range f.texts() {
			if t.Name != "record" {
				d.in.Own(e, t.Name, t.Text)
			}
		}
	} else {
		d.in.Foreign(e, f.texts(), f.Geometry != nil && f.Geometry.Type == "Point")
	}
	for _, name := range slices.Sorted(maps.Keys(f.Others)) {
		if text := cellText(f.Others[name]); text != "" && name != "bbox" {
			intake.Column(e.Find, name, text)
		}
	}
	g := f.Geometry
	if g == nil {
		return
	}
	if g.Type != "Point" {
		e.Notices.Add(notice.New(featureUnreadable, "/position", fmt.Sprintf("a geometry of type %s is not the place of one find", g.Type)))
		intake.Column(e.Find, "geometry", string(g.Coordinates)+string(g.Geometries))
		return
	}
	var p []jsontext.Value
	_ = json.Unmarshal(g.Coordinates, &p)
	if len(p) > 2 {
		e.Notices.Add(notice.New(altitude, "/position", "the third coordinate is not taken over"))
	}
	if e.Find.Position == nil {
		e.Find.Position = new(find.Position)
	}
	for i, n := range []*find.Number{&e.Find.Position.Longitude, &e.Find.Position.Latitude} {
		_ = json.Unmarshal(p[i], n)
	}
}
