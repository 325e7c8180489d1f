package pipeline

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// OpenLogs opens logs to be read as one, in their order; the one log of a list is opened as Open does.
//
// Each find has the id that it has by itself, and says from which log it comes. People, permissions and outings
// are one where they are equal in all but their ids; local ids that are taken are made anew. A find that
// stands in two logs is one only where both say the same. Close it when its stream has been read.
func OpenLogs(ctx context.Context, logs []Log, o Options) (*Input, error) {
	if len(logs) == 1 {
		return OpenLog(ctx, logs[0], o)
	}
	if o.Since != "" {
		return nil, errors.New("--since goes with one log, not with several")
	}
	o.ctx = ctx
	j := &joining{o: o, report: &find.Report{Findslip: find.Version, ID: o.ReportID}, seen: map[string][sha256.Size]byte{},
		origins: map[string]find.Origin{}}
	if o.Table.Map != nil {
		own := *o.Table.Map
		j.report.ID, own.ReportID = cmp.Or(j.report.ID, own.ReportID), ""
		j.o.Table.Map = &own
	}
	j.o.ReportID = ""
	for _, l := range logs {
		if err := j.open(ctx, l); err != nil {
			return nil, errors.Join(err, j.close())
		}
	}
	j.settle(logs)
	name := strconv.Itoa(len(logs)) + " logs"
	s := &find.Stream{Report: j.report, Notices: j.notices, File: name, Format: string(j.format), Origins: j.origins}
	for _, p := range j.parts {
		if s.Count += p.read.Count; p.read.Count == 0 { // not known of one, not known of all
			s.Count = 0
			break
		}
	}
	s.SetEntries(j.entries)
	return &Input{Name: name, Stream: s, Format: j.format, several: true, close: j.close}, nil
}

// joining makes one stream of several.
type joining struct {
	o       Options
	report  *find.Report
	parts   []*joined
	notices notice.List
	origins map[string]find.Origin
	format  Format
	seen    map[string][sha256.Size]byte // what a find with this id says
}

// joined is one of the logs.
type joined struct {
	log    Log
	in     *Input
	read   *find.Stream
	finder map[string]bool      // by folded name; of none if the log does not say who found anything
	ids    map[[2]string]string // kind and local id in the log: that in the report
	places map[string]string    // pointer of a record in the log: that in the report
}

func (j *joining) close() error {
	var errs []error
	for _, p := range j.parts {
		errs = append(errs, p.in.Close())
	}
	return errors.Join(errs...)
}

// open reads the header of a log and adds it to that of the report.
func (j *joining) open(ctx context.Context, l Log) error {
	o := j.o
	o.source = l.Source
	if o.Of != nil {
		o.Of(l.Name, &o)
	}
	in, err := OpenLog(ctx, l, o)
	if err != nil {
		return err
	}
	p := &joined{log: l, in: in, ids: map[[2]string]string{}, places: map[string]string{}}
	j.parts = append(j.parts, p)
	p.read = in.normalised(o)
	head := p.read.Report
	switch first := j.parts[0]; {
	case p == first:
		j.format, j.report.Audience, j.report.CopyOf = in.Format, head.Audience, head.CopyOf
	case j.o.Bags && cmp.Or(head.Audience, "self") == "self": // it came in as it is
	case j.o.Bags && cmp.Or(j.report.Audience, "self") == "self":
		j.report.Audience = head.Audience
	case cmp.Or(head.Audience, "self") != cmp.Or(j.report.Audience, "self"):
		return fmt.Errorf("reading several logs: %s is for %s and %s is for %s, so that they cannot be one report; read "+
			"them apart",
			first.log.Source, cmp.Or(j.report.Audience, "self"), l.Source, cmp.Or(head.Audience, "self"))
	}
	if in.Format != j.format {
		j.format = Findslip
	}
	if head.CopyOf != j.report.CopyOf {
		j.report.CopyOf = ""
	}
	p.people(j.report, head)
	j.permissions(p, head)
	p.outings(j.report, head)
	j.header(p, head)
	for pointer, origin := range p.read.Origins {
		if to := p.places[pointer]; to != "" {
			if _, taken := j.origins[to]; !taken {
				j.origins[to] = origin
			}
		}
	}
	for _, n := range p.read.Notices {
		n.File = cmp.Or(n.File, l.Name)
		if record, member := find.CutRecord(n.Pointer); p.places[record] != "" {
			n.Pointer = p.places[record] + member
		}
		j.notices.Add(n)
	}
	return nil
}

// header takes over what stands once in a report.
func (j *joining) header(p *joined, head *find.Report) {
	r := j.report
	for _, note := range head.Notes {
		r.Notes = append(r.Notes, clipped(p.log.Source+": "+note, 10_000))
	}
	for _, a := range head.Accepted {
		if a.Find == "" {
			j.leave(p, "notices that are accepted for the whole log")
			continue
		}
		a.By = p.id(find.PersonID, a.By)
		r.Accepted = append(r.Accepted, a)
	}
	for _, use := range head.ExtensionsUsed {
		if !slices.ContainsFunc(r.ExtensionsUsed, func(u find.ExtensionUse) bool { return u.Prefix == use.Prefix }) {
			r.ExtensionsUsed = append(r.ExtensionsUsed, use)
		}
	}
	if len(head.Extensions) > 0 || len(head.Unknown) > 0 {
		j.leave(p, "extensions and members of the header that this version does not know")
	}
}

func (j *joining) leave(p *joined, what string) {
	n := notice.New(&kinds.LogHeaderLeftOut, "", p.log.Source+": "+what+" are not in the report of all")
	n.File = p.log.Name
	j.notices.Add(n)
}

// settle gives the report what all logs agree on, and an id.
func (j *joining) settle(logs []Log) {
	r := j.report
	for _, m := range []struct {
		name string
		to   *string
		of   func(*find.Report) string
	}{
		{"the title", &r.Title, func(h *find.Report) string { return h.Title }},
		{"the language", &r.Language, func(h *find.Report) string { return h.Language }},
		{"the licence", &r.Reuse, func(h *find.Report) string { return h.Reuse }},
		{"the version of the lists", &r.VocabularyVersion, func(h *find.Report) string { return h.VocabularyVersion }},
	} {
		values := map[string]bool{}
		for _, p := range j.parts {
			if v := m.of(p.read.Report); v != "" {
				values[v] = true
				*m.to = v
			}
		}
		if len(values) > 1 {
			*m.to = ""
			j.notices.Add(notice.New(&kinds.LogHeaderLeftOut, "",
				m.name+" differs from log to log and is not in the report of all"))
		}
	}
	var names []string
	for _, l := range logs {
		names = append(names, l.Source)
	}
	if r.ID == "" {
		sorted := slices.Sorted(slices.Values(names))
		for i, name := range sorted { // a dot would end the name
			sorted[i] = strings.ReplaceAll(name, ".", " ")
		}
		r.ID, r.IDBasis = find.ReportIDFromName(strings.Join(sorted, "\n")), "file-name"
	}
	j.notices.Add(notice.New(&kinds.LogsReadAsOne, "", fmt.Sprintf("%d logs were read as one: %s", len(names),
		clipped(strings.Join(names, ", "), 300))))
}

func clipped(s string, most int) string {
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most-3], "") + "..."
}

// entries reads the finds, log after log.
func (j *joining) entries(yield func(*find.Entry, error) bool) {
	index := 0
	for _, p := range j.parts {
		for e, err := range p.read.Entries {
			if err != nil {
				yield(nil, fmt.Errorf("%s: %w", p.log.Name, err))
				return
			}
			if j.again(p, e) {
				e = &find.Entry{Origin: e.Origin, Notices: notice.List{notice.New(&kinds.FindInTwoLogs, "",
					"find "+e.Label()+" stands in an earlier log too and says the same there; it was taken once")}}
			}
			if e.Index = index; e.Find != nil {
				index++
			}
			if !yield(e, nil) {
				return
			}
		}
		if err := p.in.changed(); err != nil {
			yield(nil, err)
			return
		}
	}
}

// sourceOf returns the sheet and row that an entry was read from, as far as there are any.
func sourceOf(e *find.Entry) *find.Source {
	s := &find.Source{}
	if e.Origin.Row > 0 {
		s.Row = find.Int(e.Origin.Row)
	}
	if e.Origin.Layout != nil {
		s.Sheet = clipped(e.Origin.Layout.Sheet, 200)
	}
	return s
}

// Sourced lets each find of a table that becomes native JSON say which sheet and row it was read from.
func Sourced(s *find.Stream, o Options) *find.Stream {
	if o.To != Findslip && o.To != JSONL {
		return s
	}
	return s.Map(func(e *find.Entry, _ bool) bool {
		if e.Find != nil && e.Find.Source == nil && e.Origin.Row > 0 {
			e.Find.Source = sourceOf(e)
		}
		return true
	})
}

// again makes the find of a log one of the report, and reports whether it was there already.
func (j *joining) again(p *joined, e *find.Entry) bool {
	f := e.Find
	if f == nil {
		return false
	}
	f.LocalIDs(func(kind string, id *string) { *id = p.id(kind, *id) })
	source := f.Source
	f.Source = nil
	raw, err := find.Marshal(f)
	if f.Source = source; f.Source == nil {
		f.Source = sourceOf(e)
		f.Source.File = clipped(p.log.Source, 500)
	}
	if err != nil || f.ID == "" {
		return false
	}
	sum := sha256.Sum256(raw)
	before, known := j.seen[f.ID]
	if !known {
		j.seen[strings.Clone(f.ID)] = sum
	}
	return known && before == sum
}

// id returns the id in the report of a local id in the log.
func (p *joined) id(kind, id string) string { return cmp.Or(p.ids[[2]string{kind, id}], id) }

// people adds those of a log.
func (p *joined) people(r, head *find.Report) {
	for i, person := range head.People {
		at := putRecord(&r.People, person, func(x *find.Person) *string { return &x.ID })
		p.ids[[2]string{find.PersonID, head.People[i].ID}] = r.People[at].ID
		p.places[fmt.Sprintf("/people/%d", i)] = fmt.Sprintf("/people/%d", at)
	}
}

// permissions adds those of a log. Of one name they are one in the logs of one finder. Two finders may each have a
// Long Acre, and the owner of one is not to read of the other: where no name says who gave permission, theirs stay
// apart.
func (j *joining) permissions(p *joined, head *find.Report) {
	r := j.report
	p.finder = map[string]bool{}
	for i := range head.People {
		p.finder[find.FoldName(cmp.Or(head.People[i].Name, head.People[i].Handle))] = true
	}
	strange := map[string]bool{} // fields of logs of other people
	for _, other := range j.parts[:len(j.parts)-1] {
		if len(p.finder) == 0 || len(other.finder) == 0 || slices.ContainsFunc(slices.Collect(maps.Keys(p.finder)),
			func(name string) bool { return other.finder[name] }) {
			continue
		}
		for i := range other.read.Report.Permissions {
			strange[other.id(find.PermissionID, other.read.Report.Permissions[i].ID)] = true
		}
	}
	for i, permission := range head.Permissions {
		permission.GrantedBy = p.id(find.PersonID, permission.GrantedBy)
		permission.Occupier = p.id(find.PersonID, permission.Occupier)
		at := putRecord(&r.Permissions, permission, func(x *find.Permission) *string { return &x.ID },
			func(x *find.Permission) bool { return x.GrantedBy != "" || !strange[x.ID] })
		p.ids[[2]string{find.PermissionID, head.Permissions[i].ID}] = r.Permissions[at].ID
		p.places[fmt.Sprintf("/permissions/%d", i)] = fmt.Sprintf("/permissions/%d", at)
	}
}

func (p *joined) outings(r, head *find.Report) {
	for i, outing := range head.Outings {
		outing.Permission = p.id(find.PermissionID, outing.Permission)
		outing.People = slices.Clone(outing.People)
		for k, id := range outing.People {
			outing.People[k] = p.id(find.PersonID, id)
		}
		at := putRecord(&r.Outings, outing, func(x *find.Outing) *string { return &x.ID })
		p.ids[[2]string{find.OutingID, head.Outings[i].ID}] = r.Outings[at].ID
		p.places[fmt.Sprintf("/outings/%d", i)] = fmt.Sprintf("/outings/%d", at)
	}
}

// putRecord adds a record to a list, unless one stands there that is equal in all but its id and may be the same, and
// returns where it is. An id that is taken gets another number.
func putRecord[T find.Record](list *[]T, record T, id func(*T) *string, may ...func(*T) bool) int {
	own := *id(&record)
	for i := range *list {
		other := (*list)[i]
		if len(may) > 0 && !may[0](&other) {
			continue
		}
		*id(&other) = own
		if find.Same(&other, &record) {
			return i
		}
	}
	taken := func(name string) bool {
		return slices.ContainsFunc(*list, func(x T) bool { return *id(&x) == name })
	}
	if taken(own) {
		stem := strings.TrimRight(strings.TrimRight(own, "0123456789"), "-")
		for n := 1; ; n++ {
			if *id(&record) = fmt.Sprintf("%.20s-%d", stem, n); !taken(*id(&record)) {
				break
			}
		}
	}
	*list = append(*list, record)
	return len(*list) - 1
}
