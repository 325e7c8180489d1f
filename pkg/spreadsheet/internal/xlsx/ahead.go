package xlsx

import (
	"io"
	"sync"
)

// A large part is unpacked by one while another looks at what came before.

const (
	aheadLeast = 1 << 20 // bytes of a part for which that is worth while
	aheadPiece = 128 << 10
	aheadMost  = 2 // pieces that wait
)

// aheadReader reads on while what it has read is taken.
type aheadReader struct {
	from   io.Closer
	full   chan piece
	empty  chan []byte // rooms for pieces
	stop   chan struct{}
	ended  sync.WaitGroup
	closed sync.Once
	now    piece
	room   []byte // of the piece at hand
}

// piece is what was read at one go, and why nothing follows it, if so.
type piece struct {
	bytes []byte
	err   error
}

// readAhead starts to read. The reader must be closed, which closes what it reads from as well.
func readAhead(r io.Reader, from io.Closer) *aheadReader {
	a := &aheadReader{from: from, full: make(chan piece, aheadMost), empty: make(chan []byte, aheadMost+1), stop: make(chan struct{})}
	for range aheadMost + 1 {
		a.empty <- nil
	}
	a.ended.Go(func() { a.run(r) })
	return a
}

func (a *aheadReader) run(r io.Reader) {
	for {
		var room []byte
		select {
		case <-a.stop:
			return
		case room = <-a.empty:
		}
		if room == nil {
			room = make([]byte, aheadPiece)
		}
		p := piece{bytes: room[:0]}
		for p.err == nil && len(p.bytes) < len(room) {
			var n int
			n, p.err = r.Read(room[len(p.bytes):])
			p.bytes = room[:len(p.bytes)+n]
		}
		select {
		case <-a.stop:
			return
		case a.full <- p:
		}
		if p.err != nil {
			return
		}
	}
}

// Read takes what was read, in its order, and then the error that ended it.
func (a *aheadReader) Read(b []byte) (int, error) {
	for len(a.now.bytes) == 0 {
		if a.now.err != nil {
			return 0, a.now.err
		}
		if a.room != nil {
			a.empty <- a.room
		}
		a.now = <-a.full
		a.room = a.now.bytes[:cap(a.now.bytes)]
	}
	n := copy(b, a.now.bytes)
	a.now.bytes = a.now.bytes[n:]
	return n, nil
}

// Close ends the reading and waits for its end.
func (a *aheadReader) Close() error {
	var err error
	a.closed.Do(func() {
		close(a.stop)
		a.ended.Wait()
		a.now = piece{err: io.ErrClosedPipe}
		err = a.from.Close()
	})
	return err
}
