package geojson

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// Decode reads a FeatureCollection. It goes over the input twice: once for the report and the
// permissions, which also proves that the whole file is sound JSON, and once for the finds. A feature with a fault
// costs the others nothing.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	d := &decoder{r: r, o: o, in: &intake.Reader{What: "property", Unreadable: &kinds.FieldUnreadable}}
	d.Survey = intake.Survey{File: o.File, What: "property", Unknown: &kinds.FieldUnknown, Taken: &kinds.AreaTaken}
	if err := d.survey(); err != nil {
		return nil, err
	}
	s := &find.Stream{Report: d.Report, File: o.File, Format: "geojson", Notices: d.Notices}
	s.SetEntries(func(yield func(*find.Entry, error) bool) {
		if err := d.finds(yield); err != nil {
			yield(nil, err)
		}
	})
	return s, nil
}

type decoder struct {
	r  io.ReadSeeker
	o  Options
	in *intake.Reader
	intake.Survey
	title  string // the name that others give a collection
	metres bool   // the coordinates are those of the system that the file names
}

// gathered is what the first pass reads of a FeatureCollection.
type gathered struct {
	kind     string
	header   jsontext.Value
	areas    []feature
	features bool
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
	var c gathered
	for cut.Peek() != '}' {
		if err := d.member(cut, &c); err != nil {
			return cut.Explain(err)
		}
	}
	if _, err := cut.Token(); err != nil {
		return cut.Explain(err)
	}
	if err := cut.End(); err != nil {
		return cut.Explain(err)
	}
	if c.kind != "FeatureCollection" {
		return fail(1, "the type is not FeatureCollection", "a report is a FeatureCollection of finds")
	}
	if !c.features {
		return fail(1, "the list of features is missing", `write "features": [...]`)
	}
	if err := d.header(c.header); err != nil {
		return err
	}
	for i := range c.areas {
		d.area(&c.areas[i])
	}
	d.in.References = d.References()
	return nil
}

// member reads the next member of the collection.
func (d *decoder) member(cut *find.Cutter, c *gathered) error {
	name, err := cut.Token()
	if err != nil {
		return err
	}
	key := name.String()
	if key == "features" {
		c.features = true
		c.areas, err = d.surveyFeatures(cut)
		return err
	}
	v, err := cut.Member()
	if err != nil {
		return err
	}
	switch key {
	case "type":
		_ = json.Unmarshal(v, &c.kind)
	case "findslip":
		c.header = v.Clone()
	case "name", "title":
		var text string
		if json.Unmarshal(v, &text) == nil && text != "" && d.title == "" && len(text) <= 500 {
			d.title = text
		}
	case "crs":
		d.crs(v)
	case "bbox":
		if !soundBBox(v) {
			d.Say(&kinds.PlaceUnreadable, "", "the bbox of the file is not west, south, east and north in degrees")
		}
	case "geometry", "properties", "coordinates", "geometries":
		return fail(cut.Line(), fmt.Sprintf("%q does not belong into a FeatureCollection", key),
			"wrap the features into {\"type\": \"FeatureCollection\", \"features\": [...]}")
	}
	return nil
}

// surveyFeatures looks at every feature and keeps those that are areas.
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
		f := parseFeature(v)
		switch {
		case f.isLand():
			if held += int64(len(v)); held > cut.MostHeader() {
				return nil, find.TooLarge("geojson-too-large", cut.Line(), limit.Over("header", cut.MostHeader()))
			}
			for _, fault := range f.faults {
				d.Say(&kinds.PlaceUnreadable, "", fmt.Sprintf("feature %d, an area: %s", i+1, fault))
			}
			areas = append(areas, parseFeature(v.Clone()))
		case f.text("record") != "find":
			d.Foreign(f.texts())
		}
	}
	_, err = cut.Token()
	return areas, err
}

// crs takes note of the reference system that older programs name. Degrees of WGS 84 change nothing; the coordinates
// of any other system are read as metres, or left for a person, and said.
func (d *decoder) crs(v jsontext.Value) {
	var c struct {
		Properties struct {
			Name string `json:"name"`
		} `json:"properties"`
	}
	_ = json.Unmarshal(v, &c)
	name := c.Properties.Name
	system, known := coordinate.SystemByCode(name)
	switch {
	case strings.HasSuffix(name, "CRS84"), known && system.Code == "EPSG:4326":
		d.Say(&kinds.GeojsonCrsMember, "", "a crs member names WGS 84 longitude and latitude; RFC 7946 has none")
	case known:
		d.metres, d.in.System = true, system.Code
		d.Say(&kinds.GeojsonCrsMember, "", "a crs member names "+system.Code+"; the coordinates are read in that system")
	default:
		d.metres = true
		d.Say(&kinds.GeojsonCrsMember, "", "a crs member names a system that is not known; the coordinates are kept as text")
	}
}

// header makes the report from the foreign member.
func (d *decoder) header(raw jsontext.Value) (err error) {
	if raw != nil {
		d.Report, err = find.DecodeHeader(raw)
		return err
	}
	d.Report = &find.Report{Findslip: find.Version, Title: d.title}
	d.Say(&kinds.ReportMissing, "", "the report is put together from the features")
	return nil
}

// isLand reports whether a feature is a permission or an area, and not a find.
func (f *feature) isLand() bool {
	record := f.text("record")
	return record == "permission" || record == "excluded" || record != "find" && f.surface
}

// area puts the area of a permission, or an excluded part of it, where it belongs. A polygon that
// somebody else drew makes a permission.
func (d *decoder) area(f *feature) {
	texts := f.texts()
	var shape *find.Area
	switch {
	case f.lost != "":
		texts = append(texts, intake.Text{Name: "geometry", Text: f.lost})
	case f.geometry != nil && f.surface:
		shape = &find.Area{Type: f.geometry.Type, Coordinates: f.geometry.Coordinates}
	}
	switch f.text("record") {
	case "permission":
		d.OwnArea(f.id(), false, texts, shape)
	case "excluded":
		d.OwnArea(f.text("permission"), true, texts, shape)
	default:
		if id := f.id(); id != "" {
			texts = append(texts, intake.Text{Name: "id", Text: id})
		}
		d.Area("", texts, shape)
	}
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
	for index := 0; cut.Peek() != ']'; {
		v, err := cut.Record()
		if err != nil {
			return cut.Explain(err)
		}
		f := parseFeature(v)
		if f.isLand() {
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

// fill sets the members of a find from a feature.
func (d *decoder) fill(e *find.Entry, f *feature) {
	for _, fault := range f.faults {
		e.Notices.Add(notice.New(&kinds.PlaceUnreadable, "", fault))
	}
	if id := f.id(); find.IsURN(id) {
		e.Find.ID = id
	} else if id != "" {
		intake.Column(e.Find, "id", id)
	}
	point := f.geometry != nil && f.geometry.Type == "Point" && !d.metres
	if f.text("record") == "find" {
		for _, t := range f.texts() {
			if t.Name != "record" {
				d.in.Own(e, t.Name, t.Text)
			}
		}
	} else {
		d.in.Foreign(e, f.texts(), point)
	}
	for _, name := range slices.Sorted(maps.Keys(f.Others)) {
		if text := cellText(f.Others[name]); text != "" {
			intake.Column(e.Find, name, text)
		}
	}
	switch {
	case f.emptied:
		e.Notices.Add(notice.New(&kinds.GeojsonPointEmpty, "/position",
			"the geometry has no coordinates; the find is kept without a position"))
	case f.outside != nil, d.metres && f.geometry != nil:
		d.elsewhere(e, f)
	case point:
		d.place(e, f.geometry)
	case f.geometry != nil:
		message := fmt.Sprintf("a geometry of type %s is not the place of one find; it is kept among the columns",
			f.geometry.Type)
		e.Notices.Add(notice.New(&kinds.PlaceUnreadable, "/position", message))
		intake.Column(e.Find, "geometry", string(f.geometry.Coordinates)+string(f.geometry.Geometries))
	case f.lost != "":
		intake.Column(e.Find, "geometry", f.lost)
	}
}

// place sets the position of a find from a point.
func (d *decoder) place(e *find.Entry, g *geometry) {
	var p []jsontext.Value
	_ = json.Unmarshal(g.Coordinates, &p)
	if len(p) > 2 {
		e.Notices.Add(notice.New(&kinds.GeojsonAltitude, "/position", "the third coordinate is not taken over"))
	}
	if e.Find.Position == nil {
		e.Find.Position = new(find.Position)
	}
	for i, n := range []*find.Number{&e.Find.Position.Longitude, &e.Find.Position.Latitude} {
		_ = json.Unmarshal(p[i], n)
	}
}

// elsewhere keeps the coordinates of a point that are no longitude and latitude as the words of its position, from
// which they are read once the system is known.
func (d *decoder) elsewhere(e *find.Entry, f *feature) {
	raw := f.Place
	var g geometry
	var p []jsontext.Value
	if json.Unmarshal(raw, &g) != nil || g.Type != "Point" || json.Unmarshal(g.Coordinates, &p) != nil || len(p) < 2 {
		intake.Column(e.Find, "geometry", string(raw))
		return
	}
	if e.Find.Position == nil {
		e.Find.Position = new(find.Position)
	}
	e.Find.Position.Verbatim = d.inWords(string(p[0]), string(p[1]))
	switch o := f.outside; {
	case d.in.System != "":
		e.Origin.Layout = &find.Layout{Hints: find.Hints{System: d.in.System}}
	case o != nil && swapped(o):
		e.Notices.Add(notice.New(&kinds.GeojsonOutOfRange, "/position",
			"latitude stands before longitude; they are read the other way round"))
	default:
		e.Notices.Add(notice.New(&kinds.GeojsonOutOfRange, "/position",
			"the coordinates are not degrees; they are kept as text until the reference system is said"))
	}
}

// inWords writes a pair of coordinates. GeoJSON has east before north in every system, where the registry of a system,
// and people, may have it the other way round: so that nobody mistakes them, the axes are named.
func (d *decoder) inWords(east, north string) string {
	system, known := coordinate.SystemByCode(d.in.System)
	switch {
	case !d.metres:
		return east + ", " + north
	case !known:
		return "x " + east + ", y " + north
	case system.Geographic():
		return "lat " + north + ", lon " + east
	}
	return "E " + east + ", N " + north
}

// swapped reports whether a point is one of degrees if its numbers change places.
func swapped(p []float64) bool {
	return p[0] >= -90 && p[0] <= 90 && p[1] >= -180 && p[1] <= 180
}
