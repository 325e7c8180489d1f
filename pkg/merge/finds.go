package merge

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// digest is short enough to be kept of every find.
type digest [16]byte

func digestOf(parts ...string) (d digest) {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	copy(d[:], sum[:])
	return d
}

// A slip is what is remembered of every find.
type slip struct {
	id     digest
	says   digest // all that it says, but for its id and where the record comes from
	number digest // finder, day and number on the bag; zero: not known
	look   digest // day, name, place and size; zero: not known
	src    int32
	pos    int32
}

// survey reads all finds once.
func (m *Merged) survey(ctx context.Context) error {
	used := map[string]int{} // pictures by name to source
	for i, s := range m.sources {
		m.starts = append(m.starts, len(m.slips))
		s.seen.File = s.label
		s.seen.Fields = len(s.head.Permissions)
		err := s.each(ctx, m.o.Read, func(pos int, f *find.Find) error {
			s.seen.Finds++
			if f.Found != nil {
				s.seen.Day(f.Found.Date)
			}
			for k := range f.Media {
				if first, ok := used[f.Media[k].File]; ok && first != i {
					m.foldered = true
				} else if f.Media[k].File != "" {
					used[strings.Clone(f.Media[k].File)] = i
				}
			}
			one, err := slipOf(f)
			one.src, one.pos = int32(i), int32(pos)
			m.slips = append(m.slips, one)
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func slipOf(f *find.Find) (slip, error) {
	bare := *f
	bare.ID, bare.Source, bare.Changed, bare.Recorded = "", nil, "", nil
	raw, err := find.Marshal(&bare)
	if err != nil {
		return slip{}, err
	}
	out := slip{id: digestOf(f.ID), says: digestOf(string(raw))}
	date := ""
	if f.Found != nil {
		date = cmp.Or(f.Found.Date, f.Found.Verbatim)
	}
	if f.Finder != "" && f.Number != "" {
		out.number = digestOf(f.Finder, find.FoldNumber(f.Number), date)
	}
	if date == "" || f.Name == "" {
		return out, nil
	}
	place, size := "", ""
	if p := f.Position; p != nil && p.Latitude.Known() && p.Longitude.Known() && f.Generalised["/position"] == "" {
		place = fmt.Sprintf("%.4f %.4f", p.Latitude.Float(), p.Longitude.Float()) // about ten metres
	} else if f.Permission != "" {
		if f.Weight != nil {
			size = f.Weight.Verbatim + f.Weight.Min.String()
		}
		if d := f.Dimensions; d != nil {
			text, err := find.Marshal(d)
			if err != nil {
				return out, err
			}
			size += string(text)
		}
		if size != "" {
			place = f.Permission + " " + size
		}
	}
	if place != "" {
		out.look = digestOf(date, find.FoldName(f.Name), place)
	}
	return out, nil
}

// mostTwice is how many finds that may be one are asked about: nobody answers more.
const mostTwice = 1000

// settle finds the finds that stand in several sources, asks, and combines those that are one.
func (m *Merged) settle(ctx context.Context) error {
	same := m.runs(func(s *slip) digest { return s.id }, false)
	twice := append(m.runs(func(s *slip) digest { return s.number }, true),
		m.runs(func(s *slip) digest { return s.look }, true)...)
	if len(twice) > mostTwice {
		m.Unasked, twice = len(twice)-mostTwice, twice[:mostTwice]
	}
	wanted := map[int]*find.Find{}
	for _, set := range append(slices.Clone(same), twice...) {
		if m.equal(set) && m.slips[set[0]].id == m.slips[set[len(set)-1]].id {
			continue // equal in all: one goes
		}
		for _, at := range set {
			wanted[at] = nil
		}
	}
	if err := m.fetch(ctx, wanted); err != nil {
		return err
	}
	group := map[int][]int{} // by slip
	join := func(set []int) {
		var all []int
		for _, at := range set {
			all = append(append(all, at), group[at]...)
		}
		slices.Sort(all)
		all = slices.Compact(all)
		for _, at := range all {
			group[at] = all
		}
	}
	for _, set := range same {
		if m.oneID(set, wanted) {
			join(set)
		}
	}
	for _, set := range twice {
		if m.oneFind(set, group, wanted) {
			join(set)
		}
	}
	for at := range m.slips {
		if set := group[at]; len(set) > 0 && set[0] == at {
			if err := m.one(set, wanted); err != nil {
				return err
			}
		}
	}
	m.count(group)
	return nil
}

// runs are the sets of slips that have a digest in common; across: only those of different sources and ids.
func (m *Merged) runs(of func(*slip) digest, across bool) (out [][]int) {
	order := make([]int, len(m.slips))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := of(&m.slips[a]), of(&m.slips[b])
		return bytes.Compare(x[:], y[:])
	})
	for i := 0; i < len(order); {
		k := i + 1
		key := of(&m.slips[order[i]])
		for k < len(order) && of(&m.slips[order[k]]) == key {
			k++
		}
		set := order[i:k:k]
		i = k
		if len(set) < 2 || key == (digest{}) || across && !m.differ(set) {
			continue
		}
		out = append(out, set)
	}
	slices.SortFunc(out, func(a, b []int) int { return a[0] - b[0] })
	return out
}

// differ reports whether a set is of several sources, and of several ids; one that has two of one source tells
// of no two finds that are one.
func (m *Merged) differ(set []int) bool {
	seen, ids := map[int32]bool{}, map[digest]bool{}
	for _, at := range set {
		s := &m.slips[at]
		if seen[s.src] {
			return false
		}
		seen[s.src], ids[s.id] = true, true
	}
	return len(ids) > 1
}

func (m *Merged) equal(set []int) bool {
	for _, at := range set {
		if m.slips[at].says != m.slips[set[0]].says {
			return false
		}
	}
	return true
}

// fetch reads those finds whole that are wanted, up to the limit Held.
func (m *Merged) fetch(ctx context.Context, wanted map[int]*find.Find) error {
	if len(wanted) == 0 {
		return nil
	}
	most := m.o.Read.Limits.WithDefaults().Held
	left := most
	for i, s := range m.sources {
		err := s.each(ctx, m.o.Read, func(pos int, f *find.Find) error {
			at := m.starts[i] + pos
			if _, ok := wanted[at]; !ok {
				return nil
			}
			raw, err := find.Marshal(f)
			if err != nil {
				return err
			}
			if left -= int64(len(raw)) + findCost; left < 0 {
				return limit.Over("held", most)
			}
			wanted[at] = new(find.Find)
			return find.DecodeFind(raw, wanted[at])
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// findCost is what a find costs in memory beside its text, about, in bytes.
const findCost = 300

func label(f *find.Find) string { return cmp.Or(f.Number, f.Name, f.ID) }

func (m *Merged) from(at int) *source { return m.sources[m.slips[at].src] }

// tellAll takes the finds of a set apart.
func (m *Merged) tellAll(set []int, wanted map[int]*find.Find) (list []told, err error) {
	for _, at := range set {
		t, err := tell(m.from(at).label, wanted[at])
		if err != nil {
			return nil, err
		}
		list = append(list, t)
	}
	return list, nil
}

// oneID reports whether finds of one id are one find. Where number, name and day contradict each other, the id
// may have been copied with a table, and a person says.
func (m *Merged) oneID(set []int, wanted map[int]*find.Find) bool {
	if m.equal(set) {
		return true
	}
	list, err := m.tellAll(set, wanted)
	if err != nil {
		return true
	}
	clashes := 0
	combine(list, func(member string, options []option) int {
		if oneValue(member, options) >= 0 {
			return 0
		}
		if member == "number" || member == "name" || member == "found" {
			clashes++
		}
		return 0
	})
	if clashes < 2 {
		return true
	}
	q := &Question{Kind: "identity", Find: label(wanted[set[0]]), Choices: []string{"one", "two"},
		Asks: "These bear one id, and are called otherwise. Is it one find?"}
	q.Sides = sidesOf(list)
	if m.ask.ask(q, wanted[set[0]].ID) != "two" {
		return q.Decision == "one"
	}
	id := wanted[set[0]].ID
	for _, at := range set {
		fresh := find.UnnumberedFindID(id, "merge", fmt.Sprintf("%x", m.slips[at].says), "", 1)
		m.from(at).moved[id] = fresh
	}
	return false
}

// sidesOf shows finds side by side, by what people know them by.
func sidesOf(list []told) (sides []Side) {
	for _, t := range list {
		short := map[string]jsontext.Value{}
		for _, member := range []string{"number", "name", "found", "place", "finder", "permission", "weight", "position"} {
			if v := t.object[member]; len(v) > 0 {
				short[member] = v
			}
		}
		says, _ := json.Marshal(short, json.Deterministic(true))
		i := slices.IndexFunc(sides, func(s Side) bool { return bytes.Equal(s.Says, says) })
		if i < 0 {
			i = len(sides)
			sides = append(sides, Side{Says: says})
		}
		sides[i].From = append(sides[i].From, t.from)
	}
	slices.SortFunc(sides, func(a, b Side) int { return bytes.Compare(a.Says, b.Says) })
	return sides
}

// oneFind asks whether finds of different ids, in different sources, are one find. Until somebody says so they
// are not.
func (m *Merged) oneFind(set []int, group map[int][]int, wanted map[int]*find.Find) bool {
	first := group[set[0]]
	if len(first) > 0 && !slices.ContainsFunc(set, func(at int) bool { return !slices.Contains(first, at) }) {
		return false // that is settled
	}
	list, err := m.tellAll(set, wanted)
	if err != nil {
		return false
	}
	words := strings.Fields(find.FoldName(wanted[set[0]].Name))
	other := strings.Fields(find.FoldName(wanted[set[1]].Name))
	shared := slices.ContainsFunc(words, func(word string) bool { return slices.Contains(other, word) })
	clash := false
	combine(list, func(member string, options []option) int {
		clash = clash || (member == "position" || member == "weight") && oneValue(member, options) < 0
		return 0
	})
	if len(words) > 0 && len(other) > 0 && len(set) == 2 && !shared && clash {
		return false // nothing but the number on the bag is alike
	}
	q := &Question{Kind: "same-find", Asks: asks["same-find"], Find: label(wanted[set[0]]),
		Choices: []string{"one", "two"}, otherwise: "two", Sides: sidesOf(list)}
	var ids []string
	for _, at := range set {
		ids = append(ids, wanted[at].ID)
	}
	slices.Sort(ids)
	return m.ask.ask(q, ids...) == "one"
}

// one makes one find of a set; where it cannot, the questions say why.
func (m *Merged) one(set []int, wanted map[int]*find.Find) error {
	for _, at := range set[1:] {
		m.skipped[at] = true
	}
	if wanted[set[0]] == nil { // all are equal
		return nil
	}
	list, err := m.tellAll(set, wanted)
	if err != nil {
		return err
	}
	id := wanted[set[0]].ID
	for _, at := range set {
		id = min(id, wanted[at].ID)
	}
	object := combine(list, func(member string, options []option) int {
		return m.pick(id, label(wanted[set[0]]), member, options, set)
	})
	raw, err := json.Marshal(object, json.Deterministic(true))
	if err != nil {
		return err
	}
	f := new(find.Find)
	if err := find.DecodeFind(raw, f); err != nil {
		return err
	}
	f.ID = id
	for _, at := range set {
		if old := wanted[at].ID; old != id && !slices.Contains(f.Replaces, old) {
			f.Replaces = append(f.Replaces, old)
			m.onward[old] = id
		}
	}
	m.whole[set[0]] = f
	return nil
}

// pick settles which of several values of a member goes.
func (m *Merged) pick(id, name, member string, options []option, set []int) int {
	if i := oneValue(member, options); i >= 0 {
		for k, o := range options {
			if k != i {
				m.Lost = append(m.Lost, fmt.Sprintf("find %s: how %s writes its %s, %q; kept is %q, which says as much or more",
					name, strings.Join(o.from, ", "), strings.ToLower(spaced(member)), plain(o.value), plain(options[i].value)))
			}
		}
		return i
	}
	if newer := m.newer(set); newer != "" {
		if i := slices.IndexFunc(options, func(o option) bool { return slices.Contains(o.from, newer) }); i >= 0 {
			return i
		}
		if newer == undecided {
			return 0 // the one question stands for all
		}
	}
	q := &Question{Kind: "member", Find: name, Member: member, Asks: "The sources contradict each other. Which is right?"}
	for i, o := range options {
		q.Sides = append(q.Sides, Side{Choice: letter(i), From: slices.Clone(o.from), Says: o.value})
		q.Choices = append(q.Choices, letter(i))
	}
	answer := m.ask.ask(q, id, member)
	return max(0, slices.Index(q.Choices, answer))
}

const undecided = "\x00"

// newer asks, once for the states of one log, which of them goes where they contradict each other. It returns
// the label of the state that goes, or that this is not decided yet; empty: each find is asked about.
func (m *Merged) newer(set []int) string {
	report := m.from(set[0]).report
	for _, at := range set {
		if m.from(at).report != report {
			return ""
		}
	}
	q := &Question{Kind: "newer", Asks: "These are states of one log. Which one goes where they contradict each other?"}
	for _, s := range m.sources {
		if s.report != report {
			continue
		}
		changed, _ := json.Marshal(map[string]string{"changed": s.head.Changed})
		choice := letter(len(q.Sides))
		q.Sides = append(q.Sides, Side{Choice: choice, From: []string{s.label}, Says: changed})
		q.Choices = append(q.Choices, choice)
	}
	q.Choices = append(q.Choices, "ask")
	switch answer := m.ask.once(q, report); answer {
	case "ask":
		return ""
	case "":
		return undecided
	default:
		return q.Sides[slices.Index(q.Choices, answer)].From[0]
	}
}

// count notes how many finds of each source were taken.
func (m *Merged) count(group map[int][]int) {
	for at := range m.slips {
		s := m.from(at)
		if !m.skipped[at] {
			s.taken++
		}
		if len(group[at]) > 1 {
			s.also++
		}
	}
}
