package workbook

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// readSheet reads a whole sheet, and returns [grid.ErrStopped] when yield returns false.
func (w *workbook) readSheet(index int, yield func(grid.Row) bool) (grid.Layout, error) {
	r := &sheetReader{workbook: w, limits: w.limits, yield: yield}
	err := w.readRowsOf(w.sheets[index].part, r)
	if err != nil && err != grid.ErrStopped {
		err = fmt.Errorf("sheet %.40q: %w", w.sheets[index].name, err)
	}
	return r.layout, err
}

func (w *workbook) readRowsOf(part string, r *sheetReader) (err error) {
	if r.shared, err = w.sharedTexts(); err != nil {
		return err
	}
	if r.besides, err = w.readBesides(part, &r.layout); err != nil {
		return err
	}
	rc, err := w.archive.open(part)
	if err != nil {
		return err
	}
	defer rc.Close()
	r.scanner = newScanner(rc)
	err = r.read()
	switch {
	case err == nil, err == grid.ErrStopped:
		return err
	case r.row > 0 && !r.done:
		return fmt.Errorf("row %d: %w", r.row, damaged(part, err))
	}
	return damaged(part, err)
}

// sheetReader reads one sheet.
type sheetReader struct {
	*scanner
	workbook *workbook
	limits   grid.Limits
	shared   []string
	yield    func(grid.Row) bool
	layout   grid.Layout
	besides  *besides
	groups   map[int]sharedFormula

	row   int  // the number of the row being read, or of the last one
	done  bool // all rows are read
	found []found
	cells []grid.Cell
	text  []byte // the texts of the row that are not shared
	lent  int64  // bytes of the texts of the row that are shared
	told  int64  // bytes of the texts of all rows
}

// found is a cell as it stands in the file. Its texts are spans of the text of the row.
type found struct {
	column  int
	kind    byte // as cellType returns it
	format  *grid.Format
	shared  string // the text, if it is a shared one
	value   span
	formula span
	group   int  // of cells that share one formula; below 0 for none
	valued  bool // a value is stored, and be it none
	picture bool // the value is a picture in the cell
	struck  bool // through
	unseen  bool // on the screen
}

type span struct{ start, end int }

func (r *sheetReader) read() error {
	if err := r.root("worksheet"); err != nil {
		return err
	}
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			return r.finish()
		}
		switch string(r.name) {
		case "sheetViews":
			err = r.readPanes()
		case "cols":
			err = r.readColumns()
		case "sheetData":
			err = r.readRows()
			r.done = err == nil
		case "mergeCells":
			err = r.readMerged()
		case "hyperlinks":
			err = r.readLinks()
		case "headerFooter":
			err = r.readHeaders()
		}
		if err != nil {
			return err
		}
	}
}

func (r *sheetReader) readRows() error {
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if !ok || err != nil {
			return err
		}
		if string(r.name) != "row" {
			continue
		}
		number, hidden := r.row+1, false
		for {
			key, value, err := r.attr()
			if err != nil {
				return err
			}
			if key == nil {
				break
			}
			switch string(key) {
			case "r":
				if number, err = strconv.Atoi(string(value)); err != nil || number < 1 {
					return fmt.Errorf("a row has the number %.20q, expected a number from 1 to %d", value, grid.MaxRows)
				}
			case "hidden":
				hidden = hidden || isTrue(value)
			case "ht":
				height, err := strconv.ParseFloat(string(value), 64)
				hidden = hidden || err == nil && height <= leastSeen
			}
		}
		if number <= r.row {
			return fmt.Errorf("row %d stands behind row %d: the file is damaged", number, r.row)
		}
		if int64(number) > r.limits.Rows {
			return &grid.LimitError{Limit: "rows", Value: int64(number), Max: r.limits.Rows}
		}
		r.row = number
		if err := r.readRow(); err != nil {
			return err
		}
		if len(r.cells) == 0 {
			continue
		}
		hidden = hidden || r.most(func(c *found) bool { return c.unseen })
		if !r.yield(grid.Row{Number: number, Hidden: hidden, Struck: r.most(func(c *found) bool { return c.struck }),
			Cells: r.cells}) {
			return grid.ErrStopped
		}
	}
}

// most reports whether more than half of the cells of the row are so: one may have been forgotten.
func (r *sheetReader) most(are func(c *found) bool) bool {
	n := 0
	for i := range r.found {
		if are(&r.found[i]) {
			n++
		}
	}
	return 2*n > len(r.found)
}

// readRow reads the cells of the row just started. The texts of a row are one string, and each cell
// has a slice of it.
func (r *sheetReader) readRow() error {
	r.cells, r.found, r.text, r.lent = r.cells[:0], r.found[:0], r.text[:0], 0
	column := 0
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		if string(r.name) != "c" {
			continue
		}
		if column, err = r.readCell(column); err != nil {
			return err
		}
		if n := int64(len(r.text)) + r.lent; n > r.limits.RowLength {
			return &grid.LimitError{Limit: "row", Value: n, Max: r.limits.RowLength}
		}
	}
	// A text that is shared unpacks as often as a cell names it.
	if r.told += int64(len(r.text)) + r.lent; r.told > r.limits.Expanded {
		return &grid.LimitError{Limit: "expanded", Value: r.told, Max: r.limits.Expanded}
	}
	text := string(r.text)
	sorted := true
	for i := range r.found {
		r.cells = append(r.cells, r.cell(&r.found[i], text))
		sorted = sorted && (i == 0 || r.found[i-1].column < r.found[i].column)
	}
	if !sorted {
		return r.sort()
	}
	return nil
}

// readCell reads the cell just started, which follows a cell in the given column, and returns its
// own column.
func (r *sheetReader) readCell(column int) (int, error) {
	c := found{kind: 'n', group: -1}
	column++
	for {
		key, value, err := r.attr()
		if err != nil {
			return column, err
		}
		if key == nil {
			break
		}
		if string(key) == "vm" {
			c.picture = true
		}
		if len(key) != 1 {
			continue
		}
		switch key[0] {
		case 'r':
			if column, err = r.column(value); err != nil {
				return column, err
			}
		case 's':
			if i, ok := number(value); ok && i < len(r.workbook.styles) {
				c.format = r.workbook.styles[i]
				c.struck = i < len(r.workbook.struck) && r.workbook.struck[i]
				c.unseen = i < len(r.workbook.unseen) && r.workbook.unseen[i]
			}
		case 't':
			if c.kind, err = cellType(value); err != nil {
				return column, err
			}
		}
	}
	if int64(column) > r.limits.Columns || column > grid.MaxColumns {
		most := min(r.limits.Columns, grid.MaxColumns)
		return column, &grid.LimitError{Limit: "columns", Value: int64(column), Max: most}
	}
	c.column = column
	if err := r.readContent(&c); err != nil {
		return column, r.inCell(column, err)
	}
	if c.shared != "" || c.value.start < c.value.end || !c.valued && (c.formula.start < c.formula.end || c.group >= 0) {
		r.found = append(r.found, c)
	}
	return column, nil
}

// readContent reads the value and the formula of a cell.
func (r *sheetReader) readContent(c *found) error {
	inline := false
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		start := len(r.text)
		switch string(r.name) {
		case "v":
			if inline {
				continue
			}
			r.text, err = appendElement(r.text, start, r.scanner, r.limits.CellLength)
			c.value = span{start, len(r.text)}
			c.valued = len(r.text) > start || c.kind == 't' // an empty text is a result, an empty number is none
		case "is":
			if c.kind != 'i' {
				continue
			}
			inline = true
			r.text, err = appendRich(r.text, r.scanner, r.limits.CellLength)
			c.value = span{start, len(r.text)}
		case "f":
			if err := r.groupOf(c); err != nil {
				return err
			}
			start = len(r.text)
			r.text, err = appendElement(r.text, start, r.scanner, r.limits.CellLength)
			c.formula = span{start, len(r.text)}
		}
		if err != nil {
			return err
		}
	}
	return r.settle(c)
}

// settle looks shared texts up, takes escapes out of others and blanks off numbers.
func (r *sheetReader) settle(c *found) error {
	raw := r.text[c.value.start:c.value.end]
	switch c.kind {
	case 's':
		raw = bytes.TrimSpace(raw)
		c.value = span{}
		if len(raw) == 0 {
			return nil
		}
		i, ok := number(raw)
		if !ok || i >= len(r.shared) {
			return fmt.Errorf("shared text %.20q is wanted, and there are %d: the file is damaged", raw, len(r.shared))
		}
		c.shared = r.shared[i]
		r.lent += int64(len(c.shared))
	case 'i', 't':
		c.value.end = c.value.start + len(unescape(raw))
	default:
		c.value.start += len(raw) - len(bytes.TrimLeft(raw, " \t\r\n"))
		c.value.end -= len(raw) - len(bytes.TrimRight(raw, " \t\r\n"))
		c.value.end = max(c.value.start, c.value.end)
	}
	return nil
}

// cell returns a cell as the grid has it.
func (r *sheetReader) cell(c *found, text string) grid.Cell {
	raw := c.shared
	if raw == "" {
		raw = text[c.value.start:c.value.end]
	}
	kind := grid.Text
	switch {
	case raw == "":
		kind = grid.Empty
	case c.kind == 'b':
		kind = grid.Bool
	case c.kind == 'e':
		kind = grid.Error
	case c.kind == 'd':
		kind = grid.Date
	case c.kind == 'n' && grid.IsNumber(raw):
		kind = grid.Number
	}
	cell := grid.NewCell(c.column, kind, raw, c.format, r.workbook.epoch)
	cell.Struck = c.struck
	if formula := r.formula(c, text); formula != "" {
		cell.More = &grid.More{Formula: formula}
		if address := addressOf(cell.More.Formula); address != "" {
			cell.More.Links = []string{address}
		}
	}
	if c.picture && kind == grid.Error {
		more := cell.Extra()
		more.Pictures = []string{"a picture in the cell"}
		cell.More = &more
	}
	return cell
}

// sharedFormula is a formula that several cells share, and the cell that writes it out.
type sharedFormula struct {
	formula     string
	column, row int
}

// mostShared bounds the formulas of a sheet that are shared.
const mostShared = 1 << 16

// groupOf reads which formula a cell shares with others.
func (r *sheetReader) groupOf(c *found) error {
	together, group := false, -1
	for {
		key, value, err := r.attr()
		if err != nil {
			return err
		}
		if key == nil {
			break
		}
		switch string(key) {
		case "t":
			together = string(value) == "shared"
		case "si":
			if n, ok := number(value); ok {
				group = n
			}
		}
	}
	if together {
		c.group = group
	}
	return nil
}

// formula returns the formula of a cell. One that is shared stands in the first cell of its group alone, and
// moves along to the others (ISO/IEC 29500-1 clause 18.3.1.40).
func (r *sheetReader) formula(c *found, text string) string {
	own := text[c.formula.start:c.formula.end]
	if c.group < 0 {
		return own
	}
	if own == "" {
		if first, ok := r.groups[c.group]; ok {
			return grid.ShiftFormula(first.formula, c.column-first.column, r.row-first.row)
		}
		return ""
	}
	if r.groups == nil {
		r.groups = map[int]sharedFormula{}
	}
	if len(r.groups) < mostShared && r.besides.hold(own) == nil {
		r.groups[c.group] = sharedFormula{strings.Clone(own), c.column, r.row}
	}
	return own
}

// addressOf returns the address that a formula writes out to lead to it, or to show the picture there.
func addressOf(formula string) string {
	for _, name := range []string{`HYPERLINK("`, `IMAGE("`} {
		if _, rest, ok := strings.Cut(formula, name); ok {
			address, _, _ := strings.Cut(rest, `"`)
			return address
		}
	}
	return ""
}

// inCell puts the reference of the cell in front of an error.
func (r *sheetReader) inCell(column int, err error) error {
	return fmt.Errorf("cell %s: %w", grid.Cell{Column: column}.Ref(r.row), err)
}

// cellType reads the type of a cell into one letter, ISO/IEC 29500-1 clause 18.18.11: number, shared
// text, text of a formula (t), inline text, truth value, error and date.
func cellType(value []byte) (byte, error) {
	switch string(value) {
	case "s", "n", "b", "e", "d":
		return value[0], nil
	case "str":
		return 't', nil
	case "inlineStr":
		return 'i', nil
	}
	return 0, fmt.Errorf("a cell has the type %.20q, which no workbook knows", value)
}

// column reads the reference of a cell, which has to be in the current row.
func (r *sheetReader) column(ref []byte) (int, error) {
	column, at := 0, 0
	for at < len(ref) && at < 4 && ref[at] >= 'A' && ref[at] <= 'Z' {
		column = column*26 + int(ref[at]-'A') + 1
		at++
	}
	if row, ok := number(ref[at:]); ok && column > 0 && column <= grid.MaxColumns && row == r.row {
		return column, nil
	}
	column, row, err := grid.ParseRef(string(ref))
	if err != nil {
		return 0, err
	}
	if row != r.row {
		return 0, fmt.Errorf("cell %.20s stands in row %d: the file is damaged", ref, r.row)
	}
	return column, nil
}

// number reads digits; it takes no sign and nothing that an int32 does not hold.
func number(digits []byte) (int, bool) {
	n := 0
	for _, c := range digits {
		if c < '0' || c > '9' || n > 1<<27 {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, len(digits) > 0
}
