// Package door opens files of rows, whatever they are and whatever their name says.
//
//	book, err := door.Open(file, size, door.Options{Name: "season.xlsx"})
//
// The first bytes of a file tell what it is. A file that cannot be read is named for what it is, with what to
// do instead.
package door

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/workbook"
)

// Options say what is known of a file. The zero value leaves everything to be found out.
type Options struct {
	Name     string // of the file; only to say so if it promises something else
	Encoding string // of a text file
	Limits   grid.Limits
	// Known reports whether a word, in lower case, is one of those that logs of finds are written in. With it
	// the encoding of a text is told from others by its words.
	Known func(word string) bool
}

var (
	errEmpty  = errors.New("is empty: the file has no bytes")
	errOldXLS = errors.New("is a workbook of the old kind (.xls, from before 2007): open it in a spreadsheet program " +
		"and save it as .xlsx")
	errLocked = errors.New("is protected by a password: open it with the password and save it without one")
	errOther  = errors.New("is a document of an older office program: open it in its program and save the table as .xlsx")
	errXML    = errors.New("is an XML spreadsheet of 2003: open it in a spreadsheet program and save it as .xlsx")
)

// Open opens a file of the given size in bytes. The reader must stay open as long as the book is used.
func Open(r io.ReaderAt, size int64, o Options) (*grid.Book, error) {
	head := make([]byte, min(max(size, 0), 1024))
	n, err := r.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return nil, err
	}
	head = head[:n]
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n"))
	has := func(marks ...string) bool {
		for _, m := range marks {
			if bytes.HasPrefix(head, []byte(m)) {
				return true
			}
		}
		return false
	}
	text2003 := bytes.HasPrefix(text, []byte("<?xml")) && bytes.Contains(text,
		[]byte("urn:schemas-microsoft-com:office:spreadsheet"))
	switch {
	case len(head) == 0:
		return nil, errEmpty
	case has("PK\x03\x04", "PK\x05\x06", "PK\x07\x08"):
		return o.archive(r, size)
	case has("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
		return nil, compound(r, size)
	case has("\x09\x00\x04\x00", "\x09\x02\x06\x00", "\x09\x04\x06\x00", "\x09\x08"):
		return nil, errOldXLS
	case text2003:
		return nil, errXML
	case IsPage(text):
		book, err := table.OpenPage(io.NewSectionReader(r, 0, size), o.table())
		return o.named(book, "a web page", err, ".html", ".htm")
	}
	book, err := table.OpenBook(io.NewSectionReader(r, 0, size), o.table())
	return o.named(book, "a text table", err, ".csv", ".tsv", ".tab", ".txt", "")
}

func (o *Options) table() table.Options {
	return table.Options{Encoding: o.Encoding, Limits: o.Limits, Known: o.Known}
}

// archive opens a zip archive by what is in it.
func (o *Options) archive(r io.ReaderAt, size int64) (*grid.Book, error) {
	if workbook.IsODS(r, size) {
		book, err := workbook.OpenODS(r, size, o.Limits)
		return o.named(book, "an OpenDocument spreadsheet", err, ".ods", ".ots", "")
	}
	if book, err := table.OpenPackage(r, size, o.table()); book != nil || err != nil {
		return book, err
	}
	book, err := workbook.OpenXLSX(r, size, o.Limits)
	return o.named(book, "a workbook", err, ".xlsx", ".xlsm", ".xltx", "")
}

// named notes that a file is something else than its name says.
func (o *Options) named(book *grid.Book, what string, err error, ends ...string) (*grid.Book, error) {
	if err != nil {
		return nil, err
	}
	end := strings.ToLower(path.Ext(o.Name))
	for _, e := range ends {
		if e == end {
			return book, nil
		}
	}
	if len(end) > 5 { // no name that tells of a format
		return book, nil
	}
	note := grid.Note{Code: grid.NoteForm,
		Text: fmt.Sprintf("the name ends in %s, and the file is %s; it was read as that", end, what)}
	book.Notes = append([]grid.Note{note}, book.Notes...)
	return book, nil
}

// IsPage reports whether a text, in lower case, begins as a web page or a table of one.
func IsPage(text []byte) bool {
	for _, begin := range []string{"<html", "<!doctype html", "<table", "<meta "} {
		if bytes.HasPrefix(text, []byte(begin)) {
			return true
		}
	}
	return bytes.HasPrefix(text, []byte("<")) && bytes.Contains(text, []byte("<html")) && !bytes.Contains(text,
		[]byte("<gpx"))
}

// compound says what a file of the older office programs is, by the names of the streams in it ([MS-CFB] 2.6.1).
func compound(r io.ReaderAt, size int64) error {
	wide := func(name string) []byte {
		var b []byte
		for _, c := range []byte(name) {
			b = append(b, c, 0)
		}
		return append(b, 0, 0)
	}
	const most = 16 << 20
	content, err := io.ReadAll(io.NewSectionReader(r, 0, min(size, most)))
	if err != nil {
		return err
	}
	switch {
	case bytes.Contains(content, wide("EncryptedPackage")):
		return errLocked
	case bytes.Contains(content, wide("Workbook")), bytes.Contains(content, wide("Book")):
		return errOldXLS
	}
	return errOther
}
