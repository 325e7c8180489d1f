package grid

import "fmt"

// Limits bound what a reader takes from a file that a stranger may have made. A member that is 0 has
// the default named beside it; a negative one lifts that limit.
type Limits struct {
	// Bytes is the size of the file in bytes: 512 MiB.
	Bytes int64
	// Expanded is the number of bytes that all parts of a workbook read so far have unpacked to:
	// 512 MiB.
	Expanded int64
	// Ratio is how many times larger than its packed form a part of a workbook may unpack to: 200.
	// It is not asked of the first 4 MiB.
	Ratio int64
	// Rows is the highest row number: 1,048,576.
	Rows int64
	// Columns is the highest column number: 16,384.
	Columns int64
	// CellLength is the length of the text of one cell in bytes: 1 MiB.
	CellLength int64
	// RowLength is the length of all texts of one row together in bytes: 8 MiB.
	RowLength int64
	// Entries is the number of files packed in a workbook: 10,000.
	Entries int64
	// SharedStrings is the number of texts in the shared list of a workbook: 10,000,000.
	SharedStrings int64
}

const unlimited = 1<<63 - 1

// WithDefaults returns the limits with every 0 replaced by its default and every negative member by
// the largest number.
func (l Limits) WithDefaults() Limits {
	set := func(member *int64, def int64) {
		switch {
		case *member == 0:
			*member = def
		case *member < 0:
			*member = unlimited
		}
	}
	set(&l.Bytes, 512<<20)
	set(&l.Expanded, 512<<20)
	set(&l.Ratio, 200)
	set(&l.Rows, MaxRows)
	set(&l.Columns, MaxColumns)
	set(&l.CellLength, 1<<20)
	set(&l.RowLength, 8<<20)
	set(&l.Entries, 10_000)
	set(&l.SharedStrings, 10_000_000)
	return l
}

// LimitError says that a file went over one of the [Limits].
type LimitError struct {
	// Limit is the name of the member of Limits.
	Limit string
	// Value is what was found; reading stops early, so it can be less than the whole.
	Value int64
	// Max is what was allowed.
	Max int64
}

// Error names the limit in words and gives both figures.
func (e *LimitError) Error() string {
	words := map[string]string{
		"Bytes":         "the file has %d bytes or more, and %d is the most that is read",
		"Expanded":      "the workbook unpacks to %d bytes or more, and %d is the most that is read",
		"Ratio":         "a part of the workbook unpacks to %d times its packed size or more, and %d times is the most that is read: such a file was not written by a spreadsheet",
		"Rows":          "row %d is beyond the last row that is read, %d",
		"Columns":       "column %d is beyond the last column that is read, %d",
		"CellLength":    "the text of one cell has %d bytes or more, and %d is the most that is read",
		"RowLength":     "the text of one row has %d bytes or more, and %d is the most that is read",
		"Entries":       "the workbook is made of %d files or more, and %d is the most that is read",
		"SharedStrings": "the workbook lists %d shared texts or more, and %d is the most that is read",
	}
	if w, ok := words[e.Limit]; ok {
		return fmt.Sprintf(w, e.Value, e.Max)
	}
	return fmt.Sprintf("%s is %d or more, and %d is the most that is read", e.Limit, e.Value, e.Max)
}
