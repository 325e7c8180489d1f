// Package table reads plain text tables, with commas, semicolons, tabs or bars between the fields, as
// a stream of rows in the shape of package grid.
//
//	book, err := table.OpenBook(file, table.Options{})
//
// What the file does not say is found out: the encoding by its byte order mark or by whether it is
// valid UTF-8, the separator by which one gives the first records the same number of fields. What
// was found, and what had to be tolerated, is in [Table.Notes].
//
// # Grammar
//
//	table  = [sep] *(record end) [record]
//	sep    = "sep=" separator end
//	record = field *(separator field)
//	field  = text / DQUOTE *(any / 2DQUOTE) DQUOTE
//	end    = LF / CR / CR LF
//
// This is RFC 4180, with other separators and line ends. A quotation mark inside a text, or inside a
// quoted field where neither a separator nor a line end follows, stands for itself. A quoted field that
// does not end, or that would swallow lines with as many fields as records have, is read to the end of
// its line, without its marks; a line that has the fields of a record only with another separator is read
// with that. Both are in doubt, and the row says so. Line ends inside quoted fields are read as line feeds.
// Blank lines hold no cells but count as rows, as they do for a spreadsheet. A last byte 0x1A, the end of
// file of old systems, is left out and noted.
package table

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// Options say what is known of a file before it is read. The zero value leaves everything to be found
// out.
type Options struct {
	// Encoding is the name of the encoding as web pages give it, such as utf-8, windows-1252 or
	// utf-16le. A byte order mark in the file has the last word.
	Encoding string
	// Comma is the separator, an ASCII character that is no quotation mark, line end or letter.
	Comma rune
	// Limits bound the file; Bytes, Rows, Columns, CellLength and RowLength are looked at.
	Limits grid.Limits
	// Known reports whether a word, in lower case, is one that logs of finds are written in; nil for none.
	Known func(word string) bool
}

// Note is something that was found out or tolerated.
type Note struct {
	// Line is the line it concerns, 1-based; 0 for the whole file.
	Line int
	// Text is a sentence without a full stop.
	Text string
}

// maxNotes is how many lone quotation marks are noted one by one.
const maxNotes = 20

// Table is an open text table. It is read once, and by one goroutine.
type Table struct {
	encoding string
	guess    guess // where the encoding was told by the words
	comma    byte
	quoted   bool // the marks of a mail were left out
	notes    []Note
	quotes   int // lone quotation marks met so far
	records  *records
}

// sample is how much of the file is looked at to find out its encoding and separator.
const sample = 64 << 10

// Open reads the beginning of a file and finds out its encoding and separator.
func Open(r io.Reader, o Options) (*Table, error) {
	limits := o.Limits.WithDefaults()
	if o.Comma != 0 && !isComma(o.Comma) {
		return nil, fmt.Errorf("the separator %q cannot be used: a comma, semicolon, tab, bar or another sign of ASCII is "+
			"expected", o.Comma)
	}
	source := bufio.NewReaderSize(&countingReader{r: r, max: limits.Bytes}, sample)
	head, err := source.Peek(sample)
	if err != nil && err != io.EOF {
		return nil, err
	}
	t := &Table{}
	text, err := t.decode(source, head, o.Encoding, o.Known)
	if err != nil {
		return nil, err
	}
	decoded := bufio.NewReaderSize(text, sample)
	// An error in the sample is met again, with its line, when the rows are read.
	start, peekErr := decoded.Peek(sample)
	if t.quoted = isQuoted(start); t.quoted {
		decoded = bufio.NewReaderSize(&lineReader{src: decoded, cut: withoutMark}, sample)
		start, peekErr = decoded.Peek(sample)
	}
	skipped, named := sepLine(start)
	if starts := aligned(start, peekErr == io.EOF); len(starts) > 2 && o.Comma == 0 && named == 0 {
		decoded = bufio.NewReaderSize(&lineReader{src: decoded,
			cut: func(line []byte) []byte { return withTabs(line, starts) }}, sample)
		start, peekErr = decoded.Peek(sample)
		t.notes = append(t.notes, Note{Text: "columns parted by blanks"})
		named = '\t'
	}
	t.comma = byte(o.Comma)
	switch {
	case o.Comma != 0:
		if named != 0 && named != t.comma {
			t.notes = append(t.notes, Note{Line: 1,
				Text: fmt.Sprintf("the first line names %s as the separator, but %s was asked for", commaName(named),
					commaName(t.comma))})
		}
	case named == '\t' && skipped == 0:
		t.comma = named
	case named != 0:
		t.comma = named
		t.notes = append(t.notes, Note{Line: 1,
			Text: fmt.Sprintf("the first line names %s as the separator", commaName(named))})
	default:
		var note string
		t.comma, note = findComma(start, peekErr == io.EOF)
		t.notes = append(t.notes, Note{Text: note})
	}
	lines := 0
	if skipped > 0 {
		if _, err := decoded.Discard(skipped); err != nil {
			return nil, err
		}
		lines = 1
	}
	t.records = newRecords(decoded, t.comma, limits)
	t.records.line = lines
	t.records.lone = t.loneQuote
	t.records.width = fieldsOf(start, peekErr == io.EOF, t.comma)
	return t, nil
}

// Notes returns what was found out when the file was opened and what was tolerated up to the row read
// last, in the order of lines.
func (t *Table) Notes() []Note {
	notes := append([]Note(nil), t.notes...)
	if t.quotes > maxNotes {
		notes = append(notes,
			Note{Text: fmt.Sprintf("%d quotation marks in all stand alone inside a field and were read as they are", t.quotes)})
	}
	return notes
}

func (t *Table) loneQuote(line int) {
	if t.quotes++; t.quotes <= maxNotes {
		t.notes = append(t.notes, Note{Line: line,
			Text: "a quotation mark stands alone inside a field and was read as it is"})
	}
}

// countingReader refuses a file that is too long.
type countingReader struct {
	r    io.Reader
	read int64
	max  int64
}

func (c *countingReader) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if c.read += int64(n); c.read > c.max {
		return 0, &grid.LimitError{Limit: "bytes", Value: c.read, Max: c.max}
	}
	return n, err
}

// OpenBook returns a text table as a book of one sheet, which has no name. The reader must stay open as long
// as the book is used.
func OpenBook(r io.ReadSeeker, o Options) (*grid.Book, error) {
	open := func() (*Table, error) {
		if _, err := r.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
		return Open(r, o)
	}
	t, err := open()
	if err != nil {
		return nil, err
	}
	b := &grid.Book{Format: "csv"}
	if t.quoted {
		b.Notes = append(b.Notes,
			grid.Note{Code: grid.NoteForm, Text: "the marks of a quoted mail before the lines were left out"})
	}
	if t.encoding != "utf-8" {
		b.Notes = append(b.Notes, grid.Note{Code: grid.NoteForm,
			Text: fmt.Sprintf("read as %s, separated by %s", t.encoding, separators(t.comma))})
	}
	if g := t.guess; g.name != "" && !g.sure {
		note := grid.Note{Code: grid.NoteEncoding, Text: fmt.Sprintf("the encoding is in doubt; it was read as %s", g.name)}
		if g.word != "" {
			note.Text += fmt.Sprintf(", with words such as %q", g.word)
		}
		b.Notes = append(b.Notes, note)
	}
	b.Sheets = grid.NewSheets([]grid.Sheet{{Comma: string(t.comma)}}, 0,
		func(_ int, yield func(grid.Row) bool) (grid.Layout, error) {
			t, err := open()
			if err != nil {
				return grid.Layout{}, err
			}
			err = t.each(yield)
			var layout grid.Layout
			if t.records.endMark {
				layout.Notes = append(layout.Notes, grid.Note{Code: grid.NoteEnd, Line: t.records.line,
					Text: "the file ends with the sign of an old end of file, which was left out"})
			}
			return layout, err
		})
	return b, nil
}

// each hands over the rows that hold a field with text.
func (t *Table) each(yield func(grid.Row) bool) error {
	for {
		row, err := t.records.next()
		if err != nil {
			if err == io.EOF {
				err = nil
			}
			return err
		}
		for i := range row.Cells {
			c := &row.Cells[i]
			c.Text = Unguard(held(c.Text))
			c.Value, c.Raw = c.Text, c.Text
		}
		if len(row.Cells) > 0 && !yield(row) {
			return grid.ErrStopped
		}
	}
}

func separators(comma byte) string {
	switch comma {
	case '\t':
		return "tabs"
	case ';':
		return "semicolons"
	case '|':
		return "bars"
	}
	return "commas"
}

// held returns the text of ="001", in which programs hold a text that looks like a number.
func held(s string) string {
	if len(s) >= 4 && s[0] == '=' && s[1] == '"' && s[len(s)-1] == '"' && strings.IndexByte(s[2:len(s)-1], '"') < 0 {
		return s[2 : len(s)-1]
	}
	return s
}

// Unguard takes off the apostrophe that keeps a spreadsheet from taking text for a formula.
func Unguard(s string) string {
	if len(s) >= 2 && s[0] == '\'' && (s[1] == '\'' || IsFormula(s[1:])) {
		return s[1:]
	}
	return s
}

// IsFormula reports whether a spreadsheet may take a text for a formula by its first sign: one of those of formulas,
// also in its full-width form, which East Asian programs take for the same (common practice, no source).
func IsFormula(s string) bool {
	for _, sign := range []string{"=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"} {
		if strings.HasPrefix(s, sign) {
			return true
		}
	}
	return false
}
