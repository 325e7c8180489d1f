package profile

import (
	"cmp"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/schema"
)

// A Subject is a find with what it names: the permission it was made under and its finder, as far as they are known.
type Subject struct {
	Find       *find.Find
	Permission *find.Permission
	Finder     *find.Person
	year       int // of the day that counts as today; 0: not known
	panel      *Panel
	own        map[string]Period // of the profile that is asked
}

// periodYears are the years between which the age of the find lies by the period that its words name; false where none
// does, or the age has years.
func (s *Subject) periodYears() (low, high find.Number, ok bool) {
	d := s.Find.Dating
	if d == nil || d.Earliest.Known() || d.Latest.Known() {
		return low, high, false
	}
	words := d.Verbatim
	if d.Period != nil {
		words = cmp.Or(d.Period.Label, words)
	}
	p, ok := s.own[fold(words)]
	if !ok && s.panel != nil && s.panel.named != nil && words != "" {
		p.From, p.To, ok = s.panel.named(words)
	}
	return find.Int(p.From), find.Int(p.To), ok
}

// land is what the land of the find is called.
func (s *Subject) land() (names []string) {
	p := s.Permission
	switch {
	case p == nil && s.Find.Permission == "":
		return nil
	case p == nil:
		return []string{s.Find.Permission}
	case p.Place != nil && p.Place.Name != "":
		names = append(names, p.Place.Name)
	}
	return append(names, p.ID)
}

// A member is a way from a find to one of its members, through its lists, or to a member of its permission or finder.
type member struct {
	find.Way
	pointer string
	of      string  // permission, finder; empty: the find
	list    string  // the code list of its codes; empty: none
	above   *member // of one that ends in verbatim, what it belongs to
}

// memberAt returns the way to a member of a find, or false where there is none of that name.
func memberAt(pointer string) (m member, ok bool) {
	m.pointer, m.list = pointer, lists()[pointer]
	first, rest, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	if rest != "" && isBeside(first) {
		m.of = first
	}
	switch m.of {
	case "permission":
		m.Way, ok = find.WayTo[find.Permission](rest)
	case "finder":
		m.Way, ok = find.WayTo[find.Person](rest)
	default:
		m.Way, ok = find.WayTo[find.Find](pointer)
	}
	if above, words := strings.CutSuffix(pointer, "/verbatim"); words {
		if of, known := memberAt(above); known {
			m.above = &of
		}
	}
	return m, ok
}

// isBeside reports whether a member of a find names an object whose members are reached through the find.
func isBeside(first string) bool { return first == "permission" || first == "finder" }

// fields are the fields of a find and of what it names, by their pointers from the find.
func fields() (out []find.Field) {
	for prefix, list := range map[string][]find.Field{"": find.FieldsOf[find.Find](),
		"/permission": find.FieldsOf[find.Permission](), "/finder": find.FieldsOf[find.Person]()} {
		for _, f := range list {
			f.Pointer = prefix + strings.ReplaceAll(f.Pointer, "/#", "")
			out = append(out, f)
		}
	}
	return out
}

// lists are the code lists by the pointer of the member whose codes come from them.
var lists = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for _, f := range fields() {
		if f.List != "" {
			out[f.Pointer] = f.List
			out[strings.TrimSuffix(f.Pointer, "/code")] = f.List
		}
	}
	return out
})

// Members returns the pointers of all members of a find that an ask may name, sorted.
func Members() []string { return slices.Clone(allMembers()) }

var allMembers = sync.OnceValue(func() []string {
	seen := map[string]bool{}
	for _, f := range fields() {
		for pointer := f.Pointer; pointer != ""; pointer = pointer[:strings.LastIndexByte(pointer, '/')] {
			if _, ok := memberAt(pointer); ok {
				seen[pointer] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(seen))
})

// values calls yield with what a find has at a member, as find.Values does; several times where lists are on the way.
func (m *member) values(s *Subject, yield func(any) bool) bool {
	switch m.of {
	case "permission":
		return find.Values(m.Way, s.Permission, yield)
	case "finder":
		return find.Values(m.Way, s.Finder, yield)
	}
	return find.Values(m.Way, s.Find, yield)
}

// given reports whether a find has the member, if only in words.
func (m *member) given(s *Subject) bool {
	return !m.values(s, func(any) bool { return false })
}

// read returns how many values a find has at a member that were read, where they are something to be read: a
// quantity has a bound, a position its degrees or an outline, the finding its day.
func (m *member) read(s *Subject) (n int) {
	m.values(s, func(v any) bool {
		if wasRead(v) {
			n++
		}
		return true
	})
	return n
}

func wasRead(v any) bool {
	switch x := v.(type) {
	case *find.Quantity:
		return x.HasValue()
	case *find.Depth:
		return x.Quantity.HasValue()
	case *find.Position:
		return x.Longitude.Known() && x.Latitude.Known() || x.Area != nil
	case *find.Found:
		return x.Date != ""
	case *find.Dimensions:
		return slices.ContainsFunc([]*find.Quantity{x.Length, x.Width, x.Height, x.Thickness, x.Diameter},
			(*find.Quantity).HasValue)
	}
	return true
}

// isNumber reports whether a member can be at least or at most so much.
func (m *member) isNumber() bool { return m.Number || m.Of == "Quantity" || m.Of == "Depth" }

// unread reports whether a find has the member in words only, where they are something to be read.
func (m *member) unread(s *Subject) (is bool) {
	if m.pointer == "/found/date" {
		return s.Find.Found != nil && s.Find.Found.Date == "" && s.Find.Found.Verbatim != ""
	}
	m.values(s, func(v any) bool {
		if of := reflect.ValueOf(v).Elem(); of.Kind() == reflect.Struct && !wasRead(v) {
			words := of.FieldByName("Verbatim")
			is = !words.IsValid() || words.String() != ""
			return !is
		}
		is = m.of == "finder" // who does not consent
		return false
	})
	return is
}

// clear takes the member out of a find, and reports whether it was there.
func (m *member) clear(f *find.Find) bool {
	there := m.given(&Subject{Find: f})
	if there {
		find.Clear(m.Way, f)
	}
	return there
}

// excused answers whether a reason stands in absent for a member or for one that it is part of. To be blank is none;
// what is withheld is there, and how it is cannot be told.
func (m *member) excused(s *Subject) Answer {
	absent, pointer := s.Find.Absent, m.pointer
	switch {
	case len(absent) == 0 && m.of == "":
		return No
	case m.of == "permission" && s.Permission != nil:
		absent, pointer = s.Permission.Absent, strings.TrimPrefix(pointer, "/permission")
	case m.of == "finder" && s.Finder != nil:
		absent, pointer = s.Finder.Absent, strings.TrimPrefix(pointer, "/finder")
	}
	for ; pointer != ""; pointer = pointer[:strings.LastIndexByte(pointer, '/')] {
		switch absent[pointer] {
		case "", "blank":
		case "withheld":
			return Untold
		default:
			return Yes
		}
	}
	return No
}

// known is what members are to people, by schema/data/profile-members.json, which says what each list is.
var known = sync.OnceValue(func() (t struct {
	Columns   map[string]string `json:"columns"`
	Programs  []string          `json:"programs"`
	Parts     []string          `json:"parts"`
	Reasoned  []string          `json:"reasoned"`
	Afar      []string          `json:"afar"`
	OnTheSpot []string          `json:"onTheSpot"`
}) {
	_ = schema.ReadJSON(schema.Data, "data/profile-members.json", &t) // a test reads it
	return t
})

// Column returns the flat name of the column of a template that holds a member of a find, empty if none does: one that
// has a label, else any that reading takes by its flat name.
func Column(pointer string) string { return columns.Of(memo.Key[struct{}]{Text: pointer}) }

// columns are looked up once each, for thousands of letters ask for them, and looking is slow.
var columns = memo.New(func(k memo.Key[struct{}]) string { return cmp.Or(known().Columns[k.Text], columnOf(k.Text)) })

func columnOf(pointer string) string {
	for _, name := range heading.Fields() {
		at := strings.Split(find.PointerOf(name), "/")
		at = slices.DeleteFunc(at, func(token string) bool { return token != "" && token[0] >= '0' && token[0] <= '9' })
		if strings.Join(at, "/") == pointer && name != "absent" && name != "id" {
			return name
		}
	}
	if at := strings.LastIndexByte(pointer, '/'); at > 0 && slices.Contains(known().Parts, pointer[at+1:]) {
		return cmp.Or(known().Columns[pointer[:at]], columnOf(pointer[:at]))
	}
	first, _, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	if isBeside(first) || slices.Contains(known().Programs, first) {
		return ""
	}
	for _, f := range find.FieldsOf[find.Find]() {
		if name := strings.ReplaceAll(f.Name, "#", "1"); !f.Part &&
			strings.ReplaceAll(f.Pointer, "/#", "") == pointer && heading.Understand(name).Field == name {
			return name
		}
	}
	return ""
}

// Columns returns the columns of a template that an ask needs: one for each member that has one of those that it asks
// for and that its condition looks at, the one that names the permission or the person of which it asks something, and
// those that say how well a position is known, where it is to be known well, and to whom a report went.
func (a *Ask) Columns() (out []string) {
	add := func(name string) {
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, pointer := range a.Needs() {
		name := Column(pointer)
		if first, _, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/"); name == "" && isBeside(first) {
			name = first
		}
		if add(name); name == "notified.1.on" {
			add("notified.1.to")
		}
	}
	for _, w := range a.Ask.Ways() {
		if w.Within > 0 {
			add("position.uncertainty")
			add("position.method")
		}
	}
	return slices.DeleteFunc(out, func(name string) bool { // a flat name is for what no other column answers
		return heading.Label(name, "en") == "" && slices.ContainsFunc(a.Ask.Members(), func(pointer string) bool {
			return heading.Label(Column(pointer), "en") != ""
		})
	})
}

// Headings are what stands above the columns in which what an ask asks for is written, in a language; those of people
// and permissions with the sheet that they are on.
func (a *Ask) Headings(language string) (out []string) {
	for _, pointer := range a.Ask.Members() {
		name := MemberName(pointer, language)
		if first, rest, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/"); rest != "" && isBeside(first) {
			name += " (" + map[string]string{"permission": "Permissions", "finder": "People"}[first] + ")"
		}
		if out = append(out, name); strings.HasPrefix(pointer, "/finder/") {
			consent := heading.LabelIn("people", "consents.1.audience", language)
			out = append(out, cmp.Or(consent, heading.LabelIn("people", "consents.1.audience", "en"))+" (People)")
		}
	}
	for _, name := range (&Ask{Ask: a.Ask}).Columns() {
		if label := cmp.Or(heading.Label(name, language), heading.Label(name, "en")); label != "" {
			out = append(out, label)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// TakesReason reports whether a finder can write in place of what is asked why it is missing.
func (a *Ask) TakesReason() bool {
	return !a.Ask.Given && slices.ContainsFunc(a.Ask.Members(), func(pointer string) bool {
		return slices.Contains(known().Reasoned, Column(pointer))
	})
}
