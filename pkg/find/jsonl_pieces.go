package find

import (
	"bytes"
	"errors"
	"io"
	"sync"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/limit"
)

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
