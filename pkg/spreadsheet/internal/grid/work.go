package grid

import (
	"cmp"
	"slices"
	"strings"
)

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
