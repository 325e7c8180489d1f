package spreadsheet

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// headingsAt returns the headings of the row that was found, joined with those of the row above or
// below it where they stand in two rows, and the number of the last row of headings.
func (d *decoder) headingsAt(rows []grid.Row, at int) []grid.Cell {
	d.headingRow = rows[at].Number
	for _, upper := range []int{at, at - 1} {
		if upper < 0 || upper+1 >= len(rows) {
			continue
		}
		if cells, ok := twoRows(rows[upper], rows[upper+1]); ok {
			d.headingRow = rows[upper+1].Number
			d.joined()
			return cells
		}
	}
	return rows[at].Cells
}

// joined says that the headings stand in two rows.
func (d *decoder) joined() {
	n := notice.New(headingsJoined, "", "the headings stand in this row and the one above it; they are read as one")
	n.Sheet, n.Row = d.src.name(), d.headingRow
	d.notices.Add(n)
}

// twoRows joins headings that stand in two rows: a group in the upper, in cells that are merged or
// have empty ones beside them, and in the lower one heading for each of its columns. It tells
// whether that is what the two rows are.
func twoRows(upper, lower grid.Row) ([]grid.Cell, bool) {
	if len(upper.Cells) == 0 || lower.Number != upper.Number+1 || !allWords(upper) || !allWords(lower) {
		return nil, false
	}
	var out []grid.Cell
	groups, under := map[int]bool{}, 0 // groups over more than one column; columns without a cell of their own above
	known, words, group := 0, 0, 0     // group is the index of the cell above, from 1
	last := max(upper.Cells[len(upper.Cells)-1].Column, lastColumn(lower))
	for column := 1; column <= last; column++ {
		for group < len(upper.Cells) && upper.Cells[group].Column <= column {
			group++
		}
		above := ""
		if group > 0 {
			above = strings.TrimSpace(upper.Cells[group-1].Text)
		}
		own := group > 0 && upper.Cells[group-1].Column == column
		cell := lower.Cell(column)
		text := strings.TrimSpace(cell.Text)
		if text == "" {
			if own {
				out = append(out, upper.Cells[group-1])
			}
			continue
		}
		if words++; above != "" && !own {
			under++
			groups[group] = true
		}
		joined, ok := join(above, text)
		if ok {
			known++
		}
		out = append(out, grid.Cell{Column: column, Kind: grid.Text, Text: joined})
	}
	// One cell above all columns is a title.
	title := len(upper.Cells) == 1 && upper.Cells[0].Column <= lower.Cells[0].Column
	return out, under > 0 && len(groups) > 0 && words > 1 && known > 1 && known*2 >= words && !title
}

func lastColumn(row grid.Row) int {
	if len(row.Cells) == 0 {
		return 0
	}
	return row.Cells[len(row.Cells)-1].Column
}

const longestHeading = 80 // bytes; longer ones are notes

func allWords(row grid.Row) bool {
	filled := 0
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if filled++; c.Kind != grid.Text || len(text) > longestHeading {
			return false
		}
	}
	return filled > 0
}

// join makes one heading of that of a group and that of a column below it: both together where
// that is understood, else that of the column, with the unit of the group where it has none of its
// own. It tells whether the heading is understood.
func join(group, text string) (string, bool) {
	if group == "" {
		return text, heading.IsField(text)
	}
	if text != "-" && isUnitWord(text) && heading.IsField(group) {
		return group + " (" + strings.Trim(text, "()[] ") + ")", true
	}
	name, _, _ := strings.Cut(group, "(")
	if both := strings.TrimSpace(name) + " " + text; heading.IsField(both) {
		return both, true
	}
	if !heading.IsField(text) {
		return text, false
	}
	unit, ok := quantity.UnitOfHeading(group)
	if _, own := quantity.UnitOfHeading(text); ok && !own && measures(text, unit) {
		text += " (" + unit.String() + ")"
	}
	return text, true
}

// measures tells whether a heading is that of a length or a weight that the unit can measure.
func measures(text string, unit quantity.Unit) bool {
	switch field := heading.Understand(text).Field; {
	case field == "depth", field == "dimensions.length", field == "dimensions.width", field == "dimensions.height", field == "dimensions.thickness", field == "dimensions.diameter":
		return unit.Dimension() == quantity.CM.Dimension()
	case field == "weight":
		return unit.Dimension() == quantity.G.Dimension()
	}
	return false
}

// nameless takes the column of descriptions for the name, where a sheet that no program wrote has
// none: a find needs the finder's words for it, and that is where they stand.
func (d *decoder) nameless(claimed map[string]*column) {
	if claimed["name"] != nil || claimed["id"] != nil {
		return
	}
	c := claimed["description"]
	if c == nil || c.Taken == heading.TakenMap || d.o.Map != nil && slices.ContainsFunc(d.o.Map.Columns, func(m MapColumn) bool { return m.Field == "description" }) {
		return
	}
	delete(claimed, "description")
	c.Taken = heading.TakenStead
	c.Field = "name"
	d.claim(c, claimed)
	d.say(nameFrom, c, "no column has the name of the find; this one is taken for it")
}
