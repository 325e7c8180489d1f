package validate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var oldCoinsTogether = &Rule{
	Kind: notice.Kind{
		Code: "old-coins-together", Severity: notice.Warning, Caution: true, Group: "law", Spec: "5.12",
		Title:  "old coins from one find may be treasure",
		Why:    "two coins of gold or silver, or ten of any metal, from one find count together",
		Help:   askFirst + " Leave what is still in the ground where it is.",
		Source: lawSource,
		Before: `two silver coins of 1580 with "associated": [{"relation": {"code": "same-hole"}}], jurisdiction GB-ENG`,
		After:  `the same with "notified": [{"to": "coroner", "on": "2026-04-12", "caseNumber": "…"}]`,
	},
	// When: Looked at are finds under a law (as in `treasure-may-apply`) that has a row of the rule
	// `treasure-same-find`. They are of one find where a chain of these joins them: the same longitude and latitude,
	// digit for digit, neither named in `generalised`; `associated` with the code `same-hole`, `touching` or `joins`;
	// `partOf`. An old coin has the class `coin` or `coin-group`, is no lot unless its lot's rule is missing,
	// `same-hole` or `same-spot`, and was surely made at least `minAge` years (of the row `treasure-coins`) before the
	// last year of finding. It counts as precious unless it is surely not of gold or silver. For each row
	// `treasure-coins`, those that ask for precious coins with precious ones only: the sum of the objects
	// (`/count/min`, else 1) is at least `least`, and not every one of these finds was told to an authority (as in
	// `treasure-may-apply`). One notice a group, on its first such find.
	Across: func() Across { return together(oldCoin, sayCoins) },
}

var prehistoricMetal = &Rule{
	Kind: notice.Kind{
		Code: "prehistoric-metal", Severity: notice.Warning, Caution: true, Group: "law", Spec: "5.12",
		Title:  "prehistoric metal may be treasure",
		Why:    "any gold or silver in a prehistoric object, or two objects of base metal from one find, are a designated class",
		Help:   askFirst + " Stop digging at the spot and ask an archaeologist.",
		Source: lawSource,
		Before: `"dating": {"period": {"label": "Bronze Age", …}}, "materials": [{"code": "bronze"}, {"code": "gold", "part": "foil"}], jurisdiction GB-ENG`,
		After:  `the same with "notified": [{"to": "coroner", "on": "2026-04-12", "caseNumber": "…"}]`,
	},
	// When: Groups of finds are made as in `old-coins-together`. Looked at are finds that are no coins, and are
	// prehistoric: the label or the last part of the id of `/dating/period` is one of the words of `prehistoric` in
	// schema/data/law.json, or the label has one of more than three letters in it, or the object was surely made
	// before the year `before` of the row `treasure-prehistoric`. It is precious where any material that is not
	// `unlikely`, any coating or technique is of gold or silver, or may be; base where it is not and its first
	// material is a metal. For each row, in order: the sum of the objects (`/count/min`, else 1), precious or base as
	// the row says, is at least `least`, and not every one of these finds was told to an authority. One notice a
	// group, on its first such find.
	Across: func() Across { return together(prehistoricBase|prehistoricPrecious, sayPrehistoric) },
}

var foundWithTreasure = &Rule{
	Kind: notice.Kind{
		Code: "found-with-treasure", Severity: notice.Warning, Caution: true, Group: "law", Spec: "5.12",
		Title:  "it comes from the same find as what may be treasure",
		Why:    "what is found with treasure is treasure in law, whatever it is made of",
		Help:   "Keep everything from the spot together and report it as one find.",
		Source: lawSource,
		Before: `a potsherd with "associated": [{"find": "urn:uuid:…", "relation": {"code": "same-hole"}}] beside a silver ring of 1601/1700, jurisdiction GB-ENG`,
		After:  `the same with "notified": [{"to": "coroner", "on": "2026-04-12", "caseNumber": "…"}]`,
	},
	// When: Groups of finds are made as in `old-coins-together`; looked at are those of two and more. Treasure by
	// itself is a find that `treasure-may-apply` speaks of, prehistoric precious metal, and the old coins and
	// prehistoric base metal of a group that has enough of them, as in `old-coins-together` and `prehistoric-metal`.
	// If a group has one, each find of it that is not treasure by itself, and that no authority was told of, draws the
	// notice.
	Across: func() Across { return companions(sayCompanions) },
}

// member is what is remembered of a find to tell which finds are of the same find in law.
type member struct {
	id, spot uint64 // hashes; spot 0: no exact position
	index    int32
	row      int32
	line     int32
	label    string
	count    int32
	group    int32 // the finds that belong together share one
	what     trait
	place    string   // the law it stands under
	found    edtf.Day // the day of the find; zero: not known to the day
}

// trait is what of a find the rows of law speak of.
type trait uint8

const (
	oldCoin trait = 1 << iota
	preciousCoin
	prehistoricBase
	prehistoricPrecious
	treasure
	told // an authority was told
)

// kept is a member as it is kept until the end, without pointers.
type kept struct {
	id, spot         uint64
	index, row, line int32
	count            int32
	found            int32 // year, month and day; 0: not known to the day
	label            uint32
	place            uint32
	labelLength      uint16
	what             trait
}

const keptBlock = 4096

// gathering remembers the finds of one run that stand under a law that looks at finds together.
type gathering struct {
	blocks  [][]kept
	n       int
	labels  []byte
	places  []string
	placeAt map[string]uint32
	members []member // at the end
	links   [][2]uint64
	origin  find.Origin
	wanted  trait // finds without any of these and without a link are not remembered
}

// together looks at the finds of a run with some traits, in the places whose law looks at finds together,
// and lets say speak of each group that belongs together: linked as same-hole or touching, or at one exact
// position.
func together(wanted trait, say func(c *Case, g *gathering, group []member, out SayOf)) Across {
	g := &gathering{wanted: wanted}
	return Across{
		Ahead: func(c *Case) {
			if c.law().sameFind != nil {
				c.traits()
			}
		},
		Find: func(c *Case, ref Ref, _ Say) { g.see(c, ref) },
		End: func(c *Case, out SayOf) {
			for _, group := range g.groups() {
				say(c, g, group, out)
			}
		},
	}
}

func (g *gathering) see(c *Case, ref Ref) {
	if c.law().sameFind == nil {
		return
	}
	f := c.Find
	m := member{id: sumOf(f.ID), index: int32(ref.Index), row: int32(ref.Origin.Row), line: int32(ref.Origin.Line),
		label: ref.Label, count: int32(countOf(f)), what: c.traits(), place: c.law().place}
	if m.what&g.wanted == 0 && len(f.Associated) == 0 && f.PartOf == "" {
		return
	}
	if found, ok := c.found(); ok {
		if day, one := found.oneDay(); one {
			m.found = day
		}
	}
	m.spot = c.prepare().spot
	if g.n == 0 {
		g.origin = ref.Origin
	}
	g.keep(&m)
	g.link(f)
}

// link notes the links of a find to those of the same find in law.
func (g *gathering) link(f *find.Find) {
	for i := range f.Associated {
		if a := &f.Associated[i]; a.Relation.Is("same-hole", "touching", "joins") {
			g.links = append(g.links, [2]uint64{sumOf(f.ID), sumOf(a.Find)})
		}
	}
	if f.PartOf != "" {
		g.links = append(g.links, [2]uint64{sumOf(f.ID), sumOf(f.PartOf)})
	}
}

// companions looks at all finds of a run, and lets say speak of each group: the census knows which stand at the spot of another, and the
// links are noted here. Finds that stand alone are not looked at again.
func companions(say func(c *Case, g *gathering, group []member, out SayOf)) Across {
	g := &gathering{}
	return Across{
		Find: func(c *Case, ref Ref, _ Say) {
			if c.census.n == 1 {
				g.origin = ref.Origin
			}
			if (len(c.Find.Associated) > 0 || c.Find.PartOf != "") && c.law().sameFind != nil {
				g.link(c.Find)
			}
		},
		End: func(c *Case, out SayOf) {
			g.members = c.census.together(g.links)
			for _, group := range g.groups() {
				say(c, g, group, out)
			}
		},
	}
}

// together returns the finds under a law that looks at finds together which do not stand alone: somebody
// else is at their spot, or a link leads to or from them.
func (c *census) together(links [][2]uint64) []member {
	finds := make([]uint32, 0, 2*(len(c.sharers)+len(links)))
	for _, s := range c.sharers {
		finds = append(finds, s.find, s.first)
	}
	for _, l := range links {
		for _, id := range l {
			if i, has := c.ids.find(id); has {
				finds = append(finds, i)
			}
		}
	}
	slices.Sort(finds)
	var list []member
	for _, i := range slices.Compact(finds) {
		if b, k := c.block(i); b.place[k] != 0 {
			list = append(list, c.member(i))
		}
	}
	return list
}

// keep keeps a member in few bytes.
func (g *gathering) keep(m *member) {
	place, known := g.placeAt[m.place]
	if !known {
		if g.placeAt == nil {
			g.placeAt = map[string]uint32{}
		}
		place = uint32(len(g.places))
		g.places = append(g.places, strings.Clone(m.place))
		g.placeAt[g.places[place]] = place
	}
	if g.n%keptBlock == 0 {
		g.blocks = append(g.blocks, make([]kept, 0, keptBlock))
	}
	g.n++
	label := m.label[:min(len(m.label), math.MaxUint16)]
	last := &g.blocks[len(g.blocks)-1]
	*last = append(*last, kept{id: m.id, spot: m.spot, index: m.index, row: m.row, line: m.line, count: m.count, found: packDay(m.found),
		label: uint32(len(g.labels)), labelLength: uint16(len(label)), place: place, what: m.what})
	g.labels = append(g.labels, label...)
}

// packDay writes a day as one number, and the zero day as nought.
func packDay(d edtf.Day) int32 { return int32(d.Year)<<9 | int32(d.Month)<<5 | int32(d.Day) }

func unpackDay(n int32) edtf.Day {
	return edtf.Day{Year: int(n >> 9), Month: uint8(n >> 5 & 15), Day: uint8(n & 31)}
}

// unpack makes members of what was kept.
func (g *gathering) unpack() {
	for _, b := range g.blocks {
		for i := range b {
			k := &b[i]
			g.members = append(g.members, member{id: k.id, spot: k.spot, index: k.index, row: k.row, line: k.line, count: k.count,
				label: string(g.labels[k.label : k.label+uint32(k.labelLength)]), what: k.what, place: g.places[k.place], found: unpackDay(k.found)})
		}
	}
	g.blocks, g.n = nil, 0
}

// countOf returns how many objects a record surely stands for.
func countOf(f *find.Find) int {
	if f.Count != nil && f.Count.Min.Known() {
		return max(1, f.Count.Min.Int())
	}
	return 1
}

// traits judges the find once, for all rules that ask.
func (c *Case) traits() trait {
	if !c.traitsKnown {
		c.traitsFound, c.traitsKnown = traitsOf(c), true
	}
	return c.traitsFound
}

// traitsOf judges one find under the rows of the law of its place.
func traitsOf(c *Case) trait {
	f := c.Find
	law := c.law()
	var what trait
	coin := classOf(f) == "coin" || classOf(f) == "coin-group"
	if coin && (f.Kind != "lot" || f.Lot == nil || f.Lot.Rule == nil || f.Lot.Rule.Is("same-hole", "same-spot")) {
		if r := law.coins; r != nil && olderThan(c, r.Applies.MinAge) == yes {
			what |= oldCoin
			if precious(f) != no {
				what |= preciousCoin
			}
		}
	}
	if r := law.prehistoric; !coin && r != nil && prehistoric(c, r.Applies.Before) == yes {
		switch {
		case anyPrecious(f):
			what |= prehistoricPrecious
		case ofMetal(f):
			what |= prehistoricBase
		}
	}
	if row, _, _ := treasureRow(c); row != nil {
		what |= treasure
	}
	if reported(f) {
		what |= told
	}
	return what
}

// groups returns the finds group by group, in the order of the file.
func (g *gathering) groups() [][]member {
	g.unpack()
	parent := make([]int32, len(g.members))
	for i := range parent {
		parent[i] = int32(i)
	}
	root := func(i int32) int32 {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	join := func(a, b int32) {
		if a, b = root(a), root(b); a != b {
			parent[max(a, b)] = min(a, b)
		}
	}
	byID, bySpot := map[uint64]int32{}, map[uint64]int32{}
	for i := range g.members {
		m := &g.members[i]
		if m.id != 0 {
			byID[m.id] = int32(i)
		}
		if first, ok := bySpot[m.spot]; ok && m.spot != 0 {
			join(first, int32(i))
		} else if m.spot != 0 {
			bySpot[m.spot] = int32(i)
		}
	}
	for _, l := range g.links {
		a, ok1 := byID[l[0]]
		b, ok2 := byID[l[1]]
		if ok1 && ok2 {
			join(a, b)
		}
	}
	for i := range g.members {
		g.members[i].group = root(int32(i))
	}
	slices.SortStableFunc(g.members, func(a, b member) int { return int(a.group - b.group) })
	var out [][]member
	for from := 0; from < len(g.members); {
		to := from + 1
		for to < len(g.members) && g.members[to].group == g.members[from].group {
			to++
		}
		out = append(out, g.members[from:to])
		from = to
	}
	return out
}

func (g *gathering) ref(m *member) Ref {
	origin := g.origin
	origin.Row, origin.Line = int(m.row), int(m.line)
	return Ref{Index: int(m.index), Label: m.label, Origin: origin}
}

// tally counts the objects of a group that have all of some traits, the first record of them, and
// whether an authority was told of one of them.
func tally(group []member, what trait) (n int, first *member, all bool) {
	all = true
	for i := range group {
		m := &group[i]
		if m.what&what != what {
			continue
		}
		if first == nil {
			first = m
		}
		n += int(m.count)
		all = all && m.what&told != 0
	}
	return n, first, all
}

func sayCoins(c *Case, g *gathering, group []member, out SayOf) {
	rows := theTables().law.rules["treasure-coins"]
	for _, r := range rows {
		what := oldCoin
		if r.Applies.Precious {
			what |= preciousCoin
		}
		n, first, all := tally(group, what)
		if n < r.Applies.Least || n == 0 {
			continue
		}
		g.due(c, group, what, r)
		if !all {
			out(g.ref(first), "", fmt.Sprintf("%d coins from one find (%s). %s", n, labels(group, what), r.words()))
			return
		}
	}
}

func sayPrehistoric(c *Case, g *gathering, group []member, out SayOf) {
	for _, r := range theTables().law.rules["treasure-prehistoric"] {
		what := prehistoricBase
		if r.Applies.Precious {
			what = prehistoricPrecious
		}
		n, first, all := tally(group, what)
		if n < r.Applies.Least || n == 0 {
			continue
		}
		g.due(c, group, what, r)
		if !all {
			out(g.ref(first), "", fmt.Sprintf("prehistoric metal from one find (%s). %s", labels(group, what), r.words()))
			return
		}
	}
}

func sayCompanions(c *Case, g *gathering, group []member, out SayOf) {
	law := &theTables().law
	if len(group) < 2 || len(law.rules["treasure-same-find"]) == 0 {
		return
	}
	coins, _, _ := tally(group, oldCoin)
	silver, _, _ := tally(group, oldCoin|preciousCoin)
	base, _, _ := tally(group, prehistoricBase)
	var itself trait = treasure | prehistoricPrecious
	for _, r := range law.rules["treasure-coins"] {
		if !r.Applies.Precious && coins >= r.Applies.Least {
			itself |= oldCoin
		} else if r.Applies.Precious && silver >= r.Applies.Least {
			itself |= preciousCoin
		}
	}
	for _, r := range law.rules["treasure-prehistoric"] {
		if !r.Applies.Precious && base >= r.Applies.Least {
			itself |= prehistoricBase
		}
	}
	row := law.rules["treasure-same-find"][0]
	at := slices.IndexFunc(group, func(m member) bool { return m.what&itself != 0 })
	if at < 0 {
		return
	}
	for i := range group {
		m := &group[i]
		if m.what&itself != 0 {
			continue
		}
		ref := g.ref(m)
		c.dueOf(&ref, m.clock(row, lastFound(group)))
		if m.what&told == 0 {
			out(g.ref(m), "", fmt.Sprintf("it comes from the same find as number %s, which may be treasure. %s", group[at].label, row.words()))
		}
	}
}

// due hands on the time limit of each find of a group with some traits. It is counted from the last
// of them to be found: before that the group was not whole.
func (g *gathering) due(c *Case, group []member, what trait, row *lawRow) {
	day := lastFound(group)
	for i := range group {
		if m := &group[i]; m.what&what == what {
			ref := g.ref(m)
			c.dueOf(&ref, m.clock(row, day))
		}
	}
}

func (m *member) clock(row *lawRow, found edtf.Day) clock {
	return clock{row: row, what: tellTreasure, place: m.place, found: found, dated: !found.IsZero(), told: m.what&told != 0}
}

// lastFound is the day on which the last find of a group was made; zero where one is not known.
func lastFound(group []member) edtf.Day {
	var last edtf.Day
	for i := range group {
		if group[i].found.IsZero() {
			return edtf.Day{}
		}
		if last.IsZero() || group[i].found.Compare(last) > 0 {
			last = group[i].found
		}
	}
	return last
}

// labels names the finds of a group that have some traits, by the numbers on their bags.
func labels(group []member, what trait) string {
	var names []string
	for i := range group {
		if group[i].what&what == what {
			names = append(names, group[i].label)
		}
	}
	const most = 12
	if len(names) > most {
		return "numbers " + strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	if len(names) == 1 {
		return "number " + names[0]
	}
	return "numbers " + strings.Join(names, ", ")
}
