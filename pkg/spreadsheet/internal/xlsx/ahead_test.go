package xlsx

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"testing"
	"testing/iotest"
)

type closer struct{ closed int }

func (c *closer) Close() error { c.closed++; return nil }

// What is read ahead is the same bytes and ends in the same error, however it is read and wherever it is
// given up; the reader behind it is closed once.
func TestReadAhead(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	broken := errors.New("broken")
	for _, size := range []int{0, 1, aheadPiece - 1, aheadPiece, aheadPiece + 1, 5*aheadPiece + 17} {
		text := make([]byte, size)
		for i := range text {
			text[i] = byte(random.Uint32())
		}
		for _, end := range []error{io.EOF, io.ErrUnexpectedEOF, broken} {
			for name, r := range map[string]io.Reader{
				"whole": bytes.NewReader(text), "with the error": iotest.DataErrReader(bytes.NewReader(text)), "halves": iotest.HalfReader(bytes.NewReader(text)),
			} {
				var behind closer
				a := readAhead(ending{r, end}, &behind)
				got := new(bytes.Buffer)
				_, err := got.ReadFrom(onlyReader{a})
				if end == io.EOF {
					end = nil
				}
				if !bytes.Equal(got.Bytes(), text) || !errors.Is(err, end) {
					t.Errorf("%s, %d bytes: read %d and ended in %v, want %v", name, size, got.Len(), err, end)
				}
				if end == nil {
					end = io.EOF
				}
				a.Close()
				a.Close()
				if behind.closed != 1 {
					t.Errorf("%s, %d bytes: closed %d times", name, size, behind.closed)
				}
			}
			var behind closer
			a := readAhead(ending{bytes.NewReader(text), end}, &behind)
			io.ReadFull(a, make([]byte, min(size, 100)))
			a.Close()
			if _, err := a.Read(make([]byte, 1)); err == nil {
				t.Error("a closed reader reads")
			}
		}
	}
}

// ending is a reader that ends in an error of its own.
type ending struct {
	io.Reader
	err error
}

func (e ending) Read(b []byte) (int, error) {
	n, err := e.Reader.Read(b)
	if err == io.EOF {
		err = e.err
	}
	return n, err
}

type onlyReader struct{ io.Reader }
