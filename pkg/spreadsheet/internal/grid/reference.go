package grid

import (
	"fmt"
	"strconv"
	"strings"
)

// The extent of a sheet in the open workbook format: 16,384 columns (A to XFD) and 1,048,576 rows.
const (
	MaxColumns = 16384
	MaxRows    = 1048576
)

// ColumnName returns the letters of a column: A for 1, Z for 26, AA for 27. It returns an empty text
// for numbers below 1.
func ColumnName(n int) string {
	var letters [16]byte
	at := len(letters)
	for n > 0 {
		n--
		at--
		letters[at] = byte('A' + n%26)
		n /= 26
	}
	return string(letters[at:])
}

// ParseRef reads a cell reference such as D7, d7 or $D$7 into column and row, both 1-based. It accepts
// columns to XFD and rows to 1,048,576.
func ParseRef(s string) (column, row int, err error) {
	at := 0
	if at < len(s) && s[at] == '$' {
		at++
	}
	letters := at
	for at < len(s) {
		c := s[at] | 0x20
		if c < 'a' || c > 'z' {
			break
		}
		column = column*26 + int(c-'a') + 1
		if column > MaxColumns {
			return 0, 0, refError(s)
		}
		at++
	}
	if at == letters {
		return 0, 0, refError(s)
	}
	if at < len(s) && s[at] == '$' {
		at++
	}
	digits := at
	for at < len(s) {
		c := s[at]
		if c < '0' || c > '9' {
			return 0, 0, refError(s)
		}
		row = row*10 + int(c-'0')
		if row > MaxRows {
			return 0, 0, refError(s)
		}
		at++
	}
	if at == digits || row == 0 {
		return 0, 0, refError(s)
	}
	return column, row, nil
}

func refError(s string) error {
	const long = 40
	if len(s) > long {
		s = strings.ToValidUTF8(s[:long], "") + "..."
	}
	return fmt.Errorf("%q is not a cell: a column from A to XFD and a row from 1 to 1048576 are expected, such as D7", s)
}

// Range is a rectangle of cells, both corners included, counted from 1. The zero value holds no cell.
type Range struct {
	FirstColumn, FirstRow, LastColumn, LastRow int
}

// ParseRange reads a range such as A1:C3; a single cell is a range of one. The corners may come in
// any order.
func ParseRange(s string) (Range, error) {
	first, last, two := strings.Cut(s, ":")
	if !two {
		last = first
	}
	var r Range
	var err error
	if r.FirstColumn, r.FirstRow, err = ParseRef(first); err != nil {
		return Range{}, err
	}
	if r.LastColumn, r.LastRow, err = ParseRef(last); err != nil {
		return Range{}, err
	}
	if r.FirstColumn > r.LastColumn {
		r.FirstColumn, r.LastColumn = r.LastColumn, r.FirstColumn
	}
	if r.FirstRow > r.LastRow {
		r.FirstRow, r.LastRow = r.LastRow, r.FirstRow
	}
	return r, nil
}

// String returns the range as A1:C3, or one reference when it is a single cell.
func (r Range) String() string {
	first := ColumnName(r.FirstColumn) + strconv.Itoa(r.FirstRow)
	last := ColumnName(r.LastColumn) + strconv.Itoa(r.LastRow)
	if first == last {
		return first
	}
	return first + ":" + last
}

// Contains reports whether the cell in the given column and row lies in the range.
func (r Range) Contains(column, row int) bool {
	return r.FirstColumn <= column && column <= r.LastColumn && r.FirstRow <= row && row <= r.LastRow
}
