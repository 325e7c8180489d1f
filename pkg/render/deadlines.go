package render

import (
	"strings"

	"github.com/findslip/findslip/pkg/notice"
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
		cells[i] = guard(Clean(cells[i]))
	}
	return cells
}
