// Package grid is the shape in which every file of rows is handed over, whatever its format: a [Book] of
// sheets, opened once, each with its rows in order and with everything that a cell says.
//
//	for _, s := range book.Sheets {
//		head, err := s.Head(30)            // a look ahead
//		for row, err := range s.Rows() {   // from the first row, as often as wanted
//
// # Memory
//
// Rows of a sheet of usual size are read once and stay in memory; a large sheet is read again for each pass.
// A Row and its Cells are valid until the next row is asked for, and must not be changed; the strings in a
// cell, and its More, may be kept.
//
// # Terms
//
// A literal is the text of a number as the file stores it. A serial is a day number, the way spreadsheets
// store dates. A format code says how a number is to be shown, such as 0.00 or d/m/yyyy.
package grid

import (
	"strconv"

	"github.com/findslip/findslip/pkg/limit"
)

// Kind says what sort of value a cell holds.
type Kind uint8

// The kinds of cells. The zero value is Empty.
const (
	// Empty is a cell without a value: one with a comment, a link or a formula without a result.
	Empty Kind = iota
	// Text is text, as typed.
	Text
	// Number is a number.
	Number
	// Date is a day, with or without a time of day, or a part of a day that its format shows.
	Date
	// Time is a time of day or an elapsed time, without a day.
	Time
	// Bool is a truth value.
	Bool
	// Error is a failed formula; the text is the code, such as #N/A.
	Error
)

// String returns the name of the kind in lower case.
func (k Kind) String() string {
	names := [...]string{"empty", "text", "number", "date", "time", "bool", "error"}
	if int(k) < len(names) {
		return names[k]
	}
	return "kind " + strconv.Itoa(int(k))
}

// Precision says what part of a date a cell shows.
type Precision uint8

// The precisions of a date. Of all other cells it is Unstated.
const (
	Unstated Precision = iota
	Year               // 2024
	Month              // May-24
	Day                // 12/05/2024
	NoYear             // 12-May: the year is stored, but not shown
	Minute             // with hours, and minutes if need be
	Second
)

// Cell is one cell of a row. The zero value is an empty cell in no column.
type Cell struct {
	// Column is the column, 1 for A.
	Column int
	// Kind says how to take the value.
	Kind Kind
	// Precision is the part of a date that is shown.
	Precision Precision
	// Struck is set for a cell of which all is struck through.
	Struck bool
	// Text is what the cell shows to a person, except that no digit of a number is rounded away: 12.50 g,
	// 00042, 50%, May-24, TRUE, #N/A. A date whose look depends on the country of whoever looks is in
	// ISO 8601.
	Text string
	// Value is the value without its dress: of a number its decimals with a point, without the noise of
	// binary fractions; of a date ISO 8601, no more precise than it is shown (2024-05 for May-24; the
	// whole day for NoYear); of a truth value true or false; of anything else the text.
	Value string
	// Raw is the value as the file stores it: the literal, or the serial of a date.
	Raw string
	// Format is how a number is to be shown; nil for the general format and in plain text files.
	Format *Format
	// More is what few cells have; nil if there is none of it. Extra returns it.
	More *More
}

// More is what few cells have beside their value.
type More struct {
	// Formula is the formula without its equals sign, in the words of the file; empty if the cell has none.
	Formula string
	// Worked is set if the file has no result of the formula and the value was worked out here. Without it,
	// the kind is Empty for a formula that could not be worked out.
	Worked bool
	// Comments are the notes on the cell, oldest first.
	Comments []Comment
	// Links are where the cell leads to, as they stand in the file.
	Links []string
	// Merged is the range that the cell is the first of; the zero value if it is not merged.
	Merged Range
	// Pictures are the names of pictures on the cell, as the file has them.
	Pictures []string
}

// Comment is a note on a cell.
type Comment struct {
	Author string // may be empty
	Text   string
}

// Extra returns what few cells have; all of it is empty for the others.
func (c Cell) Extra() More {
	if c.More == nil {
		return More{}
	}
	return *c.More
}

// Ref returns the reference of the cell in the row with the given number, such as D7.
func (c Cell) Ref(row int) string {
	return ColumnName(c.Column) + strconv.Itoa(row)
}

// Row is one row that holds something. Rows without any cell are not handed over, they only count.
type Row struct {
	// Number is the row's own number in the sheet, 1-based. In a text file it is the number of the
	// record as a spreadsheet that opened the file would show it, blank lines included.
	Number int
	// Line is the line of a text file on which the row begins, 1-based; 0 in a workbook.
	Line int
	// Hidden is set for a row that the sheet does not show, whether by hand or by a filter.
	Hidden bool
	// Struck is set for a row in which all, or in a workbook most, that is written is struck through.
	Struck bool
	// Doubt says in a sentence why the cells of this row may not stand where they belong, as when a
	// quotation mark swallowed a part; empty for nearly all rows.
	Doubt string
	// Cells are the cells in ascending order of columns.
	Cells []Cell
}

// Cell returns the cell in the given column (1 for A), or an empty cell of that column.
func (r Row) Cell(column int) Cell {
	low, high := 0, len(r.Cells)
	for low < high {
		middle := int(uint(low+high) >> 1)
		if r.Cells[middle].Column < column {
			low = middle + 1
		} else {
			high = middle
		}
	}
	if low < len(r.Cells) && r.Cells[low].Column == column {
		return r.Cells[low]
	}
	return Cell{Column: column}
}

// Limits bound what a reader takes from a file that a stranger may have made.
type Limits = limit.Limits

// LimitError says that a file went over one of the [Limits].
type LimitError = limit.Error
