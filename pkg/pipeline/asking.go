package pipeline

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A Question is something that a log leaves open and that its keeper can state once for all of it.
type Question struct {
	Text    string
	Answers []Answer // the likely one first, where one is
	Likely  bool     // the first answer is the likely one
	Free    bool     // any other text is an answer too

	set func(s *spreadsheet.Settings, value string) error
}

// An Answer is what is kept, and the words for it.
type Answer struct{ Value, Words string }

// Answer puts an answer into settings. It refuses one that cannot be.
func (q *Question) Answer(s *spreadsheet.Settings, value string) error {
	before := *s
	before.Defaults = maps.Clone(s.Defaults)
	err := q.set(s, value)
	if err == nil {
		err = s.Check()
	}
	if err != nil {
		*s = before
	}
	return err
}

// Questions returns what a log leaves open, and its settings without any answer. Nothing is taken unasked.
func Questions(ctx context.Context, name string, o Options) ([]Question, *spreadsheet.Settings, error) {
	s, err := NewSettings(ctx, name, o)
	if err != nil {
		return nil, nil, err
	}
	m, _, err := Columns(ctx, name, o)
	if err != nil {
		return nil, nil, err
	}
	s.Plan = &spreadsheet.ColumnMap{Version: m.Version, ReportID: m.ReportID}
	seen, err := lookAt(ctx, name, o)
	if err != nil {
		return nil, nil, err
	}
	a := &asking{m: m, seen: seen}
	a.columns()
	a.days()
	a.units()
	a.system()
	a.defaults()
	return a.list, s, nil
}

// sight is what the first finds of a log show.
type sight struct {
	finds, positions, depths int
	bareDepths               []string // that state no unit
	openDay                  string   // a day that can be read in two orders
	country                  string   // where the spots lie, if that can be told
	monthFirst               bool     // days are written so there
}

const mostSeen = 500

// lookAt reads the first finds.
func lookAt(ctx context.Context, name string, o Options) (*sight, error) {
	o.Beside = nil
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	s := new(sight)
	countries := map[string]int{}
	for e, err := range in.normalised(o).Entries {
		if err != nil {
			return nil, err
		}
		if e.Find == nil {
			continue
		}
		if s.see(e.Find, countries); s.finds == mostSeen {
			break
		}
	}
	for country, n := range countries {
		if n*10 > s.positions*9 {
			s.country, s.monthFirst = country, country == "US"
		}
	}
	return s, nil
}

func (s *sight) see(f *find.Find, countries map[string]int) {
	s.finds++
	if d := f.Depth; d != nil && d.Verbatim != "" {
		if s.depths++; !d.HasValue() && strings.Trim(d.Verbatim, "0123456789.,-/½¼¾ ") == "" {
			s.bareDepths = append(s.bareDepths, d.Verbatim)
		}
	}
	if d := f.Found; d != nil && d.Date == "" && s.openDay == "" {
		one, errOne := edtf.NormaliseFound(d.Verbatim, edtf.Options{Order: edtf.DayMonthYear, Pivot: 1970})
		two, errTwo := edtf.NormaliseFound(d.Verbatim, edtf.Options{Order: edtf.MonthDayYear, Pivot: 1970})
		if errOne == nil && errTwo == nil && one.Date.String() != two.Date.String() {
			s.openDay = d.Verbatim
		}
	}
	if p := f.Position; p != nil && p.Latitude.Known() && p.Longitude.Known() {
		s.positions++
		if c := countryOf(p); c != "" {
			countries[c]++
		}
	}
}

// countryOf tells the country of a spot: by the national grid that it was written in, else by where it lies where
// no other country is near. The areas are rough on purpose; what they suggest is asked.
func countryOf(p *find.Position) string {
	if c := countryOfGrid[p.ReferenceSystem]; c != "" {
		return c
	}
	lat, lon := p.Latitude.Float(), p.Longitude.Float()
	for _, area := range wideCountries {
		if lat > area.south && lat < area.north && lon > area.west && lon < area.east {
			return area.country
		}
	}
	return ""
}

// countryOfGrid has the grids of one country (areas of use of the EPSG dataset).
var countryOfGrid = map[string]string{"EPSG:27700": "GB", "EPSG:28992": "NL", "EPSG:31370": "BE", "EPSG:3812": "BE",
	"EPSG:3006": "SE", "EPSG:3067": "FI", "EPSG:2154": "FR"}

// wideCountries are boxes well inside one country.
var wideCountries = []struct {
	country                  string
	south, north, west, east float64
}{
	{"US", 33, 41.6, -117, -70}, {"US", 41.6, 48.9, -123, -96}, {"US", 25, 33, -97, -80},
	{"AU", -44, -11, 112, 154}, {"NZ", -47.5, -34, 166, 179}, {"CA", 50, 60, -125, -60},
}

// asking makes the questions.
type asking struct {
	m    *spreadsheet.ColumnMap
	seen *sight
	list []Question
}

func (a *asking) ask(q Question) { a.list = append(a.list, q) }

// tables calls visit for each column of a table of finds.
func (a *asking) tables(visit func(t *spreadsheet.MapTable, c *spreadsheet.MapColumn)) {
	for i := range a.m.Tables {
		if t := &a.m.Tables[i]; t.Read == "finds" {
			for k := range t.Columns {
				visit(t, &t.Columns[k])
			}
		}
	}
}

func (a *asking) has(fields ...string) (yes bool) {
	a.tables(func(_ *spreadsheet.MapTable, c *spreadsheet.MapColumn) { yes = yes || slices.Contains(fields, c.Field) })
	return yes
}

// offered are the fields that an unknown column is asked about, in plain words.
var offered = []Answer{{"name", "what was found"}, {"number", "the number on the bag"}, {"found.date", "the day it was found"},
	{"permission", "the field or the land"}, {"depth", "how deep it lay"}, {"materials.1", "what it is made of"},
	{"dating.verbatim", "how old it is"}, {"finder", "who found it"}, {"weight", "how heavy it is"}, {"notes", "notes"}}

// columns asks what columns are that nobody understands.
func (a *asking) columns() {
	a.tables(func(t *spreadsheet.MapTable, c *spreadsheet.MapColumn) {
		if c.Field != "" || c.Sure != "only you know" || len(c.Samples) == 0 || len(a.list) >= 12 {
			return
		}
		var answers []Answer
		for _, x := range offered {
			if !a.has(x.Value) {
				answers = append(answers, x)
			}
		}
		where := "Column " + c.Column
		if t.Sheet != "" {
			where += " of sheet " + t.Sheet
		}
		table := spreadsheet.MapTable{Sheet: t.Sheet, Row: t.Row}
		column := spreadsheet.MapColumn{Column: c.Column, Heading: c.Heading}
		a.ask(Question{Text: fmt.Sprintf("%s, %q, has %s. What is it?", where, c.Heading, strings.Join(c.Samples, " | ")),
			Answers: answers, set: func(s *spreadsheet.Settings, value string) error {
				column.Field = value
				s.PlanColumn(table, column)
				return nil
			}})
	})
}

// days asks for the order of day and month where a day was left open by it.
func (a *asking) days() {
	if a.seen.openDay == "" {
		return
	}
	words := func(o edtf.Order) string {
		r, _ := edtf.NormaliseFound(a.seen.openDay, edtf.Options{Order: o, Pivot: 1970})
		return r.Date.String()
	}
	answers := []Answer{{"dmy", "the day comes first: " + words(edtf.DayMonthYear)},
		{"mdy", "the month comes first: " + words(edtf.MonthDayYear)}}
	if a.seen.monthFirst {
		slices.Reverse(answers)
	}
	a.ask(Question{Text: fmt.Sprintf("You wrote %q. Which comes first?", a.seen.openDay), Answers: answers,
		Likely: a.seen.country != "",
		set:    func(s *spreadsheet.Settings, value string) error { s.DateOrder = value; return nil }})
}

// units asks what depths are in.
func (a *asking) units() {
	if len(a.seen.bareDepths) == 0 {
		return
	}
	answers := []Answer{{"in", "inches"}, {"cm", "centimetres"}, {"mm", "millimetres"}}
	few := a.seen.bareDepths[:min(3, len(a.seen.bareDepths))]
	if slices.ContainsFunc(a.seen.bareDepths, func(d string) bool { return len(strings.TrimSpace(d)) > 1 && d > "24" }) {
		answers[0], answers[1] = answers[1], answers[0]
	}
	a.ask(Question{Text: fmt.Sprintf("Depths are written without a unit (%s). What are they in?", strings.Join(few, ", ")),
		Answers: answers, Likely: true,
		set: func(s *spreadsheet.Settings, value string) error { s.Unit = value; return nil }})
}

// system asks for the grid of bare figures.
func (a *asking) system() {
	if a.seen.positions > 0 || !a.has("position.easting", "position.northing") {
		return
	}
	a.ask(Question{Text: "Positions are two figures of a grid that the log does not name. Which grid is it?",
		Answers: []Answer{{"EPSG:27700", "British National Grid"}, {"EPSG:29903", "Irish Grid"},
			{"EPSG:2157", "Irish Transverse Mercator"}, {"EPSG:28992", "Dutch RD"}, {"EPSG:31370", "Belgian Lambert 72"},
			{"EPSG:25832", "UTM zone 32"}, {"EPSG:3006", "SWEREF 99 TM"}, {"EPSG:2154", "Lambert-93"}},
		Free: true, set: func(s *spreadsheet.Settings, value string) error { s.System = value; return nil }})
}

// defaults asks for what no column says.
func (a *asking) defaults() {
	put := func(name string) func(*spreadsheet.Settings, string) error {
		return func(s *spreadsheet.Settings, value string) error {
			if s.Defaults == nil {
				s.Defaults = map[string]string{}
			}
			s.Defaults[name] = value
			return nil
		}
	}
	if !a.has("finder") {
		a.ask(Question{Text: "No column says who found the things. If all were found by one person: by whom?", Free: true,
			set: put("finder")})
	}
	if !a.has("place.country") {
		q := Question{Text: "In which country or part of one do the finds lie? (such as US, GB-ENG, NL)", Free: true,
			set: put("place.country")}
		if a.seen.country != "" {
			q.Answers, q.Likely = []Answer{{a.seen.country, "as the positions suggest"}}, true
		}
		a.ask(q)
	}
	if a.seen.positions > 0 && !a.has("position.method") {
		a.ask(Question{Text: "No column says how the positions were taken. If it was one way for all: how?",
			Answers: codesOf("position-method", "phone", "handheld", "grid-reference", "field-centroid"), set: put("position.method")})
	}
	if a.seen.depths > 0 && !a.has("depth.basis") {
		a.ask(Question{Text: "No column says how the depths are known. If it was one way for all: how?",
			Answers: codesOf("depth-basis", "tape-measured", "spade-estimate", "hand-estimate", "signal-guess"), set: put("depth.basis")})
	}
}

// codesOf returns the codes of a list with their labels, the usual ones first.
func codesOf(list string, usual ...string) (out []Answer) {
	for _, c := range vocabulary.Get(list).Concepts {
		if c.Code != "unknown" && c.Code != "other" {
			out = append(out, Answer{c.Code, c.Label("en")})
		}
	}
	rank := func(a Answer) int {
		if i := slices.Index(usual, a.Value); i >= 0 {
			return i
		}
		return len(usual)
	}
	slices.SortStableFunc(out, func(a, b Answer) int { return rank(a) - rank(b) })
	return out
}
