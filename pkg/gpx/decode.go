package gpx

import (
	"encoding/xml"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/markup"
	"github.com/findslip/findslip/pkg/notice"
)

// xml shapes of what is read.
type (
	metadata struct {
		Name   string `xml:"name"`
		Report string `xml:"extensions>report"`
	}
	waypoint struct {
		Lat       string  `xml:"lat,attr"`
		Lon       string  `xml:"lon,attr"`
		Elevation string  `xml:"ele"`
		Time      string  `xml:"time"`
		Name      string  `xml:"name"`
		Comment   string  `xml:"cmt"`
		Words     string  `xml:"desc"`
		Source    string  `xml:"src"`
		Symbol    string  `xml:"sym"`
		Type      string  `xml:"type"`
		Fields    []field `xml:"extensions>field"`
	}
	field struct {
		XMLName xml.Name
		Name    string `xml:"name,attr"`
		Text    string `xml:",chardata"`
	}
)

const (
	defaultMaxRecord = 1 << 20
	maxHeader        = 64 << 20
)

// Decode reads GPX 1.1, waypoint by waypoint. It goes over the input twice: once for the report,
// which also proves that the whole file is sound, and once for the finds. Routes and tracks are
// passed over.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	if o.MaxRecord <= 0 {
		o.MaxRecord = defaultMaxRecord
	}
	s := &find.Stream{File: o.File, Format: "gpx", Report: &find.Report{Findslip: find.Version}}
	found := false
	if err := markup.Read(r, "gpx", maxHeader, func(x *markup.Reader, start xml.StartElement) error {
		switch start.Name.Local {
		case "metadata":
			var m metadata
			if err := x.Decode(&start, &m); err != nil {
				return err
			}
			if m.Report == "" {
				s.Report.Title = strings.TrimSpace(m.Name)
				return nil
			}
			if !jsontext.Value(m.Report).IsValid() {
				return x.Fail("report", "the report in the metadata is not sound JSON", "ask the sender for the file as it was written")
			}
			head, err := find.DecodeHeader(jsontext.Value(m.Report))
			if err != nil {
				return err
			}
			s.Report, found = head, true
		case "wpt":
			x.Limit(o.MaxRecord)
			var w waypoint
			if err := x.Decode(&start, &w); err != nil {
				return err
			}
			_, _, err := w.position(x)
			return err
		}
		return nil
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
		in := &intake.Reader{What: "field", Unreadable: FieldUnreadable}
		err := markup.Read(r, "gpx", maxHeader, func(x *markup.Reader, start xml.StartElement) error {
			if start.Name.Local != "wpt" {
				return nil
			}
			var w waypoint
			if err := x.Decode(&start, &w); err != nil {
				return err
			}
			e := &find.Entry{Index: index, Find: new(find.Find), Origin: find.Origin{File: o.File}}
			if err := w.fill(x, in, e); err != nil {
				return err
			}
			if index++; !yield(e, nil) {
				return markup.Stop
			}
			return nil
		})
		if err != nil {
			yield(nil, err)
		}
	}
	return s, nil
}

// position reads where a waypoint is.
func (w *waypoint) position(x *markup.Reader) (lat, lon find.Number, err error) {
	lat, err = find.ParseNumber(strings.TrimSpace(w.Lat))
	lon, err2 := find.ParseNumber(strings.TrimSpace(w.Lon))
	switch {
	case err != nil || err2 != nil || !lat.Known() || !lon.Known():
		err = x.Fail("position", "a waypoint has no lat and lon that are decimal degrees", "")
	case lat.Float() < -90 || lat.Float() > 90 || lon.Float() < -180 || lon.Float() > 180:
		err = x.Fail("position", "a waypoint is out of the range of degrees", "GPX holds WGS 84 latitude and longitude in degrees; metres of a national grid must be converted first")
	}
	return lat, lon, err
}

// fill sets the members of a find from a waypoint.
func (w *waypoint) fill(x *markup.Reader, in *intake.Reader, e *find.Entry) error {
	lat, lon, err := w.position(x)
	if err != nil {
		return err
	}
	own := false
	for _, f := range w.Fields {
		if f.XMLName.Space == Namespace {
			own = true
			in.Own(e, f.Name, f.Text)
		}
	}
	f := e.Find
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Latitude, f.Position.Longitude = lat, lon
	if !own {
		w.foreign(f)
	}
	return nil
}

// foreign takes over what a waypoint of another program says.
func (w *waypoint) foreign(f *find.Find) {
	intake.Naming(f, w.Name, w.Words)
	symbol := strings.TrimSpace(w.Symbol)
	if f.Name == "" && f.Number == "" {
		f.Name, symbol = symbol, ""
	}
	if comment := strings.TrimSpace(w.Comment); comment != "" && comment != f.Name && comment != f.Notes {
		if f.Notes != "" {
			comment = f.Notes + "; " + comment
		}
		f.Notes = comment
	}
	if t := strings.TrimSpace(w.Time); t != "" {
		f.Found = &find.Found{Verbatim: t}
	}
	for _, c := range []intake.Text{{Name: "ele", Text: w.Elevation}, {Name: "src", Text: w.Source}, {Name: "sym", Text: symbol}, {Name: "type", Text: w.Type}} {
		if text := strings.TrimSpace(c.Text); text != "" {
			intake.Column(f, c.Name, text)
		}
	}
}
