// Package validate judges a find report: first the schema, then the rules that a schema cannot
// say. It never changes the data and never says that something is legal or safe.
//
//	v, err := validate.New(validate.Options{Level: validate.Log})
//	checked := v.Stream(in) // the same entries, with notices
//
// # Terms
//
// A [Rule] is a notice.Kind and the check that finds it; the [Catalogue] is all of them. A [Level]
// is how much a record must say: bag, log or full.
package validate

import (
	"fmt"
	"io/fs"
	"maps"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// Options of a Validator. The zero value checks level log with the default settings and knows no
// today, so that nothing is in the future.
type Options struct {
	Level    Level
	AsOf     edtf.Day     // the day that counts as today; zero: none
	Settings *Settings    // nil: DefaultSettings
	Files    fs.FS        // where the pictures of the report lie; nil: they are not looked at
	Limits   limit.Limits // Nesting and Picture are looked at
	Workers  int          // finds that are judged at the same time; 0: as many as there are processors
	Slow     bool         // send every record to the schema engine; what is said is the same
}

// A Validator judges reports, one at a time.
type Validator struct {
	options  Options
	settings Settings
	schemas  *Schemas
	rules    []*Rule
	summary  Summary
}

// Summary counts what a run has seen.
type Summary struct {
	Finds      int
	Met        map[Level]int  // finds that meet each level
	Missing    map[string]int // pointers missing for the level asked, with the number of finds
	NotChecked map[string]int // rule code to the number of times it could not be applied
	Deadlines  notice.Deadlines
}

// New returns a Validator.
func New(o Options) (*Validator, error) {
	schemas, err := NewSchemas()
	if err != nil {
		return nil, fmt.Errorf("preparing the schemas: %w", err)
	}
	o.Limits = o.Limits.WithDefaults()
	own := *schemas
	own.depth = int(min(o.Limits.Nesting, math.MaxInt32))
	own.slow = own.slow || o.Slow
	v := &Validator{options: o, schemas: &own, rules: Catalogue()}
	v.settings = DefaultSettings()
	if o.Settings != nil {
		v.settings = *o.Settings
		v.settings.Protected = o.Settings.Protected.indexed()
	}
	return v, nil
}

// Summary returns what the last run has counted; it is complete when the stream has ended.
func (v *Validator) Summary() Summary {
	s := v.summary
	s.Met, s.Missing, s.NotChecked = maps.Clone(s.Met), maps.Clone(s.Missing), maps.Clone(s.NotChecked)
	s.Deadlines = slices.Clone(s.Deadlines)
	return s
}

// Stream passes the entries of a stream on with the notices of the schema and the rules added.
// What is said after the last find, by rules that look across finds, comes in a last entry
// without a find.
func (v *Validator) Stream(in *find.Stream) *find.Stream {
	out := *in
	r := v.begin(in)
	out.Notices = append(out.Notices[:len(out.Notices):len(out.Notices)], r.header()...)
	judged := in.Map(r.apart).InOrder(r.workers())
	out.Entries = func(yield func(*find.Entry, error) bool) {
		for e, err := range judged {
			if err == nil && e.Find != nil {
				r.inOrder(e)
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
		last := r.end()
		r.sum()
		for _, e := range last {
			if !yield(e, nil) {
				return
			}
		}
	}
	return &out
}

// run is the state of one run.
type run struct {
	v      *Validator
	in     *find.Stream
	across []Across
	steps  []step // of each find by itself
	after  []int  // the rules whose finds are seen in order
	sites  sites
	frames frames
	late   map[int]*find.Entry // notices of the end, by index
	accept *acceptances
	order  []int
	due    deadlines
	own    *bench
	bench  benches
	census *census
}

// step is what one rule does with a find by itself.
type step struct {
	check func(*Case, Say)
	rule  int // its place in the catalogue
}

func (v *Validator) begin(in *find.Stream) *run {
	v.summary = Summary{Met: map[Level]int{}, Missing: map[string]int{}, NotChecked: map[string]int{}}
	r := &run{v: v, in: in, across: make([]Across, len(v.rules)), sites: newSites(in.Report), frames: newFrames(in.Report), late: map[int]*find.Entry{}, accept: newAcceptances(in.Report.Accepted)}
	for i, rule := range v.rules {
		if rule.Check != nil {
			r.steps = append(r.steps, step{rule.Check, i})
		}
		if rule.Across == nil {
			continue
		}
		r.across[i] = rule.Across()
		switch see, ahead := r.across[i].Find, r.across[i].Ahead; {
		case r.across[i].Alone:
			r.steps = append(r.steps, step{func(c *Case, say Say) { see(c, Ref{}, say) }, i})
		case ahead != nil:
			r.steps = append(r.steps, step{func(c *Case, _ Say) { ahead(c) }, i})
		}
		if r.across[i].Find != nil && !r.across[i].Alone {
			r.after = append(r.after, i)
		}
	}
	r.bench.v = v
	r.census = newCensus()
	r.own = r.bench.get()
	return r
}

func (r *run) workers() int {
	if n := r.v.options.Workers; n > 0 {
		return n
	}
	return runtime.GOMAXPROCS(0)
}

func (r *run) caseOf(f *find.Find) *Case {
	c := new(Case)
	r.fill(c, f)
	return c
}

// fill makes the case of a find, or that of the report.
func (r *run) fill(c *Case, f *find.Find) {
	*c = Case{Find: f, Report: r.in.Report, AsOf: r.v.options.AsOf, Settings: &r.v.settings, Files: r.v.options.Files, sites: r.sites, mostPicture: r.v.options.Limits.Picture, bench: r.own, census: r.census}
	if f != nil {
		r.frames.set(c)
	}
}

// header judges the report without its finds.
func (r *run) header() notice.List {
	var list notice.List
	raw := r.in.Raw
	if raw == nil {
		raw, _ = find.CanonicalHeader(r.in.Report)
	}
	list.Add(r.v.schemaNotices(raw, "report")...)
	c := r.caseOf(nil)
	for i, rule := range r.v.rules {
		if rule.Header == nil {
			continue
		}
		r.own.rule = i
		rule.Header(c, func(pointer, message string) { list.Add(notice.New(&rule.Kind, pointer, message)) })
	}
	r.accept.mark(list, "")
	for i := range list {
		r.in.LocateRecord(&list[i])
	}
	return list
}

// verdict is what is found out of a find by itself, for the rules that then look at it in order.
type verdict struct {
	c       Case
	said    []saying // of the rules
	due     []dueSaying
	lacking uint64 // core members, as bits
}

// verdicts are used again: nobody keeps a case.
var verdicts = sync.Pool{New: func() any { return new(verdict) }}

// free gives a verdict back when its find has been seen.
func (v *verdict) free() {
	clear(v.said)
	clear(v.due)
	v.c, v.said, v.due = Case{}, v.said[:0], v.due[:0]
	verdicts.Put(v)
}

// saying is a notice and the place of its rule in the catalogue, which is the order of a find's notices.
type saying struct {
	rule   int
	notice notice.Notice
}

// dueSaying is a time limit and the place of the rule that came upon it.
type dueSaying struct {
	rule     int
	deadline notice.Deadline
}

// apart judges one entry as far as no other find matters. It is called for several at the same time.
func (r *run) apart(e *find.Entry, _ bool) bool {
	b := r.bench.get()
	defer r.bench.put(b)
	b.contentsOf = nil
	e.Notices.Add(r.v.ofSchema(e, b)...)
	v := verdicts.Get().(*verdict)
	c := &v.c
	r.fill(c, e.Find)
	c.bench = b
	b.said, b.due = b.said[:0], b.due[:0]
	b.rule = -1
	c.prepare()
	c.deadline = b.deadline
	recordedDeadlines(c)
	for i := range r.steps {
		s := &r.steps[i]
		b.rule = s.rule
		s.check(c, b.say)
	}
	v.lacking = r.v.level(e.Find, b)
	v.said, v.due = append(v.said[:0], b.said...), append(v.due[:0], b.due...)
	c.bench, c.deadline = nil, nil
	e.Carry = v
	return true
}

// inOrder lets the rules across finds see an entry and adds all that was said of it.
func (r *run) inOrder(e *find.Entry) {
	v := e.Carry.(*verdict)
	e.Carry = nil
	b := r.own
	b.said, b.due = append(b.said[:0], v.said...), append(b.due[:0], v.due...)
	v.c.bench, v.c.deadline = b, b.deadline
	ref := Ref{Index: e.Index, Label: strings.Clone(e.Label()), Origin: e.Origin}
	defer v.free()
	r.census.see(&v.c, ref)
	for _, i := range r.after {
		b.rule = i
		r.across[i].Find(&v.c, ref, b.say)
	}
	if len(b.said) > len(v.said) {
		slices.SortStableFunc(b.said, func(a, b saying) int { return a.rule - b.rule })
	}
	for i := range b.said {
		e.Notices.Add(b.said[i].notice)
	}
	if len(b.due) > len(v.due) {
		slices.SortStableFunc(b.due, func(a, b dueSaying) int { return a.rule - b.rule })
	}
	for i := range b.due {
		r.due.add(e, b.due[i].deadline)
	}
	if v.lacking != 0 {
		r.v.lackOf(e, v.lacking)
	}
	b.finds++
	r.accept.meet(e.Index, e.Find.ID)
	r.accept.mark(e.Notices, e.Find.ID)
}

// end asks the rules across finds for their last words.
func (r *run) end() []*find.Entry {
	c := r.caseOf(nil)
	c.deadline = func(ref *Ref, d notice.Deadline) { r.due.addOf(ref, d) }
	for i, rule := range r.v.rules {
		if r.across[i].End == nil {
			continue
		}
		r.own.rule = i
		r.across[i].End(c, func(ref Ref, pointer, message string) {
			e := r.late[ref.Index]
			if e == nil {
				e = &find.Entry{Index: ref.Index, Origin: ref.Origin}
				if ref.Index < 0 {
					e.Origin.File = r.in.File
				}
				r.late[ref.Index] = e
				r.order = append(r.order, ref.Index)
			}
			n := notice.New(&rule.Kind, pointer, message)
			n.Location.Find = ref.Label
			marked := notice.List{n}
			r.accept.mark(marked, r.accept.ids[ref.Index])
			n = marked[0]
			if ref.Index >= 0 && ref.Origin.Line == 0 {
				n.Pointer = fmt.Sprintf("/finds/%d%s", ref.Index, pointer)
			}
			e.Notices.Add(n)
		})
	}
	if list := r.accept.stale(); len(list) > 0 {
		e := r.late[reportRef.Index]
		if e == nil {
			e = &find.Entry{Index: reportRef.Index, Origin: find.Origin{File: r.in.File}}
			r.late[reportRef.Index] = e
			r.order = append(r.order, reportRef.Index)
		}
		e.Notices.Add(list...)
	}
	r.due.list.Sort()
	r.v.summary.Deadlines = r.due.list
	out := make([]*find.Entry, 0, len(r.order)+1)
	for _, i := range r.order {
		out = append(out, r.late[i])
	}
	return out
}

// schemaNotices runs gate and schema over the JSON of a find or of the report's header.
func (v *Validator) schemaNotices(raw jsontext.Value, root string) notice.List {
	return v.schemas.Notices(raw, root)
}

// ofSchema runs gate and schema over the JSON of an entry: as it was read, else as it would be written.
func (v *Validator) ofSchema(e *find.Entry, b *bench) notice.List {
	if t, at := e.Tape(); t != nil && v.schemas.quickFind(t, at) {
		return nil
	}
	raw := e.Raw
	if raw == nil {
		b.makeContents(e.Find)
		if v.schemas.quickAsWritten(e.Find, b.contents, b.parts) {
			return nil
		}
		raw, _ = find.Marshal(e.Find)
	}
	return v.schemaNotices(raw, "find")
}
