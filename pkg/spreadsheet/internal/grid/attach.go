package grid

import (
	"cmp"
	"slices"
)

// attached is what a file says of a cell elsewhere than in the cell: comments, links, the range that it is the
// first of.
type attached struct {
	row, column int
	more        More
}

// Attach adds to a cell of the sheet, whether it holds a value or not.
func (l *Layout) Attach(row, column int, m More) {
	l.attached = append(l.attached, attached{row, column, m})
}

// Merge adds a merged range.
func (l *Layout) Merge(r Range) {
	l.Merged = append(l.Merged, r)
	l.Attach(r.FirstRow, r.FirstColumn, More{Merged: r})
}

// settle brings ranges and what is attached in order.
func (l *Layout) settle() {
	slices.SortStableFunc(l.attached, func(a, b attached) int {
		return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.column, b.column))
	})
	slices.SortStableFunc(l.Merged, func(a, b Range) int { return cmp.Compare(a.FirstRow, b.FirstRow) })
	l.reach = make([]int, len(l.Merged))
	last := 0
	for i, r := range l.Merged {
		last = max(last, r.LastRow)
		l.reach[i] = last
	}
}

// MergedAt returns the merged range that holds a cell.
func (l *Layout) MergedAt(column, row int) (Range, bool) {
	end, _ := slices.BinarySearchFunc(l.Merged, row+1, func(r Range, row int) int { return cmp.Compare(r.FirstRow, row) })
	for i := end - 1; i >= 0 && l.reach[i] >= row; i-- {
		if l.Merged[i].Contains(column, row) {
			return l.Merged[i], true
		}
	}
	return Range{}, false
}

// attacher puts what is attached on the cells of rows that pass, and makes rows and cells for what stands on
// none.
type attacher struct {
	left  []attached
	yield func(Row) bool
}

// row takes the next row, and returns false if no more is wanted.
func (a *attacher) row(row Row) bool {
	if !a.before(row.Number) {
		return false
	}
	n := 0
	for n < len(a.left) && a.left[n].row == row.Number {
		n++
	}
	if n > 0 {
		row.Cells = attach(slices.Clone(row.Cells), a.left[:n])
		a.left = a.left[n:]
	}
	return a.yield(row)
}

// before hands over the rows before the one with the given number that hold nothing but what is attached.
func (a *attacher) before(number int) bool {
	for len(a.left) > 0 && a.left[0].row < number {
		row := Row{Number: a.left[0].row}
		n := 0
		for n < len(a.left) && a.left[n].row == row.Number {
			n++
		}
		row.Cells = attach(nil, a.left[:n])
		a.left = a.left[n:]
		if len(row.Cells) > 0 && !a.yield(row) {
			return false
		}
	}
	return true
}

// attach adds to the cells of a row. A range alone makes no cell.
func attach(cells []Cell, list []attached) []Cell {
	for _, x := range list {
		i, found := slices.BinarySearchFunc(cells, x.column, func(c Cell, n int) int { return cmp.Compare(c.Column, n) })
		if !found {
			if len(x.more.Comments)+len(x.more.Links)+len(x.more.Pictures) == 0 {
				continue
			}
			cells = slices.Insert(cells, i, Cell{Column: x.column})
		}
		m := cells[i].Extra()
		m.Comments = append(slices.Clip(m.Comments), x.more.Comments...)
		m.Links = append(slices.Clip(m.Links), x.more.Links...)
		m.Pictures = append(slices.Clip(m.Pictures), x.more.Pictures...)
		if x.more.Merged != (Range{}) {
			m.Merged = x.more.Merged
		}
		cells[i].More = &m
	}
	return cells
}
