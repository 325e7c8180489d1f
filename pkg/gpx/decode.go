package gpx

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/markup"
	"github.com/findslip/findslip/pkg/notice"
)

// xml shapes of what is read.
type (
	metadata struct {
		Name   string `xml:"name"`
		Words  string `xml:"desc"`
		Author string `xml:"author>name"`
		Themes string `xml:"keywords"`
		Terms  string `xml:"copyright>license"`
		Report string `xml:"extensions>report"`
	}
	waypoint struct {
		Lat       string    `xml:"lat,attr"`
		Lon       string    `xml:"lon,attr"`
		Time      string    `xml:"time"`
		Name      string    `xml:"name"`
		Comment   string    `xml:"cmt"`
		Words     string    `xml:"desc"`
		Symbol    string    `xml:"sym"`
		Extended  extension `xml:"extensions"`
		Elsewhere []element `xml:",any"` // height, link, how good the fix was
	}
	extension struct {
		Elements []element `xml:",any"`
	}
	element struct {
		XMLName xml.Name
		Name    string    `xml:"name,attr"`
		Link    string    `xml:"href,attr"`
		Text    string    `xml:",chardata"`
		Inner   []element `xml:",any"`
	}
)

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// Decode reads GPX 1.1, waypoint by waypoint. It goes over the input twice: once for the report,
// which also proves that the whole file is sound, and once for the finds. Routes and tracks are
// passed over, and so are waypoints that mark the way. A waypoint without a sound position costs the others nothing.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	d := &decoder{r: r, o: o}
	d.o.Limits = o.Limits.WithDefaults()
	d.survey = intake.Survey{File: o.File, What: "extension", Unknown: &kinds.FieldUnknown,
		Report: &find.Report{Findslip: find.Version}}
	if err := d.header(); err != nil {
		return nil, err
	}
	d.in = &intake.Reader{What: "field", Unreadable: &kinds.FieldUnreadable, References: d.survey.References(),
		Numbered: d.survey.Running.Holds()}
	s := &find.Stream{File: o.File, Format: "gpx", Report: d.survey.Report, Notices: d.survey.Notices}
	s.SetEntries(func(yield func(*find.Entry, error) bool) {
		if err := d.finds(yield); err != nil {
			yield(nil, err)
		}
	})
	return s, nil
}

type decoder struct {
	r      io.ReadSeeker
	o      Options
	survey intake.Survey
	in     *intake.Reader
	found  bool // the report stands in the file
}

// header is the first pass.
func (d *decoder) header() error {
	tracks, routes := 0, 0
	if err := markup.Read(d.r, "gpx", d.o.Limits, func(x *markup.Reader, start xml.StartElement) error {
		switch start.Name.Local {
		case "metadata":
			var m metadata
			if err := x.Decode(&start, &m); err != nil {
				return err
			}
			return d.metadata(x, &m)
		case "wpt":
			x.Record()
			var w waypoint
			if err := x.Decode(&start, &w); err != nil {
				return err
			}
			switch {
			case w.own():
			case w.landmark():
				d.survey.Pass(&kinds.MarkPassedOver, "waypoint", w.Name, w.Words+" "+w.Comment)
			default:
				d.survey.Stray(w.Name, w.Words+" "+w.Comment)
				d.survey.Foreign(append(w.others(), intake.Said(w.Words+"\n"+w.Comment)...))
			}
		case "trk":
			tracks++
		case "rte":
			routes++
		}
		return nil
	}); err != nil {
		return err
	}
	d.survey.PassStrays(&kinds.MarkPassedOver, "waypoint")
	if !d.found {
		d.survey.Say(&kinds.ReportMissing, "", "the finds are read without a report")
	}
	if tracks+routes > 0 {
		d.survey.Say(&kinds.MarkPassedOver, "", linesMessage(tracks, routes))
	}
	return nil
}

// metadata takes the report out of the metadata, or makes a title and a person of what others write there.
func (d *decoder) metadata(x *markup.Reader, m *metadata) error {
	report := d.survey.Report
	if m.Report == "" {
		report.Title = oneLine(m.Name)
		if words := oneLine(m.Words); words != "" && words != report.Title {
			report.Title = strings.Trim(report.Title+": "+words, ": ")
		}
		if words := oneLine(m.Themes + " " + m.Terms); words != "" {
			report.Notes = append(report.Notes, words)
		}
		if author := oneLine(m.Author); author != "" {
			report.People = append(report.People, find.Person{ID: "person-1", Name: author,
				Roles: []find.Term{{Code: "recorder"}}})
		}
		return nil
	}
	if !jsontext.Value(m.Report).IsValid() {
		return x.Fail("report", "the report in the metadata is not sound JSON",
			"ask the sender for the file as it was written")
	}
	if err := find.CheckHeader([]byte(m.Report), d.o.Limits); err != nil {
		return err
	}
	head, err := find.DecodeHeader(jsontext.Value(m.Report))
	if err == nil {
		d.survey.Report, d.found = head, true
	}
	return err
}

// finds is the second pass.
func (d *decoder) finds(yield func(*find.Entry, error) bool) error {
	index := 0
	return markup.Read(d.r, "gpx", d.o.Limits, func(x *markup.Reader, start xml.StartElement) error {
		if start.Name.Local != "wpt" {
			return nil
		}
		x.Record()
		var w waypoint
		if err := x.Decode(&start, &w); err != nil {
			return err
		}
		if !w.own() && (w.landmark() || d.in.Numbered && intake.IsStray(w.Name, w.Words+" "+w.Comment)) {
			return nil
		}
		e := &find.Entry{Index: index, Find: new(find.Find), Size: int(x.Taken()), Origin: find.Origin{File: d.o.File}}
		w.fill(d.in, e)
		if index++; !yield(e, nil) {
			return markup.Stop
		}
		return nil
	})
}

func linesMessage(tracks, routes int) string {
	var parts []string
	for _, p := range []struct {
		n    int
		noun string
	}{{tracks, "track"}, {routes, "route"}} {
		switch {
		case p.n == 1:
			parts = append(parts, "1 "+p.noun)
		case p.n > 1:
			parts = append(parts, fmt.Sprintf("%d %ss", p.n, p.noun))
		}
	}
	return "the file has " + strings.Join(parts, " and ") + ", not read as finds"
}

// landmark reports whether a waypoint of others marks the way.
func (w *waypoint) landmark() bool {
	return intake.IsLandmark(w.Name, w.Symbol, "", w.Words+" "+w.Comment)
}

// position reads where a waypoint is. What is no position is said, and what stands there is kept.
func (w *waypoint) position(e *find.Entry) (lat, lon find.Number, ok bool) {
	lat, err1 := find.ParseNumber(strings.TrimSpace(w.Lat))
	lon, err2 := find.ParseNumber(strings.TrimSpace(w.Lon))
	message := ""
	switch {
	case err1 != nil || err2 != nil || !lat.Known() || !lon.Known():
		message = "the waypoint has no lat and lon that are decimal degrees"
	case lat.Float() < -90 || lat.Float() > 90 || lon.Float() < -180 || lon.Float() > 180:
		message = "the waypoint is out of the range of degrees"
	default:
		return lat, lon, true
	}
	e.Notices.Add(notice.New(&kinds.PlaceUnreadable, "/position", message+"; it is kept without a position"))
	for _, t := range []intake.Text{{Name: "lat", Text: w.Lat}, {Name: "lon", Text: w.Lon}} {
		if t.Text != "" {
			intake.Column(e.Find, t.Name, t.Text)
		}
	}
	return lat, lon, false
}

// fill sets the members of a find from a waypoint.
func (w *waypoint) fill(in *intake.Reader, e *find.Entry) {
	own := false
	for _, c := range w.Extended.Elements {
		if c.isField() {
			own = true
			in.Own(e, c.Name, c.Text)
		}
	}
	f := e.Find
	lat, lon, ok := w.position(e)
	if ok {
		if f.Position == nil {
			f.Position = new(find.Position)
		}
		f.Position.Latitude = lat
		if lon.String() != otherDateLine || f.Position.Longitude.String() != dateLine {
			f.Position.Longitude = lon
		}
	}
	if !own {
		in.Foreign(e, append(w.others(), intake.Said(w.Words+"\n"+w.Comment)...), ok)
		w.foreign(f, in.Numbered)
		return
	}
	for _, t := range w.others() { // put there since by another program
		intake.Column(f, t.Name, t.Text)
	}
}

// isField reports whether an extension is one of our own.
func (c *element) isField() bool { return c.XMLName.Space == namespace && c.XMLName.Local == "field" }

// own reports whether a waypoint was written by a converter of this format.
func (w *waypoint) own() bool {
	return slices.ContainsFunc(w.Extended.Elements, func(c element) bool { return c.isField() })
}

// others returns the texts of the extensions of other programs, by name.
func (w *waypoint) others() []intake.Text {
	var out []intake.Text
	for i := range w.Extended.Elements {
		if c := &w.Extended.Elements[i]; !c.isField() {
			out = c.texts("", out)
		}
	}
	return out
}

// texts adds the texts of an element and of those inside it, whose names are joined by points.
func (c *element) texts(before string, out []intake.Text) []intake.Text {
	name := before + c.XMLName.Local
	for _, text := range []string{c.Text, c.Link} {
		if text = strings.TrimSpace(text); text != "" {
			out = append(out, intake.Text{Name: name, Text: text})
		}
	}
	for i := range c.Inner {
		out = c.Inner[i].texts(name+".", out)
	}
	return out
}

// foreign takes over what a waypoint of another program says, where its extensions have not said
// the same already.
func (w *waypoint) foreign(f *find.Find, numbered bool) {
	var named find.Find
	words, from, comment := strings.TrimSpace(w.Words), "desc", strings.TrimSpace(w.Comment)
	if words == "" || intake.Tells(comment) > intake.Tells(words) {
		words, from, comment = comment, "cmt", words
	}
	split := intake.Naming(&named, w.Name, words, numbered)
	symbol := strings.TrimSpace(w.Symbol)
	if named.Name == "" && named.Number == "" && f.Name == "" && f.Number == "" {
		named.Name, symbol = symbol, ""
	}
	intake.Unless(f, &f.Number, "name", named.Number)
	if named.Name != "" {
		heading := from
		if split {
			heading = "name"
		}
		intake.TakeWords(f, named.Name, heading)
	}
	intake.TakeDetails(f, named.Notes, false)
	intake.Unless(f, &f.Notes, from, named.Notes)
	if comment != "" && comment != f.Name && comment != f.Notes {
		if rest, took := intake.TakeDetails(f, comment, false); took && rest == "" {
			comment = ""
		}
		f.Notes = strings.Trim(f.Notes+"; "+comment, "; ")
	}
	if t := strings.TrimSpace(w.Time); t != "" {
		if f.Found == nil {
			f.Found = &find.Found{Verbatim: t}
		} else {
			intake.Column(f, "time", t)
		}
	}
	if symbol != "" {
		intake.Column(f, "sym", symbol)
	}
	for i := range w.Elsewhere {
		for _, t := range w.Elsewhere[i].texts("", nil) {
			intake.Column(f, t.Name, t.Text)
		}
	}
}
