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
	"slices"

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
	own.Depth = int(min(o.Limits.Nesting, math.MaxInt32))
	v := &Validator{options: o, schemas: &own, rules: Catalogue()}
	v.settings = DefaultSettings()
	if o.Settings != nil {
		v.settings = *o.Settings
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
	out.Entries = func(yield func(*find.Entry, error) bool) {
		for e, err := range in.Entries {
			if err == nil && e.Find != nil {
				r.find(e)
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
	}
	return &out
}

// run is the state of one run.
type run struct {
	v      *Validator
	in     *find.Stream
	across []Across
	sites  sites
	late   map[int]*find.Entry // notices of the end, by index
	accept *acceptances
	order  []int
	due    deadlines
}

func (v *Validator) begin(in *find.Stream) *run {
	v.summary = Summary{Met: map[Level]int{}, Missing: map[string]int{}, NotChecked: map[string]int{}}
	r := &run{v: v, in: in, across: make([]Across, len(v.rules)), sites: sites{}, late: map[int]*find.Entry{}, accept: newAcceptances(in.Report.Accepted)}
	for i, rule := range v.rules {
		if rule.Across != nil {
			r.across[i] = rule.Across()
		}
	}
	return r
}

func (r *run) caseOf(f *find.Find) *Case {
	c := &Case{Find: f, Report: r.in.Report, AsOf: r.v.options.AsOf, Settings: &r.v.settings, Files: r.v.options.Files, sites: r.sites, mostPicture: r.v.options.Limits.Picture}
	if f != nil {
		c.Permission = r.in.Report.Permission(f.Permission)
		c.Outing = r.in.Report.Outing(f.Outing)
		if c.Permission == nil && c.Outing != nil && f.Permission == "" {
			c.Permission = r.in.Report.Permission(c.Outing.Permission)
		}
	}
	return c
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
	for _, rule := range r.v.rules {
		if rule.Header == nil {
			continue
		}
		c.notChecked = func() { r.v.summary.NotChecked[rule.Code]++ }
		rule.Header(c, func(pointer, message string) { list.Add(notice.New(&rule.Kind, pointer, message)) })
	}
	r.accept.mark(list, "")
	for i := range list {
		list[i].File = r.in.File
	}
	return list
}

// find judges one entry and adds notices to it.
func (r *run) find(e *find.Entry) {
	v := r.v
	v.summary.Finds++
	raw := e.Raw
	if raw == nil {
		raw, _ = find.Marshal(e.Find)
	}
	e.Notices.Add(v.schemaNotices(raw, "find")...)
	c := r.caseOf(e.Find)
	c.deadline = func(_ *Ref, d notice.Deadline) { r.due.add(e, d) }
	recordedDeadlines(c)
	for i, rule := range v.rules {
		say := func(pointer, message string) { e.Notices.Add(notice.New(&rule.Kind, pointer, message)) }
		c.notChecked = func() { v.summary.NotChecked[rule.Code]++ }
		switch {
		case rule.Check != nil:
			rule.Check(c, say)
		case r.across[i].Find != nil:
			r.across[i].Find(c, Ref{Index: e.Index, Label: e.Label(), Origin: e.Origin}, say)
		}
	}
	v.level(e)
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
		c.notChecked = func() { r.v.summary.NotChecked[rule.Code]++ }
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
		e := r.late[ReportRef.Index]
		if e == nil {
			e = &find.Entry{Index: ReportRef.Index, Origin: find.Origin{File: r.in.File}}
			r.late[ReportRef.Index] = e
			r.order = append(r.order, ReportRef.Index)
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
