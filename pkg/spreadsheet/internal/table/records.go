package table

import (
	"bytes"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// records cuts UTF-8 text into records. It takes a line, and more lines as long as a quoted field is open. Where
// the quotation marks make no sense, because a person wrote them who meant inches or the line above, it reads the
// line without them and says so.
type records struct {
	src    io.Reader
	buf    []byte
	pos    int // start of what is unread
	end    int // end of what is unread
	err    error
	comma  byte
	width  int // fields that records have; 0 if that is not known
	limits grid.Limits
	lone   func(line int) // told of a quotation mark that stands alone

	number  int // of the record read last
	line    int // the lines that have ended so far
	fields  int // of the record read last, empty ones included
	blank   bool
	odd     bool   // a quotation mark of the record stands where it may belong to another
	doubt   string // why the record may have been read wrongly
	endMark bool   // the file ended with the sign of an old end of file
	text    []byte
	spans   []span
	cells   []grid.Cell
	ends    []int // of the lines of the record, from pos
}

// span is where a field with text stands in the text of the record.
type span struct{ column, start, end int }

// reading says how quotation marks are taken.
type reading uint8

const (
	quoting   reading = iota // as RFC 4180 has them
	dittos                   // one that is a whole field is itself, others quote
	literally                // all are themselves
)

func newRecords(src io.Reader, comma byte, limits grid.Limits) *records {
	return &records{src: src, buf: make([]byte, sample), comma: comma, limits: limits, lone: func(int) {}}
}

// more reads on. What is unread moves to the front of the buffer.
func (r *records) more() error {
	if r.err != nil {
		return r.err
	}
	if r.pos > 0 {
		r.end = copy(r.buf, r.buf[r.pos:r.end])
		r.pos = 0
	}
	if r.end == len(r.buf) {
		r.buf = append(r.buf, make([]byte, len(r.buf))...)
	}
	for range 100 {
		n, err := r.src.Read(r.buf[r.end:])
		r.end, r.err = r.end+n, err
		if n > 0 || err != nil {
			return nil
		}
	}
	r.err = io.ErrNoProgress
	return r.err
}

// rawLine finds the line that begins so many bytes after pos: where it ends, and where the next one begins. Its
// error is io.EOF if there is none.
func (r *records) rawLine(from int) (end, next int, err error) {
	for at := from; ; {
		unread := r.buf[r.pos:r.end]
		if i := bytes.IndexAny(unread[at:], "\r\n"); i >= 0 {
			end = at + i
			if unread[end] == '\n' {
				return end, end + 1, nil
			}
			for end+1 >= r.end-r.pos && r.err == nil { // CR, and LF may follow
				if err := r.more(); err != nil && err != io.EOF {
					return 0, 0, err
				}
			}
			if end+1 < r.end-r.pos && r.buf[r.pos+end+1] == '\n' {
				return end, end + 2, nil
			}
			return end, end + 1, nil
		}
		at = len(unread)
		if err := r.tooLong(unread[from:]); err != nil {
			return 0, 0, err
		}
		if err := r.more(); err == io.EOF {
			if len(unread) == from {
				return 0, 0, io.EOF
			}
			return at, at, nil
		} else if err != nil {
			return 0, 0, err
		}
	}
}

// tooLong watches the length of a line whose end has not come.
func (r *records) tooLong(line []byte) error {
	if n := int64(len(line)); n > r.limits.CellLength &&
		int64(len(line)-1-bytes.LastIndexByte(line, r.comma)) > r.limits.CellLength {
		return r.over("cell", n, r.limits.CellLength)
	}
	if n := int64(len(line)); n > r.limits.RowLength {
		return r.over("row", n, r.limits.RowLength)
	}
	return nil
}

func (r *records) over(limit string, n, most int64) error {
	return fmt.Errorf("line %d: %w", r.line+1, &grid.LimitError{Limit: limit, Value: n, Max: most})
}

// next reads a record. Its cells are the fields with text.
func (r *records) next() (grid.Row, error) {
	r.doubt = ""
	end, next, err := r.rawLine(0)
	if err != nil {
		return grid.Row{}, err
	}
	if end > 0 && r.buf[r.pos+end-1] == 0x1A && r.atEnd(next) {
		if end, r.endMark = end-1, true; end == 0 {
			return grid.Row{}, io.EOF
		}
	}
	first := r.line + 1
	if r.number++; int64(r.number) > r.limits.Rows {
		return grid.Row{}, r.over("rows", int64(r.number), r.limits.Rows)
	}
	r.ends = append(r.ends[:0], end)
	complete, err := r.parse(end, r.comma, quoting)
	if err == nil && !complete {
		next, err = r.extend(next)
	} else if err == nil {
		err = r.mend()
	}
	if err != nil {
		return grid.Row{}, err
	}
	text := string(r.text)
	r.cells = r.cells[:0]
	for _, s := range r.spans {
		r.cells = append(r.cells, grid.NewCell(s.column, grid.Text, text[s.start:s.end], nil, 0))
	}
	r.pos += next
	r.line += len(r.ends)
	return grid.Row{Number: r.number, Line: first, Doubt: r.doubt, Cells: r.cells}, nil
}

// atEnd reports whether nothing follows.
func (r *records) atEnd(next int) bool {
	for r.end-r.pos <= next {
		if r.more() != nil {
			return true
		}
	}
	return false
}

const (
	saidLone  = "quotation marks in this row do not pair; they were read as part of the text"
	saidOpen  = "a quotation mark in this row has no partner; the row was read without it"
	saidMore  = "this row has %d cells and the others %d: a separator may stand inside a cell"
	saidOther = "this row has %s between its cells and the others %s; it was read with its own"
)

// mend looks at a record of one line, and reads it in another way if that gives it the fields that the others have.
func (r *records) mend() error {
	end := r.ends[0]
	if r.odd {
		r.doubt = saidLone
	}
	if r.width < 2 || r.fields == r.width || r.blank {
		return nil
	}
	line := r.buf[r.pos : r.pos+end]
	if bytes.IndexByte(line, '"') >= 0 && bytes.Count(line, []byte{r.comma})+1 >= r.width {
		for _, m := range []reading{dittos, literally} {
			if fits, err := r.fits(end, r.comma, m); fits || err != nil {
				r.doubt = saidLone
				return err
			}
		}
	}
	for _, c := range candidates {
		if c == r.comma || r.width < 3 || bytes.Count(line, []byte{c})+1 < r.width {
			continue
		}
		if fits, err := r.fits(end, c, quoting); fits || err != nil {
			r.doubt = fmt.Sprintf(saidOther, separators(c), separators(r.comma))
			return err
		}
	}
	if _, err := r.parse(end, r.comma, quoting); err != nil {
		return err
	}
	if n := len(r.spans); n > 0 && r.spans[n-1].column > r.width {
		r.doubt = fmt.Sprintf(saidMore, r.spans[n-1].column, r.width)
	}
	return nil
}

// fits reads a line in one way, and reports whether it has the fields that the others have.
func (r *records) fits(end int, comma byte, m reading) (bool, error) {
	complete, err := r.parse(end, comma, m)
	return complete && err == nil && r.fields == r.width, err
}

// mostTries bounds how often a field that stays open is looked at again.
const mostTries = 200

// extend takes lines until the quoted field that is open ends, and returns where the record ends. If it does not
// end, or if it would swallow lines that are records themselves, the first line is read without its marks.
func (r *records) extend(next int) (int, error) {
	first := next
	for tries := 0; tries < mostTries; {
		end, after, err := r.rawLine(next)
		if err == io.EOF || err == nil && int64(end) > r.limits.RowLength {
			break
		}
		if err != nil {
			return 0, err
		}
		r.ends = append(r.ends, end)
		more := r.buf[r.pos+next : r.pos+end]
		next = after
		if bytes.IndexByte(more, '"') < 0 {
			continue
		}
		tries++
		complete, err := r.parse(end, r.comma, quoting)
		if err != nil {
			return 0, err
		}
		if complete && !r.swallows() {
			if r.odd {
				r.doubt = saidLone
			}
			return next, nil
		}
		if complete {
			break
		}
	}
	r.ends = r.ends[:1]
	r.doubt = saidOpen
	for _, m := range []reading{dittos, literally} {
		if fits, err := r.fits(r.ends[0], r.comma, m); fits || err != nil {
			return first, err
		}
	}
	_, err := r.parse(r.ends[0], r.comma, literally)
	return first, err
}

// swallows reports whether a record of several lines is better read line by line: its first line has by itself
// the fields that records have, and so has another one, or the record has not.
func (r *records) swallows() bool {
	if r.width < 3 || r.count(0) < r.width {
		return false
	}
	if r.fields != r.width {
		return true
	}
	for i := 1; i < len(r.ends); i++ {
		if r.count(i) >= r.width {
			return true
		}
	}
	return false
}

// count returns the fields of a line of the record without regard to quotation marks. In a record that is whole, a
// separator with a blank behind it is of its text: lead, 5 in.
func (r *records) count(line int) int {
	start := 0
	if line > 0 {
		start = r.ends[line-1]
	}
	text := r.buf[r.pos+start : r.pos+r.ends[line]]
	n := bytes.Count(text, []byte{r.comma}) + 1
	if r.fields == r.width && !r.odd {
		n -= bytes.Count(text, []byte{r.comma, ' '})
	}
	return n
}

// parse reads the fields of a text of one or more lines. It reports false if a quoted field does not end in it.
func (r *records) parse(end int, comma byte, m reading) (complete bool, err error) {
	r.text, r.spans, r.fields, r.blank, r.odd = r.text[:0], r.spans[:0], 0, true, false
	line := r.buf[r.pos : r.pos+end]
	if i := bytes.IndexByte(line, 0); i >= 0 {
		return false, fmt.Errorf("line %d: there is a NUL byte, which no text holds: save the table as CSV in UTF-8, "+
			"or name the encoding if it is UTF-16", r.line+1+lines(line[:i]))
	}
	for more := true; more; {
		start := len(r.text)
		var rest []byte
		if m != literally && len(line) > 0 && line[0] == '"' && !(m == dittos && (len(line) == 1 || line[1] == comma)) {
			if rest, more, complete = r.quoted(line, comma); !complete {
				return false, nil
			}
		} else {
			field := line
			if i := bytes.IndexByte(line, comma); i >= 0 {
				field, rest = line[:i], line[i+1:]
			} else {
				more = false
			}
			r.unquoted(field)
		}
		line = rest
		if r.fields++; int64(r.fields) > r.limits.Columns {
			return false, r.over("columns", int64(r.fields), r.limits.Columns)
		}
		if n := int64(len(r.text) - start); n > r.limits.CellLength {
			return false, r.over("cell", n, r.limits.CellLength)
		}
		if len(r.text) > start {
			r.blank = false
			r.spans = append(r.spans, span{r.fields, start, len(r.text)})
		}
	}
	if n := int64(len(r.text)); n > r.limits.RowLength {
		return false, r.over("row", n, r.limits.RowLength)
	}
	return true, nil
}

// unquoted takes a field as it is.
func (r *records) unquoted(field []byte) {
	r.text = append(r.text, field...)
	n, inches := 0, 0
	for i := 0; ; i++ {
		at := bytes.IndexByte(field[i:], '"')
		if at < 0 {
			break
		}
		i += at
		n++
		r.lone(r.line + 1)
		if isFigure(field[:i]) {
			inches++
		}
	}
	r.odd = r.odd || n%2 == 1 && (n-inches)%2 == 1 && len(bytes.Trim(field, "-\" ")) > 0
}

// isFigure reports whether a text ends with a digit, a fraction or the sign of minutes, so that a quotation mark
// behind it means inches or seconds.
func isFigure(text []byte) bool {
	text = bytes.TrimRight(text, " '\"")
	if len(text) == 0 {
		return false
	}
	last := text[len(text)-1]
	return last-'0' <= 9 || bytes.HasSuffix(text, []byte("¼")) || bytes.HasSuffix(text, []byte("½")) ||
		bytes.HasSuffix(text, []byte("¾"))
}

// quoted reads a field in quotation marks, and returns what follows it. A mark inside it that is neither doubled
// nor followed by the end of the field belongs to the text.
func (r *records) quoted(line []byte, comma byte) (rest []byte, more, complete bool) {
	start := len(r.text)
	line = line[1:]
	for {
		i := bytes.IndexByte(line, '"')
		if i < 0 {
			return nil, false, false
		}
		r.text = append(r.text, line[:i]...)
		line = line[i+1:]
		if len(line) > 0 && line[0] == '"' {
			r.text = append(r.text, '"')
			line = line[1:]
			continue
		}
		blanks := len(line) - len(bytes.TrimLeft(line, " \t"))
		if comma == '\t' {
			blanks = len(line) - len(bytes.TrimLeft(line, " "))
		}
		switch after := line[blanks:]; {
		case len(after) == 0:
			r.text = unixEnds(r.text, start)
			return nil, false, true
		case after[0] == comma:
			r.text = unixEnds(r.text, start)
			return after[1:], true, true
		}
		r.lone(r.line + 1)
		r.odd = true
		r.text = append(r.text, '"')
	}
}

// unixEnds makes the line ends of a field line feeds.
func unixEnds(text []byte, start int) []byte {
	if bytes.IndexByte(text[start:], '\r') < 0 {
		return text
	}
	field := bytes.ReplaceAll(text[start:], []byte("\r\n"), []byte("\n"))
	field = bytes.ReplaceAll(field, []byte("\r"), []byte("\n"))
	return append(text[:start], field...)
}

// lines counts the line ends in a text.
func lines(text []byte) int {
	return bytes.Count(text, []byte("\n")) + bytes.Count(text, []byte("\r")) - bytes.Count(text, []byte("\r\n"))
}
