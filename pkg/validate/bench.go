package validate

import (
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// A bench is what one worker has at hand while it judges finds: what the rules say of the find at hand,
// and counts of the run, which are added up at its end.
type bench struct {
	say        Say
	said       []saying
	deadline   func(*Ref, notice.Deadline)
	due        []dueSaying
	contents   []byte // of the find at hand, once they are made
	parts      []find.Part
	contentsOf *find.Find
	rule       int // the place in the catalogue of the rule that is asked
	finds      int
	met        [Full - Bag + 1]int
	missing    [len(coreMembers)]int
	notChecked []int // by rule
}

// benches are the benches of one run. One that is not in use waits for the next find.
type benches struct {
	lock sync.Mutex
	all  []*bench
	free []*bench
	v    *Validator
}

func (s *benches) get() *bench {
	s.lock.Lock()
	defer s.lock.Unlock()
	if n := len(s.free); n > 0 {
		b := s.free[n-1]
		s.free = s.free[:n-1]
		return b
	}
	b := &bench{notChecked: make([]int, len(s.v.rules))}
	b.say = func(pointer, message string) {
		b.said = append(b.said, saying{b.rule, notice.New(&s.v.rules[b.rule].Kind, pointer, message)})
	}
	b.deadline = func(_ *Ref, d notice.Deadline) { b.due = append(b.due, dueSaying{b.rule, d}) }
	s.all = append(s.all, b)
	return b
}

func (s *benches) put(b *bench) {
	s.lock.Lock()
	s.free = append(s.free, b)
	s.lock.Unlock()
}

// sum adds up what the benches of a run have counted.
func (r *run) sum() {
	out := &r.v.summary
	for _, b := range r.bench.all {
		out.Finds += b.finds
		for i, l := range Levels() {
			if b.met[i] > 0 {
				out.Met[l] += b.met[i]
			}
		}
		for i, n := range b.missing {
			if n > 0 {
				out.Missing[coreMembers[i].pointer] += n
			}
		}
		for i, n := range b.notChecked {
			if n > 0 {
				out.NotChecked[r.v.rules[i].Code] += n
			}
		}
	}
}

// makeContents writes down what a find says.
func (b *bench) makeContents(f *find.Find) {
	b.contents, b.parts = f.AppendParts(b.contents[:0], b.parts[:0])
	b.contentsOf = f
}
