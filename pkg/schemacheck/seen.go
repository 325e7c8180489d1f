package schemacheck

import (
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/tape"
)

// Of what a log says again and again, such as the materials of its finds, most is judged once: each member of a record
// is known by its text.

// Member is a member of a record that was accepted, with the sums of its name and of what it says.
type Member struct {
	Name  string
	Named uint32
	Sum   uint64
}

// seen are texts of one member of a record that are as the schema has them, with their sums.
type seen struct {
	texts     map[string]uint64
	met, new  int
	different bool // most texts are, as of an id: they are not kept
}

const mostSeen, longestSeen = 1024, 256

func (s *seen) find(text []byte) (sum uint64, ok bool) {
	if s.different {
		return 0, false
	}
	if sum, ok = s.texts[string(text)]; ok {
		s.met++
	} else {
		s.new++
	}
	return sum, ok
}

// keep keeps a text, in the place of all others when there are too many.
func (s *seen) keep(text []byte, sum uint64) {
	switch {
	case s.different || len(text) > longestSeen:
		return
	case s.new > mostSeen && s.met < s.new:
		*s = seen{different: true}
		return
	case s.texts == nil || len(s.texts) >= mostSeen:
		s.texts = make(map[string]uint64, 8)
	}
	s.texts[string(text)] = sum
}

// begin makes ready for a record of a schema.
func (r *fastRun) begin(p *program, members []Member) {
	r.odd, r.members = false, members
	if r.root != p {
		r.root, r.seen = p, make([]seen, len(p.inOrder))
	}
}

// member judges the value of a member that the schema describes.
func (r *fastRun) member(p *program, d *described, at uint32) ternary {
	if p != r.root {
		return r.judge(d.p, at)
	}
	text, s := r.t.Value(at), &r.seen[d.index]
	sum, ok := s.find(text)
	if !ok {
		if a := r.judge(d.p, at); a != yea || r.odd {
			return a
		}
		sum = r.t.Sum(at)
		s.keep(text, sum)
	}
	r.members = append(r.members, Member{d.name, d.sum, sum})
	return yea
}

// cleanLaid tells the same of a record that is laid out: only what is new of it is put on a tape.
func (r *fastRun) cleanLaid(p *program, l *find.Laid) bool {
	if !p.onlyMembers() {
		return false
	}
	r.t = &r.own
	var there members
	last := -1
	for _, m := range l.Members {
		d := p.described([]byte(m.Name), last)
		if d == nil {
			return false
		}
		there.add(d.index)
		last = d.index
		text, s := l.Text[m.Start:m.End], &r.seen[d.index]
		sum, ok := s.find(text)
		if !ok {
			if !r.own.Parse(text) || r.judge(d.p, 0) != yea || r.odd {
				return false
			}
			sum = r.own.Sum(0)
			s.keep(text, sum)
		}
		r.members = append(r.members, Member{d.name, d.sum, sum})
	}
	return p.complete(there)
}

// onlyMembers reports whether nothing is asked of a record but its members.
func (p *program) onlyMembers() bool {
	return !p.never && p.enum == nil && p.ref == nil && p.not == nil && p.allOf == nil && p.anyOf == nil &&
		p.cond == nil &&
		p.minProperties < 0 && p.maxProperties < 0 && p.required == nil && p.names == nil
}

// Accepts reports whether the gate and the schema surely have nothing to say of a find on a tape, and appends its
// members. False means only that [Schemas.Notices] must be asked.
func (s *Schemas) Accepts(t *tape.Tape, find uint32, members []Member) ([]Member, bool) {
	if s.slow || s.shallow() {
		return members, false
	}
	r := fastRuns.Get().(*fastRun)
	defer fastRuns.Put(r)
	p := s.byName["find"].fast
	r.begin(p, members)
	ok := r.clean(p, t, find)
	return r.members, ok
}

// AcceptsLaid reports the same of a find that is laid out.
func (s *Schemas) AcceptsLaid(l *find.Laid, members []Member) ([]Member, bool) {
	if s.slow || s.shallow() {
		return members, false
	}
	r := fastRuns.Get().(*fastRun)
	defer fastRuns.Put(r)
	p := s.byName["find"].fast
	r.begin(p, members)
	ok := r.cleanLaid(p, l)
	return r.members, ok
}
