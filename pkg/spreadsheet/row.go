package spreadsheet

import (
	"fmt"
	"iter"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// entries reads the rows.
func (d *decoder) entries(yield func(*find.Entry, error) bool) {
	index := 0
	for _, c := range d.columns {
		if cost := memberCost(c.Field); cost > bareCost {
			c.cost = cost
		}
	}
	for row, err := range d.finds() {
		if err != nil {
			yield(nil, err)
			return
		}
		e := &find.Entry{Index: index, Origin: find.Origin{File: d.o.File, Row: row.Number, Line: row.Line, Layout: d.layout}}
		for i := range row.Cells {
			e.Size += len(row.Cells[i].Text)
			if c := d.at(row.Cells[i].Column); c != nil {
				e.Size += int(c.cost)
			}
		}
		e.Origin.Line = 0 // a sheet is spoken of in rows
		if d.fill(e, row) {
			index++
		}
		if !yield(e, nil) {
			return
		}
	}
}

// finds returns the rows of finds.
func (d *decoder) finds() iter.Seq2[grid.Row, error] {
	return func(yield func(grid.Row, error) bool) {
		for row, err := range d.src.rows() {
			if err == nil && !d.isFind(row) {
				continue
			}
			if !yield(row, err) {
				return
			}
		}
	}
}

// fill sets the members of a find from a row. It returns false, and leaves only notices, when the
// row is no find.
func (d *decoder) fill(e *find.Entry, row grid.Row) bool {
	f := new(find.Find)
	var v intake.Parts
	fields, kept := 0, 0
	for _, cell := range row.Cells {
		if cell.Kind == grid.Error {
			d.sayCell(e, cellError, cell, "the cell holds a failed formula")
			continue
		}
		text := cellText(cell)
		if text == "" {
			continue
		}
		c := d.at(cell.Column)
		if cell.Column == d.audienceAt || cell.Column == d.changedAt {
			continue
		}
		if c == nil {
			intake.Column(f, find.ColumnLetters(cell.Column), text)
			kept++
			continue
		}
		if d.set(e, f, &v, c, cell, text) {
			fields++
		} else {
			kept++
		}
	}
	if fields+kept == 0 {
		return false // only failed formulas
	}
	note := fields == 1 && kept == 0 && len(d.columns) > 3 && f.Number == "" && f.Name == "" && f.ID == ""
	if f.ID == "" && (fields == 0 || note || f.Name == "" && isTotal(f.Number) || f.Number == "" && isTotal(f.Name)) {
		e.Notices.Add(notice.New(rowNotAFind, "", "the row holds a single note or a total; it is not taken for a find"))
		return false
	}
	v.Own = f.ID != ""
	for _, field := range v.Join(f, d.headingOf) {
		d.sayKept(e, row, field)
	}
	e.Find = f
	if row.Hidden {
		e.Notices.Add(notice.New(rowHidden, "", "the row is hidden in the sheet; it was read all the same"))
	}
	return true
}

// isTotal tells whether a number or name says that the row adds others up.
func isTotal(text string) bool {
	switch strings.TrimRight(find.FoldName(text), " :=") {
	case "total", "totals", "sum", "subtotal", "grand total", "summe", "gesamt", "insgesamt", "zwischensumme", "totaal", "som", "subtotaal",
		"i alt", "ialt", "sum i alt", "totaux", "somme", "sous-total", "summa", "totalt", "delsumma":
		return true
	}
	return false
}

// set puts the text of a cell where its column says, and tells whether a field took it.
func (d *decoder) set(e *find.Entry, f *find.Find, v *intake.Parts, c *column, cell grid.Cell, text string) bool {
	switch c.Field {
	case "":
		heading := c.Keep
		if heading == "" {
			heading = c.heading
		}
		intake.Column(f, heading, text)
		return false
	case "id":
		return d.setID(f, c, text)
	case "found.date":
		v.Found = text
	case "found.verbatim":
		v.FoundVerbatim = text
	case "dating.date":
		v.Dating = text
	case "dating.verbatim":
		v.DatingVerbatim = text
	case "position.latitude":
		v.Latitude = text
	case "position.longitude":
		v.Longitude = text
	case "position.easting":
		v.Easting = text
	case "position.northing":
		v.Northing = text
	case "position.verbatim":
		v.Position = text
	case "finder":
		f.Finder = d.references.Person(text)
	case "permission":
		f.Permission = d.references.Permission(text)
	case "outing":
		f.Outing = d.references.Outing(text)
	default:
		if err := find.Set(c.path, f, text); err != nil {
			d.sayCell(e, cellUnreadable, cell, fmt.Sprintf("the cell does not fit the field %s; its text is kept under the heading", c.Field))
			intake.Column(f, c.heading, text)
			return false
		}
	}
	return true
}

// setID takes an id, also one without its urn:uuid:. What else stands under that heading is the
// number of somebody's own log, unless another column has the numbers.
func (d *decoder) setID(f *find.Find, c *column, text string) bool {
	if strings.HasPrefix(text, "urn:") {
		f.ID = text
		return true
	}
	urn := "urn:uuid:" + strings.ToLower(text)
	switch {
	case find.IsURN(urn):
		f.ID = urn
	case d.numberAt == 0:
		f.Number = text
	default:
		intake.Column(f, c.heading, text)
		return false
	}
	return true
}

// headingOf returns the heading of the column that feeds a field.
func (d *decoder) headingOf(field string) string {
	for _, c := range d.columns {
		if c.Field == field {
			return c.heading
		}
	}
	return field
}

// sayKept says that a cell of a position stands beside other words for it and was kept under its
// heading.
func (d *decoder) sayKept(e *find.Entry, row grid.Row, field string) {
	for _, c := range d.columns {
		if c.Field == field {
			d.sayCell(e, cellBeside, row.Cell(c.column), "another column has the words of the position; this text is kept under its heading")
			return
		}
	}
}

func (d *decoder) sayCell(e *find.Entry, k *notice.Kind, cell grid.Cell, message string) {
	n := notice.New(k, "", message)
	n.Column = cell.Column
	if c := d.at(cell.Column); c != nil {
		n.Heading = c.heading
		n.Pointer = pointersOf(c)[0]
	}
	e.Notices.Add(n)
}
