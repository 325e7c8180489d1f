package merge

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/lexicon"
)

// isNobody reports whether a name says nobody, so that it makes no two people one.
func isNobody(name string) bool {
	if _, ok := lexicon.In("oneself")[name]; ok {
		return true
	}
	_, absent := lexicon.Absence(name, "term")
	return absent
}

// around is a person, a permission or an outing of a source.
type around struct {
	src  *source
	kind string
	id   string   // local, in the source
	keys []string // by which it may be the same as one of another source
	told told
	root int // of its group, as an index
}

// unite makes the people, then the land, then the outings of the log.
func (m *Merged) unite() {
	m.Report = &find.Report{}
	m.uniteKind("person", func(s *source) (out []around) {
		for i := range s.head.People {
			p := s.head.People[i]
			out = append(out, aroundOf(s, "person", p.ID, &p, find.FoldName(p.Name), find.FoldName(p.Handle)))
			if name := strings.TrimSpace(p.Name); name != "" {
				s.people = append(s.people, name)
			} else if p.Handle != "" {
				s.people = append(s.people, p.Handle)
			}
		}
		return out
	}, func(raw jsontext.Value) error { return add(&m.Report.People, raw) })
	m.uniteKind("permission", func(s *source) (out []around) {
		for i := range s.head.Permissions {
			p := s.head.Permissions[i]
			p.GrantedBy, p.Occupier = s.local("person", p.GrantedBy), s.local("person", p.Occupier)
			name := ""
			if p.Place != nil {
				name = find.FoldName(p.Place.Name)
			}
			out = append(out, aroundOf(s, "permission", p.ID, &p, name))
		}
		return out
	}, func(raw jsontext.Value) error { return add(&m.Report.Permissions, raw) })
	m.uniteKind("outing", func(s *source) (out []around) {
		for i := range s.head.Outings {
			o := s.head.Outings[i]
			o.Permission, o.People = s.local("permission", o.Permission), slices.Clone(o.People)
			var keys []string
			for k, id := range o.People {
				o.People[k] = s.local("person", id)
				if o.Date != "" && o.Permission != "" {
					keys = append(keys, o.Date+" "+o.Permission+" "+o.People[k])
				}
			}
			out = append(out, aroundOf(s, "outing", o.ID, &o, keys...))
		}
		return out
	}, func(raw jsontext.Value) error { return add(&m.Report.Outings, raw) })
}

func add[T any](list *[]T, raw jsontext.Value) error {
	var record T
	if err := json.Unmarshal(raw, &record); err != nil {
		return err
	}
	*list = append(*list, record)
	return nil
}

func aroundOf(s *source, kind, id string, record any, keys ...string) around {
	a := around{src: s, kind: kind, id: id}
	for _, key := range keys {
		if key != "" && !isNobody(key) {
			a.keys = append(a.keys, key)
		}
	}
	a.told, _ = tell(s.label, record) // a record that was read can be written
	delete(a.told.object, "id")
	return a
}

// uniteKind puts the records of one kind into groups, asks, and gives those that remain their local ids.
func (m *Merged) uniteKind(kind string, of func(*source) []around, keep func(jsontext.Value) error) {
	var all []around
	for _, s := range m.sources {
		all = append(all, of(s)...)
	}
	for i := range all {
		all[i].root = i
	}
	surely := groups(all, func(a *around) []string {
		out := []string{a.src.report + " " + a.id}
		for _, key := range a.keys {
			out[0] += "\x00" + key
		}
		return out
	})
	m.askGroups(all, surely, true)
	m.askGroups(all, groups(all, func(a *around) []string { return a.keys }), false)
	if kind == "person" {
		m.askGroups(all, likeNames(all), false)
	}
	n := 0
	for i := range all {
		if all[i].root != i {
			continue
		}
		n++
		id := fmt.Sprintf("%s-%d", kind, n)
		object := maps.Clone(all[i].told.object)
		quoted, _ := json.Marshal(id)
		object["id"] = quoted
		restore(object, &all[i].told)
		raw, err := json.Marshal(object, json.Deterministic(true))
		if err == nil {
			err = keep(raw)
		}
		if err != nil {
			m.Lost = append(m.Lost, fmt.Sprintf("%s: %s %s cannot be written: %v", all[i].src.label, kind, all[i].id, err))
		}
		for k := range all {
			if all[k].root == i {
				all[k].src.locals[kind+" "+all[k].id] = id
			}
		}
	}
}

func restore(object map[string]jsontext.Value, t *told) {
	for name, marked := range map[string]map[string]string{"absent": t.absent, "generalised": t.coarse} {
		if len(marked) > 0 {
			object[name], _ = json.Marshal(marked, json.Deterministic(true))
		}
	}
}

// groups are the sets of records that share a key, each by the roots in it, in order.
func groups(all []around, keys func(*around) []string) (out [][]int) {
	parent := map[int]int{}
	var find func(int) int
	find = func(i int) int {
		if p, ok := parent[i]; ok && p != i {
			return find(p)
		}
		return i
	}
	first := map[string]int{}
	for i := range all {
		at := find(all[i].root)
		for _, key := range keys(&all[i]) {
			if k, ok := first[key]; ok {
				a, b := find(k), find(at)
				parent[max(a, b)] = min(a, b)
				at = min(a, b)
			} else {
				first[key] = at
			}
		}
	}
	sets := map[int][]int{}
	for i := range all {
		if all[i].root == i {
			sets[find(i)] = append(sets[find(i)], i)
		}
	}
	for _, root := range slices.Sorted(maps.Keys(sets)) {
		if len(sets[root]) > 1 {
			out = append(out, sets[root])
		}
	}
	return out
}

// likeNames are pairs of people whose names may be one: an initial for a first name, or a letter that differs.
func likeNames(all []around) (out [][]int) {
	var roots []int
	for i := range all {
		if all[i].root == i && len(all[i].keys) > 0 {
			roots = append(roots, i)
		}
	}
	if len(roots) > 1000 {
		return nil
	}
	for x, i := range roots {
		for _, k := range roots[x+1:] {
			if all[i].src != all[k].src && alike(all[i].keys[0], all[k].keys[0]) {
				out = append(out, []int{i, k})
			}
		}
	}
	return out
}

// alike reports whether two folded names may be one name.
func alike(a, b string) bool {
	x, y := strings.Fields(strings.ReplaceAll(a, ".", " ")), strings.Fields(strings.ReplaceAll(b, ".", " "))
	if len(x) > 1 && len(y) > 1 && x[len(x)-1] == y[len(y)-1] {
		return x[0] != y[0] && x[0][0] == y[0][0] && (len(x[0]) == 1 || len(y[0]) == 1)
	}
	r, s := []rune(a), []rune(b)
	if len(r) != len(s) || len(r) < 7 {
		return false
	}
	different := 0
	for i := range r {
		if r[i] != s[i] {
			different++
			if r[i] >= '0' && r[i] <= '9' || s[i] >= '0' && s[i] <= '9' || i == len(r)-1 {
				return false // finder-1 and finder-2, finder-a and finder-b are two
			}
		}
	}
	return different == 1
}

// askGroups asks of each group whether it is one, and unites those that are. Groups that are surely one, and in
// which nothing contradicts, are not asked about.
func (m *Merged) askGroups(all []around, sets [][]int, surely bool) {
	for _, set := range sets {
		set = slices.DeleteFunc(slices.Clone(set), func(i int) bool { return all[i].root != i })
		if len(set) < 2 {
			continue
		}
		list, once := []told{}, map[*source]bool{}
		for _, i := range set {
			list = append(list, all[i].told)
			once[all[i].src] = true
		}
		q, clash := questionOf(all[set[0]].kind, list)
		answer := "one"
		if !surely || clash {
			q.otherwise = "two"
			if !clash && len(once) == len(set) && m.proposes(all, set) {
				q.Proposed = "one"
			}
			answer = m.ask.ask(q)
		}
		if answer == "two" {
			continue
		}
		object := combine(list, func(member string, options []option) int { return chosen(q, answer, member, options) })
		one := &all[set[0]]
		raw, _ := json.Marshal(object)
		joined := told{}
		_ = json.Unmarshal(raw, &joined.object)
		for name, to := range map[string]*map[string]string{"absent": &joined.absent, "generalised": &joined.coarse} {
			_ = json.Unmarshal(joined.object[name], to)
			delete(joined.object, name)
		}
		joined.from = one.told.from
		for _, i := range set[1:] {
			if !strings.Contains(joined.from, all[i].told.from) {
				joined.from += ", " + all[i].told.from
			}
			one.keys = append(one.keys, all[i].keys...)
			for k := range all {
				if all[k].root == i {
					all[k].root = set[0]
				}
			}
		}
		one.told = joined
	}
}

// proposes reports whether it is likely enough that a group is one to propose it: people of one name; land of one
// name and one giver; outings of one day, land and person.
func (m *Merged) proposes(all []around, set []int) bool {
	first := &all[set[0]]
	for _, i := range set[1:] {
		a := &all[i]
		switch a.kind {
		case "person":
			if !slices.ContainsFunc(a.keys, func(key string) bool { return slices.Contains(first.keys, key) }) {
				return false
			}
		case "permission":
			giver := a.told.object["grantedBy"]
			area := a.told.object["area"]
			if (len(giver) == 0 || !bytes.Equal(giver, first.told.object["grantedBy"])) &&
				(len(area) == 0 || !bytes.Equal(area, first.told.object["area"])) {
				return false
			}
		}
	}
	return true
}

var asks = map[string]string{
	"person":     "Is this one person?",
	"permission": "Is this one piece of land?",
	"outing":     "Is this one outing?",
	"same-find":  "Is this one find?",
}

// questionOf makes the question whether some records are one. Where they contradict each other, who says that
// they are one also says whose words go.
func questionOf(kind string, list []told) (q *Question, clash bool) {
	q = &Question{Kind: kind, Asks: asks[kind]}
	for _, t := range list {
		says, _ := json.Marshal(t.object, json.Deterministic(true))
		i := slices.IndexFunc(q.Sides, func(s Side) bool { return bytes.Equal(s.Says, says) })
		if i < 0 {
			i = len(q.Sides)
			q.Sides = append(q.Sides, Side{Says: says})
		}
		q.Sides[i].From = append(q.Sides[i].From, strings.Split(t.from, ", ")...)
	}
	slices.SortFunc(q.Sides, func(a, b Side) int { return bytes.Compare(a.Says, b.Says) })
	combine(list, func(string, []option) int { clash = true; return 0 })
	for i := range q.Sides {
		q.Sides[i].Choice = letter(i)
		if clash {
			q.Choices = append(q.Choices, letter(i))
		}
	}
	if !clash {
		q.Choices = []string{"one"}
	}
	q.Choices = append(q.Choices, "two")
	if clash {
		q.Asks += " If so, whose words go where they differ?"
	}
	return q, clash
}

// letter names a side: a, b, ... z, aa, ab.
func letter(i int) string {
	if i < 26 {
		return string(rune('a' + i))
	}
	return letter(i/26-1) + letter(i%26)
}

// chosen is the option that the chosen side of a question stands for.
func chosen(q *Question, answer, member string, options []option) int {
	for _, s := range q.Sides {
		if s.Choice != answer {
			continue
		}
		var object map[string]jsontext.Value
		if json.Unmarshal(s.Says, &object) != nil {
			return 0
		}
		if i := slices.IndexFunc(options, func(o option) bool { return bytes.Equal(o.value, object[member]) }); i >= 0 {
			return i
		}
	}
	return 0
}

// links calls visit for each id by which a find refers to something: kind is person, permission, outing or find.
// What an opinion says are members of a find, and is looked into as well.
func links(f *find.Find, visit func(kind string, id *string)) {
	see := func(id *string) {
		if *id != "" {
			visit("find", id)
		}
	}
	see(&f.PartOf)
	for i := range f.Associated {
		see(&f.Associated[i].Find)
	}
	for i := range f.Replaces {
		see(&f.Replaces[i])
	}
	f.LocalIDs(visit)
	for i := range f.Opinions {
		saysLinks(&f.Opinions[i], visit)
	}
}

func saysLinks(o *find.Opinion, visit func(kind string, id *string)) {
	says, any := new(find.Find), false
	if len(o.Says) == 0 || find.DecodeFind(o.Says, says) != nil {
		return // what no find can say is kept as it is
	}
	links(says, func(kind string, id *string) { any = true; visit(kind, id) })
	if !any {
		return
	}
	if raw, err := find.Marshal(says); err == nil {
		o.Says = raw
	}
}
