package kml

import (
	"bufio"
	"io"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
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
	out.WriteString("  </ExtendedData>\n")
	for i := range s.Report.Permissions {
		if err := out.permission(&s.Report.Permissions[i]); err != nil {
			return err
		}
	}
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find != nil {
			out.find(e.Find)
		}
	}
	out.WriteString("</Document>\n</kml>\n")
	return out.Flush()
}

// writer writes placemarks. The first error stays in it and comes out of Flush.
type writer struct{ *bufio.Writer }

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

func (w *writer) find(f *find.Find) {
	point := f.Position.Located()
	w.begin(f.Number, f.Name, when(f), "find")
	for c := range find.Flat(f) {
		if !point || c.Name != "position.longitude" && c.Name != "position.latitude" {
			w.data(c.Name, c.Text)
		}
	}
	if len(f.Unknown) > len("{}") {
		w.data("unknown", markup.JSON(string(f.Unknown)))
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

// permission writes the area of a permission, and each excluded part, as placemarks.
func (w *writer) permission(p *find.Permission) error {
	flat := *p
	flat.Area, flat.Excluded = nil, nil
	name := p.ID
	if p.Place != nil && p.Place.Name != "" {
		name = p.Place.Name
	}
	w.begin(name, "", "", "permission")
	for c := range find.Flat(&flat) {
		w.data(c.Name, c.Text)
	}
	area, excluded := p.Area, p.Excluded
	if !p.SoundAreas() {
		area, excluded = nil, nil
	}
	if err := w.area(area); err != nil {
		return err
	}
	for i := range excluded {
		w.begin("not: "+name, "", "", "excluded")
		w.data("permission", p.ID)
		if err := w.area(&excluded[i]); err != nil {
			return err
		}
	}
	return nil
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
