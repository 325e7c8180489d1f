package render

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/schema"
)

// dueGroup is one time limit with all the finds that it stands for.
type dueGroup struct {
	first *notice.Deadline
	finds []*notice.Deadline
}

// foldDue brings together the deadlines of one day, duty, source and standing, in the order of the
// list, which is sorted.
func foldDue(list notice.Deadlines) []*dueGroup {
	type key struct {
		day, time, what, source string
		status                  notice.DeadlineStatus
	}
	index := map[key]*dueGroup{}
	var out []*dueGroup
	for i := range list {
		d := &list[i]
		k := key{d.Day, d.Time, d.What, d.Source, d.Status}
		g := index[k]
		if g == nil {
			g = &dueGroup{first: d}
			index[k] = g
			out = append(out, g)
		}
		g.finds = append(g.finds, d)
	}
	return out
}

// dueDay is the day of a deadline, or the words of its source where it has none.
func dueDay(d *notice.Deadline) string {
	if d.Day != "" {
		return d.Day
	}
	return d.Time
}

// standing says how a deadline stands.
func (s *speech) standing(d *notice.Deadline) string {
	switch {
	case d.Status == notice.DeadlineMet:
		return s.text("dueMet")
	case !d.Dated:
		return s.text("dueOpen")
	case d.Left < 0:
		return s.many("duePast", -d.Left)
	case d.Left == 0:
		return s.text("dueToday")
	}
	return s.many("dueLeft", d.Left)
}

// due puts one time limit: what is to be told, of which finds, and how it stands.
func (s *speech) due(g *dueGroup, most int) string {
	return g.first.What + ", " + s.finds(g.finds, most) + "; " + s.standing(g.first)
}

// dueSource tells where a deadline is written, and when that was read.
func dueSource(d *notice.Deadline) string {
	if d.Checked == "" || strings.Contains(d.Source, d.Checked) {
		return d.Source
	}
	return d.Source + ", as checked on " + d.Checked
}

// finds names the finds of a group by their numbers, as far as a number of them.
func (s *speech) finds(finds []*notice.Deadline, most int) string {
	var names []string
	for i, d := range finds {
		if i == most {
			break
		}
		name := Clean(d.Find)
		if strings.HasPrefix(name, "urn:") {
			name = s.text("unnamed")
		}
		names = append(names, name)
	}
	text := strings.Join(names, ", ")
	if left := len(finds) - len(names); left > 0 {
		text += " " + s.many("morePlaces", left)
	}
	return s.many("findsNamed", len(finds), "list", text)
}

// deadlines lists the time limits by day.
func (t *textWriter) deadlines(d Document) {
	if len(d.Deadlines) == 0 {
		return
	}
	s := t.v.speech
	t.line()
	t.line(t.paint("1", s.text("deadlines")))
	source := ""
	groups := foldDue(d.Deadlines)
	most := len(groups)
	if !t.o.All {
		most = min(most, mostJobs)
	}
	for _, g := range groups[:most] {
		t.wrap("  ", "      ", Clean(dueDay(g.first))+": "+Clean(s.due(g, mostPlaces)))
		if from := dueSource(g.first); from != source {
			source = from
			t.wrap("      ", "      ", Clean(from))
		}
	}
	if left := len(groups) - most; left > 0 {
		t.line("  ", s.many("moreJobs", left))
	}
	t.wrap("  ", "  ", s.text("deadlineNote"))
}

// jsonDeadline is a deadline as JSON and SARIF write it.
type jsonDeadline struct {
	Day     string `json:"day,omitzero"`
	Time    string `json:"time,omitzero"`
	What    string `json:"what"`
	Status  string `json:"status"`
	Left    *int   `json:"daysLeft,omitzero"`
	Source  string `json:"source"`
	Checked string `json:"checked,omitzero"`
	File    string `json:"file,omitzero"`
	Pointer string `json:"pointer,omitzero"`
	Sheet   string `json:"sheet,omitzero"`
	Cell    string `json:"cell,omitzero"`
	Row     int    `json:"row,omitzero"`
	Line    int    `json:"line,omitzero"`
	Find    string `json:"find,omitzero"`
}

func deadlinesJSON(list notice.Deadlines) []jsonDeadline {
	var out []jsonDeadline
	for i := range list {
		d := &list[i]
		x := jsonDeadline{Day: d.Day, Time: d.Time, What: d.What, Status: string(d.Status), Source: d.Source,
			Checked: d.Checked,
			File:    d.File, Pointer: d.Pointer, Sheet: d.Sheet, Cell: d.Cell, Row: d.Row, Line: d.Line, Find: d.Find}
		if d.Dated {
			x.Left = &d.Left
		}
		out = append(out, x)
	}
	return out
}

// deadlineRecord is a deadline as a line of CSV: the columns of a notice, with the day in the last.
func deadlineRecord(d *notice.Deadline) []string {
	place := notice.Notice{Location: d.Location}
	cells := []string{"deadline", "caution", "", d.Find, place.Place(), d.Heading, "",
		dueDay(d) + ": " + d.What + "; " + speechOf("en").standing(d), "", dueSource(d),
		d.File, d.Sheet, number(d.Row), number(d.Column), number(d.Line), d.Pointer, "", d.Day}
	for i := range cells {
		cells[i] = Guard(Clean(cells[i]))
	}
	return cells
}

// A Baseline is an earlier report of notices to compare with: it tells which notices are new, which
// were there before, and which are gone. Notices are the same when code, find, pointer and message
// are the same. Within a find the pointer counts from the find, so that a row put in above makes
// nothing new.
type Baseline struct {
	Name    string // as the caller calls it
	AsOf    string // the day that counted as today then; empty if it does not say
	Notices notice.List
}

// ReadBaseline reads a report as JSON writes it. Members that it does not know are passed over, so
// that reports of later 1.x versions can be read.
//
// Of the limits Side is looked at.
func ReadBaseline(r io.Reader, name string, limits limit.Limits) (*Baseline, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, fmt.Errorf("reading the earlier report %s: %w", name, err)
	}
	b, err := parseBaseline(raw)
	if err != nil {
		return nil, fmt.Errorf("reading the earlier report %s: %w; name a file that check --report json wrote", name, err)
	}
	b.Name = name
	return b, nil
}

func parseBaseline(raw []byte) (*Baseline, error) {
	var head struct {
		Version *string       `json:"noticesVersion"`
		AsOf    string        `json:"asOf"`
		Notices *[]jsonNotice `json:"notices"`
	}
	if err := aside.ReadSome(raw, &head); err != nil {
		return nil, fmt.Errorf("it is not a report of notices in JSON (%w)", err)
	}
	switch {
	case head.Version == nil:
		return nil, errors.New(`it is JSON, but it has no "noticesVersion", as a report of notices has`)
	case !strings.HasPrefix(*head.Version, "1."):
		return nil, fmt.Errorf("it is of version %q, and only 1.x can be read", *head.Version)
	case head.Notices == nil:
		return nil, errors.New(`it has no list "notices"`)
	}
	b := &Baseline{AsOf: head.AsOf}
	kinds := map[notice.Kind]*notice.Kind{}
	for i := range *head.Notices {
		n := &(*head.Notices)[i]
		severity, err := notice.ParseSeverity(n.Severity)
		if err != nil {
			return nil, fmt.Errorf("notice %d: %w", i+1, err)
		}
		if n.Code == "" || n.Message == "" {
			return nil, fmt.Errorf("notice %d has no code or no message", i+1)
		}
		k := notice.Kind{Code: n.Code, Severity: severity, Caution: n.Caution, Title: n.Title, Spec: n.Spec}
		if kinds[k] == nil {
			kinds[k] = &k
		}
		b.Notices.Add(notice.Notice{Kind: kinds[k], Message: n.Message, Help: n.Help, Proposals: n.Proposals,
			Location: notice.Location{File: n.File, Pointer: n.Pointer, Sheet: n.Sheet, Cell: n.Cell, Row: n.Row,
				Column:  n.Column,
				Heading: n.Heading, Line: n.Line, Find: n.Find}})
	}
	return b, nil
}

// change is the outcome of a comparison.
type change struct {
	old            map[sameness]int // how often the earlier report has each
	newly, staying int
	gone           notice.List // sorted
}

// sameness is what two notices have in common that are the same.
type sameness struct{ code, find, pointer, message string }

func samenessOf(n *notice.Notice) sameness {
	return sameness{n.Kind.Code, n.Find, withinFind(n), n.Message}
}

// since compares the notices of a document with its baseline and counts what is new in each group; nil without
// one.
func (d *Document) since() (*change, error) {
	if d.Baseline == nil {
		return nil, nil
	}
	c := &change{old: map[sameness]int{}}
	for i := range d.Baseline.Notices {
		c.old[samenessOf(&d.Baseline.Notices[i])]++
	}
	left := maps.Clone(c.old)
	d.Groups = &notice.Groups{}
	for n, err := range d.Each() {
		if err != nil {
			return nil, err
		}
		g := d.Groups.Add(n)
		if n.Kind.Reading() {
			continue
		}
		if k := samenessOf(n); left[k] > 0 {
			left[k]--
			c.staying++
			continue
		}
		g.New++
		c.newly++
	}
	// Of several alike the last are the gone ones.
	before := slices.Clone(d.Baseline.Notices)
	before.Sort()
	for _, n := range slices.Backward(before) {
		if k := samenessOf(&n); left[k] > 0 {
			left[k]--
			c.gone.Add(n)
		}
	}
	c.gone.Sort()
	return c, nil
}

// replay returns what says of each notice in turn whether it is "new" or "unchanged", and nothing without a
// baseline.
func (c *change) replay() func(*notice.Notice) string {
	if c == nil {
		return func(*notice.Notice) string { return "" }
	}
	left := maps.Clone(c.old)
	return func(n *notice.Notice) string {
		if n.Kind.Reading() {
			return ""
		}
		if k := samenessOf(n); left[k] > 0 {
			left[k]--
			return "unchanged"
		}
		return "new"
	}
}

// withinFind is the pointer of a notice, from its find where it has one.
func withinFind(n *notice.Notice) string {
	rest, ok := strings.CutPrefix(n.Pointer, "/finds/")
	if !ok || n.Find == "" {
		return n.Pointer
	}
	_, rest, _ = strings.Cut(rest, "/")
	return "/" + rest
}

// lawRow is what is told in other languages of a row of the table of law, whose English words stand in messages.
type lawRow struct {
	ID, Rule, Instrument, Section, SeenOn, Standing string

	words map[string]string // by language
}

// lawRows are the rows of which there are words in another language (schema/speech/law.json).
var lawRows = sync.OnceValue(func() (out []lawRow) {
	all, _ := schema.Rows[map[string]any]("law") // a test reads both
	text, _ := schema.Speech("law")
	var told struct {
		Rows []map[string]string `json:"rows"`
	}
	_ = json.Unmarshal(text, &told)
	words := map[string]map[string]string{}
	for _, r := range told.Rows {
		words[r["id"]] = r
	}
	for _, r := range all {
		member := func(name string) string { text, _ := r[name].(string); return text }
		if w := words[member("id")]; w != nil {
			out = append(out, lawRow{member("id"), member("rule"), member("instrument"), member("section"), member("seenOn"),
				member("standing"), w})
		}
	}
	return out
})

// law puts the rows of law that an English message names, as far as there are words for them.
func (s *speech) law(message string) string {
	var parts []string
	for _, r := range lawRows() {
		text := r.words[s.Language]
		if text == "" || !strings.Contains(message, r.Rule) {
			continue
		}
		if r.Standing != "law" {
			text = s.text("lawAsk", "text", text)
		}
		if r.Instrument != "" && r.SeenOn != "" {
			text = s.text("lawRead", "text", strings.TrimSuffix(text, "."), "source",
				strings.TrimSuffix(r.Instrument+", "+r.Section, ", "), "day", r.SeenOn)
		}
		parts = append(parts, AsSentence(text))
	}
	return strings.Join(parts, " ")
}

var phoneNumber = text.Pattern(`\bcall [^.]*?\b(\d{3})\b`)

// numberToCall returns the telephone number that a message of danger names, in brackets behind a blank; empty where
// it names none.
func numberToCall(message string) string {
	if m := phoneNumber().FindStringSubmatch(message); m != nil {
		return " (" + m[1] + ")"
	}
	return ""
}
