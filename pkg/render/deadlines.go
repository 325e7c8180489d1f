package render

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

// DeadlineNote stands below every list of deadlines.
const DeadlineNote = "Counted from what the record says and the table named. A time limit may begin later or earlier than the day of the find, and tables are not complete: the local authority decides."

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

// dueStanding tells how a deadline stands, in words.
func dueStanding(d *notice.Deadline) string {
	if d.Status == notice.DeadlineMet {
		return "a report is recorded"
	}
	none := "no report is recorded"
	switch {
	case !d.Dated:
		return none
	case d.Left < 0:
		return fmt.Sprintf("past by %s, %s", plural(-d.Left, "day"), none)
	case d.Left == 0:
		return "ends today, " + none
	}
	return fmt.Sprintf("%s left, %s", plural(d.Left, "day"), none)
}

// dueSource tells where a deadline is written, and when that was read.
func dueSource(d *notice.Deadline) string {
	if d.Checked == "" {
		return d.Source
	}
	return d.Source + ", as checked on " + d.Checked
}

// dueFinds names the finds of a group, by their numbers, as far as a number of them.
func dueFinds(finds []*notice.Deadline, most int) string {
	var names []string
	for i, d := range finds {
		if i == most {
			names = append(names, fmt.Sprintf("and %d more", len(finds)-i))
			break
		}
		names = append(names, findWords(d.Find))
	}
	word := "find "
	if len(finds) > 1 {
		word = "finds "
	}
	return word + strings.Join(names, ", ")
}

// mostDue is how many time limits text tells; the other forms tell all.
const mostDue = 20

// deadlines lists the time limits by day.
func (t *textWriter) deadlines(d Document) {
	if len(d.Deadlines) == 0 {
		return
	}
	fmt.Fprintf(t.w, "%s\n", t.paint("1", "Time limits to report, by day"))
	source := ""
	groups := foldDue(d.Deadlines)
	for i, g := range groups {
		if i == mostDue {
			fmt.Fprintf(t.w, "  and %s; --report html, csv or json tells each\n", plural(len(groups)-i, "more time limit"))
			break
		}
		fmt.Fprintf(t.w, "  %s: %s, %s; %s\n", Clean(dueDay(g.first)), Clean(g.first.What), dueFinds(g.finds, t.o.Most), dueStanding(g.first))
		if s := dueSource(g.first); s != source {
			source = s
			fmt.Fprintf(t.w, "      %s\n", Clean(s))
		}
	}
	fmt.Fprintf(t.w, "  %s\n\n", DeadlineNote)
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
		x := jsonDeadline{Day: d.Day, Time: d.Time, What: d.What, Status: string(d.Status), Source: d.Source, Checked: d.Checked,
			File: d.File, Pointer: d.Pointer, Sheet: d.Sheet, Cell: d.Cell, Row: d.Row, Line: d.Line, Find: d.Find}
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
	cells := []string{"deadline", "caution", "", d.Find, place.Place(), d.Heading, dueDay(d) + ": " + d.What + "; " + dueStanding(d), "", dueSource(d),
		d.File, d.Sheet, number(d.Row), number(d.Column), number(d.Line), d.Pointer, "", d.Day}
	for i := range cells {
		cells[i] = guard(Clean(cells[i]))
	}
	return cells
}
