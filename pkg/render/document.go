// Package render shows notices to people and programs: as text for a terminal, as JSON for
// programs. It knows nothing of finds; it shows what it is given, in one order, with the same
// bytes on every run.
//
//	err := render.Text(os.Stdout, render.Document{Notices: list}, render.TextOptions{})
//
// This package is unstable: it may change between any two versions.
package render

import (
	"encoding/csv"
	"io"
	"iter"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

// noticesVersion is the version of the notices report that JSON writes.
const noticesVersion = "1.3"

// A Document is the outcome of one check.
type Document struct {
	Tool       string            // name and version of the program
	AsOf       string            // the day that counted as today, ISO 8601
	Level      string            // id of the level that was asked; empty if none was
	Finds      int               // number of finds seen
	Levels     []Receiver        // the levels, from the least to the most
	Asked      []Receiver        // the level or the profiles that were asked for
	NotChecked map[string]int    // rule code to the number of times it could not be applied
	Titles     map[string]string // title of each code in NotChecked, for people; may be nil
	Accepted   notice.List       // silenced with a reason, shown all the same
	Notices    notice.List       // sorted by the renderers; ignored where there is a Spool
	Spool      *notice.Spool     // all notices, as many as there are; may be nil
	Groups     *notice.Groups    // all notices counted; nil: the renderers count Notices
	Truncated  bool              // Groups counted more than Notices hold
	Seen       []Seen            // what was read of each file
	Language   string            // in which it is told; empty: en
	Deadlines  notice.Deadlines  // time limits to report; sorted by the renderers
	Baseline   *Baseline         // an earlier report to compare with; nil: none
	Table      []Row             // finds with names and dates, only for those who may see places; empty: numbers alone
	Settings   []Setting         // figures of rules that were changed from their defaults
	Plan       *Plan             // a drawing of the finds, only for those who may see places; nil: none

	Plainly func(string) string // of a marked workbook: says a text for whoever has no command to type; nil: as it is
}

// Row is one find in the table of a page that may show more than numbers.
type Row struct {
	File, Find string // as in the notices
	Name       string // what the finder calls it
	Material   string
	Period     string
	Dated      string // years, as EDTF
}

// Setting is a figure of the rules that was changed.
type Setting struct {
	Name    string `json:"name"`
	Value   string `json:"value"`
	Default string `json:"default"`
}

// Each returns all notices, in order.
func (d *Document) Each() iter.Seq2[*notice.Notice, error] {
	if d.Spool != nil {
		return d.Spool.All()
	}
	return func(yield func(*notice.Notice, error) bool) {
		for i := range d.Notices {
			if !yield(&d.Notices[i], nil) {
				return
			}
		}
	}
}

// all returns the notices as a list, at most so many.
func (d *Document) all(most int) (notice.List, error) {
	if d.Spool == nil {
		return d.Notices, nil
	}
	list := make(notice.List, 0, min(most, d.Spool.Len()))
	for n, err := range d.Spool.All() {
		if err != nil {
			return nil, err
		}
		if len(list) == most {
			break
		}
		list = append(list, *n)
	}
	return list, nil
}

// sort gives notices and deadlines the one order in which they are shown.
func (d *Document) sort() {
	d.Notices.Sort()
	d.Deadlines.Sort()
}

// LevelsMet returns the levels that every find meets, least first.
func (d *Document) LevelsMet() []string {
	out := []string{}
	for i := range d.Levels {
		if l := &d.Levels[i]; d.Finds > 0 && l.Good == d.Finds {
			out = append(out, l.ID)
		}
	}
	return out
}

// NotCheckedTotal returns how many times a rule could not be applied.
func (d *Document) NotCheckedTotal() int {
	n := 0
	for _, v := range d.NotChecked {
		n += v
	}
	return n
}

// CSV writes one notice a line, under a line of names, for sorting in a spreadsheet. A cell that
// would be taken for a formula has an apostrophe in front. A time limit to report is a line too, with
// "deadline" for its severity and its day in a column of its own. Where there is an earlier report to
// compare with, a last column says what is new, unchanged or gone.
func CSV(w io.Writer, d Document) error {
	d.sort()
	out := csv.NewWriter(w)
	changes, err := d.since()
	if err != nil {
		return err
	}
	names := []string{"severity", "caution", "code", "find", "place", "heading", "written", "message", "perhaps", "help",
		"file", "sheet", "row", "column", "line", "pointer", "accepted", "deadline"}
	if changes != nil {
		names = append(names, "change")
	}
	if err := out.Write(names); err != nil {
		return err
	}
	write := func(n *notice.Notice, change string) error {
		cells := record(n)
		if changes != nil {
			cells = append(cells, change)
		}
		return out.Write(cells)
	}
	word := changes.replay()
	for n, err := range d.Each() {
		if err != nil {
			return err
		}
		if err := write(n, word(n)); err != nil {
			return err
		}
	}
	for i := range d.Accepted {
		if err := write(&d.Accepted[i], ""); err != nil {
			return err
		}
	}
	for i := range d.Deadlines {
		cells := deadlineRecord(&d.Deadlines[i])
		if changes != nil {
			cells = append(cells, "")
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	if changes != nil {
		for i := range changes.gone {
			if err := write(&changes.gone[i], "gone"); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

func record(n *notice.Notice) []string {
	caution := ""
	if n.Kind.Caution {
		caution = "caution"
	}
	cells := []string{n.Kind.Severity.String(), caution, n.Kind.Code, n.Find, n.Place(), n.Heading, n.Written, n.Message,
		strings.Join(n.Proposals, "; "), n.HelpText(),
		n.File, n.Sheet, number(n.Row), number(n.Column), number(n.Line), n.Pointer, acceptedWords(n), ""}
	for i := range cells {
		cells[i] = Guard(Clean(cells[i]))
	}
	return cells
}

func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// Guard keeps a spreadsheet from taking text for a formula.
func Guard(s string) string {
	if s != "" && strings.IndexByte("=+-@\t\r", s[0]) >= 0 {
		return "'" + s
	}
	return s
}
