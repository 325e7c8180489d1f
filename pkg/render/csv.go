package render

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

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
		cells[i] = guard(Clean(cells[i]))
	}
	return cells
}

func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// guard keeps a spreadsheet from taking text for a formula.
func guard(s string) string {
	if s != "" && strings.IndexByte("=+-@\t\r", s[0]) >= 0 {
		return "'" + s
	}
	return s
}
