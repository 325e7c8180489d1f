package spreadsheet

import (
	"iter"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// headerSheet reads a sheet of people, permissions or outings, or the Report sheet.
type headerSheet struct {
	sheet    string
	notices  notice.List
	version  bool // a Report sheet that states the version of the format
	template bool // a Report sheet of a template that somebody fills in
}

func (h *headerSheet) say(k *notice.Kind, row int, column int, heading, message string) {
	n := notice.New(k, "", message)
	n.Sheet, n.Row, n.Column, n.Heading = h.sheet, row, column, heading
	if column > 0 {
		n.Cell = grid.Cell{Column: column}.Ref(row)
	}
	h.notices.Add(n)
}

// bounded passes rows on until what the report takes of them has used up the bytes left. A cell
// costs more than its text: below the heading roles.12 it can make a list of twelve members.
func bounded(rows iter.Seq2[grid.Row, error], left *int64, most int64) iter.Seq2[grid.Row, error] {
	return func(yield func(grid.Row, error) bool) {
		costs := map[int]int64{} // of a cell, by column, as the first row has it
		for row, err := range rows {
			first := len(costs) == 0
			for _, c := range row.Cells {
				if first {
					costs[c.Column] = memberCost(c.Text)
				}
				*left -= max(costs[c.Column], bareCost) + int64(len(c.Text))
			}
			if err == nil && *left < 0 {
				row, err = grid.Row{}, limit.Over("header", most)
			}
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}

// What a cell costs in bytes of memory: by itself, and for each member of a list that it may make.
const (
	bareCost = 64
	listCost = 256
)

// memberCost is what a cell below a heading costs.
func memberCost(heading string) int64 {
	cost := int64(bareCost)
	for segment := range strings.SplitSeq(heading, ".") {
		if n, err := strconv.ParseUint(segment, 10, 16); err == nil {
			cost += listCost * int64(n)
		}
	}
	return cost
}

// report reads the Report sheet: a member and its value in each row.
func (h *headerSheet) report(rows iter.Seq2[grid.Row, error], r *find.Report) error {
	for row, err := range rows {
		if err != nil {
			return err
		}
		if len(row.Cells) < 2 {
			continue
		}
		name, text := strings.TrimSpace(row.Cells[0].Text), cellText(row.Cells[1])
		h.version, h.template = h.version || name == "findslip", h.template || name == "template"
		path, err := find.PathTo[find.Report](name)
		if err != nil {
			continue // the heading of the sheet, or a line of the template
		}
		if err := find.Set(path, r, text); err != nil {
			h.say(cellUnreadable, row.Number, row.Cells[1].Column, name,
				"the cell does not fit its member and is not taken over")
		}
	}
	return nil
}

// cellText returns the text of a cell as a member takes it: dates in ISO 8601.
func cellText(c grid.Cell) string {
	switch c.Kind {
	case grid.Empty, grid.Error:
		return ""
	case grid.Date, grid.Time, grid.Bool:
		return c.Value
	}
	return strings.TrimSpace(c.Text)
}
