package kml

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/markup"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// xml shapes of what is read.
type (
	placemark struct {
		Name        string        `xml:"name"`
		Visibility  string        `xml:"visibility"`
		Address     string        `xml:"address"`
		Description string        `xml:"description"`
		When        string        `xml:"TimeStamp>when"`
		Begin       string        `xml:"TimeSpan>begin"`
		End         string        `xml:"TimeSpan>end"`
		Extended    *extendedData `xml:"ExtendedData"`
		geometries
	}
	extendedData struct {
		Data   []data   `xml:"Data"`
		Simple []simple `xml:"SchemaData>SimpleData"`
	}
	data struct {
		Name  string `xml:"name,attr"`
		Value string `xml:"value"`
	}
	simple struct {
		Name  string `xml:"name,attr"`
		Value string `xml:",chardata"`
	}
	geometries struct {
		Points   []point      `xml:"Point"`
		Lines    []point      `xml:"LineString"`
		Rings    []point      `xml:"LinearRing"`
		Models   []struct{}   `xml:"Model"`
		Tracks   []struct{}   `xml:"Track"`
		Many     []struct{}   `xml:"MultiTrack"`
		Polygons []polygon    `xml:"Polygon"`
		Multi    []geometries `xml:"MultiGeometry"`
	}
	point struct {
		Coordinates string `xml:"coordinates"`
	}
	polygon struct {
		Outer point   `xml:"outerBoundaryIs>LinearRing"`
		Inner []inner `xml:"innerBoundaryIs"`
	}
	inner struct {
		Rings []point `xml:"LinearRing"`
	}
)

// Decode reads KML, placemark by placemark. It goes over the input twice: once for the report and
// the permissions, which also proves that the whole file is sound, and once for the finds.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	o.Limits = o.Limits.WithDefaults()
	if err := refuseArchive(r); err != nil {
		return nil, err
	}
	d := &decoder{r: r, o: o, in: &intake.Reader{What: "datum", Unreadable: &kinds.FieldUnreadable}}
	d.lands, d.besides = map[string]bool{}, map[string][]string{}
	d.Survey = intake.Survey{File: o.File, Taken: &kinds.AreaTaken, Report: &find.Report{Findslip: find.Version}}
	if err := d.survey(); err != nil {
		return nil, err
	}
	s := &find.Stream{Report: d.Report, File: o.File, Format: "kml", Notices: d.Notices}
	s.SetEntries(func(yield func(*find.Entry, error) bool) {
		if err := d.finds(yield); err != nil {
			yield(nil, err)
		}
	})
	return s, nil
}

// refuseArchive knows KMZ, which is a ZIP archive.
func refuseArchive(r io.ReadSeeker) error {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return err
	}
	if head, _ := bufio.NewReaderSize(r, 16).Peek(4); bytes.Equal(head, []byte("PK\x03\x04")) {
		return &find.ReadError{Code: "kml-archive", Msg: "the file is a KMZ archive, not KML",
			Help: "unpack it as a ZIP file and read the doc.kml inside it, or save it as KML"}
	}
	return nil
}

type decoder struct {
	r  io.ReadSeeker
	o  Options
	in *intake.Reader
	intake.Survey
	found   bool                // the report stands in the file
	finder  string              // of all finds, by its title
	unseen  bool                // the folder that is being read, or one around it, is not shown
	folders []string            // names of the folders that are being read, outermost first
	lands   map[string]bool     // paths in which a folder is named after land
	besides map[string][]string // folders with finds, by the path they stand in
}

// walk visits each placemark, in documents and folders, and the extended data of documents.
func (d *decoder) walk(document func(*extendedData) error, visit func(*markup.Reader, *placemark) error) error {
	var enter func(x *markup.Reader, start xml.StartElement) error
	within := func(x *markup.Reader) error {
		defer func(outer bool) { d.unseen = outer }(d.unseen)
		return x.Children(enter)
	}
	enter = func(x *markup.Reader, start xml.StartElement) error {
		switch start.Name.Local {
		case "Document":
			return within(x)
		case "Folder":
			d.folders = append(d.folders, "")
			err := within(x)
			d.folders = d.folders[:len(d.folders)-1]
			return err
		case "ExtendedData":
			if document == nil {
				return nil
			}
			var e extendedData
			if err := x.Decode(&start, &e); err != nil {
				return err
			}
			return document(&e)
		case "name", "description", "Snippet", "visibility":
			x.Record()
			var text string
			if err := x.Decode(&start, &text); err != nil {
				return err
			}
			d.said(start.Name.Local, strings.TrimSpace(text), document != nil)
		case "Placemark":
			x.Record()
			var p placemark
			if err := x.Decode(&start, &p); err != nil {
				return err
			}
			return visit(x, &p)
		}
		return nil
	}
	d.folders, d.unseen = nil, false
	return markup.Read(d.r, "kml", d.o.Limits, enter)
}

// said takes what a document or a folder says of itself.
func (d *decoder) said(element, text string, first bool) {
	n := len(d.folders)
	switch {
	case element == "visibility":
		d.unseen = d.unseen || isOff(text)
	case element != "name":
		if first && text != "" && len(d.Report.Notes) < maxFolders && !d.found {
			d.Report.Notes = append(d.Report.Notes, text)
		}
	case n > 0:
		d.folders[n-1] = text
	case !d.found && d.Report.Title == "":
		d.Report.Title, d.finder = text, heading.FinderIn(text, true)
	}
}

func isOff(visibility string) bool {
	return slices.Contains([]string{"0", "false"}, strings.TrimSpace(visibility))
}

// survey is the first pass.
func (d *decoder) survey() error {
	var areas []area
	var held int64 // bytes of the areas
	if err := d.walk(func(e *extendedData) error { return d.header(e) }, func(x *markup.Reader, p *placemark) error {
		texts := p.texts()
		record := recordOf(texts)
		if record == "" && len(p.polygons()) == 0 || record == "find" {
			if record == "" {
				d.foreignFind(p, texts)
			}
			return nil
		}
		a, err := p.area()
		if err != nil {
			d.Say(&kinds.PlaceUnreadable, "", "an area cannot be read: "+err.Error())
			texts = append(texts, intake.Text{Name: "geometry", Text: p.coordinates()})
		}
		if description := strings.TrimSpace(p.Description); record == "" && description != "" {
			texts = append(texts, intake.Text{Name: "description", Text: description})
		}
		if held += x.Taken(); held > d.o.Limits.Header {
			return find.TooLarge("kml-too-large", x.Line(), limit.Over("header", d.o.Limits.Header))
		}
		name := p.Name
		if in := d.field(); record == "" && len(in) > 0 { // the outline of the field that the folder is named after
			name = in[0].Text
			texts = append(texts, intake.Text{Name: "outline", Text: p.Name})
		}
		areas = append(areas, area{record, name, texts, a})
		return nil
	}); err != nil {
		return err
	}
	for path, names := range d.besides {
		for _, name := range slices.Compact(names) {
			if d.lands[path] && mayBeLand(name) {
				d.Foreign([]intake.Text{{Name: "permission", Text: name}})
			}
		}
	}
	d.PassStrays(&kinds.MarkPassedOver, "placemark")
	if !d.found {
		d.Say(&kinds.ReportMissing, "", "the report is put together from the placemarks")
	}
	for i := range areas {
		d.area(&areas[i])
	}
	d.in.References, d.in.Numbered, d.in.Order = d.References(), d.Running.Holds(), d.Order()
	return nil
}

// maxFolders bounds how many folders beside each other are remembered.
const maxFolders = 1000

// header takes the report out of the extended data of a document.
func (d *decoder) header(e *extendedData) error {
	for _, c := range e.Data {
		if c.Name != "findslip" || d.found {
			continue
		}
		raw := jsontext.Value(strings.TrimSpace(c.Value))
		if !raw.IsValid() {
			return &find.ReadError{Code: "kml-report", Msg: "the report in the extended data is not sound JSON",
				Help: "ask the sender for the file as it was written"}
		}
		if err := find.CheckHeader(raw, d.o.Limits); err != nil {
			return err
		}
		head, err := find.DecodeHeader(raw)
		if err != nil {
			return err
		}
		d.Report, d.found = head, true
	}
	return nil
}

// area is a placemark that is the area of a permission, or a part left out of it.
type area struct {
	record string // permission, excluded, or empty for a polygon of others
	name   string
	texts  []intake.Text
	shape  *find.Area
}

// area puts an area where it belongs.
func (d *decoder) area(a *area) {
	text := func(name string) string {
		for _, t := range a.texts {
			if t.Name == name {
				return t.Text
			}
		}
		return ""
	}
	switch a.record {
	case "":
		d.Area(a.name, a.texts, a.shape)
	case "excluded":
		d.OwnArea(text("permission"), true, a.texts, a.shape)
	default:
		d.OwnArea(text("id"), false, a.texts, a.shape)
	}
}

// texts returns the data of a placemark.
func (p *placemark) texts() []intake.Text {
	if p.Extended == nil {
		return nil
	}
	var out []intake.Text
	for _, c := range p.Extended.Data {
		out = append(out, intake.Text{Name: c.Name, Text: c.Value})
	}
	for _, c := range p.Extended.Simple {
		out = append(out, intake.Text{Name: c.Name, Text: c.Value})
	}
	return out
}

// recordOf tells what one of our own placemarks is: find, permission, excluded; empty for others.
func recordOf(texts []intake.Text) string {
	for _, t := range texts {
		if t.Name == "record" && (t.Text == "find" || t.Text == "permission" || t.Text == "excluded") {
			return t.Text
		}
	}
	return ""
}

// finds is the second pass.
func (d *decoder) finds(yield func(*find.Entry, error) bool) error {
	index := 0
	return d.walk(nil, func(x *markup.Reader, p *placemark) error {
		texts := p.texts()
		record := recordOf(texts)
		if record == "permission" || record == "excluded" || record == "" && (len(p.polygons()) > 0 || d.passed(p) ||
			d.in.Numbered && intake.IsStray(p.Name, p.Description)) {
			return nil
		}
		e := &find.Entry{Index: index, Find: new(find.Find), Size: int(x.Taken()), Origin: find.Origin{File: d.o.File}}
		if d.unseen || isOff(p.Visibility) {
			e.Origin.Unseen = "hidden"
		}
		d.fill(e, p, texts, record == "find")
		if e.Origin.Unseen != "" && e.Find != nil {
			intake.Column(e.Find, find.UnseenColumn, e.Origin.Unseen)
		}
		if index++; !yield(e, nil) {
			return markup.Stop
		}
		return nil
	})
}

// fill sets the members of a find from a placemark.
func (d *decoder) fill(e *find.Entry, p *placemark, texts []intake.Text, own bool) {
	place, err := p.place()
	if own {
		for _, t := range texts {
			if t.Name != "record" {
				d.in.Own(e, t.Name, t.Text)
			}
		}
	} else {
		d.in.Foreign(e, append(texts, d.around(p)...), place != nil)
		p.foreign(e.Find, d.in.Numbered)
		if n := len(d.folders); n > 0 && e.Find.Found == nil && isDay(d.folders[n-1]) {
			e.Find.Found = &find.Found{Verbatim: d.folders[n-1]}
		}
		d.in.Day(e.Find)
		if folder := strings.Trim(strings.Join(d.folders, " / "), " /"); folder != "" {
			intake.Column(e.Find, "folder", folder)
		}
	}
	switch {
	case place != nil:
		if e.Find.Position == nil {
			e.Find.Position = new(find.Position)
		}
		e.Find.Position.Longitude, e.Find.Position.Latitude = place[0], place[1]
	case err != nil:
		e.Notices.Add(notice.New(&kinds.PlaceUnreadable, "/position", err.Error()+"; they are kept among the columns"))
		intake.Column(e.Find, "geometry", p.coordinates())
	case !p.empty():
		e.Notices.Add(notice.New(&kinds.PlaceUnreadable, "/position",
			"the geometry of the placemark is not one point; it is kept among the columns"))
		intake.Column(e.Find, "geometry", p.coordinates())
	}
}

func mayBeLand(name string) bool {
	words := len(heading.Words(name))
	return words > 0 && words <= 5 && !strings.ContainsAny(name, "0123456789")
}

// isLand reports whether a name has a word for land: Nedre jordet.
func isLand(name string) bool {
	return mayBeLand(name) && (heading.EndsInLand(name) || strings.Contains(name, " ") &&
		slices.ContainsFunc(heading.Words(name), func(w string) bool { return heading.RowWords("land")[w] }))
}

// beside is the path of the folder that those beside the present one stand in.
func (d *decoder) beside() string { return strings.Join(d.folders[:max(0, len(d.folders)-1)], "/") }

// field is the field that the folder is named after, or one that it lies in: its name has a word for land, or that of
// a folder beside it has.
func (d *decoder) field() []intake.Text {
	for i, name := range slices.Backward(d.folders) {
		inner := i == len(d.folders)-1
		if isLand(name) || inner && d.lands[d.beside()] && mayBeLand(name) ||
			!inner && (isDay(d.folders[i+1]) || isDay(d.folders[i+1]+" 2000")) && mayBeLand(name) { // a field, its days
			return []intake.Text{{Name: "permission", Text: name}}
		}
	}
	return nil
}

// passed reports whether a placemark of others marks the way and not a find: a line, or a gate.
func (d *decoder) passed(p *placemark) bool {
	folder := ""
	if n := len(d.folders); n > 0 {
		folder = d.folders[n-1]
	}
	place, err := p.place()
	line := place == nil && err == nil && len(p.Lines)+len(p.Tracks)+len(p.Many) > 0
	return line && p.Extended == nil || intake.IsLandmark(p.Name, "", folder, p.Description)
}

// isDay reports whether the name of a folder is a day.
func isDay(name string) bool {
	return intake.IsDay(name)
}

// foreign takes over name, description and time of a placemark of others, where its data have not
// said the same already.
func (p *placemark) foreign(f *find.Find, numbered bool) {
	var named find.Find
	split := intake.Naming(&named, p.Name, p.Description, numbered)
	intake.Unless(f, &f.Number, "name", named.Number)
	if named.Name != "" {
		heading := "description"
		if split {
			heading = "name"
		}
		intake.TakeWords(f, named.Name, heading)
	}
	intake.TakeDetails(f, named.Notes, false)
	intake.Unless(f, &f.Notes, "description", named.Notes)
	when := strings.TrimSpace(p.When)
	if begin, end := strings.TrimSpace(p.Begin), strings.TrimSpace(p.End); when == "" && (begin != "" || end != "") {
		when = begin + "/" + end
	}
	if when != "" {
		if f.Found == nil {
			f.Found = &find.Found{Verbatim: when}
		} else {
			intake.Column(f, "when", when)
		}
	}
	if address := strings.TrimSpace(p.Address); address != "" {
		intake.Column(f, "address", address)
	}
}

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
