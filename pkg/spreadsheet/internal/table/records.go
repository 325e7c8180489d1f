package table

import (
	"errors"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// records cuts UTF-8 text into records.
type records struct {
	src    io.Reader
	buf    []byte
	pos    int // start of what is unread
	end    int // end of what is unread
	err    error
	comma  byte
	plain  [256]bool // bytes that are neither comma, quotation mark, line end nor NUL
	limits grid.Limits
	lone   func(line int) // told of a quotation mark that stands alone

	number int  // of the record read last
	line   int  // the lines that have ended so far
	fields int  // of the record read last, empty ones included
	blank  bool // the record read last holds no text
	text   []byte
	spans  []span
	cells  []grid.Cell
}

// span is where a field with text stands in the text of the record.
type span struct{ column, start, end int }

func newRecords(src io.Reader, comma byte, limits grid.Limits) *records {
	r := &records{src: src, buf: make([]byte, sample), comma: comma, limits: limits, lone: func(int) {}}
	for c := range r.plain {
		r.plain[c] = true
	}
	for _, c := range []byte{comma, '"', '\r', '\n', 0} {
		r.plain[c] = false
	}
	return r
}

// fill reads on when all is read. It returns io.EOF at the end.
func (r *records) fill() error {
	for tries := 0; r.pos == r.end; tries++ {
		if r.err != nil {
			return r.err
		}
		if tries > 100 {
			r.err = io.ErrNoProgress
			return r.err
		}
		n, err := r.src.Read(r.buf)
		r.pos, r.end, r.err = 0, n, err
	}
	return nil
}

// peek returns the next byte, and false at the end or when reading failed.
func (r *records) peek() (byte, bool) {
	if r.pos == r.end && r.fill() != nil {
		return 0, false
	}
	return r.buf[r.pos], true
}

// next reads a record. Its cells are the fields with text.
func (r *records) next() (grid.Row, error) {
	r.text, r.spans, r.cells = r.text[:0], r.spans[:0], r.cells[:0]
	r.fields, r.blank = 0, true
	if _, ok := r.peek(); !ok {
		return grid.Row{}, r.err
	}
	first := r.line + 1
	if r.number++; int64(r.number) > r.limits.Rows {
		return grid.Row{}, fmt.Errorf("line %d: %w", first, &grid.LimitError{Limit: "rows", Value: int64(r.number), Max: r.limits.Rows})
	}
	for more := true; more; {
		var err error
		start := len(r.text)
		if c, ok := r.peek(); ok && c == '"' {
			more, err = r.quoted()
		} else {
			more, err = r.unquoted()
		}
		if err != nil {
			return grid.Row{}, err
		}
		if r.fields++; int64(r.fields) > r.limits.Columns {
			return grid.Row{}, fmt.Errorf("line %d: %w", first, &grid.LimitError{Limit: "columns", Value: int64(r.fields), Max: r.limits.Columns})
		}
		if len(r.text) > start {
			r.blank = false
			r.spans = append(r.spans, span{r.fields, start, len(r.text)})
		}
	}
	text := string(r.text)
	for _, s := range r.spans {
		r.cells = append(r.cells, grid.Cell{Column: s.column, Kind: grid.Text, Text: text[s.start:s.end]})
	}
	return grid.Row{Number: r.number, Line: first, Cells: r.cells}, nil
}

// run appends plain bytes, as many as there are.
func (r *records) run(start int) error {
	for {
		at := r.pos
		for at < r.end && r.plain[r.buf[at]] {
			at++
		}
		r.text = append(r.text, r.buf[r.pos:at]...)
		atEnd := at == r.end
		r.pos = at
		if err := r.check(start); err != nil || !atEnd {
			return err
		}
		if err := r.fill(); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// check watches the lengths of the field that begins at start and of the record.
func (r *records) check(start int) error {
	if n := int64(len(r.text) - start); n > r.limits.CellLength {
		return fmt.Errorf("line %d: %w", r.line+1, &grid.LimitError{Limit: "cell", Value: n, Max: r.limits.CellLength})
	}
	if n := int64(len(r.text)); n > r.limits.RowLength {
		return fmt.Errorf("line %d: %w", r.line+1, &grid.LimitError{Limit: "row", Value: n, Max: r.limits.RowLength})
	}
	return nil
}

// unquoted reads a field up to and with the separator or the line end, and reports whether another
// field follows.
func (r *records) unquoted() (more bool, err error) {
	start := len(r.text)
	for {
		if err := r.run(start); err != nil {
			return false, err
		}
		c, ok := r.peek()
		switch {
		case !ok:
			return false, r.failed()
		case c == r.comma:
			r.pos++
			return true, nil
		case c == '\r' || c == '\n':
			r.lineEnd()
			return false, nil
		case c == 0:
			return false, r.nul()
		default:
			r.lone(r.line + 1)
			r.text = append(r.text, c)
			r.pos++
		}
	}
}

// quoted reads a field that begins with a quotation mark, and reports whether another field follows.
func (r *records) quoted() (more bool, err error) {
	start, opened := len(r.text), r.line+1
	inside := func(err error) error {
		var limit *grid.LimitError
		if errors.As(err, &limit) {
			return fmt.Errorf("%w; a quotation mark was opened in line %d and may have no end", err, opened)
		}
		return err
	}
	r.pos++
	for {
		if err := r.run(start); err != nil {
			return false, inside(err)
		}
		c, ok := r.peek()
		switch {
		case !ok:
			if err := r.failed(); err != nil {
				return false, err
			}
			return false, fmt.Errorf("line %d: a quotation mark is opened and never closed: close it, or double it if it belongs to the text", opened)
		case c == '\r' || c == '\n':
			r.lineEnd()
			r.text = append(r.text, '\n')
		case c == 0:
			return false, r.nul()
		case c != '"': // the separator
			r.text = append(r.text, c)
			r.pos++
		default:
			r.pos++
			closed, more, err := r.afterQuote(start)
			if closed || err != nil {
				return more, err
			}
		}
	}
}

// afterQuote looks at what follows a quotation mark in a quoted field: another one, the end of the
// field, blanks before the end of the field, or text, to which the mark then belongs.
func (r *records) afterQuote(start int) (closed, more bool, err error) {
	mark := len(r.text)
	r.text = append(r.text, '"')
	for {
		c, ok := r.peek()
		switch {
		case !ok:
			r.text = r.text[:mark]
			return true, false, r.failed()
		case c == r.comma:
			r.text = r.text[:mark]
			r.pos++
			return true, true, nil
		case c == '\r' || c == '\n':
			r.text = r.text[:mark]
			r.lineEnd()
			return true, false, nil
		case c == '"' && len(r.text) == mark+1:
			r.pos++
			return false, false, nil
		case c == ' ' || c == '\t':
			r.text = append(r.text, c)
			r.pos++
			if err := r.check(start); err != nil {
				return false, false, err
			}
		default:
			r.lone(r.line + 1)
			return false, false, nil
		}
	}
}

// lineEnd passes over LF, CR or CR LF.
func (r *records) lineEnd() {
	c := r.buf[r.pos]
	r.pos++
	r.line++
	if c != '\r' {
		return
	}
	if next, ok := r.peek(); ok && next == '\n' {
		r.pos++
	}
}

// failed returns why nothing more can be read; nil at the end of the text.
func (r *records) failed() error {
	if r.err == io.EOF {
		return nil
	}
	return r.err
}

func (r *records) nul() error {
	return fmt.Errorf("line %d: there is a NUL byte, which no text holds: save the table as CSV in UTF-8, or name the encoding if it is UTF-16", r.line+1)
}
