// Package intake is what the readers of tables and of map files share: putting texts that stand
// under names, their own or those of others, into the members of a find.
//
// Own takes flat names as this project writes them. Foreign takes the names that other programs
// and people use, by the table of headings, and keeps what it does not understand in Find.Columns.
package intake

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/go-json-experiment/json/jsontext"
)

// A Text stands under a name.
type Text struct{ Name, Text string }

// A Reader fills finds from texts. It belongs to one reading of one file.
type Reader struct {
	What       string       // what a text under a name is called here: property, field
	Unreadable *notice.Kind // said of a text that does not fit its field
	References *References  // nil: names of people and land are kept as they are
	System     string       // the reference system of bare coordinates, where the file names one
	Numbered   bool         // the names of the finds of others begin with a running number
	Order      edtf.Order   // of the days in their words, where these show it

	paths   map[string]*find.Path
	names   []string
	columns []column
	layout  *find.Layout
}

// column is one name and what it is taken for.
type column struct {
	heading.Meaning
	path *find.Path
	axis byte // that its heading names, of a position
}

// Own puts a text under a flat name into the find of an entry. A name that is none is kept among
// the columns, and so is a text that does not fit its field, which is said.
func (r *Reader) Own(e *find.Entry, name, text string) {
	if text == "" || isBeside(name) {
		return
	}
	if name == "unknown" && jsontext.Value(text).IsValid() && strings.HasPrefix(text, "{") {
		e.Find.Unknown = jsontext.Value(text)
		return
	}
	if column, ok := strings.CutPrefix(name, "columns."); ok {
		Column(e.Find, column, text)
		return
	}
	path, known := r.paths[name]
	if !known {
		if r.paths == nil {
			r.paths = map[string]*find.Path{}
		}
		path, _ = find.PathTo[find.Find](name)
		if len(r.paths) < maxNames {
			r.paths[name] = path
		}
	}
	if path == nil {
		Column(e.Find, name, text)
		return
	}
	r.set(e, path, name, text)
}

// maxNames bounds how many names are remembered.
const maxNames = 10_000

func (r *Reader) set(e *find.Entry, path *find.Path, name, text string) {
	if err := find.Set(path, e.Find, text); err != nil {
		e.Notices.Add(notice.New(r.Unreadable, path.Pointer,
			fmt.Sprintf("the %s %s does not fit; its text is kept among the columns", r.What, name)))
		Column(e.Find, name, text)
	}
}

// Foreign puts texts under the names of others into the find of an entry. Point says that the
// place is known from elsewhere, so that no text is taken for longitude or latitude.
func (r *Reader) Foreign(e *find.Entry, texts []Text, point bool) {
	r.understand(texts)
	e.Origin.Layout = r.layout
	var parts Parts
	for i, t := range texts {
		if t.Text == "" {
			continue
		}
		c := r.columns[i]
		if !r.part(&parts, e.Find, c, t.Text, point) {
			switch {
			case c.Keep != "":
				Column(e.Find, c.Keep, t.Text)
			case c.path == nil, c.Field == "id" && !find.IsURN(t.Text), point && (c.Field == "position.latitude" ||
				c.Field == "position.longitude"):
				Column(e.Find, t.Name, t.Text)
			default:
				r.set(e, c.path, t.Name, t.Text)
			}
		}
	}
	parts.Join(e.Find, func(field string) string {
		for i, c := range r.columns {
			if c.Field == field {
				return texts[i].Name
			}
		}
		return field
	})
}

// part takes a text that makes a member together with others, or that names somebody or a place
// the report has a list of.
func (r *Reader) part(p *Parts, f *find.Find, c column, text string, point bool) bool {
	switch c.Field {
	case "found.date":
		p.Found = text
	case "found.verbatim":
		p.FoundVerbatim = text
	case "dating.date":
		p.Dating = text
	case "dating.verbatim":
		p.DatingVerbatim = text
	case "position.verbatim":
		p.Position = text
	case "position.easting":
		p.Easting, p.Axes[0] = text, c.axis
	case "position.northing":
		p.Northing, p.Axes[1] = text, c.axis
	case "position.latitude":
		if point {
			return false
		}
		p.Latitude = text
	case "position.longitude":
		if point {
			return false
		}
		p.Longitude = text
	case "media.1.file":
		Pictures(f, text)
	case "finder":
		if r.References == nil {
			return false
		}
		f.Finder = r.References.Person(text)
	case "permission":
		if r.References == nil {
			return false
		}
		f.Permission = r.References.Permission(text)
	case "outing":
		if r.References == nil {
			return false
		}
		f.Outing = r.References.Outing(text)
	default:
		return false
	}
	return true
}

// understand settles what each name means. Of two that claim one field the first has it.
func (r *Reader) understand(texts []Text) {
	if r.layout != nil && slices.EqualFunc(texts, r.names, func(t Text, name string) bool { return t.Name == name }) {
		return
	}
	r.names, r.columns, r.layout = r.names[:0:0], nil, &find.Layout{Hints: find.Hints{System: r.System}}
	claimed := map[string]bool{}
	for _, t := range texts {
		c := column{Meaning: heading.Understand(t.Name), axis: coordinate.AxisOf(t.Name)}
		if claimed[c.Field] {
			c.Meaning = heading.Meaning{Taken: heading.TakenNone}
		}
		if c.Field != "" {
			claimed[c.Field] = true
			c.path, _ = find.PathTo[find.Find](c.Field)
		}
		r.names, r.columns = append(r.names, t.Name), append(r.columns, c)
		if pointers := PointersOf(c.Field); pointers != nil {
			r.layout.Columns = append(r.layout.Columns, find.LayoutColumn{Heading: t.Name, Pointers: pointers, Hints: c.Hints})
			if strings.HasPrefix(c.Field, "position.") && r.layout.Hints.System == "" {
				r.layout.Hints.System = c.Hints.System
			}
		}
	}
}

// PointersOf returns the pointers that a column for a field feeds, nil for no field.
func PointersOf(field string) []string {
	switch field {
	case "":
		return nil
	case "found.date", "found.verbatim":
		return []string{"/found/verbatim", "/found/date", "/found"}
	case "dating.date", "dating.verbatim":
		return []string{"/dating/verbatim", "/dating/date", "/dating"}
	case "position.latitude":
		return []string{"/position/latitude", "/position/verbatim", "/position"}
	case "position.longitude":
		return []string{"/position/longitude"}
	case "position.easting": // of a pair the one that is written first
		return []string{"/position/longitude", "/position/verbatim", "/position"}
	case "position.northing":
		return []string{"/position/latitude"}
	case "position.verbatim":
		return []string{"/position/verbatim", "/position"}
	case "place.name":
		return []string{"/place/name", "/place"}
	}
	return []string{find.PointerOf(field)}
}

// Names gathers the texts that name people, land or outings, each once, so that a report can list
// them before its finds are read. The zero value is ready for use.
type Names struct {
	fields map[string]string // name to field, empty for others
	seen   map[Text]bool
	list   []Text // Name is the field
}

// Add gathers from the texts of one find.
func (n *Names) Add(texts []Text) {
	if n.fields == nil {
		n.fields, n.seen = map[string]string{}, map[Text]bool{}
	}
	for _, t := range texts {
		field, known := n.fields[t.Name]
		if !known {
			switch field = heading.Understand(t.Name).Field; field {
			case "finder", "permission", "outing":
			default:
				field = ""
			}
			if len(n.fields) < maxNames {
				n.fields[t.Name] = field
			}
		}
		if one := (Text{field, t.Text}); field != "" && t.Text != "" && !n.seen[one] && len(n.list) < maxNames {
			n.seen[one] = true
			n.list = append(n.list, one)
		}
	}
}

// References makes people, permissions and outings of the names, beside those that a report has.
func (n *Names) References(r *find.Report) *References {
	x := NewReferences(r)
	for _, t := range n.list {
		switch t.Name {
		case "finder":
			x.AddPerson(t.Text)
		case "permission":
			x.AddPermission(t.Text)
		case "outing":
			x.AddOuting(t.Text, "")
		}
	}
	return x
}

// Naming tells the number of a find and its words where a map file has a name and a description. Each name is looked at
// by itself: letters and figures before words are cut apart (F3 nail), and figures alone too where the names of the
// file are numbered; split says so. A name that is a number, if with a word for one, leaves the description for the
// words, but not one that is nothing but a material and measures; any other name is the words. Common practice, no
// source.
func Naming(f *find.Find, name, description string, numbered bool) (split bool) {
	name, description = strings.TrimSpace(name), strings.TrimSpace(description)
	m, ok := splitMark(name)
	if long := strings.HasSuffix(m.prefix, " "); ok && m.words != "" &&
		(numbered || !long && m.prefix+m.sign != "" && len(m.words) > 2) {
		if f.Number, f.Name = m.number(), m.words; long {
			f.Number = m.digits + m.letter
			Column(f, "name", name)
		}
		if description != name && description != m.words {
			f.Notes = description
		}
		return true
	}
	if numbered && ok {
		name = m.number() // 005, or #5
	}
	if isNumber(name) {
		if f.Number = name; numbered || !isDetails(description) {
			f.Name = description
		} else {
			f.Notes = description
		}
		return false
	}
	if f.Name = name; f.Name == "" {
		f.Name = description
	} else if description != name {
		f.Notes = description
	}
	return false
}

// Tells says how well a text of a waypoint names a thing, where it has two: nothing, details of a thing or what has a
// label; words; words and details of them; a name behind a label.
func Tells(text string) int {
	var f find.Find
	first := strings.TrimSpace(details(strings.TrimSpace(text))[0])
	label, _, labelled := strings.Cut(first, ":")
	_, took := TakeDetails(&f, text, true)
	switch {
	case labelled && heading.Understand(label).Field == "name":
		return 3
	case first == "" || isDetails(first) || labelled && heading.IsField(label):
		return 0
	case took:
		return 2
	}
	return 1
}

// isNumber reports whether a name is a number and at most words that say so: 005, F-12, Find 12, but not button 1.
func isNumber(name string) bool {
	if !strings.ContainsAny(name, "0123456789") || isValue(name) {
		return false
	}
	for _, word := range strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) }) {
		if of := heading.Understand(word).Field; utf8.RuneCountInString(word) > 3 && of != "number" && of != "name" {
			return false
		}
	}
	return true
}

// faceValue is what a coin is worth, with its year or without: 1 öre 1719, 6d 1816, 2 kr.
var faceValue = text.Pattern(`^[0-9]{1,3}(\s?)(\pL{1,3})\.?(\s+1[0-9]{3}|\s+20[0-9]{2})?$`)

func isValue(name string) bool {
	m := faceValue().FindStringSubmatch(name)
	return m != nil && (m[3] != "" || m[1] != "" && (len(m[2]) > 1 || lexicon.Says("not-counted", m[2])))
}

// IsLandmark reports whether a waypoint marks the way and not a find: its name, or its symbol, is a word such as car
// or gate, in any of the languages, or of such words and directions alone, as North gate; or the folder that it stands
// in is named so. Its words tell of no depth; of no other detail, where it is not the name itself that says so.
func IsLandmark(name, symbol, folder, words string) bool {
	_, depth := SplitWords("x " + words) // behind a word, for the words may be the depth alone
	if depth == "" && (heading.RowWord("waypoint", name) || heading.RowWord("waypoint", symbol)) {
		return true
	}
	_, thing := vocabulary.Get("object-class").Match(name)
	return (isWay(name) || isWay(folder) && !thing) && isBare(name, words)
}

// isWay reports whether the words of a text are those of the way, at least one, and directions.
func isWay(text string) (way bool) {
	words := heading.Words(text)
	for _, word := range words {
		switch {
		case heading.RowWords("waypoint")[word]:
			way = true
		case !lexicon.Says("direction", word) && !lexicon.Says("and", word):
			return false
		}
	}
	return way && len(words) <= 4
}

// isBare reports whether a name and some words tell of no detail of a thing.
func isBare(name, words string) bool {
	var f find.Find
	TakeDetails(&f, words, false)
	TakeDetails(&f, name, true)
	return f.Depth == nil && f.Weight == nil && f.Materials == nil
}

// IsStray reports whether a name among numbered ones has no number and its words tell of no thing: a place for lunch.
func IsStray(name, words string) bool {
	_, ok := splitMark(name)
	return !ok && isBare(name, words)
}

// isDetails reports whether a text is nothing but a material, a depth and a weight.
func isDetails(text string) bool {
	var f find.Find
	rest, took := TakeDetails(&f, text, false)
	return took && rest == ""
}

// Unless puts a text into a member unless that is taken already; a text that says something else
// is then kept among the columns under the name.
func Unless(f *find.Find, member *string, name, text string) {
	switch {
	case *member == "":
		*member = text
	case text != "" && text != *member:
		Column(f, name, text)
	}
}

// TakeArea makes a permission of a polygon that somebody drew, and puts into it what its texts say
// under the flat names of a permission. Name, if there is one, is that of the place; else a text
// under a heading for a place or a name is. What a permission has no member for is kept among its columns. It
// returns the pointer of the area.
func TakeArea(r *find.Report, name string, texts []Text, shape *find.Area) (pointer string) {
	id := ""
	for n := 1; id == "" || r.Permission(id) != nil; n++ {
		id = fmt.Sprintf("permission-%d", n)
	}
	p := find.Permission{ID: id, Area: shape}
	name = strings.TrimSpace(name)
	for _, t := range texts {
		if t.Text == "" {
			continue
		}
		if path, err := find.PathTo[find.Permission](t.Name); err == nil && t.Name != "id" &&
			find.Set(path, &p, t.Text) == nil {
			continue
		}
		switch heading.Understand(t.Name).Field {
		case "place.name", "permission", "name":
			if text := strings.TrimSpace(t.Text); name == "" || name == text {
				name = text
				continue
			}
		}
		keepIn(&p, t)
	}
	if name != "" && (p.Place == nil || p.Place.Name == "") {
		if p.Place == nil {
			p.Place = new(find.Place)
		}
		p.Place.Name = name
	}
	r.Permissions = append(r.Permissions, p)
	return fmt.Sprintf("/permissions/%d/area", len(r.Permissions)-1)
}

// A Survey is what the first pass over a map file gathers: the report, the people and land that its records name,
// the areas, and what is to be said of the file. GeoJSON, GPX and KML share it.
type Survey struct {
	File    string
	What    string       // what a text under a name is called here: property, extension
	Unknown *notice.Kind // said once of each name that is not understood; nil: nothing is said
	Taken   *notice.Kind // said of a polygon of others that is taken for an area
	Report  *find.Report
	Notices notice.List
	Running Running // of the names of the finds of others

	names  Names
	seen   map[string]bool
	strays [][2]string // names without a number, with their words
	days   []string    // in the words of placemarks
}

// maxSeen bounds how many names are remembered and told.
const maxSeen = 1000

// Pass says that a placemark or waypoint is not read as a find, and keeps its words as a note of the report.
func (s *Survey) Pass(k *notice.Kind, what, name, words string) {
	name = strings.TrimSpace(name)
	s.Say(k, "", fmt.Sprintf("the %s %q is not read as a find", what, strings.Join(strings.Fields(name), " ")))
	if words = strings.TrimSpace(words); words+name != "" && len(s.Report.Notes) < maxSeen {
		s.Report.Notes = append(s.Report.Notes, strings.Trim(name+": "+words, ": "))
	}
}

// Stray remembers a name without a number and its words, for when all names are known.
func (s *Survey) Stray(name, words string) {
	for _, part := range details(words) {
		if label, day, ok := strings.Cut(part, ":"); ok && heading.Understand(label).Field == "found.date" {
			part = day
		}
		s.Dated(strings.TrimSpace(part))
	}
	if s.Running.Add(name); len(s.strays) < maxSeen && IsStray(name, words) {
		s.strays = append(s.strays, [2]string{name, words})
	}
}

// Order is the order of day and month of the days in the words of all placemarks, as far as they show it.
func (s *Survey) Order() edtf.Order {
	order, _ := edtf.ProveOrder(slices.Values(s.days))
	return order
}

// Day reads the day of a find by the order that the other finds of the file show.
func (in *Reader) Day(f *find.Find) {
	if f.Found == nil || f.Found.Date != "" || in.Order == edtf.OrderUnknown {
		return
	}
	if day, err := edtf.NormaliseFound(f.Found.Verbatim, edtf.Options{Order: in.Order}); err == nil && day.Absent == "" {
		f.Found.Date = day.Date.String()
	}
}

// PassStrays passes over the names without a number among numbered ones.
func (s *Survey) PassStrays(k *notice.Kind, what string) {
	for _, stray := range s.strays {
		if s.Running.Holds() {
			s.Pass(k, what, stray[0], stray[1])
		}
	}
}

// Say adds a notice of the file.
func (s *Survey) Say(k *notice.Kind, pointer, message string) {
	n := notice.New(k, pointer, message)
	n.File = s.File
	s.Notices.Add(n)
}

// Foreign looks at the texts of a record of others before it is read.
func (s *Survey) Foreign(texts []Text) {
	s.names.Add(texts)
	if s.Unknown == nil {
		return
	}
	if s.seen == nil {
		s.seen = map[string]bool{}
	}
	for _, t := range texts {
		if s.seen[t.Name] || len(s.seen) >= maxSeen {
			continue
		}
		s.seen[t.Name] = true
		if heading.IsField(t.Name) {
			continue
		}
		message := fmt.Sprintf("the %s %q is not understood; its text is kept among the columns", s.What, clip(t.Name))
		if near := heading.Nearest(t.Name); near != "" {
			message += fmt.Sprintf("; did you mean %q?", near)
		}
		s.Say(s.Unknown, "", message)
	}
}

// References makes the people, the land and the outings that the records name.
func (s *Survey) References() *References { return s.names.References(s.Report) }

// Area takes a polygon that somebody drew for the area of a permission.
func (s *Survey) Area(name string, texts []Text, shape *find.Area) {
	s.Say(s.Taken, TakeArea(s.Report, name, texts, shape), "a polygon of the file is taken for the area of a permission")
}

// OwnArea puts a polygon that a converter of this format wrote where it belongs: the area of the permission with the
// local id, or a part left out of it. A permission that the report lacks is made of the texts.
func (s *Survey) OwnArea(id string, excluded bool, texts []Text, shape *find.Area) {
	p := s.Report.Permission(id)
	if p == nil {
		s.Report.Permissions = append(s.Report.Permissions, find.Permission{ID: id})
		p = &s.Report.Permissions[len(s.Report.Permissions)-1]
		for _, t := range texts {
			if path, err := find.PathTo[find.Permission](t.Name); err == nil && !excluded {
				_ = find.Set(path, p, t.Text)
			}
		}
	}
	for _, t := range texts {
		if t.Name == "geometry" && shape == nil { // one that could not be read
			keepIn(p, t)
		}
	}
	switch {
	case shape == nil:
	case excluded:
		p.Excluded = append(p.Excluded, *shape)
	default:
		p.Area = shape
	}
}

// keepIn keeps a text among the columns of a permission.
func keepIn(p *find.Permission, t Text) {
	if p.Columns == nil {
		p.Columns = map[string]string{}
	}
	p.Columns[t.Name] = t.Text
}

// clip shortens a name for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}
