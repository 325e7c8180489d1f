package pipeline

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
)

// marked reports whether something of a find is withheld or was made coarser.
func marked(f *find.Find) bool {
	return len(f.Generalised) > 0 || slices.Contains(slices.Collect(maps.Values(f.Absent)), "withheld")
}

// fetch reads those earlier finds of which something may be kept, up to the limit Held.
func (p *pairing) fetch(fresh []traits, o Options) error {
	wanted := map[int]bool{}
	for i, t := range fresh {
		if partner, ok := p.partner[i]; ok && (t.marked || p.copied) {
			wanted[partner] = true
		}
	}
	if len(wanted) == 0 {
		return nil
	}
	if o.Since == "-" {
		return &InputError{File: "standard input", Code: "input-missing",
			Msg:  "the earlier conversion is needed twice, for the new file withholds something",
			Help: "save it to a file and name that with --since"}
	}
	in, read, err := openEarlier(o)
	if err != nil {
		return err
	}
	defer in.Close()
	p.earlier = map[int]*find.Find{}
	most := o.Limits.WithDefaults().Held
	at, left := 0, most
	for e, err := range normalise.Stream(in.Stream, read).Entries {
		if err != nil {
			return fmt.Errorf("the earlier conversion: reading %s: %w", o.Since, err)
		}
		if e.Find == nil {
			continue
		}
		if wanted[at] {
			text, err := find.Marshal(e.Find)
			if err != nil {
				return err
			}
			if left -= int64(len(text)); left < 0 {
				return limit.Over("held", most)
			}
			p.earlier[at] = new(find.Find) // the reader may use the other again
			find.DecodeFind(text, p.earlier[at])
		}
		at++
	}
	return nil
}

// forOthers tells a copy for somebody else than the finder.
func forOthers(r *find.Report) bool { return r.Audience != "" && r.Audience != "self" }

// keepHeader lets stand what the header of the earlier file has where that of the new one withholds it, and
// returns which members those are. What has more in it than a copy for others is none any more.
func keepHeader(head, earlier *find.Report, copied bool) (kept []string) {
	head.Absent = maps.Clone(head.Absent)
	for _, m := range []struct {
		pointer string
		has     bool
		keep    func()
	}{
		{"/title", earlier.Title != "", func() { head.Title = earlier.Title }},
		{"/notes", len(earlier.Notes) > 0, func() { head.Notes = earlier.Notes }},
		{"/people", len(earlier.People) > 0, func() { head.People = earlier.People }},
		{"/permissions", len(earlier.Permissions) > 0, func() { head.Permissions = earlier.Permissions }},
		{"/outings", len(earlier.Outings) > 0, func() { head.Outings = earlier.Outings }},
	} {
		if head.Absent[m.pointer] == "withheld" && m.has {
			m.keep()
			delete(head.Absent, m.pointer)
			kept = append(kept, m.pointer)
		}
	}
	if len(head.Absent) == 0 {
		head.Absent = nil
	}
	if !copied {
		return kept
	}
	if head.CopyOf == earlier.ID && earlier.ID != "" {
		head.ID, head.IDBasis = earlier.ID, earlier.IDBasis
	}
	head.Audience, head.CopyOf = "", ""
	kept = append(kept, keepRecords("/people", &head.People, earlier.People,
		func(p *find.Person) string { return p.ID })...)
	kept = append(kept, keepRecords("/permissions", &head.Permissions, earlier.Permissions,
		func(p *find.Permission) string { return p.ID })...)
	kept = append(kept, keepRecords("/outings", &head.Outings, earlier.Outings,
		func(o *find.Outing) string { return o.ID })...)
	if head.ExtensionsUsed == nil {
		head.ExtensionsUsed = earlier.ExtensionsUsed
	}
	if head.Extensions == nil {
		head.Extensions = earlier.Extensions
	}
	if head.Unknown == nil {
		head.Unknown = earlier.Unknown
	}
	return kept
}

// keepRecords lets stand those records of which a copy for others has nothing but a part.
func keepRecords[T any](pointer string, list *[]T, earlier []T, id func(*T) string) (kept []string) {
	*list = slices.Clone(*list)
	for i := range *list {
		k := slices.IndexFunc(earlier, func(t T) bool { return id(&t) == id(&(*list)[i]) })
		if k < 0 {
			continue
		}
		here, there := membersOf(&(*list)[i]), membersOf(&earlier[k])
		if partOf(here, there) && !partOf(there, here) {
			(*list)[i] = earlier[k]
			kept = append(kept, fmt.Sprintf("%s/%d", pointer, i))
		}
	}
	return kept
}

// membersOf are the members of a record, but for what it says of those that are not there.
func membersOf(record any) (members map[string]any) {
	text, err := find.Marshal(record)
	if err != nil || json.Unmarshal(text, &members) != nil {
		return nil
	}
	delete(members, "absent")
	delete(members, "generalised")
	return members
}

// keepEarlier lets stand what an earlier find has where the new one withholds it, or has it coarser, and
// where the new one is of a copy for others, what it has without the words.
func keepEarlier(e *find.Entry, earlier *find.Find, copied bool) error {
	marks := map[string]string{}
	for pointer, reason := range e.Find.Absent {
		if reason == "withheld" {
			marks[pointer] = "withheld here"
		}
	}
	for pointer, how := range e.Find.Generalised {
		if was := earlier.Generalised[pointer]; was == "" || coarser(how, was) {
			marks[pointer] = "coarser here"
		}
	}
	old, err := find.Marshal(earlier)
	if err != nil {
		return err
	}
	text, err := find.Marshal(e.Find)
	if err != nil {
		return err
	}
	var kept, gone []string // what stays, and the marks that go for it
	for _, pointer := range slices.Sorted(maps.Keys(marks)) {
		at, value := valueAt(old, pointer)
		if value == nil || !strings.HasPrefix(pointer, "/") {
			continue
		}
		if gone = append(gone, pointer); slices.Contains(kept, at) {
			continue
		}
		if text, err = putAt(text, at, value); err != nil {
			return err
		}
		if !slices.ContainsFunc(kept, func(k string) bool { return strings.HasPrefix(at, k+"/") }) {
			e.Notices.Add(notice.New(sinceKept, at, "it is "+marks[pointer]+"; what the earlier file has stays"))
		}
		kept = append(kept, at)
	}
	if copied {
		less, err := lessIn(text, old, earlier)
		if err != nil {
			return err
		}
		for _, name := range less {
			at := "/" + notice.Escape(name)
			_, value := valueAt(old, at)
			if text, err = putAt(text, at, value); err != nil {
				return err
			}
			e.Notices.Add(notice.New(sinceKept, at, "this copy for others says less; what the earlier file has stays"))
			kept = append(kept, at)
		}
	}
	if len(kept) == 0 {
		return nil
	}
	f := new(find.Find)
	find.DecodeFind(text, f)
	f.Absent = marksAfter(f.Absent, earlier.Absent, kept, gone)
	f.Generalised = marksAfter(f.Generalised, earlier.Generalised, kept, gone)
	// What was read of the new file alone no longer is the find.
	*e = find.Entry{Find: f, Index: e.Index, Origin: e.Origin, Size: e.Size, Notices: e.Notices, Carry: e.Carry}
	return nil
}

// coarser reports whether one way of making coarser surely leaves less than another.
func coarser(how, was string) bool {
	if how == "year" {
		return was == "month"
	}
	side, isGrid := strings.CutPrefix(how, "grid-")
	other, wasGrid := strings.CutPrefix(was, "grid-")
	if !isGrid || !wasGrid {
		return false
	}
	a, errA := find.ParseNumber(side)
	b, errB := find.ParseNumber(other)
	return errA == nil && errB == nil && a.Known() && b.Known() && a.Decimal() > b.Decimal()
}

// marksAfter are the marks of a find of which something is kept: those of the earlier find on what is kept,
// and those of the new one on all else.
func marksAfter(fresh, earlier map[string]string, kept, gone []string) map[string]string {
	within := func(pointer string) bool {
		return slices.ContainsFunc(kept, func(k string) bool { return pointer == k || strings.HasPrefix(pointer, k+"/") })
	}
	out := map[string]string{}
	for pointer, how := range fresh {
		if !within(pointer) && !slices.Contains(gone, pointer) {
			out[pointer] = how
		}
	}
	for pointer, how := range earlier {
		if within(pointer) {
			out[pointer] = how
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// lessIn returns the members of which a copy for others has nothing but a part, and those that such a copy
// drops without a word.
func lessIn(text, old jsontext.Value, earlier *find.Find) (names []string, err error) {
	var here, there, unknown map[string]any
	if err := json.Unmarshal(text, &here); err != nil {
		return nil, err
	}
	if err := json.Unmarshal(old, &there); err != nil {
		return nil, err
	}
	if len(earlier.Unknown) > 0 {
		if err := json.Unmarshal(earlier.Unknown, &unknown); err != nil {
			return nil, err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(there)) {
		if name == "absent" || name == "generalised" {
			continue
		}
		value, has := here[name]
		_, strange := unknown[name]
		if !has && (strange || name == "columns" || name == "extensions") || has && partOf(value, there[name]) &&
			!partOf(there[name], value) {
			names = append(names, name)
		}
	}
	return names, nil
}

// partOf reports whether a value says nothing that another does not say too, member by member.
func partOf(a, b any) bool {
	switch a := a.(type) {
	case map[string]any:
		b, ok := b.(map[string]any)
		for name, value := range a {
			other, has := b[name]
			ok = ok && has && partOf(value, other)
		}
		return ok
	case []any:
		b, ok := b.([]any)
		ok = ok && len(a) == len(b)
		for i := range a {
			ok = ok && partOf(a[i], b[i])
		}
		return ok
	}
	switch b.(type) {
	case map[string]any, []any:
		return false
	}
	return a == b
}

// valueAt returns what stands at a pointer of members, and where: a pointer into a list stands for the list.
// Nil is nothing.
func valueAt(text jsontext.Value, pointer string) (at string, value jsontext.Value) {
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		if text.Kind() == '[' {
			break
		}
		var members map[string]jsontext.Value
		if json.Unmarshal(text, &members) != nil {
			return pointer, nil
		}
		at += "/" + token
		text = members[notice.Unescape(token)]
	}
	return at, text
}

// putAt puts a value at a pointer of members and makes the objects on the way that are not there.
func putAt(text jsontext.Value, pointer string, value jsontext.Value) (jsontext.Value, error) {
	token, rest, deeper := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	token = notice.Unescape(token)
	members := map[string]jsontext.Value{}
	if len(text) > 0 {
		if err := json.Unmarshal(text, &members); err != nil {
			return nil, err
		}
	}
	if deeper {
		inner, err := putAt(members[token], "/"+rest, value)
		if err != nil {
			return nil, err
		}
		value = inner
	}
	members[token] = value
	return json.Marshal(members)
}
