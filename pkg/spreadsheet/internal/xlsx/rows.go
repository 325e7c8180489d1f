package xlsx

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"strconv"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// errStopped ends the reading when nobody wants more rows.
var errStopped = errors.New("no more rows are wanted")

// Rows returns the rows of a sheet, given by its index in [Workbook.Sheets], that hold at least one
// filled cell. The row's cells are used again for the next row. The last pair holds the error, if
// reading failed; rows before it are good. The sequence may be ranged over more than once.
func (w *Workbook) Rows(ctx context.Context, sheet int) iter.Seq2[grid.Row, error] {
	return func(yield func(grid.Row, error) bool) {
		err := w.readSheet(ctx, sheet, func(row grid.Row) bool { return yield(row, nil) })
		if err != nil && err != errStopped {
			yield(grid.Row{}, err)
		}
	}
}

// Layout reads through a sheet, given by its index in [Workbook.Sheets], for what stands before and
// behind its cells: merged ranges, hidden columns and frozen panes.
func (w *Workbook) Layout(ctx context.Context, sheet int) (grid.Sheet, error) {
	known := func() (grid.Sheet, bool) {
		w.mu.Lock()
		defer w.mu.Unlock()
		if sheet < 0 || sheet >= len(w.sheets) || !w.sheets[sheet].laid {
			return grid.Sheet{}, false
		}
		return copySheet(w.sheets[sheet].Sheet), true
	}
	if s, ok := known(); ok {
		return s, nil
	}
	if err := w.readSheet(ctx, sheet, nil); err != nil {
		return grid.Sheet{}, err
	}
	s, _ := known()
	return s, nil
}

// readSheet reads a whole sheet. Without a function to take the rows, the cells are passed over.
func (w *Workbook) readSheet(ctx context.Context, index int, yield func(grid.Row) bool) error {
	if index < 0 || index >= len(w.sheets) {
		return fmt.Errorf("there is no sheet number %d: the workbook has %d", index, len(w.sheets))
	}
	part, name := w.sheets[index].part, w.sheets[index].Name
	r := &sheetReader{ctx: ctx, workbook: w, limits: w.limits, yield: yield}
	err := func() error {
		if yield != nil {
			var err error
			if r.shared, err = w.sharedTexts(); err != nil {
				return err
			}
		}
		rc, err := w.archive.open(ctx, part)
		if err != nil {
			return err
		}
		defer rc.Close()
		r.scanner = newScanner(rc)
		if err := r.read(); err != nil {
			if err == errStopped {
				return err
			}
			if r.row > 0 && !r.done {
				return fmt.Errorf("row %d: %w", r.row, damaged(part, err))
			}
			return damaged(part, err)
		}
		return nil
	}()
	if err == errStopped {
		return err
	}
	if err != nil {
		return fmt.Errorf("sheet %.40q: %w", name, err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	r.layout.Name, r.layout.Hidden = name, w.sheets[index].Hidden
	w.sheets[index].Sheet, w.sheets[index].laid = r.layout, true
	return nil
}

// sheetReader reads one sheet.
type sheetReader struct {
	*scanner
	ctx      context.Context
	workbook *Workbook
	limits   grid.Limits
	shared   []string
	yield    func(grid.Row) bool
	layout   grid.Sheet

	row   int  // the number of the row being read, or of the last one
	done  bool // all rows are read
	cells []grid.Cell
	spans []span // where the text of each cell stands in text
	text  []byte // the texts of the row that are not shared
	lent  int64  // bytes of the texts of the row that are shared
	told  int64  // bytes of the texts of all rows
	slow  bool   // take every cell tag by tag
}

// span is where a cell's text stands in the text of the row; a negative start means that it is
// shared.
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
			if r.yield == nil {
				err = r.skip()
			} else {
				err = r.readRows()
			}
			r.done = err == nil
		case "mergeCells":
			err = r.readMerged()
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
				hidden = isTrue(value)
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
		if err := r.ctx.Err(); err != nil {
			return err
		}
		if !r.yield(grid.Row{Number: number, Hidden: hidden, Cells: r.cells}) {
			return errStopped
		}
	}
}

// readRow reads the cells of the row just started. The texts of a row are one string, and each cell
// has a slice of it.
func (r *sheetReader) readRow() error {
	r.cells, r.spans, r.text, r.lent = r.cells[:0], r.spans[:0], r.text[:0], 0
	column, sorted := 0, true
	for depth := r.depth(); ; {
		before := column
		if at, ok := r.quickCell(depth); ok {
			column = at
		} else {
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
		}
		sorted = sorted && column > before
		if n := int64(len(r.text)) + r.lent; n > r.limits.RowLength {
			return &grid.LimitError{Limit: "row", Value: n, Max: r.limits.RowLength}
		}
	}
	// A text that is shared unpacks as often as a cell names it.
	if r.told += int64(len(r.text)) + r.lent; r.told > r.limits.Expanded {
		return &grid.LimitError{Limit: "expanded", Value: r.told, Max: r.limits.Expanded}
	}
	text := string(r.text)
	for i, at := range r.spans {
		if at.start >= 0 {
			r.cells[i].Text = text[at.start:at.end]
		}
	}
	if !sorted {
		return r.sort()
	}
	return nil
}

// readCell reads the cell just started, which follows a cell in the given column, and returns its
// own column.
func (r *sheetReader) readCell(column int) (int, error) {
	column++
	var st style
	kind := byte('n')
	for {
		key, value, err := r.attr()
		if err != nil {
			return column, err
		}
		if key == nil {
			break
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
				st = r.workbook.styles[i]
			}
		case 't':
			if kind, err = cellType(value); err != nil {
				return column, err
			}
		}
	}
	if int64(column) > r.limits.Columns || column > grid.MaxColumns {
		return column, &grid.LimitError{Limit: "columns", Value: int64(column), Max: min(r.limits.Columns, grid.MaxColumns)}
	}
	start := len(r.text)
	formula, valued, inline := false, false, false
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if err != nil {
			return column, r.inCell(column, err)
		}
		if !ok {
			break
		}
		switch string(r.name) {
		case "v":
			valued = true
			if !inline {
				r.text, err = appendElement(r.text[:start], start, r.scanner, r.limits.CellLength)
			}
		case "is":
			if kind == 'i' {
				inline = true
				r.text, err = appendRich(r.text[:start], r.scanner, r.limits.CellLength)
			}
		case "f":
			formula = true
		}
		if err != nil {
			return column, r.inCell(column, err)
		}
	}
	return column, r.add(column, kind, st, start, formula, valued)
}

// add adds a cell whose text stands in the text of the row from start on.
func (r *sheetReader) add(column int, kind byte, st style, start int, formula, valued bool) error {
	c := grid.Cell{Column: column, Formula: formula, Format: st.format}
	at := span{start, len(r.text)}
	raw := r.text[start:]
	switch kind {
	case 's':
		raw = bytes.TrimSpace(raw)
		if len(raw) > 0 {
			i, ok := number(raw)
			if !ok || i >= len(r.shared) {
				return r.inCell(column, fmt.Errorf("shared text %.20q is wanted, and there are %d: the file is damaged", raw, len(r.shared)))
			}
			c.Kind, c.Text = grid.Text, r.shared[i]
			r.lent += int64(len(c.Text))
		}
		r.text = r.text[:start]
		at = span{-1, len(c.Text)}
	case 'i', 't':
		c.Kind = grid.Text
		at.end = start + len(unescape(raw))
		r.text = r.text[:at.end]
	default:
		trimmed := raw
		if len(raw) > 0 && (isBlank(raw[0]) || isBlank(raw[len(raw)-1])) {
			at.start += len(raw) - len(bytes.TrimLeft(raw, " \t\r\n"))
			trimmed = bytes.Trim(raw, " \t\r\n")
			at.end = at.start + len(trimmed)
		}
		switch {
		case kind == 'b':
			c.Kind = grid.Bool
		case kind == 'e':
			c.Kind = grid.Error
		case kind == 'd':
			c.Kind = grid.Date
		case !isNumber(trimmed):
			c.Kind = grid.Text
		case st.date:
			c.Kind = grid.Date
		default:
			c.Kind = grid.Number
		}
	}
	if at.start < 0 && at.end == 0 || at.start >= 0 && at.end <= at.start {
		if !formula || valued {
			return nil
		}
		c.Kind, at = grid.Empty, span{-1, 0}
	}
	r.cells = append(r.cells, c)
	r.spans = append(r.spans, at)
	return nil
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

// isNumber is grid.IsNumber with a short way for the most common case.
func isNumber(b []byte) bool {
	if _, ok := number(b); ok {
		return true
	}
	return grid.IsNumber(string(b))
}
