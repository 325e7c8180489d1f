package grid

import (
	"cmp"
	"errors"
	"iter"
	"slices"
	"strings"
)

// ErrStopped ends the reading of a sheet when nobody wants more rows.
var ErrStopped = errors.New("no more rows are wanted")

// Book is a file of sheets, opened once. It is used by one goroutine.
type Book struct {
	// Format is what the file is, whatever its name says: xlsx, ods, html, csv or text.
	Format string
	// Epoch is the date system of serials, 1900 or 1904; 0 where dates are no numbers.
	Epoch int
	// Sheets are the sheets in the order of their tabs, hidden ones included. A text file has one,
	// without a name.
	Sheets []*Sheet
	// Notes say what a person should know of the file as a whole.
	Notes []Note
}

// Note is something about a file, a sheet or a cell that a person should know.
type Note struct {
	Code NoteCode
	Text string // a sentence without a full stop
	Line int    // of a text file; 0 for none
	Cell string // such as D7; empty for none
}

// NoteCode is what a note is about.
type NoteCode string

// The codes of notes.
const (
	NoteForm     NoteCode = "form"     // how the file was taken: encoding, separator, what it is in truth
	NoteEncoding NoteCode = "encoding" // the encoding is in doubt
	NoteActive   NoteCode = "active"   // macros, or links to other files
	NoteQuotes   NoteCode = "quotes"   // quotation marks in doubt, once a file
	NoteEnd      NoteCode = "end"      // an end of file sign was left out
	NotePart     NoteCode = "part"     // a part of the file that could not be read, and is not among the rows
)

// Sheet is one sheet of a book.
type Sheet struct {
	Comma string // what stands between the cells of a text table
	// Name is the name on the sheet's tab.
	Name string
	// Hidden is set for a sheet whose tab is not shown.
	Hidden bool

	read   func(yield func(Row) bool) (Layout, error)
	shelf  *shelf
	open   bool // some formula has no result
	tried  map[[2]int]bool
	looked bool
	whole  bool // kept holds all rows
	kept   []Row
	err    error // what ended the rows that are kept
	layout Layout
}

// Layout is what a sheet has beside its rows.
type Layout struct {
	// Merged are the merged ranges, by their first row. Only the first cell of a range holds a value.
	Merged []Range
	// HiddenColumns are the columns that are not shown, ascending, 1 for A.
	HiddenColumns []int
	// FrozenRows is the number of rows that stay in view at the top, usually the headings.
	FrozenRows int
	// FrozenColumns is the number of columns that stay in view at the left.
	FrozenColumns int
	// Texts are those that stand outside the cells.
	Texts []FreeText
	// Pictures lie on the sheet.
	Pictures []Picture
	// Notes are about the sheet.
	Notes []Note

	attached []attached
	reach    []int // by merged range: the last row of it and of all before it
}

// FreeText is a text outside the cells: of a text box, a header or a footer.
type FreeText struct {
	Cell string // where the upper left corner lies; empty for a header or footer
	Text string
}

// Picture is a picture that lies on a sheet.
type Picture struct {
	Cell  string // where its upper left corner lies
	Name  string // of the file in the archive
	Title string // what its alternative text says
}

// keptBytes is how much of a book stays in memory, as far as its cells cost it: enough for some thousand
// rows, which is more than most logs have.
const keptBytes = 8 << 20

// headRows are kept of every sheet, however large.
const headRows = 100

// cellBytes is about what a cell costs beside its text.
const cellBytes = 120

// NewSheets returns sheets that read themselves when they are first asked. Read hands a sheet's rows to
// yield until that returns false; it then returns ErrStopped, and otherwise the layout.
func NewSheets(names []Sheet, epoch int, read func(index int, yield func(Row) bool) (Layout, error)) []*Sheet {
	shared := &shelf{budget: keptBytes, epoch: epoch, sheets: make([]*Sheet, len(names))}
	for i, s := range names {
		shared.sheets[i] = &Sheet{Name: s.Name, Hidden: s.Hidden, Comma: s.Comma, shelf: shared,
			read: func(yield func(Row) bool) (Layout, error) { return read(i, yield) }}
	}
	return shared.sheets
}

// Rows returns the rows of the sheet from the first on. It may be ranged over more than once. The last pair
// holds the error, if reading failed; rows before it are good.
func (s *Sheet) Rows() iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		s.look()
		if s.whole {
			for _, row := range s.kept {
				if !yield(row, nil) {
					return
				}
			}
			if s.err != nil {
				yield(Row{}, s.err)
			}
			return
		}
		s.stream(yield)
	}
}

// stream reads a large sheet from its beginning.
func (s *Sheet) stream(yield func(Row, error) bool) {
	stopped := false
	a := attacher{s.layout.attached, func(row Row) bool {
		stopped = stopped || !yield(row, nil)
		return !stopped
	}}
	if s.open {
		w := window{sheet: s, yield: a.yield}
		a.yield = w.row
	}
	layout, err := s.read(a.row)
	switch {
	case stopped:
	case err != nil:
		yield(Row{}, err)
	case a.before(MaxRows + 1):
		layout.settle()
		s.layout = layout
	}
}

// Head returns the first rows that hold something, at most n. They may be kept.
func (s *Sheet) Head(n int) ([]Row, error) {
	s.look()
	if len(s.kept) >= n {
		return s.kept[:n:n], nil
	}
	return s.kept, s.err
}

// Layout returns what the sheet has beside its rows. Of a large sheet, the merged ranges and links that
// stand behind the rows are known once all rows were read; until then, and without any error, they are
// left out.
func (s *Sheet) Layout() (Layout, error) {
	s.look()
	return s.layout, s.err
}

// Large reports whether the sheet is read again for each pass.
func (s *Sheet) Large() bool {
	s.look()
	return !s.whole
}

// look reads the sheet into memory, or as much of it as there is room for.
func (s *Sheet) look() {
	if s.looked {
		return
	}
	s.looked = true
	own := int64(0)
	layout, err := s.read(func(row Row) bool {
		cost := int64(0)
		for _, c := range row.Cells {
			cost += cellBytes + int64(len(c.Text))
		}
		if own+cost > s.shelf.budget && len(s.kept) >= headRows || own > keptBytes {
			return false
		}
		own += cost
		row.Cells = slices.Clone(row.Cells)
		s.kept = append(s.kept, row)
		return true
	})
	s.layout = layout
	s.layout.settle()
	if err == ErrStopped {
		s.kept = s.kept[:min(headRows, len(s.kept))]
	} else {
		s.err, s.whole = err, true
		s.shelf.budget -= own
	}
	rows := s.kept
	s.kept = make([]Row, 0, len(rows))
	a := attacher{s.layout.attached, func(row Row) bool {
		s.kept = append(s.kept, row)
		return true
	}}
	for _, row := range rows {
		a.row(row)
	}
	if s.whole {
		a.before(MaxRows + 1)
	}
	s.workOut()
}

// Day returns the day that the number of a cell is in the date system of the book, of the years in which people
// keep such logs; empty for any other.
func (s *Sheet) Day(c Cell) string {
	iso, ok := DateParts(c.Raw, s.shelf.epoch == 1904)
	if day, clock, _ := strings.Cut(iso, "T"); ok && strings.Trim(clock, "0:") == "" && day > "1950" && day < "2100" {
		return day
	}
	return ""
}

// shelf is what the sheets of a book share.
type shelf struct {
	sheets []*Sheet
	epoch  int
	budget int64 // bytes of cells that may still be kept
	visits int   // cells that formulas have looked at
}

// visit counts the cells that formulas look at, which a hostile file could make without number.
func (s *shelf) visit() error {
	if s.visits++; s.visits > mostVisits {
		return errUnworked
	}
	return nil
}

// find returns the sheet of a name, as formulas write it, if it is in memory.
func (s *shelf) find(name string) (*Sheet, error) {
	for _, other := range s.sheets {
		if strings.EqualFold(other.Name, name) {
			if other.look(); other.whole && other.err == nil {
				return other, nil
			}
		}
	}
	return nil, errUnworked
}

// isOpen reports whether a cell has a formula without a result.
func isOpen(c *Cell) bool {
	return c.Kind == Empty && c.More != nil && c.More.Formula != "" && !c.More.Worked
}

// workOut works out the formulas without a result of a sheet in memory.
func (s *Sheet) workOut() {
	for i := range s.kept {
		for j := range s.kept[i].Cells {
			if c := &s.kept[i].Cells[j]; isOpen(c) {
				s.open = true
				if s.whole {
					s.work(c, s.kept[i].Number, 0)
				}
			}
		}
	}
}

// work works one cell out, once; a cell that comes back to itself stays without a value.
func (s *Sheet) work(c *Cell, row, depth int) {
	at := [2]int{row, c.Column}
	if s.tried[at] {
		return
	}
	if s.tried == nil {
		s.tried = map[[2]int]bool{}
	}
	s.tried[at] = true
	if v, err := workOut(c.More.Formula, s, depth+1); err == nil {
		*c = v.result(*c, s.shelf.epoch)
	}
}

func (s *Sheet) cell(sheet string, column, row, depth int) (Cell, error) {
	if err := s.shelf.visit(); err != nil {
		return Cell{}, err
	}
	if sheet != "" && !strings.EqualFold(sheet, s.Name) {
		other, err := s.shelf.find(sheet)
		if err != nil {
			return Cell{}, err
		}
		return other.cell("", column, row, depth)
	}
	i, found := s.rowAt(row)
	if !found {
		return Cell{Column: column}, nil
	}
	cells := s.kept[i].Cells
	j, found := slices.BinarySearchFunc(cells, column, func(c Cell, n int) int { return cmp.Compare(c.Column, n) })
	if !found {
		return Cell{Column: column}, nil
	}
	if isOpen(&cells[j]) {
		s.work(&cells[j], row, depth)
	}
	return cells[j], nil
}

func (s *Sheet) rowAt(row int) (int, bool) {
	return slices.BinarySearchFunc(s.kept, row, func(r Row, n int) int { return cmp.Compare(r.Number, n) })
}

func (s *Sheet) each(sheet string, r Range, depth int, visit func(Cell)) error {
	if sheet != "" && !strings.EqualFold(sheet, s.Name) {
		other, err := s.shelf.find(sheet)
		if err != nil {
			return err
		}
		return other.each("", r, depth, visit)
	}
	i, _ := s.rowAt(r.FirstRow)
	for ; i < len(s.kept) && s.kept[i].Number <= r.LastRow; i++ {
		for j := range s.kept[i].Cells {
			c := &s.kept[i].Cells[j]
			if c.Column < r.FirstColumn || c.Column > r.LastColumn {
				continue
			}
			if err := s.shelf.visit(); err != nil {
				return err
			}
			if isOpen(c) {
				s.work(c, s.kept[i].Number, depth)
			}
			visit(*c)
		}
	}
	return nil
}

// window works out the formulas of a large sheet as its rows pass: those that refer to their own row and the
// one before it.
type window struct {
	sheet       *Sheet
	before, now Row
	yield       func(Row) bool
}

func (w *window) row(row Row) bool {
	row.Cells = slices.Clone(row.Cells)
	w.now = row
	for i := range row.Cells {
		if c := &row.Cells[i]; isOpen(c) {
			if v, err := workOut(c.More.Formula, w, 0); err == nil {
				*c = v.result(*c, w.sheet.shelf.epoch)
			}
		}
	}
	w.before = row
	return w.yield(row)
}

func (w *window) cell(sheet string, column, row, depth int) (Cell, error) {
	switch {
	case sheet != "" && !strings.EqualFold(sheet, w.sheet.Name):
		other, err := w.sheet.shelf.find(sheet)
		if err != nil {
			return Cell{}, err
		}
		return other.cell("", column, row, depth)
	case row == w.now.Number:
		return w.now.Cell(column), nil
	case row == w.before.Number:
		return w.before.Cell(column), nil
	case row < w.now.Number && row > w.before.Number:
		return Cell{Column: column}, nil
	}
	return Cell{}, errUnworked
}

func (w *window) each(sheet string, r Range, depth int, visit func(Cell)) error {
	if sheet != "" || r.FirstRow != w.now.Number || r.LastRow != w.now.Number {
		return errUnworked
	}
	for _, c := range w.now.Cells {
		if c.Column >= r.FirstColumn && c.Column <= r.LastColumn {
			visit(c)
		}
	}
	return nil
}
