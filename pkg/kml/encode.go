package kml

import (
	"bufio"
	"io"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/markup"
)

// Encode writes a report as KML. Longitude and latitude of a find that has both stand in its Point
// only.
func Encode(w io.Writer, s *find.Stream) error {
	out := &writer{bufio.NewWriterSize(w, 1<<16)}
	head := *s.Report
	head.Permissions = append([]find.Permission(nil), head.Permissions...)
	for i := range head.Permissions {
		if p := &head.Permissions[i]; p.SoundAreas() {
			p.Area, p.Excluded = nil, nil // the placemarks are their home
		}
	}
	raw, err := find.CanonicalHeader(&head)
	if err != nil {
		return err
	}
	out.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"" + namespace + "\">\n<Document>\n")
	if head.Title != "" {
		markup.Element(out.Writer, "  ", "name", head.Title)
	}
	out.WriteString("  <ExtendedData>\n")
	out.data("findslip", markup.JSON(string(raw)))
	out.WriteString("  </ExtendedData>\n  <Schema name=\"find\" id=\"find\">\n")
	for _, f := range find.FieldsOf[find.Find]() {
		if inSchema(f) {
			out.WriteString("    <SimpleField type=\"double\" name=\"" + f.Name + "\"></SimpleField>\n")
		}
	}
	out.WriteString("  </Schema>\n")
	if err := out.land(s.Report.Permissions); err != nil {
		return err
	}
	out.folder("Finds")
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find != nil {
			out.find(e.Find, s.Report)
		}
	}
	out.WriteString("</Folder>\n</Document>\n</kml>\n")
	return out.Flush()
}

// writer writes placemarks. The first error stays in it and comes out of Flush.
type writer struct{ *bufio.Writer }

// inSchema reports whether a field has its type in the schema of finds: it is a number, and not one of a list, of which
// there are as many as a find has.
func inSchema(f find.Field) bool {
	return f.Kind == find.Decimal && !strings.Contains(f.Name, "#") && !isPoint(f.Name)
}

func isPoint(name string) bool { return name == "position.longitude" || name == "position.latitude" }

func (w *writer) data(name, text string) {
	w.WriteString("    <Data name=\"" + markup.Escape(name) + "\"><value>" + markup.Escape(text) + "</value></Data>\n")
}

// begin writes what stands before the data, in the order of the KML schema. A description is HTML
// to those who show it, so that its signs are escaped once more.
func (w *writer) begin(name, description, when, record string) {
	w.WriteString("<Placemark>\n")
	if name != "" {
		markup.Element(w.Writer, "  ", "name", name)
	}
	if description != "" {
		markup.Element(w.Writer, "  ", "description", strings.NewReplacer("&", "&amp;", "<", "&lt;", ">",
			"&gt;").Replace(description))
	}
	if when != "" {
		w.WriteString("  <TimeStamp><when>" + when + "</when></TimeStamp>\n")
	}
	w.WriteString("  <ExtendedData>\n")
	w.data("record", record)
}

func (w *writer) find(f *find.Find, r *find.Report) {
	point := f.Position.Located()
	w.begin(f.Number, f.Name, when(f), "find")
	typed := ""
	for c := range find.Flat(f) {
		switch {
		case point && isPoint(c.Name):
		case inSchema(c.Field):
			typed += "<SimpleData name=\"" + c.Name + "\">" + c.Text + "</SimpleData>"
		default:
			w.data(c.Name, c.Text)
		}
	}
	intake.Beside(f, r, w.data)
	if len(f.Unknown) > len("{}") {
		w.data("unknown", markup.JSON(string(f.Unknown)))
	}
	if typed != "" {
		w.WriteString("    <SchemaData schemaUrl=\"#find\">" + typed + "</SchemaData>\n")
	}
	w.WriteString("  </ExtendedData>\n")
	if point {
		w.WriteString("  <Point><coordinates>" + f.Position.Longitude.String() + "," + f.Position.Latitude.String() +
			"</coordinates></Point>\n")
	}
	w.WriteString("</Placemark>\n")
}

// when returns the day, month or year of finding if it is a plain one: KML section 15.2 knows
// gYear, gYearMonth, date and dateTime. A local time without an offset would be taken for UTC and
// is left out.
func when(f *find.Find) string {
	if f.Found == nil {
		return ""
	}
	d, err := edtf.Parse(f.Found.Date)
	// XML Schema 1.0 has no year 0
	if err != nil || d.Approximate() || d.Uncertain() || strings.HasPrefix(f.Found.Date, "0000") {
		return ""
	}
	switch text := d.String(); {
	case d.Precision() == edtf.PrecisionDay && len(text) == len("2026-04-12"),
		d.Precision() == edtf.PrecisionMonth && len(text) == len("2026-04"),
		d.Precision() == edtf.PrecisionYear && len(text) == len("2026"):
		return text
	}
	return ""
}

// folder begins a folder, which map programs show as a layer.
func (w *writer) folder(name string) {
	w.WriteString("<Folder>\n")
	markup.Element(w.Writer, "  ", "name", name)
}

// land writes the permissions, and the parts that are left out of them, as folders, as far as there are any.
func (w *writer) land(list []find.Permission) error {
	if len(list) == 0 {
		return nil
	}
	w.folder("Permissions")
	parts := false
	for i := range list {
		p := &list[i]
		parts = parts || p.SoundAreas() && len(p.Excluded) > 0
		if err := w.permission(p); err != nil {
			return err
		}
	}
	w.WriteString("</Folder>\n")
	if !parts {
		return nil
	}
	w.folder("Excluded")
	for i := range list {
		for k := range list[i].Excluded {
			if p := &list[i]; p.SoundAreas() {
				w.begin("not: "+nameOf(p), "", "", "excluded")
				w.data("permission", p.ID)
				if err := w.area(&p.Excluded[k]); err != nil {
					return err
				}
			}
		}
	}
	w.WriteString("</Folder>\n")
	return nil
}

func nameOf(p *find.Permission) string {
	if p.Place != nil && p.Place.Name != "" {
		return p.Place.Name
	}
	return p.ID
}

// permission writes a permission with its area as a placemark.
func (w *writer) permission(p *find.Permission) error {
	flat := *p
	flat.Area, flat.Excluded = nil, nil
	w.begin(nameOf(p), "", "", "permission")
	for c := range find.Flat(&flat) {
		w.data(c.Name, c.Text)
	}
	if !p.SoundAreas() {
		return w.area(nil)
	}
	return w.area(p.Area)
}

// area ends a placemark with its polygons.
func (w *writer) area(a *find.Area) error {
	w.WriteString("  </ExtendedData>\n")
	if a != nil {
		polygons, err := a.Wound().Polygons()
		if err != nil {
			return err
		}
		if a.Type == "MultiPolygon" {
			w.WriteString("  <MultiGeometry>\n")
		}
		for _, rings := range polygons {
			if err := w.polygon(rings); err != nil {
				return err
			}
		}
		if a.Type == "MultiPolygon" {
			w.WriteString("  </MultiGeometry>\n")
		}
	}
	w.WriteString("</Placemark>\n")
	return nil
}

func (w *writer) polygon(rings []find.Ring) error {
	w.WriteString("  <Polygon>")
	for i, ring := range rings {
		boundary := "outerBoundaryIs"
		if i > 0 {
			boundary = "innerBoundaryIs"
		}
		w.WriteString("<" + boundary + "><LinearRing><coordinates>")
		for j, v := range ring {
			var p []find.Number
			if err := json.Unmarshal(v, &p); err != nil || len(p) < 2 {
				return &find.ReadError{Code: "area-invalid",
					Msg: "a position of the area of a permission is not a list of two numbers"}
			}
			if j > 0 {
				w.WriteByte(' ')
			}
			w.WriteString(p[0].String() + "," + p[1].String())
		}
		w.WriteString("</coordinates></LinearRing></" + boundary + ">")
	}
	w.WriteString("</Polygon>\n")
	return nil
}
