package limit

import (
	"errors"
	"io"
)

// ReadAll reads to the end, or returns the error of the limit when there are more than most bytes.
func ReadAll(r io.Reader, name string, most int64) ([]byte, error) {
	b, err := io.ReadAll(Reader(r, name, most))
	if err != nil {
		return nil, err
	}
	return b, nil
}

// Reader returns a reader that passes on at most most bytes of r and then the error of the limit.
func Reader(r io.Reader, name string, most int64) io.Reader {
	return &reader{r, most, Over(name, most)}
}

type reader struct {
	r    io.Reader
	left int64
	over *Error
}

func (r *reader) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	if r.left == 0 { // one byte more tells the end from too much
		var one [1]byte
		for range 100 {
			n, err := r.r.Read(one[:])
			if n > 0 {
				return 0, r.over
			}
			if err != nil {
				return 0, err
			}
		}
		return 0, io.ErrNoProgress
	}
	if int64(len(p)) > r.left {
		p = p[:r.left]
	}
	n, err := r.r.Read(p)
	r.left -= int64(n)
	return n, err
}

// Of returns the limit that an error is of, nil if it is of none.
func Of(err error) *Error {
	var over *Error
	if errors.As(err, &over) {
		return over
	}
	return nil
}
