package repair

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/validate"
)

// Repaired is the outcome of Apply.
type Repaired struct {
	Before, After *pipeline.Result // of checks without a level
	Applied       int              // proposals that were applied: all that are accepted
	// Patch is the same repair as a JSON Patch (RFC 6902) of the report as Convert writes it with
	// the same options. It holds what was written, positions too.
	Patch []PatchOperation
}

// Apply reads a file, applies the accepted proposals and writes the report to w in the format
// Options.To. Where a proposal does not meet what it was made for, that is an error which names
// it; when Apply returns an error, nothing of w is to be used.
func Apply(ctx context.Context, name string, p *Proposals, w io.Writer, o pipeline.Options) (_ *Repaired, err error) {
	o.Level = validate.NoLevel
	first, err := pipeline.Open(ctx, name, o)
	if err != nil {
		return nil, err
	}
	defer first.Close()
	out := new(Repaired)
	if out.Before, err = first.Check(ctx, o); err != nil {
		return nil, err
	}
	in, err := first.Again(o)
	if err != nil {
		return nil, err
	}
	if id := in.Stream.Report.ID; p.Source.ReportID != "" && p.Source.ReportID != id {
		return nil, fmt.Errorf("the proposals speak of another report than %s; the id of a report that states none comes "+
			"from the name of its file, and --report-id gives it the right one", name)
	}
	a := newApplier(p, in.Stream.Report)
	o.Step = a.step
	out.After, err = pipeline.Run(ctx, in, o, func(s *find.Stream) error {
		if err := pipeline.Encode(w, pipeline.Sourced(s, o), o); err != nil {
			return err
		}
		return a.unmet()
	})
	if err != nil {
		return nil, fmt.Errorf("repairing %s: %w", name, err)
	}
	out.Applied, out.Patch = a.applied, a.patch
	return out, nil
}

// Step is the station of the accepted proposals, for pipeline.Options.Step. In the place of Apply it does not insist
// that every find of a proposal comes.
func (p *Proposals) Step(in *find.Stream, read normalise.Options) (*find.Stream, error) {
	return newApplier(p, in.Report).step(in, read)
}

// applier applies the accepted proposals while the finds pass.
type applier struct {
	wanted  map[string][]Proposal // by the id of the find; what was applied is taken out
	met     map[string]int        // how many finds with a wanted id have passed
	records []Proposal            // those of people, permissions and outings, which come first
	report  *find.Report
	applied int
	index   int // how many finds have passed
	patch   []PatchOperation
}

func newApplier(p *Proposals, report *find.Report) *applier {
	a := &applier{wanted: map[string][]Proposal{}, met: map[string]int{}, report: report}
	for _, x := range p.Proposals {
		switch {
		case !x.Accepted:
		case x.Part != "":
			a.records = append(a.records, x)
		default:
			a.wanted[x.Find] = append(a.wanted[x.Find], x)
		}
	}
	return a
}

// entry applies what is accepted for one find and reads the find anew.
func (a *applier) entry(e *find.Entry, read normalise.Options) error {
	id, index := e.Find.ID, a.index
	a.index++
	wanted, ok := a.wanted[id]
	if !ok {
		return nil
	}
	a.met[id]++
	before, err := find.Marshal(e.Find)
	if err != nil {
		return err
	}
	var rest []Proposal
	mended := map[string]bool{}
	for _, x := range wanted {
		if max(x.Nth, 1) != a.met[id] {
			rest = append(rest, x)
			continue
		}
		if err := a.apply(e, x); err != nil {
			return fmt.Errorf("proposal %s, find %s: %w", x.ID, e.Label(), err)
		}
		mended[member(x.Pointer)] = true
		a.applied++
	}
	a.wanted[id] = rest
	if len(mended) == 0 {
		return nil
	}
	// What was said of other members stands; what was said of these is reported anew if it still holds.
	e.Notices = slices.DeleteFunc(e.Notices, func(n notice.Notice) bool { return mended[member(n.Pointer)] })
	if read.Language == "" {
		read.Language = a.report.Language
	}
	e.Notices.Add(normalise.Find(e.Find, e.Origin.Layout, read)...)
	e.Raw = nil
	after, err := find.Marshal(e.Find)
	if err != nil {
		return err
	}
	changes, err := patch(fmt.Sprintf("/finds/%d", index), before, after)
	a.patch = append(a.patch, changes...)
	return err
}

// unmet names the first proposal whose find did not come.
func (a *applier) unmet() error {
	first, n := "", 0
	for _, list := range a.wanted {
		for _, x := range list {
			if n++; first == "" || x.ID < first {
				first = x.ID
			}
		}
	}
	if n == 0 {
		return nil
	}
	return fmt.Errorf("%d of the accepted proposals, first %s, speak of finds that are not in the file; make the "+
		"proposals anew", n, first)
}

// apply puts the text of a proposal in its place, if what it was made for still stands there. The
// text that stood there is kept among the columns, and the canonical value goes, to be read anew.
func (a *applier) apply(e *find.Entry, x Proposal) error {
	f := e.Find
	to, err := slotOf[find.Find](x.Pointer)
	if err != nil {
		return err
	}
	if to.appends {
		if x.Before != "" || !canLink(f, x.After) {
			return changedSince(x)
		}
		return to.set(f, x.After)
	}
	if fills(x) {
		return fillIn(to, f, x)
	}
	return put(to, f, x, func() {
		switch {
		case x.Pointer == "/number":
			a.follow(e, x)
		case x.Pointer == "/position/verbatim":
			clearPosition(f)
		case x.Pointer == "/found/verbatim" && f.Found != nil:
			f.Found.Date = ""
		}
		clearParts(f, x.Pointer)
	})
}

// put replaces a text of a record and keeps it among the columns. Clear takes away what was read from
// it.
func put[T find.Record](to slot[T], record *T, x Proposal, clear func()) error {
	if x.Before == "" {
		return fmt.Errorf("nothing stood at %s, and a repair replaces what stands there", x.Pointer)
	}
	if to.get(record) != x.Before {
		return changedSince(x)
	}
	clear()
	columns := find.ColumnsOf(record)
	if *columns == nil {
		*columns = map[string]string{}
	}
	(*columns)[freeHeading(*columns, to.name)] = x.Before
	return to.set(record, x.After)
}

func changedSince(x Proposal) error {
	return fmt.Errorf("what stands at %s is no longer what the proposal was made for; make the proposals anew", x.Pointer)
}

// follow gives the find the id of its new number, where the id was made from the old one: in a
// table without ids, and where two bags with one number had one id. An id that is stated stays.
func (a *applier) follow(e *find.Entry, x Proposal) {
	_, stated := e.Origin.Layout.Column("/id")
	if e.Origin.Layout == nil {
		stated = true
	}
	if (!stated || x.Nth > 1) && e.Find.ID == find.FindID(a.report.ID, x.Before) {
		e.Find.ID = find.FindID(a.report.ID, x.After)
	}
}

// beforeRepair ends the heading under which a replaced text is kept.
const beforeRepair = " (before repair"

// freeHeading is the first heading for a replaced text that no earlier repair has taken.
func freeHeading(columns map[string]string, name string) string {
	heading := name + beforeRepair + ")"
	for n := 2; columns[heading] != ""; n++ {
		heading = name + beforeRepair + " " + strconv.Itoa(n) + ")"
	}
	return heading
}

// member is the first segment of a pointer.
func member(pointer string) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	return first
}

// A slot is where a repair puts its text.
type slot[T find.Record] struct {
	name    string // flat name
	mends   string // pointer of the cell that is mended: one for a text and the value read from it
	appends bool   // adds to a list; nothing stands there yet
	get     func(record *T) string
	set     func(record *T, text string) error
}

const (
	linkPointer   = "/associated/-" // RFC 6901: behind the last one
	columnPointer = "/columns/"
)

// slotOf finds the slot of a pointer in a record of one sort. There are three: a field of the table of
// fields, a column that no field takes, and the end of the list of links of a find.
func slotOf[T find.Record](pointer string) (slot[T], error) {
	if link, ok := any(addLink).(func(*T, string) error); ok && pointer == linkPointer {
		return slot[T]{name: "associated", mends: pointer, appends: true, get: func(*T) string { return "" }, set: link}, nil
	}
	if heading, ok := strings.CutPrefix(pointer, columnPointer); ok && heading != "" {
		heading = notice.Unescape(heading)
		return slot[T]{name: heading, mends: pointer, get: func(r *T) string { return (*find.ColumnsOf(r))[heading] },
			set: func(r *T, text string) error { (*find.ColumnsOf(r))[heading] = text; return nil }}, nil
	}
	path, err := find.PathTo[T](find.NameOf(pointer))
	if err != nil {
		return slot[T]{}, err
	}
	if path.Pointer != pointer || pointer == "/id" || path.Field.Kind == find.PointerMap || path.Field.Kind == find.JSON &&
		pointer != "/area" {
		return slot[T]{}, fmt.Errorf("nothing is repaired at %q", pointer)
	}
	return slot[T]{name: path.Name, mends: pointer, get: func(r *T) string { return textAt(r, path) },
		set: func(r *T, text string) error { return find.Set(path, r, text) }}, nil
}

// textAt is the text that a repair replaces: the words, or the canonical value that stands for
// them.
func textAt[T find.Record](record *T, path *find.Path) string {
	text := find.Get(path, record)
	f, ok := any(record).(*find.Find)
	switch {
	case text != "" || !ok:
	case path.Pointer == "/position/verbatim":
		return pointText(f.Position)
	case path.Pointer == "/found/verbatim" && f.Found != nil:
		return f.Found.Date
	}
	return text
}

func pointText(p *find.Position) string {
	if p == nil || !p.Latitude.Known() || !p.Longitude.Known() {
		return ""
	}
	return p.Latitude.String() + ", " + p.Longitude.String()
}

// clearPosition takes away what was read from the words of a position, and an uncertainty that was
// worked out from them.
func clearPosition(f *find.Find) {
	p := f.Position
	if p == nil {
		return
	}
	p.Latitude, p.Longitude, p.ReferenceSystem = find.Number{}, find.Number{}, ""
	if p.UncertaintyBasis.Is("square", "computed", "method-default") {
		p.Uncertainty, p.UncertaintyBasis = find.Number{}, nil
	}
}

// clearParts takes the canonical value of a quantity away.
func clearParts(f *find.Find, pointer string) {
	f.Quantities(func(p, _ string, q *find.Quantity) {
		if p == pointer {
			*q = find.Quantity{Said: q.Said, Verbatim: q.Verbatim, Unknown: q.Unknown}
		}
	})
}

// step is the station of the repairs: it applies what is accepted and reads anew what was changed.
func (a *applier) step(in *find.Stream, read normalise.Options) (*find.Stream, error) {
	out := *in
	if err := a.head(&out, read); err != nil {
		return nil, err
	}
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		for e, err := range in.Entries {
			if err == nil && e.Find != nil {
				err = a.entry(e, read)
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	})
	return &out, nil
}

// A PatchOperation is one operation of a JSON Patch (RFC 6902). Its path leads into the canonical
// JSON of the report: /finds/3/depth/verbatim.
type PatchOperation struct {
	Op    string         `json:"op"` // test, replace, add, remove
	Path  string         `json:"path"`
	Value jsontext.Value `json:"value,omitzero"`
}

// WritePatch writes operations as the document of a JSON Patch, whose media type is
// application/json-patch+json.
func WritePatch(w io.Writer, operations []PatchOperation) error {
	if operations == nil {
		operations = []PatchOperation{}
	}
	b, err := json.Marshal(operations, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// patch is what turns a record from before into after, for a report in which it stands at this
// pointer. Its first operation proves that it is this record; each value that is replaced or removed is
// proved before.
func patch(at string, before, after jsontext.Value) ([]PatchOperation, error) {
	old, err := members(before)
	if err != nil {
		return nil, err
	}
	id, _ := old.get("id")
	out := []PatchOperation{{Op: "test", Path: at + "/id", Value: id}}
	changes, err := difference(at, old, after)
	if err != nil || len(changes) == 0 {
		return nil, err
	}
	return append(out, changes...), nil
}

// difference lists what turns one object into another. Objects are looked into, lists are replaced
// as a whole.
func difference(at string, old fields, now jsontext.Value) ([]PatchOperation, error) {
	wanted, err := members(now)
	if err != nil {
		return nil, err
	}
	var out []PatchOperation
	for _, m := range old {
		path := at + "/" + notice.Escape(m.name)
		v, there := wanted.get(m.name)
		switch {
		case !there:
			out = append(out, PatchOperation{Op: "test", Path: path, Value: m.value}, PatchOperation{Op: "remove", Path: path})
		case bytes.Equal(v, m.value):
		case v.Kind() == '{' && m.value.Kind() == '{':
			inner, err := members(m.value)
			if err != nil {
				return nil, err
			}
			changes, err := difference(path, inner, v)
			if err != nil {
				return nil, err
			}
			out = append(out, changes...)
		default:
			out = append(out, PatchOperation{Op: "test", Path: path, Value: m.value},
				PatchOperation{Op: "replace", Path: path, Value: v})
		}
	}
	for _, m := range wanted {
		if _, there := old.get(m.name); !there {
			out = append(out, PatchOperation{Op: "add", Path: at + "/" + notice.Escape(m.name), Value: m.value})
		}
	}
	return out, nil
}

// fields are the members of an object in order.
type fields []struct {
	name  string
	value jsontext.Value
}

func (f fields) get(name string) (jsontext.Value, bool) {
	for _, m := range f {
		if m.name == name {
			return m.value, true
		}
	}
	return nil, false
}

// members reads an object that this program has written.
func members(object jsontext.Value) (fields, error) {
	dec := jsontext.NewDecoder(bytes.NewReader(object))
	if _, err := dec.ReadToken(); err != nil {
		return nil, err
	}
	var out fields
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return nil, err
		}
		key := name.String()
		v, err := dec.ReadValue()
		if err != nil {
			return nil, err
		}
		out = append(out, struct {
			name  string
			value jsontext.Value
		}{key, v.Clone()})
	}
	return out, nil
}
