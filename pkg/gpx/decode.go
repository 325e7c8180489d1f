package gpx

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/markup"
	"github.com/findslip/findslip/pkg/notice"
)

// xml shapes of what is read.
type (
	metadata struct {
		Name   string `xml:"name"`
		Words  string `xml:"desc"`
		Author string `xml:"author>name"`
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
// passed over.
func Decode(r io.ReadSeeker, o Options) (*find.Stream, error) {
	o.Limits = o.Limits.WithDefaults()
	s := &find.Stream{File: o.File, Format: "gpx", Report: &find.Report{Findslip: find.Version}}
	found, tracks, routes := false, 0, 0
	var names intake.Names
	var unknown unknownNames
	if err := markup.Read(r, "gpx", o.Limits, func(x *markup.Reader, start xml.StartElement) error {
		switch start.Name.Local {
		case "metadata":
			var m metadata
			if err := x.Decode(&start, &m); err != nil {
				return err
			}
			if m.Report == "" {
				s.Report.Title = oneLine(m.Name)
				if words := oneLine(m.Words); words != "" && words != s.Report.Title {
					s.Report.Title = strings.Trim(s.Report.Title+": "+words, ": ")
				}
				if author := oneLine(m.Author); author != "" {
					s.Report.People = append(s.Report.People, find.Person{ID: "person-1", Name: author, Roles: []find.Term{{Code: "recorder"}}})
				}
				return nil
			}
			if !jsontext.Value(m.Report).IsValid() {
				return x.Fail("report", "the report in the metadata is not sound JSON", "ask the sender for the file as it was written")
			}
			if err := find.CheckHeader([]byte(m.Report), o.Limits); err != nil {
				return err
			}
			head, err := find.DecodeHeader(jsontext.Value(m.Report))
			if err != nil {
				return err
			}
			s.Report, found = head, true
		case "wpt":
			x.Record()
			var w waypoint
			if err := x.Decode(&start, &w); err != nil {
				return err
			}
			if _, _, err := w.position(x); err != nil {
				return err
			}
			if others := w.others(); !w.own() && len(others) > 0 {
				names.Add(others)
				unknown.add(others)
			}
		case "trk":
			tracks++
		case "rte":
			routes++
		}
		return nil
	}); err != nil {
		return nil, err
	}
	if !found {
		n := notice.New(headerMissing, "", "the finds are read without a report")
		n.File = o.File
		s.Notices.Add(n)
	}
	if tracks+routes > 0 {
		unknown.list.Add(notice.New(linesPassed, "", linesMessage(tracks, routes)))
	}
	for _, n := range unknown.list {
		n.File = o.File
		s.Notices.Add(n)
	}
	references := names.References(s.Report)
	s.SetEntries(func(yield func(*find.Entry, error) bool) {
		index := 0
		in := &intake.Reader{What: "field", Unreadable: fieldUnreadable, References: references}
		err := markup.Read(r, "gpx", o.Limits, func(x *markup.Reader, start xml.StartElement) error {
			if start.Name.Local != "wpt" {
				return nil
			}
			x.Record()
			var w waypoint
			if err := x.Decode(&start, &w); err != nil {
				return err
			}
			e := &find.Entry{Index: index, Find: new(find.Find), Size: int(x.Taken()), Origin: find.Origin{File: o.File}}
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
	})
	return s, nil
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
	for _, c := range w.Extended.Elements {
		if c.isField() {
			own = true
			in.Own(e, c.Name, c.Text)
		}
	}
	f := e.Find
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Latitude = lat
	if lon.String() != otherDateLine || f.Position.Longitude.String() != dateLine {
		f.Position.Longitude = lon
	}
	if !own {
		in.Foreign(e, w.others(), true)
		w.foreign(f)
		return nil
	}
	for _, t := range w.others() { // put there since by another program
		intake.Column(f, t.Name, t.Text)
	}
	return nil
}

// isField tells whether an extension is one of our own.
func (c *element) isField() bool { return c.XMLName.Space == namespace && c.XMLName.Local == "field" }

// own tells whether a waypoint was written by a converter of this format.
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

// unknownNames says of each name of an extension once that it is not understood.
type unknownNames struct {
	known map[string]bool
	list  notice.List
}

// maxKnown bounds how many names are remembered and told.
const maxKnown = 1000

func (u *unknownNames) add(texts []intake.Text) {
	if u.known == nil {
		u.known = map[string]bool{}
	}
	for _, t := range texts {
		if u.known[t.Name] || len(u.known) >= maxKnown {
			continue
		}
		u.known[t.Name] = true
		if heading.IsField(t.Name) {
			continue
		}
		name := t.Name
		if r := []rune(name); len(r) > 40 {
			name = string(r[:40]) + "..."
		}
		message := fmt.Sprintf("the extension %q is not understood; its text is kept among the columns", name)
		if near := heading.Nearest(t.Name); near != "" {
			message += fmt.Sprintf("; did you mean %q?", near)
		}
		u.list.Add(notice.New(fieldUnknown, "", message))
	}
}

// foreign takes over what a waypoint of another program says, where its extensions have not said
// the same already.
func (w *waypoint) foreign(f *find.Find) {
	var named find.Find
	intake.Naming(&named, w.Name, w.Words)
	symbol, comment := strings.TrimSpace(w.Symbol), strings.TrimSpace(w.Comment)
	if named.Name == "" && named.Number == "" && f.Name == "" && f.Number == "" {
		named.Name, symbol = symbol, ""
	}
	intake.Unless(f, &f.Number, "name", named.Number)
	intake.Unless(f, &f.Name, "desc", named.Name)
	intake.Unless(f, &f.Notes, "desc", named.Notes)
	if comment != "" && comment != f.Name && comment != f.Notes {
		if f.Notes != "" {
			comment = f.Notes + "; " + comment
		}
		f.Notes = comment
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
