package find

import (
	"bytes"
	"errors"
	"io"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/limit"
)

// A native report is cut at commas between its finds without reading them: a scanner that only knows
// strings and brackets finds the places. That the cut is right is then proved by strict reading: the
// report with an empty list in the place of its finds, and each piece as a list of values. Where a proof
// fails, the report is read the slow way, which has words for the fault.

// fileSpan is a part of a file, from its first byte to behind its last.
type fileSpan struct{ from, to int64 }

// listScanner looks for the list under the member finds of the top object, and for places to cut it.
type listScanner struct {
	at       int64 // offset of the next byte
	depth    int
	inText   bool
	escaped  bool
	name     []byte // the latest text at depth 1, as far as it matters
	within   bool   // in the list
	crossed  bool   // the list ends with the wrong bracket
	list     fileSpan
	pieceEnd func(fileSpan)
	from     int64 // where the piece at hand begins
	finds    int   // in it
}

const findsName = "finds"

// marks are the bytes that the scanner looks at outside of texts.
var marks = [256]bool{'"': true, '{': true, '}': true, '[': true, ']': true, ',': true}

func (s *listScanner) scan(buf []byte) {
	for i := 0; i < len(buf); i++ {
		c := buf[i]
		if s.inText {
			i = s.text(buf, i)
			continue
		}
		if !marks[c] {
			continue
		}
		at := s.at + int64(i)
		switch c {
		case '"':
			s.inText = true
			if s.depth == 1 {
				s.name = s.name[:0]
			}
		case '{':
			s.depth++
		case '[':
			if s.depth++; s.depth == 2 && !s.within && s.list.to == 0 && string(s.name) == findsName {
				s.within, s.list.from, s.from = true, at, at+1
			}
		case ']', '}':
			if s.depth--; s.depth == 1 && s.within {
				s.within, s.list.to, s.crossed = false, at+1, c == '}'
				s.pieceEnd(fileSpan{s.from, at})
			}
		case ',':
			if s.depth != 2 || !s.within {
				break
			}
			if s.finds++; at-s.from >= int64(pieceSize) || s.finds == pieceLines {
				s.pieceEnd(fileSpan{s.from, at})
				s.from, s.finds = at+1, 0
			}
		}
	}
	s.at += int64(len(buf))
}

// text goes on in a text and returns where it ended, or the last byte.
func (s *listScanner) text(buf []byte, i int) int {
	for ; i < len(buf); i++ {
		c := buf[i]
		switch {
		case s.escaped:
			s.escaped = false
		case c == '\\':
			s.escaped = true
		case c == '"':
			s.inText = false
			return i
		}
		if s.depth == 1 && len(s.name) <= len(findsName) {
			s.name = append(s.name, c)
		}
	}
	return i
}

var errNotCut = errors.New("the report cannot be cut") // and is read the slow way

// cutReport reads a report but its finds, proves that the whole is well-formed, and returns where the
// finds can be cut. Any error means that the slow way is to be taken.
func cutReport(r io.ReaderAt, o Options) (header jsontext.Value, cuts []fileSpan, err error) {
	c := reportCutter{r: r, limits: o.Limits.WithDefaults()}
	work := make(chan fileSpan, 2)
	var busy sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		busy.Add(1)
		go func() {
			defer busy.Done()
			for p := range work {
				if !c.failed.Load() && c.prove(p) != nil {
					c.failed.Store(true)
				}
			}
		}()
	}
	s := listScanner{pieceEnd: func(p fileSpan) {
		cuts = append(cuts, p)
		work <- p
	}}
	size, err := c.scan(&s)
	close(work)
	busy.Wait()
	if err != nil || c.failed.Load() || c.empty.Load() && len(cuts) > 1 || s.list.to == 0 || s.crossed ||
		s.depth != 0 || s.list.from+size-s.list.to > c.limits.Header {
		return nil, nil, errNotCut
	}
	rest := make([]byte, s.list.from, s.list.from+2+size-s.list.to)
	tail := make([]byte, size-s.list.to)
	if _, err := r.ReadAt(rest, 0); err != nil {
		return nil, nil, err
	}
	if _, err := r.ReadAt(tail, s.list.to); err != nil && !errors.Is(err, io.EOF) {
		return nil, nil, err
	}
	rest = append(append(rest, "[]"...), tail...)
	header, finds, err := readHeader(bytes.NewReader(rest), o)
	if err != nil || !finds {
		return nil, nil, errNotCut
	}
	return header, cuts, nil
}

type reportCutter struct {
	r      io.ReaderAt
	limits limit.Limits
	failed atomic.Bool
	empty  atomic.Bool // a piece has no value: only the list with none may be so
}

// scan takes the scanner over the file and returns its size.
func (c *reportCutter) scan(s *listScanner) (int64, error) {
	buf := make([]byte, pieceSize)
	for {
		n, err := c.r.ReadAt(buf, s.at)
		s.scan(buf[:n])
		switch {
		case errors.Is(err, io.EOF):
			return s.at, nil
		case err != nil:
			return 0, err
		case c.failed.Load() || !s.within && s.at > s.list.to+c.limits.Header || s.within &&
			s.at-s.from > c.limits.Record+2*int64(pieceSize):
			return 0, errNotCut
		}
	}
}

func (c *reportCutter) prove(p fileSpan) error {
	text, err := readSpan(c.r, p)
	if err != nil {
		return err
	}
	t := tapes.Get().(*tape.Tape)
	defer tapes.Put(t)
	items := 0
	err = eachItem(text, t, func(raw []byte, _ bool) error {
		items++
		if int64(len(raw)) > c.limits.Record || tooManyValues(raw, "values", c.limits.Values) != nil {
			return errNotCut
		}
		return nil
	})
	if items == 0 {
		c.empty.Store(true)
	}
	return err
}

func readSpan(r io.ReaderAt, p fileSpan) ([]byte, error) {
	text := make([]byte, p.to-p.from)
	if n, err := r.ReadAt(text, p.from); n < len(text) {
		return nil, err
	}
	return text, nil
}

// eachItem visits the values of a list that stands without its brackets; on the tape where onTape says
// so. It is strict about each value and about the commas between them.
func eachItem(text []byte, t *tape.Tape, visit func(raw []byte, onTape bool) error) error {
	text = bytes.TrimLeft(text, " \t\r\n")
	for len(text) > 0 {
		end, raw, onTape := t.ParseFirst(text), []byte(nil), true
		if end < 0 {
			dec := jsontext.NewDecoder(bytes.NewReader(text))
			v, err := dec.ReadValue()
			if err != nil {
				return err
			}
			raw, onTape, end = bytes.Clone(v), false, int(dec.InputOffset())
		} else {
			raw = text[:end]
		}
		if err := visit(raw, onTape); err != nil {
			return err
		}
		text = bytes.TrimLeft(text[end:], " \t\r\n")
		if len(text) == 0 {
			return nil
		}
		if text[0] != ',' {
			return errNotCut
		}
		if text = bytes.TrimLeft(text[1:], " \t\r\n"); len(text) == 0 {
			return errNotCut
		}
	}
	return nil
}

// errChanged says that the file is not what it was when it was proved.
var errChanged = &ReadError{Code: "json-syntax", Msg: "the file was changed while it was read",
	Help: "wait until nobody writes to it, then try again"}

// listPieces makes pieces of the cuts.
func listPieces(r io.ReaderAt, cuts []fileSpan, o Options) func(func(piece, error) bool) {
	return func(yield func(piece, error) bool) {
		index := 0
		place := func(e *Entry) bool {
			e.Index = index
			index++
			return true
		}
		for i, p := range cuts {
			first, last := i == 0, i == len(cuts)-1
			read := func(pass func(*Entry)) error {
				text, err := readSpan(r, p)
				if err != nil {
					return err
				}
				t := tapes.Get().(*tape.Tape)
				defer tapes.Put(t)
				items := 0
				err = eachItem(text, t, func(raw []byte, onTape bool) error {
					items++
					e, err := itemEntry(raw, t, onTape, o)
					if err != nil {
						return err
					}
					pass(e)
					e.tape = nil
					return nil
				})
				if t.Text = nil; err != nil || items == 0 && !(first && last) {
					return errChanged
				}
				return nil
			}
			if !yield(piece{read: read, place: place}, nil) {
				return
			}
		}
	}
}

// itemEntry makes an entry of one find, whose text is strict JSON; it is on the tape where onTape says so.
func itemEntry(raw []byte, t *tape.Tape, onTape bool, o Options) (*Entry, error) {
	e := &Entry{Find: new(Find), Origin: Origin{File: o.File}}
	if o.KeepSource {
		e.Raw = raw
	}
	if onTape && t.Nodes[0].Kind == tape.Object {
		readObject(t, 0, e.Find)
		e.tape = t
		return e, nil
	}
	return e, decodeItem(raw, e.Find)
}

// decodeItem reads a find of a list. What is no object is left to the schema, which has the words.
func decodeItem(raw []byte, f *Find) error {
	if jsontext.Value(raw).Kind() != '{' {
		return nil
	}
	return DecodeFind(raw, f)
}

// pieceSize is how much of a file is read at one go: some tens of records.
var pieceSize = 64 << 10 // a variable for the tests

// pieceLines is how many lines, or finds, a piece holds at most: what is made of a very short one is
// hundreds of times longer than it.
const pieceLines = 1000

var tapes = sync.Pool{New: func() any { return new(tape.Tape) }}

// pieces cuts the lines behind the first into pieces of whole lines.
func (d *lineDecoder) pieces(yield func(piece, error) bool) {
	if first := d.pending; first != nil {
		at := d.at
		if d.pending = nil; !yield(d.piece(first, at), nil) {
			return
		}
	}
	var rest []byte // the beginning of a line whose end is not read yet
	for {
		buf := make([]byte, len(rest)+pieceSize)
		n := copy(buf, rest)
		m, err := io.ReadFull(d.in, buf[n:])
		buf = buf[:n+m]
		end := bytes.LastIndexByte(buf, '\n') + 1
		ended := errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
		if ended {
			end = len(buf)
		}
		if end > 0 {
			for whole := buf[:end]; len(whole) > 0; {
				part := firstLines(whole, pieceLines)
				whole = whole[len(part):]
				at := d.at + 1
				d.at += bytes.Count(part, newline)
				if part[len(part)-1] != '\n' {
					d.at++
				}
				if !yield(d.piece(part, at), nil) {
					return
				}
			}
		}
		if ended {
			d.at++ // as it is told of what is missing behind the last line
			yield(piece{read: func(pass func(*Entry)) error { pass(&Entry{}); return nil }, place: d.placeLast}, nil)
			return
		}
		rest = buf[end:]
		if err == nil && int64(len(rest)) > d.o.maxHeader() {
			err = limit.Over("header", d.o.maxHeader())
		}
		if err != nil {
			yield(piece{}, lineError(err, d.at+1))
			return
		}
	}
}

var newline = []byte{'\n'}

// firstLines returns the first n lines of a text, or all of it.
func firstLines(text []byte, n int) []byte {
	end := 0
	for range n {
		i := bytes.IndexByte(text[end:], '\n')
		if i < 0 {
			return text
		}
		end += i + 1
	}
	return text[:end]
}

// piece makes a piece of whole lines, the first of which has the number at.
func (d *lineDecoder) piece(text []byte, at int) piece {
	return piece{place: d.place, read: func(pass func(*Entry)) error {
		t := tapes.Get().(*tape.Tape)
		defer tapes.Put(t)
		for ; len(text) > 0; at++ {
			line := text
			if i := bytes.IndexByte(text, '\n'); i >= 0 {
				line, text = text[:i], text[i+1:]
			} else {
				text = nil
			}
			if e := d.entry(bytes.TrimRight(line, "\r\n"), at, t); e != nil {
				pass(e)
				e.tape = nil
			}
		}
		t.Text = nil
		return nil
	}}
}

// placeLast takes the place of an empty entry behind the last line.
func (d *lineDecoder) placeLast(e *Entry) bool {
	last := d.last()
	if last == nil {
		return false
	}
	*e = *last
	return true
}
