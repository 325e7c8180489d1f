package spreadsheet

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// entries reads the rows.
func (d *decoder) entries(yield func(*find.Entry, error) bool) {
	index := 0
	for row, err := range d.src.rows() {
		if err != nil {
			yield(nil, err)
			return
		}
		if !d.isFind(row) {
			continue
		}
		e := &find.Entry{Index: index, Origin: find.Origin{File: d.o.File, Row: row.Number, Line: row.Line, Layout: d.layout}}
		e.Origin.Line = 0 // a sheet is spoken of in rows
		if d.fill(e, row) {
			index++
		}
		if !yield(e, nil) {
			return
		}
	}
}

// rowValues are cells of a row that make one member together.
type rowValues struct {
	found, foundVerbatim   string
	dating, datingVerbatim string
	latitude, longitude    string
	easting, northing      string
	position               string
}

// fill sets the members of a find from a row. It returns false, and leaves only notices, when the
// row is no find.
func (d *decoder) fill(e *find.Entry, row grid.Row) bool {
	f := new(find.Find)
	var v rowValues
	fields, kept := 0, 0
	for _, cell := range row.Cells {
		if cell.Kind == grid.Error {
			d.sayCell(e, CellError, cell, "the cell holds a failed formula")
			continue
		}
		text := cellText(cell, d.src.epoch() == 1904)
		if text == "" {
			continue
		}
		c := d.byNumber[cell.Column]
		if c == nil {
			setColumn(f, find.ColumnLetters(cell.Column), text)
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
	if fields == 0 || fields == 1 && kept == 0 && len(d.columns) > 3 && f.Number == "" && f.Name == "" && f.ID == "" {
		e.Notices.Add(notice.New(RowNotAFind, "", "the row holds a single note or a total; it is not taken for a find"))
		return false
	}
	v.join(f)
	e.Find = f
	if row.Hidden {
		e.Notices.Add(notice.New(RowHidden, "", "the row is hidden in the sheet; it was read all the same"))
	}
	return true
}

// set puts the text of a cell where its column says, and tells whether a field took it.
func (d *decoder) set(e *find.Entry, f *find.Find, v *rowValues, c *column, cell grid.Cell, text string) bool {
	switch c.Field {
	case "":
		heading := c.Keep
		if heading == "" {
			heading = c.heading
		}
		setColumn(f, heading, text)
		return false
	case "found.date":
		v.found = text
	case "found.verbatim":
		v.foundVerbatim = text
	case "dating.date":
		v.dating = text
	case "dating.verbatim":
		v.datingVerbatim = text
	case "position.latitude":
		v.latitude = text
	case "position.longitude":
		v.longitude = text
	case "position.easting":
		v.easting = text
	case "position.northing":
		v.northing = text
	case "position.verbatim":
		v.position = text
	case "finder":
		f.Finder = d.references.person(text)
	case "permission":
		f.Permission = d.references.permission(text)
	case "outing":
		f.Outing = d.references.outing(text)
	default:
		if err := find.Set(c.path, f, text); err != nil {
			d.sayCell(e, CellUnreadable, cell, fmt.Sprintf("the cell does not fit the field %s; its text is kept under the heading", c.Field))
			setColumn(f, c.heading, text)
			return false
		}
	}
	return true
}

func (d *decoder) sayCell(e *find.Entry, k *notice.Kind, cell grid.Cell, message string) {
	n := notice.New(k, "", message)
	n.Column = cell.Column
	if c := d.byNumber[cell.Column]; c != nil {
		n.Heading = c.heading
		n.Pointer = pointersOf(c)[0]
	}
	e.Notices.Add(n)
}

// setColumn keeps a text under a heading; a second one under the same heading is set beside it.
func setColumn(f *find.Find, heading, text string) {
	if f.Columns == nil {
		f.Columns = map[string]string{}
	}
	if first := f.Columns[heading]; first != "" {
		text = first + "; " + text
	}
	f.Columns[heading] = text
}

// join sets the members that more than one cell makes. What people write by hand goes beside the
// canonical value: the words of one column, or, where the sheet has both, each to its own.
func (v *rowValues) join(f *find.Find) {
	if v.found != "" || v.foundVerbatim != "" {
		if f.Found == nil {
			f.Found = new(find.Found)
		}
		if f.Found.Verbatim = v.foundVerbatim; f.Found.Verbatim == "" {
			f.Found.Verbatim = v.found
		} else {
			f.Found.Date = v.found
		}
	}
	if v.dating != "" || v.datingVerbatim != "" {
		if f.Dating == nil {
			f.Dating = new(find.Dating)
		}
		if f.Dating.Verbatim = v.datingVerbatim; f.Dating.Verbatim == "" {
			f.Dating.Verbatim = v.dating
		} else {
			f.Dating.Date = v.dating
		}
	}
	v.joinPosition(f)
}

func (v *rowValues) joinPosition(f *find.Find) {
	text := v.position
	switch {
	case text != "":
		v.canonicalPosition(f)
	case v.latitude != "" || v.longitude != "":
		text = pair(v.latitude, v.longitude)
	case v.easting != "" || v.northing != "":
		text = pair(v.easting, v.northing)
	}
	if text == "" {
		return
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Verbatim = text
}

// pair joins two cells of one position; one of them alone stays as it is, for a person to see.
func pair(a, b string) string {
	return strings.Trim(a+", "+b, ", ")
}

// canonicalPosition takes numbers that stand beside the words of a position.
func (v *rowValues) canonicalPosition(f *find.Find) {
	if v.latitude == "" || v.longitude == "" {
		return
	}
	lat, err := find.ParseNumber(v.latitude)
	lon, err2 := find.ParseNumber(v.longitude)
	if err != nil || err2 != nil {
		return
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Latitude, f.Position.Longitude = lat, lon
}
