// Package gpx writes finds as waypoints of GPX 1.1 and reads waypoints as finds, the way of
// SPEC.md section 8.7.
//
// A waypoint has the number of the find as its name, the finder's words as its description, and
// every field in its extensions, under flat names; the report without its finds stands in the
// extensions of the metadata. A find without a position has no waypoint and cannot be carried.
// Waypoints of others are read too: name, time and comment become number, day and words.
package gpx

import (
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// Namespace is the XML namespace of the extensions of this format.
const Namespace = "https://w3id.org/findslip/1"

const gpxNamespace = "http://www.topografix.com/GPX/1/1"

// Options of Decode. The zero value is ready for use.
type Options struct {
	File string // name for messages
}

// FieldUnreadable says that an extension does not fit its field.
var FieldUnreadable = &notice.Kind{
	Code: "gpx-field-unreadable", Severity: notice.Error, Group: "conversion", Spec: "8.7",
	Title: "an extension of a waypoint does not fit its field", Why: "the value would be lost; it is kept among the columns instead",
	Help: "Write numbers as numbers and true or false as such.", Source: "our proposal",
	Before: `<field name="depth.min">deep</field>`, After: `<field name="depth.min">20.32</field>`,
}

// HeaderMissing says that the report is put together from waypoints.
var HeaderMissing = &notice.Kind{
	Code: "gpx-report-missing", Severity: notice.Info, Group: "conversion", Spec: "8.7",
	Title: "the file has no report in its metadata", Why: "it was made by another program, so that people and permissions are not known",
	Help: "Add them in a spreadsheet, or go on without.", Source: "our proposal",
	Before: "waypoints of a receiver", After: "waypoints written by a converter",
}

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind { return []*notice.Kind{FieldUnreadable, HeaderMissing} }

// Encode writes a report as GPX 1.1. Finds without a position are left out.
func Encode(w io.Writer, s *find.Stream) error {
	out := bufio.NewWriterSize(w, 1<<16)
	head, err := find.CanonicalHeader(s.Report)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"findslip\" xmlns=%q xmlns:fs=%q>\n", gpxNamespace, Namespace)
	out.WriteString("  <metadata>\n")
	if s.Report.Title != "" {
		element(out, "    ", "name", s.Report.Title)
	}
	out.WriteString("    <extensions>\n")
	element(out, "      ", "fs:report", string(head))
	out.WriteString("    </extensions>\n  </metadata>\n")
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find != nil && Carries(e.Find) {
			waypoint(out, e.Find)
		}
	}
	out.WriteString("</gpx>\n")
	return out.Flush()
}

// Carries tells whether a find can be a waypoint: it must have a position.
func Carries(f *find.Find) bool {
	return f.Position != nil && f.Position.Latitude.Known() && f.Position.Longitude.Known()
}

func waypoint(out *bufio.Writer, f *find.Find) {
	fmt.Fprintf(out, "  <wpt lat=%q lon=%q>\n", f.Position.Latitude.String(), f.Position.Longitude.String())
	if day, ok := dayOf(f); ok {
		element(out, "    ", "time", day+"T00:00:00Z")
	}
	if f.Number != "" {
		element(out, "    ", "name", f.Number)
	}
	if f.Name != "" {
		element(out, "    ", "desc", f.Name)
	}
	out.WriteString("    <extensions>\n")
	for c := range find.Flat(f) {
		if c.Name == "position.latitude" || c.Name == "position.longitude" {
			continue
		}
		fmt.Fprintf(out, "      <fs:field name=\"%s\">%s</fs:field>\n", escape(c.Name), escape(c.Text))
	}
	out.WriteString("    </extensions>\n  </wpt>\n")
}

// dayOf returns the day of finding if it is a plain day, as GPX knows no other.
func dayOf(f *find.Find) (string, bool) {
	if f.Found == nil {
		return "", false
	}
	d, err := edtf.Parse(f.Found.Date)
	if err != nil || d.Precision() != edtf.PrecisionDay || d.Approximate() || d.Uncertain() {
		return "", false
	}
	return d.String(), true
}

func element(out *bufio.Writer, indent, name, text string) {
	fmt.Fprintf(out, "%s<%s>%s</%s>\n", indent, name, escape(text), name)
}

// escape makes text safe in XML; characters that XML 1.0 cannot hold become U+FFFD.
func escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder never fails
	return b.String()
}

// xml shapes of what is read.
type (
	gpxMetadata struct {
		Name   string `xml:"name"`
		Report string `xml:"extensions>report"`
	}
	gpxWaypoint struct {
		Lat    string     `xml:"lat,attr"`
		Lon    string     `xml:"lon,attr"`
		Time   string     `xml:"time"`
		Name   string     `xml:"name"`
		Desc   string     `xml:"desc"`
		Cmt    string     `xml:"cmt"`
		Sym    string     `xml:"sym"`
		Fields []gpxField `xml:"extensions>field"`
	}
	gpxField struct {
		XMLName xml.Name
		Name    string `xml:"name,attr"`
		Text    string `xml:",chardata"`
	}
)

// Decode reads GPX 1.1, waypoint by waypoint. It goes over the input twice.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	s := &find.Stream{File: o.File, Format: "gpx", Report: &find.Report{Findslip: find.Version}}
	found := false
	if err := walk(r, func(d *xml.Decoder, start xml.StartElement) (bool, error) {
		switch start.Name.Local {
		case "metadata":
			var m gpxMetadata
			if err := d.DecodeElement(&m, &start); err != nil {
				return false, err
			}
			if m.Report != "" && jsontext.Value(m.Report).IsValid() {
				head, err := find.DecodeHeader(jsontext.Value(m.Report))
				if err != nil {
					return false, err
				}
				s.Report, found = head, true
			} else {
				s.Report.Title = m.Name
			}
			return true, nil
		}
		return true, d.Skip()
	}); err != nil {
		return nil, err
	}
	if !found {
		n := notice.New(HeaderMissing, "", "the finds are read without a report")
		n.File = o.File
		s.Notices.Add(n)
	}
	s.Entries = func(yield func(*find.Entry, error) bool) {
		index := 0
		err := walk(r, func(d *xml.Decoder, start xml.StartElement) (bool, error) {
			if start.Name.Local != "wpt" {
				return true, d.Skip()
			}
			var w gpxWaypoint
			if err := d.DecodeElement(&w, &start); err != nil {
				return false, err
			}
			line, _ := d.InputPos()
			e := &find.Entry{Index: index, Find: new(find.Find), Origin: find.Origin{File: o.File}}
			if err := w.fill(e, line); err != nil {
				return false, err
			}
			index++
			return yield(e, nil), nil
		})
		if err != nil {
			yield(nil, err)
		}
	}
	return s, nil
}

// walk goes over the children of the root. It stops when visit returns false.
func walk(r io.ReadSeeker, visit func(*xml.Decoder, xml.StartElement) (bool, error)) error {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return err
	}
	d := xml.NewDecoder(bufio.NewReaderSize(r, 1<<16))
	root := false
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) && root {
			return nil
		}
		if err != nil {
			return explain(d, err)
		}
		switch t := tok.(type) {
		case xml.Directive:
			return fail(d, "gpx-doctype", "the file has a document type declaration", "remove the line that begins with <!DOCTYPE")
		case xml.StartElement:
			if !root {
				if t.Name.Local != "gpx" {
					return fail(d, "not-gpx", "the file is XML but not GPX: its root is not gpx", "")
				}
				root = true
				continue
			}
			more, err := visit(d, t)
			if err != nil {
				return explain(d, err)
			}
			if !more {
				return nil
			}
		}
	}
}

func fail(d *xml.Decoder, code, msg, help string) error {
	line, _ := d.InputPos()
	return &find.ReadError{Code: code, Line: line, Msg: msg, Help: help}
}

func explain(d *xml.Decoder, err error) error {
	var own *find.ReadError
	if errors.As(err, &own) {
		return own
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return fail(d, "gpx-cut-short", "the file ends in the middle", "fetch or save it again")
	}
	return fail(d, "gpx-syntax", "the file is not well-formed XML", "save it again with the program that made it")
}

// fill sets the members of a find from a waypoint.
func (w *gpxWaypoint) fill(e *find.Entry, line int) error {
	lat, err := find.ParseNumber(strings.TrimSpace(w.Lat))
	lon, err2 := find.ParseNumber(strings.TrimSpace(w.Lon))
	if err != nil || err2 != nil || !lat.Known() || !lon.Known() {
		return &find.ReadError{Code: "gpx-position", Line: line, Msg: "a waypoint has no lat and lon that are decimal degrees"}
	}
	f := e.Find
	own := false
	for _, field := range w.Fields {
		if field.XMLName.Space != Namespace {
			continue
		}
		own = true
		w.field(e, field)
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Latitude, f.Position.Longitude = lat, lon
	if own {
		return nil
	}
	f.Number, f.Name, f.Notes = strings.TrimSpace(w.Name), strings.TrimSpace(w.Desc), strings.TrimSpace(w.Cmt)
	if f.Name == "" && f.Number == "" {
		f.Name = strings.TrimSpace(w.Sym)
	}
	if t := strings.TrimSpace(w.Time); t != "" {
		f.Found = &find.Found{Verbatim: t}
	}
	return nil
}

func (w *gpxWaypoint) field(e *find.Entry, field gpxField) {
	f := e.Find
	keep := func(heading string) {
		if f.Columns == nil {
			f.Columns = map[string]string{}
		}
		f.Columns[heading] = field.Text
	}
	if heading, ok := strings.CutPrefix(field.Name, "columns."); ok {
		keep(heading)
		return
	}
	path, err := find.PathTo[find.Find](field.Name)
	if err != nil {
		keep(field.Name)
		return
	}
	if err := find.Set(path, f, field.Text); err != nil {
		e.Notices.Add(notice.New(FieldUnreadable, path.Pointer, fmt.Sprintf("the field %s does not fit; its text is kept among the columns", field.Name)))
		keep(field.Name)
	}
}
