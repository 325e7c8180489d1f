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

// flow is how the entries of a stream come about: as a sequence that does all steps, and as the source with the steps
// that each entry then goes through.
type flow struct {
	entries iter.Seq2[*Entry, error]
	source  iter.Seq2[*Entry, error]
	steps   []Step
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
	return func(yield func(*Entry, error) bool) {
		r := &ring{steps: f.steps, stop: make(chan struct{}), work: make(chan *group), order: make(chan *group, 2*workers)}
		r.busy.Go(func() { r.read(f.source) })
		for range workers {
			r.busy.Go(func() {
				for g := range r.work {
					r.do(g)
				}
			})
		}
		defer r.end()
		for g := range r.order {
			<-g.done
			if g.panicked != nil {
				panic(g.panicked)
			}
			if !r.pass(g, yield) {
				return
			}
			if g.err != nil {
				yield(nil, g.err)
				return
			}
		}
	}
}

// groupSize is how many entries make a group, groupBytes what they may have had in the source together before the
// group is closed.
const (
	groupSize  = 64
	groupBytes = 256 << 10
)

// ring hands groups of entries to workers and takes them back in order. The channel of the order is its length: no
// more groups than that are under way.
type ring struct {
	steps []Step
	stop  chan struct{}
	work  chan *group
	order chan *group
	busy  sync.WaitGroup
}

// group is some entries that follow each other.
type group struct {
	entries  []*Entry
	waiting  map[*Entry]int // the entries that wait for their turn, and at which step
	err      error          // of the source, behind them
	panicked any
	done     chan struct{}
}

// read makes groups of the entries of the source.
func (r *ring) read(source iter.Seq2[*Entry, error]) {
	defer close(r.work)
	defer close(r.order)
	g, size := &group{done: make(chan struct{})}, 0
	defer func() {
		if why := recover(); why != nil { // the last group was handed over, and is no more ours, when nothing went wrong
			g.panicked, g.entries = why, nil
			r.hand(g)
		}
	}()
	for e, err := range source {
		if err != nil {
			g.err = err
			break
		}
		g.entries, size = append(g.entries, e), size+e.Size+len(e.Raw)
		if e.tape != nil {
			size += len(e.tape.Text)
		}
		if len(g.entries) < groupSize && size < groupBytes {
			continue
		}
		if !r.hand(g) {
			return
		}
		g, size = &group{done: make(chan struct{})}, 0
	}
	r.hand(g)
}

// hand gives a group to the workers and reports whether it is still wanted.
func (r *ring) hand(g *group) bool {
	for _, to := range []chan *group{r.order, r.work} {
		select {
		case to <- g:
		case <-r.stop:
			return false
		}
	}
	return true
}

// do takes the entries of a group through the steps as far as they go out of order.
func (r *ring) do(g *group) {
	defer close(g.done)
	defer func() {
		if p := recover(); p != nil {
			g.panicked = p
		}
	}()
	for _, e := range g.entries {
		for at, step := range r.steps {
			if e.Find == nil {
				break
			}
			if !step(e, false) {
				if g.waiting == nil {
					g.waiting = map[*Entry]int{}
				}
				g.waiting[e] = at
				break
			}
		}
	}
}

// pass does in order what is left to do for a group and yields its entries.
func (r *ring) pass(g *group, yield func(*Entry, error) bool) bool {
	for _, e := range g.entries {
		if at, waits := g.waiting[e]; waits {
			for _, step := range r.steps[at:] {
				step(e, true)
			}
		}
		e.free()
		if !yield(e, nil) {
			return false
		}
	}
	return true
}

// free gives the tape of an entry back for the next.
func (e *Entry) free() {
	if e.tape != nil {
		e.tape.Text = nil
		tapes.Put(e.tape)
		e.tape = nil
	}
}

// end waits until nobody works any more.
func (r *ring) end() {
	close(r.stop)
	for range r.order {
	}
	r.busy.Wait()
}
