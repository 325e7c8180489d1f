package table

import (
	"fmt"
	"io"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

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
	b.Sheets = grid.NewSheets(make([]grid.Sheet, 1), 0, func(_ int, yield func(grid.Row) bool) (grid.Layout, error) {
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
