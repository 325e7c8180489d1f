package workbook

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// odsCell is a cell as its attributes and contents have it.
type odsCell struct {
	times, columns, rows int
	kind, value, style   string
	formula              string
	failed               bool
	text                 []byte
	paragraphs           int
	more                 grid.More
}

func (c *odsCell) attribute(key, value string) {
	switch key {
	case "table:number-columns-repeated":
		c.times = max(1, count(value, grid.MaxColumns))
	case "table:number-columns-spanned":
		c.columns = max(1, count(value, grid.MaxColumns))
	case "table:number-rows-spanned":
		c.rows = max(1, count(value, grid.MaxRows))
	case "table:style-name":
		c.style = value
	case "table:formula":
		c.formula = odsFormula(value)
	case "office:value-type":
		c.kind = value
	case "calcext:value-type":
		c.failed = value == "error"
	case "office:value", "office:date-value", "office:time-value", "office:boolean-value", "office:string-value":
		c.value = value
	}
}

// cell returns the cell as the grid has it.
func (c *odsCell) cell(styles *odsStyles) grid.Cell {
	shown := string(c.text)
	var cell grid.Cell
	switch {
	case c.failed:
		cell = grid.NewCell(0, grid.Error, shown, nil, 0)
	case c.kind == "float" || c.kind == "percentage" || c.kind == "currency":
		cell = grid.NewCell(0, grid.Number, c.value, shownFormat(shown, c.value), 0)
	case c.kind == "date":
		cell = grid.NewCell(0, grid.Date, c.value, styles.formatOf(c.style), 0)
		if cell.Kind == grid.Date && shown != "" && cell.Precision < grid.Minute {
			cell.Text = shown
		}
		if serial, ok := grid.Serial(cell.Value); ok {
			cell.Raw = serial
		}
	case c.kind == "time":
		cell = grid.NewCell(0, grid.Time, odsTime(c.value), nil, 0)
	case c.kind == "boolean":
		cell = grid.NewCell(0, grid.Bool, c.value, nil, 0)
	case shown == "" && c.value != "":
		cell = grid.NewCell(0, grid.Text, c.value, nil, 0)
	case shown != "":
		cell = grid.NewCell(0, grid.Text, shown, nil, 0)
	}
	if cell.Raw == "" && cell.Text == "" {
		cell.Kind = grid.Empty
	}
	m := c.more
	if c.formula != "" && (cell.Kind != grid.Empty || c.kind == "") {
		m.Formula = c.formula
	}
	if m.Formula != "" || len(m.Comments)+len(m.Links)+len(m.Pictures) > 0 {
		cell.More = &m
	}
	return cell
}

// odsFormula writes a formula as workbooks do: A5+1 for of:=[.A5]+1.
func odsFormula(formula string) string {
	if i := strings.IndexByte(formula, '='); i >= 0 {
		formula = formula[i+1:]
	}
	var b strings.Builder
	for formula != "" {
		before, rest, found := strings.Cut(formula, "[")
		b.WriteString(strings.ReplaceAll(before, ";", ","))
		if !found {
			break
		}
		var place string
		place, formula, _ = strings.Cut(rest, "]")
		first, last, two := strings.Cut(place, ":")
		for i, part := range []string{first, last} {
			if i == 1 && !two {
				break
			}
			if i == 1 {
				b.WriteByte(':')
			}
			if sheet, cell, ok := strings.Cut(part, "."); ok {
				if sheet = strings.TrimPrefix(sheet, "$"); sheet != "" && i == 0 {
					b.WriteString(sheet + "!")
				}
				part = cell
			}
			b.WriteString(part)
		}
	}
	return b.String()
}

// odsTime returns a duration, such as PT14H30M00S, as 14:30:00.
func odsTime(value string) string {
	rest, ok := strings.CutPrefix(value, "PT")
	if !ok {
		return value
	}
	var hms [3]int
	for i, unit := range []string{"H", "M", "S"} {
		text, after, ok := strings.Cut(rest, unit)
		if !ok {
			continue
		}
		n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || n < 0 || n > 1e6 {
			return value
		}
		hms[i], rest = int(n), after
	}
	return fmt.Sprintf("%02d:%02d:%02d", hms[0], hms[1], hms[2])
}
