// Package grid is the shape in which every spreadsheet reader hands over what it has read: rows of
// sparse cells, each with the text as it was stored and the little that is known about it.
//
// The readers (packages xlsx and table) yield one Row at a time and use its Cells again for the next
// one, so whoever wants to keep a row copies the slice. The strings in a cell are never overwritten
// and may be kept.
//
// # Terms
//
// A literal is the text of a number as the file stores it, which is not always what a person saw:
// [Shown] gives that. A serial is a day number, the way spreadsheets store dates; [DateParts] reads
// it. A format code is the text that says how a number is to be shown, such as 0.00 or d/m/yyyy.
package grid

import "strconv"

// Kind says what sort of value a cell holds.
type Kind uint8

// The kinds of cells. The zero value is Empty.
const (
	// Empty is a cell without a value. Readers hand one over only for a formula whose result was
	// never stored.
	Empty Kind = iota
	// Text is text, as typed.
	Text
	// Number is a number; the cell's text is the literal as stored, with a point for the decimals.
	Number
	// Date is a date, a time or both; the cell's text is a serial, or an ISO 8601 date where the file
	// holds one.
	Date
	// Bool is a truth value, stored as 1 or 0.
	Bool
	// Error is a failed formula; the cell's text is the code, such as #N/A.
	Error
)

// String returns the name of the kind in lower case.
func (k Kind) String() string {
	switch k {
	case Empty:
		return "empty"
	case Text:
		return "text"
	case Number:
		return "number"
	case Date:
		return "date"
	case Bool:
		return "bool"
	case Error:
		return "error"
	}
	return "kind " + strconv.Itoa(int(k))
}

// Cell is one cell of a row. The zero value is an empty cell in no column.
type Cell struct {
	// Column is the column, 1 for A.
	Column int
	// Kind says how to take the text.
	Kind Kind
	// Formula is set when the value is the stored result of a formula.
	Formula bool
	// Text is the text, the literal of a number, or the serial of a date, as stored.
	Text string
	// Format is the number format code; it is empty for the general format and for plain text files.
	Format string
}

// Ref returns the reference of the cell in the row with the given number, such as D7.
func (c Cell) Ref(row int) string {
	return ColumnName(c.Column) + strconv.Itoa(row)
}

// Row is one row that holds something. Rows without any filled cell are not handed over, they only
// count.
type Row struct {
	// Number is the row's own number in the sheet, 1-based. In a text file it is the number of the
	// record as a spreadsheet that opened the file would show it, blank lines included.
	Number int
	// Line is the line of a text file on which the row begins, 1-based; 0 in a workbook.
	Line int
	// Hidden is set for a row that the sheet does not show, whether by hand or by a filter.
	Hidden bool
	// Cells are the filled cells in ascending order of columns. The slice is used again for the next
	// row.
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

// Sheet describes one sheet of a workbook.
type Sheet struct {
	// Name is the name on the sheet's tab.
	Name string
	// Hidden is set for a sheet whose tab is not shown.
	Hidden bool
	// Merged are the merged ranges, in the order of the file. Only the first cell of a range holds a
	// value.
	Merged []Range
	// HiddenColumns are the columns that are not shown, ascending, 1 for A.
	HiddenColumns []int
	// FrozenRows is the number of rows that stay in view at the top, usually the headings.
	FrozenRows int
	// FrozenColumns is the number of columns that stay in view at the left.
	FrozenColumns int
}
