package pipeline

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/country"
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
	// Asks names what is asked - column, order, unit, system, finder, country, method or basis - and About the words of
	// the log that stand in Text, for whoever puts the question in another language.
	Asks  string
	About []string

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
	a := &asking{m: m, seen: seen, language: o.Language}
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
	for code, n := range countries {
		if n*10 > s.positions*9 {
			s.country, s.monthFirst = code, code == "US" || strings.HasPrefix(code, "US-")
		}
	}
	return s, nil
}

func (s *sight) see(f *find.Find, countries map[string]int) {
	s.finds++
	if d := f.Depth; d != nil && d.Verbatim != "" {
		if s.depths++; !d.HasValue() && strings.Trim(d.Verbatim, "0123456789.,-/½¼¾ ") == "" &&
			strings.Count(d.Verbatim, "-") < 2 { // a cell that a program made a day of asks for no unit
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

// countryOf tells the country of a spot where only one comes into question: by the grid that it was written in, else
// by the boxes around countries. What it suggests is asked.
func countryOf(p *find.Position) string {
	in := country.OfGrid(p.ReferenceSystem, p.Verbatim)
	if len(in) == 0 {
		in = country.OfPoint(coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()})
	}
	whole := ""
	for _, code := range in {
		of, _, _ := strings.Cut(code, "-")
		if whole != "" && of != whole {
			return ""
		}
		whole = of
	}
	if len(in) == 1 {
		return in[0]
	}
	return whole
}

// asking makes the questions.
type asking struct {
	m    *spreadsheet.ColumnMap
	seen *sight
	list []Question

	language string
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
var offered = []Answer{{"name", "what was found"}, {"number", "the number on the bag"},
	{"found.date", "the day it was found"},
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
		a.ask(Question{Asks: "column", About: []string{c.Column, c.Heading, strings.Join(c.Samples, " | ")},
			Text:    fmt.Sprintf("%s, %q, has %s. What is it?", where, c.Heading, strings.Join(c.Samples, " | ")),
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
	a.ask(Question{Asks: "order", About: []string{a.seen.openDay},
		Text: fmt.Sprintf("You wrote %q. Which comes first?", a.seen.openDay), Answers: answers,
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
	a.ask(Question{Asks: "unit", About: []string{strings.Join(few, ", ")},
		Text:    fmt.Sprintf("Depths are written without a unit (%s). What are they in?", strings.Join(few, ", ")),
		Answers: answers, Likely: true,
		set: func(s *spreadsheet.Settings, value string) error { s.Unit = value; return nil }})
}

// gridsAsked are the grids that bare figures are tried in.
var gridsAsked = []string{"EPSG:27700", "EPSG:29903", "EPSG:2157", "EPSG:28992", "EPSG:31370", "EPSG:3812", "EPSG:2154",
	"EPSG:2056", "EPSG:25831", "EPSG:25832", "EPSG:25833", "EPSG:31466", "EPSG:31467", "EPSG:31468", "EPSG:31469",
	"EPSG:3006", "EPSG:3067", "EPSG:2180"}

// system asks for the grid of bare figures, and offers those in whose area they lie.
func (a *asking) system() {
	var e, n []string
	a.tables(func(_ *spreadsheet.MapTable, c *spreadsheet.MapColumn) {
		switch {
		case c.Field == "position.easting" && e == nil:
			e = c.Samples
		case c.Field == "position.northing" && n == nil:
			n = c.Samples
		}
	})
	if a.seen.positions > 0 || len(e) == 0 || len(n) == 0 {
		return
	}
	var answers []Answer
	for _, code := range gridsAsked {
		system, ok := coordinate.SystemByCode(code)
		if !ok {
			continue
		}
		fits := true
		for i := range min(len(e), len(n)) {
			r, err := coordinate.Normalise(e[i]+", "+n[i], coordinate.Options{System: code})
			fits = fits && err == nil && r.Absent == ""
		}
		if fits {
			answers = append(answers, Answer{code, system.Name})
		}
	}
	a.ask(Question{Asks: "system", About: []string{e[0] + ", " + n[0]},
		Text: fmt.Sprintf("Positions are two figures of a grid that the log does not name (%s, %s). Which grid is it?",
			e[0], n[0]), Answers: answers, Free: true,
		set: func(s *spreadsheet.Settings, value string) error { s.System = value; return nil }})
}

// defaults asks for what no column says.
func (a *asking) defaults() {
	put := func(name string) func(*spreadsheet.Settings, string) error {
		return func(s *spreadsheet.Settings, value string) error {
			if s.Defaults == nil {
				s.Defaults = map[string]string{}
			}
			if name == "place.country" {
				if code, _ := country.Read(value); code != "" {
					value = code
				}
			}
			s.Defaults[name] = value
			return nil
		}
	}
	if !a.has("finder") {
		a.ask(Question{Asks: "finder", Text: "No column says who found the things. If all were found by one person: by whom?",
			Free: true, set: put("finder")})
	}
	if !a.has("place.country") {
		q := Question{Asks: "country", Text: "In which country or part of one do the finds lie? (such as US, GB-ENG, NL)",
			Free: true, set: put("place.country")}
		if a.seen.country != "" {
			q.Answers, q.Likely = []Answer{{a.seen.country, "as the positions suggest"}}, true
		}
		a.ask(q)
	}
	if a.seen.positions > 0 && !a.has("position.method") {
		a.ask(Question{Asks: "method", Text: "No column says how the positions were taken. If it was one way for all: how?",
			Answers: a.codesOf("position-method", "phone", "handheld", "grid-reference", "field-centroid"),
			set:     put("position.method")})
	}
	if a.seen.depths > 0 && !a.has("depth.basis") {
		a.ask(Question{Asks: "basis", Text: "No column says how the depths are known. If it was one way for all: how?",
			Answers: a.codesOf("depth-basis", "tape-measured", "spade-estimate", "hand-estimate", "signal-guess"),
			set:     put("depth.basis")})
	}
}

// codesOf returns the codes of a list with their labels, the usual ones first.
func (a *asking) codesOf(list string, usual ...string) (out []Answer) {
	for _, c := range vocabulary.Get(list).Concepts {
		if c.Code != "unknown" && c.Code != "other" {
			out = append(out, Answer{c.Code, c.Label(cmp.Or(a.language, "en"))})
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
