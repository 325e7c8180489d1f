// Package door opens files of rows, whatever they are and whatever their name says.
//
//	book, err := door.Open(file, size, door.Options{Name: "season.xlsx"})
//
// The first bytes of a file tell what it is. A file that cannot be read is named for what it is, with what to
// do instead, in an [*Error].
package door

import (
	"io"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/workbook"
)

// Options say what is known of a file. The zero value leaves everything to be found out.
type Options struct {
	Name     string // of the file; only to say so if it promises something else
	Encoding string // of a text file
	Limits   grid.Limits
}

// Open opens a file of the given size in bytes. The reader must stay open as long as the book is used.
func Open(r io.ReaderAt, size int64, o Options) (*grid.Book, error) {
	head := make([]byte, 4)
	n, err := r.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return nil, err
	}
	if string(head[:n]) == "PK\x03\x04" {
		return openArchive(r, size, o)
	}
	return table.OpenBook(io.NewSectionReader(r, 0, size), table.Options{Encoding: o.Encoding, Limits: o.Limits})
}

// openArchive opens a zip archive by what is in it.
func openArchive(r io.ReaderAt, size int64, o Options) (*grid.Book, error) {
	if workbook.IsODS(r, size) {
		return workbook.OpenODS(r, size, o.Limits)
	}
	return workbook.OpenXLSX(r, size, o.Limits)
}
