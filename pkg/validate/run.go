package validate

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/schemacheck"
)

// Stream passes the entries of a stream on with the notices of the schema and the rules added.
// What is said after the last find, by rules that look across finds, comes in last entries without a find.
//
// Each find is judged by itself, several at the same time (run.apart); then one after the other, in the order of the
// file, for the rules across finds (run.inOrder); then the rules compare what the roll has kept of them (run.end).
func (v *Validator) Stream(in *find.Stream) *find.Stream {
	out := *in
	r := v.begin(in)
	out.Notices = append(slices.DeleteFunc(slices.Clone(out.Notices), v.isQuiet), r.header()...)
	judged := in.Map(r.apart).InOrder(r.workers())
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		for e, err := range judged {
			if err == nil && e.Find != nil {
				r.inOrder(e)
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
		for _, e := range r.end() {
			if !yield(e, nil) {
				return
			}
		}
	})
	return &out
}

// run is the state of one run.
type run struct {
	v       *Validator
	in      *find.Stream
	frame   *frame
	across  []Across // by rule
	roll    Roll
	accept  *acceptances
	due     deadlines
	late    map[int]*find.Entry // notices of the end, by index
	order   []int
	tallies []*profile.Tally // by profile of the panel
}

func (v *Validator) begin(in *find.Stream) *run {
	v.summary = Summary{NotChecked: map[string]int{}}
	r := &run{v: v, in: in, frame: newFrame(in.Report, v.options.Limits.Picture), across: make([]Across, len(v.rules)),
		late: map[int]*find.Entry{}, accept: newAcceptances(in.Report.Accepted), tallies: v.asks.tallies(v.options.Shunned)}
	r.frame.language = in.Language
	for _, e := range v.options.Profiles {
		r.frame.jurisdiction = cmp.Or(r.frame.jurisdiction, e.Jurisdiction)
	}
	for i, rule := range v.rules {
		if rule.Across != nil {
			r.across[i] = rule.Across()
		}
	}
	return r
}

func (r *run) workers() int {
	if n := r.v.options.Workers; n > 0 {
		return n
	}
	return runtime.GOMAXPROCS(0)
}

// caseOf returns the case of a find, or that of the report.
func (r *run) caseOf(f *find.Find, s *said) *Case {
	c := new(Case)
	r.fill(c, f, s)
	return c
}

func (r *run) fill(c *Case, f *find.Find, s *said) {
	*c = Case{Find: f, Report: r.in.Report, AsOf: r.v.options.AsOf, Settings: &r.v.settings, Files: r.v.options.Files,
		run: r.frame, said: s}
	if f != nil {
		r.frame.set(c)
	}
}

// said is what the rules have said of one find, in the order in which they are asked.
type said struct {
	rule       int // the place in the catalogue of the rule that is asked; -1: none
	notices    []saying
	due        []dueSaying
	notChecked []int
}

// saying is a notice and the place of its rule in the catalogue, which is the order of a find's notices.
type saying struct {
	rule   int
	notice notice.Notice
}

// dueSaying is a time limit and the place of the rule that came upon it; nil ref: of the find at hand.
type dueSaying struct {
	rule     int
	ref      *Ref
	deadline notice.Deadline
}

// say records a notice of the rule that is asked.
func (s *said) say(rules []*Rule) Say {
	return func(pointer, message string) {
		s.notices = append(s.notices, saying{s.rule, notice.New(&rules[s.rule].Kind, pointer, message)})
	}
}

// judged is one find on its way from apart to inOrder. Nobody keeps one, so that they are used again.
type judged struct {
	c     Case
	said  said
	line  line
	asked profile.Judgement
	laid  laid
}

var judgedFinds = sync.Pool{New: func() any { return new(judged) }}

// free gives a judged find back.
func (j *judged) free() {
	clear(j.said.notices)
	clear(j.said.due)
	j.said = said{notices: j.said.notices[:0], due: j.said.due[:0], notChecked: j.said.notChecked[:0]}
	j.c = Case{}
	judgedFinds.Put(j)
}

// apart judges one entry as far as no other find matters. It is called for several at the same time.
func (r *run) apart(e *find.Entry, _ bool) bool {
	j := judgedFinds.Get().(*judged)
	ofSchema, twin := r.v.ofSchema(e, &j.laid)
	e.Notices.Add(ofSchema...)
	r.fill(&j.c, e.Find, &j.said)
	j.said.rule = -1
	recordedDeadlines(&j.c)
	say := j.said.say(r.v.rules)
	for i, rule := range r.v.rules {
		if rule.Check != nil {
			j.said.rule = i
			rule.Check(&j.c, say)
		}
	}
	j.line = lineOf(&j.c)
	j.line.twin = twin
	r.v.asks.panel.Judge(&profile.Subject{Find: e.Find, Permission: j.c.Permission, Finder: r.frame.people[e.Find.Finder]},
		&j.asked)
	e.Carry = j
	return true
}

// inOrder lets the rules across finds see an entry and adds all that was said of it.
func (r *run) inOrder(e *find.Entry) {
	j := e.Carry.(*judged)
	e.Carry = nil
	s := &j.said
	ref := Ref{Index: e.Index, Label: strings.Clone(e.Label()), Origin: e.Origin}
	defer j.free()
	r.roll.add(&j.c, j.line, ref)
	j.c.told = e.Notices
	say := s.say(r.v.rules)
	for i := range r.across {
		if r.across[i].Find != nil {
			s.rule = i
			r.across[i].Find(&j.c, ref, say)
		}
	}
	if len(r.v.quiet) > 0 {
		e.Notices = slices.DeleteFunc(e.Notices, r.v.isQuiet)
	}
	slices.SortStableFunc(s.notices, func(a, b saying) int { return a.rule - b.rule })
	for i := range s.notices {
		if kind := s.notices[i].notice.Kind; kind.Danger() { // carried over from the log; the rule says more
			e.Notices = slices.DeleteFunc(e.Notices, func(n notice.Notice) bool {
				return n.Kind == kind && n.Message == kind.Title
			})
		}
		e.Notices.Add(s.notices[i].notice)
	}
	slices.SortStableFunc(s.due, func(a, b dueSaying) int { return a.rule - b.rule })
	for i := range s.due {
		r.due.add(e, s.due[i].deadline)
	}
	r.count(s)
	r.v.summary.Finds++
	r.ask(e, ref.Label, &j.asked)
	r.accept.meet(e.Index, e.Find.ID)
	r.accept.mark(e.Notices, e.Find.ID)
}

// count adds up which rules could not be applied.
func (r *run) count(s *said) {
	for _, i := range s.notChecked {
		r.v.summary.NotChecked[r.v.rules[i].Code]++
	}
}

// header judges the report without its finds.
func (r *run) header() notice.List {
	var list notice.List
	raw := r.in.Raw
	if raw == nil {
		raw, _ = find.CanonicalHeader(r.in.Report)
	}
	list.Add(r.v.schemas.Notices(raw, "report")...)
	s := &said{}
	c := r.caseOf(nil, s)
	for i, rule := range r.v.rules {
		if rule.Header != nil {
			s.rule = i
			rule.Header(c, func(pointer, message string) { list.Add(notice.New(&rule.Kind, pointer, message)) })
		}
	}
	r.count(s)
	r.accept.mark(list, "")
	for i := range list {
		r.in.LocateRecord(&list[i])
	}
	return list
}

// end asks the rules that look at more than one find for their last words.
func (r *run) end() []*find.Entry {
	s := &said{}
	c := r.caseOf(nil, s)
	for i, rule := range r.v.rules {
		s.rule = i
		say := func(ref Ref, pointer, message string) { r.sayLate(ref, notice.New(&rule.Kind, pointer, message)) }
		if r.across[i].End != nil {
			r.across[i].End(c, say)
		}
		if rule.Log != nil {
			rule.Log(c, &r.roll, say)
		}
	}
	r.count(s)
	for i := range s.due {
		r.due.addOf(s.due[i].ref, s.due[i].deadline)
	}
	r.sayLevel()
	if list := r.accept.stale(r.v.rules); len(list) > 0 {
		r.lateEntry(reportRef).Notices.Add(list...)
	}
	r.due.list.Sort()
	r.v.summary.Deadlines = r.due.list
	out := make([]*find.Entry, 0, len(r.order))
	for _, i := range r.order {
		out = append(out, r.late[i])
	}
	return out
}

// sayLate adds a notice about a find that has passed, or about the report.
func (r *run) sayLate(ref Ref, n notice.Notice) {
	n.Find = ref.Label
	if ref.Index >= 0 {
		(&find.Entry{Index: ref.Index, Origin: ref.Origin}).Locate(&n)
	} else {
		r.in.LocateRecord(&n)
	}
	marked := notice.List{n}
	r.accept.mark(marked, r.accept.ids[ref.Index])
	n = marked[0]
	e := r.lateEntry(ref)
	if ref.Index >= 0 && ref.Origin.Line == 0 {
		n.Pointer = fmt.Sprintf("/finds/%d%s", ref.Index, n.Pointer)
	}
	e.Notices.Add(n)
}

func (r *run) lateEntry(ref Ref) *find.Entry {
	e := r.late[ref.Index]
	if e == nil {
		e = &find.Entry{Index: ref.Index, Origin: ref.Origin}
		if ref.Index < 0 {
			e.Origin.File = r.in.File
		}
		r.late[ref.Index] = e
		r.order = append(r.order, ref.Index)
	}
	return e
}

// laid is room for a find laid out member by member.
type laid struct {
	find.Laid
	members []schemacheck.Member
}

// ofSchema runs gate and schema over the JSON of an entry: as it was read, else as it would be written. The sum is of
// what the find says, whatever the order of its members and how its numbers and characters are written.
func (v *Validator) ofSchema(e *find.Entry, l *laid) (list notice.List, twin uint64) {
	var ok bool
	if t, at := e.Tape(); t != nil {
		if l.members, ok = v.schemas.Accepts(t, at, l.members[:0]); ok {
			return nil, twinOf(e.Find, l.members)
		}
		twin = twinOfTape(e.Find, t, at)
	}
	raw := e.Raw
	if raw == nil {
		if l.Lay(e.Find) {
			if l.members, ok = v.schemas.AcceptsLaid(&l.Laid, l.members[:0]); ok {
				return nil, twinOf(e.Find, l.members)
			}
			var t tape.Tape
			if twin == 0 && t.Parse(l.Text) {
				twin = twinOfTape(e.Find, &t, 0)
			}
		}
		raw, _ = find.Marshal(e.Find)
	}
	if twin == 0 {
		twin = twinSum(e.Find)
	}
	return v.schemas.Notices(raw, "find"), twin
}
