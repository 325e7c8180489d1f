package find

import (
	"iter"
	"sync"
)

// A Step works on one entry with a find. It may be called for several entries at the same time, in any
// order, with inOrder false; when it needs to see the entries one after the other, it leaves the entry
// alone and returns false, and is called again with inOrder true once its turn has come. What it says
// then does not count.
type Step func(e *Entry, inOrder bool) bool

// flow is how the entries of a stream come about: as a sequence that does all steps, and as what can be read apart
// from each other, pieces or else the source, with the steps that each entry then goes through.
type flow struct {
	entries iter.Seq2[*Entry, error]
	source  iter.Seq2[*Entry, error]
	pieces  iter.Seq2[piece, error]
	steps   []Step
}

// piece is a part of a file. Read makes its entries, at the same time as those of other pieces; place,
// if not nil, gets them in the order of the file and tells which go on.
type piece struct {
	read  func(pass func(*Entry)) error
	place func(*Entry) bool
}

// Map returns the stream with a step added that each entry with a find goes through.
func (s *Stream) Map(step Step) *Stream {
	in, out := *s, *s
	out.flow.steps = append(s.flow.steps[:len(s.flow.steps):len(s.flow.steps)], step)
	out.flow.entries = func(yield func(*Entry, error) bool) {
		for e, err := range in.Entries {
			if err == nil && e.Find != nil {
				step(e, true)
			}
			if !yield(e, err) {
				return
			}
		}
	}
	return &out
}

// InOrder returns the entries in their order, after all steps. With more than one worker the steps of
// several entries are done at the same time. It may be ranged over once, instead of Entries.
func (s *Stream) InOrder(workers int) iter.Seq2[*Entry, error] {
	f := s.flow
	if workers <= 1 || len(f.steps) == 0 {
		return s.Entries
	}
	pieces := f.pieces
	if pieces == nil {
		pieces = grouped(f.source)
	}
	return func(yield func(*Entry, error) bool) {
		r := &ring{steps: f.steps, stop: make(chan struct{}), work: make(chan *job), order: make(chan *job, 2*workers)}
		r.start(pieces, workers)
		defer r.end()
		for j := range r.order {
			<-j.done
			if j.panicked != nil {
				panic(j.panicked)
			}
			if !r.pass(j, yield) {
				return
			}
			if j.err != nil {
				yield(nil, j.err)
				return
			}
		}
	}
}

// groupSize is how many entries of a sequence make a piece, groupBytes what they may have had in the
// source together before the piece is closed.
const (
	groupSize  = 64
	groupBytes = 256 << 10
)

// grouped makes pieces of a sequence whose entries can only be made one after the other.
func grouped(source iter.Seq2[*Entry, error]) iter.Seq2[piece, error] {
	return func(yield func(piece, error) bool) {
		group, size := make([]*Entry, 0, groupSize), 0
		pass := func() bool {
			made := group
			group, size = make([]*Entry, 0, groupSize), 0
			return len(made) == 0 || yield(piece{read: func(pass func(*Entry)) error {
				for _, e := range made {
					pass(e)
				}
				return nil
			}}, nil)
		}
		for e, err := range source {
			if err != nil {
				if pass() {
					yield(piece{}, err)
				}
				return
			}
			group, size = append(group, e), size+e.Size+len(e.Raw)
			if (len(group) == groupSize || size >= groupBytes) && !pass() {
				return
			}
		}
		pass()
	}
}

// ring hands pieces to workers and takes them back in order. The channel of the order is its length:
// no more pieces than that are under way.
type ring struct {
	steps []Step
	stop  chan struct{}
	work  chan *job
	order chan *job
	busy  sync.WaitGroup
}

type job struct {
	piece    piece
	entries  []*Entry
	waiting  map[*Entry]int // the entries that wait for their turn, and at which step
	err      error
	panicked any
	done     chan struct{}
}

func (r *ring) start(pieces iter.Seq2[piece, error], workers int) {
	r.busy.Add(1 + workers)
	go func() {
		defer r.busy.Done()
		defer close(r.work)
		defer close(r.order)
		j := &job{done: make(chan struct{})}
		defer func() {
			if j.panicked = recover(); j.panicked != nil {
				close(j.done)
				r.send(r.order, j)
			}
		}()
		for p, err := range pieces {
			j := &job{piece: p, err: err, done: make(chan struct{})}
			if err != nil {
				close(j.done)
			}
			if !r.send(r.order, j) || err == nil && !r.send(r.work, j) {
				return
			}
		}
	}()
	for range workers {
		go func() {
			defer r.busy.Done()
			for j := range r.work {
				r.do(j)
			}
		}()
	}
}

func (r *ring) send(to chan *job, j *job) bool {
	select {
	case to <- j:
		return true
	case <-r.stop:
		return false
	}
}

// do reads a piece and takes its entries through the steps as far as they go out of order.
func (r *ring) do(j *job) {
	defer close(j.done)
	defer func() { j.panicked = recover() }()
	j.err = j.piece.read(func(e *Entry) {
		j.entries = append(j.entries, e)
		if e.Find == nil {
			return
		}
		for at, step := range r.steps {
			if !step(e, false) {
				if j.waiting == nil {
					j.waiting = map[*Entry]int{}
				}
				j.waiting[e] = at
				return
			}
		}
	})
}

// pass does in order what is left to do for a piece and yields its entries.
func (r *ring) pass(j *job, yield func(*Entry, error) bool) bool {
	for _, e := range j.entries {
		if j.piece.place != nil && !j.piece.place(e) {
			continue
		}
		if at, waits := j.waiting[e]; waits {
			for _, step := range r.steps[at:] {
				step(e, true)
			}
		}
		if !yield(e, nil) {
			return false
		}
	}
	return true
}

// end waits until nobody works any more.
func (r *ring) end() {
	close(r.stop)
	for range r.order {
	}
	r.busy.Wait()
}
