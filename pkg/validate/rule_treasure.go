package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/law"
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
	Log: func(c *Case, log *Roll, say SayOf) { eachTreasureGroup(c, log, say, sayCoins) },
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
	Log: func(c *Case, log *Roll, say SayOf) { eachTreasureGroup(c, log, say, sayPrehistoric) },
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
	Log: func(c *Case, log *Roll, say SayOf) { eachTreasureGroup(c, log, say, sayCompanions) },
}

// trait is what of a find the rows of law speak of.
type trait uint8

const (
	oldCoin trait = 1 << iota
	preciousCoin
	prehistoricBase
	prehistoricPrecious
	treasure
	told     // an authority was told
	nearCoin // an old coin of silver or gold, wherever it lies: see coins-near
)

// countOf returns how many objects a record surely stands for.
func countOf(f *find.Find) int {
	if f.Count != nil && f.Count.Min.Known() {
		return max(1, f.Count.Min.Int())
	}
	return 1
}

// traitsOf judges one find under the rows of the law of its place.
func traitsOf(c *Case) trait {
	f := c.Find
	here := c.law()
	var what trait
	coin := classOf(f) == "coin" || classOf(f) == "coin-group"
	if coin && (f.Kind != "lot" || f.Lot == nil || f.Lot.Rule == nil || f.Lot.Rule.Is("same-hole", "same-spot")) {
		if r := here.Coins; r != nil && olderThan(c, r.Applies.MinAge) == law.Yes {
			what |= oldCoin
			if precious(f) != law.No {
				what |= preciousCoin
			}
		}
	}
	if r := here.Prehistoric; !coin && r != nil && prehistoric(c, r.Applies.Before) == law.Yes {
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

// eachTreasureGroup lets speak say something of each group of finds that the law takes for one find.
func eachTreasureGroup(c *Case, log *Roll, say SayOf, speak func(c *Case, g treasureGroup, say SayOf)) {
	for _, finds := range log.treasureGroups() {
		speak(c, treasureGroup{log, finds}, say)
	}
}

// A treasureGroup is the finds that belong together, as places in the roll, in the order of the file.
type treasureGroup struct {
	log   *Roll
	finds []int
}

// treasureGroups returns the finds under a law that looks at finds together, group by group: joined by one exact
// position, or by links that make one find of them. A find with a trait that counts may stand alone.
func (r *Roll) treasureGroups() [][]int {
	parent := map[int]int{}
	var root func(i int) int
	root = func(i int) int {
		for {
			p, ok := parent[i]
			if !ok || p == i {
				return i
			}
			parent[i] = root(p)
			i = parent[i]
		}
	}
	join := func(a, b int) {
		if a, b = root(a), root(b); a != b {
			parent[max(a, b)] = min(a, b)
		}
	}
	lawful := func(i int) bool { return theTables().law.Of(r.texts[r.line(i).place]).SameFind != nil }
	members := map[int]bool{}
	for i := range r.n {
		if r.line(i).what&^(told|nearCoin) != 0 {
			members[i] = true
		}
	}
	for _, spot := range r.same(spotKey) {
		first := -1
		for _, i := range spot {
			if !lawful(i) {
				continue
			}
			if members[i] = true; first < 0 {
				first = i
			}
			join(first, i)
		}
	}
	at := r.byID(func(k *link) bool { return k.oneFind })
	for i := range r.links {
		k := &r.links[i]
		to, known := at[k.to]
		if from := int(k.from); k.oneFind && known && lawful(from) && lawful(to) {
			members[from], members[to] = true, true
			join(from, to)
		}
	}
	groups := map[int][]int{}
	for i := range members {
		groups[root(i)] = append(groups[root(i)], i)
	}
	out := make([][]int, 0, len(groups))
	for _, g := range groups {
		slices.Sort(g)
		out = append(out, g)
	}
	slices.SortFunc(out, func(a, b []int) int { return a[0] - b[0] })
	return out
}

// each calls visit with the finds of the group that have all of some traits.
func (g treasureGroup) each(what trait, visit func(i int, l *line)) {
	for _, i := range g.finds {
		if l := g.log.line(i); l.what&what == what {
			visit(i, l)
		}
	}
}

// tally counts the objects of the group that have all of some traits, and says which record of them comes first
// (-1: none) and whether an authority was told of every one.
func (g treasureGroup) tally(what trait) (n, first int, all bool) {
	first, all = -1, true
	g.each(what, func(i int, l *line) {
		if first < 0 {
			first = i
		}
		n += int(l.count)
		all = all && l.what&told != 0
	})
	return n, first, all
}

func sayCoins(c *Case, g treasureGroup, say SayOf) {
	for _, r := range theTables().law.Asking("treasure-coins") {
		what := oldCoin
		if r.Applies.Precious {
			what |= preciousCoin
		}
		n, first, all := g.tally(what)
		if n < r.Applies.Least || n == 0 {
			continue
		}
		g.due(c, what, r)
		if !all {
			say(g.log.ref(first), "", fmt.Sprintf("%d coins from one find (%s). %s", n, g.labels(what), r.Words()))
			return
		}
	}
}

func sayPrehistoric(c *Case, g treasureGroup, say SayOf) {
	for _, r := range theTables().law.Asking("treasure-prehistoric") {
		what := prehistoricBase
		if r.Applies.Precious {
			what = prehistoricPrecious
		}
		n, first, all := g.tally(what)
		if n < r.Applies.Least || n == 0 {
			continue
		}
		g.due(c, what, r)
		if !all {
			say(g.log.ref(first), "", fmt.Sprintf("prehistoric metal from one find (%s). %s", g.labels(what), r.Words()))
			return
		}
	}
}

func sayCompanions(c *Case, g treasureGroup, say SayOf) {
	table := theTables().law
	if len(g.finds) < 2 || len(table.Asking("treasure-same-find")) == 0 {
		return
	}
	coins, _, _ := g.tally(oldCoin)
	silver, _, _ := g.tally(oldCoin | preciousCoin)
	base, _, _ := g.tally(prehistoricBase)
	var itself trait = treasure | prehistoricPrecious
	for _, r := range table.Asking("treasure-coins") {
		if !r.Applies.Precious && coins >= r.Applies.Least {
			itself |= oldCoin
		} else if r.Applies.Precious && silver >= r.Applies.Least {
			itself |= preciousCoin
		}
	}
	for _, r := range table.Asking("treasure-prehistoric") {
		if !r.Applies.Precious && base >= r.Applies.Least {
			itself |= prehistoricBase
		}
	}
	row := table.Asking("treasure-same-find")[0]
	at := slices.IndexFunc(g.finds, func(i int) bool { return g.log.line(i).what&itself != 0 })
	if at < 0 {
		return
	}
	g.each(0, func(i int, l *line) {
		if l.what&itself != 0 {
			return
		}
		ref := g.log.ref(i)
		c.dueOf(&ref, g.clock(l, row, g.lastFound()))
		if l.what&told == 0 {
			say(ref, "", fmt.Sprintf("it comes from the same find as number %s, which may be treasure. %s",
				g.log.label(g.finds[at]), row.Words()))
		}
	})
}

// due hands on the time limit of each find of a group with some traits. It is counted from the last
// of them to be found: before that the group was not whole.
func (g treasureGroup) due(c *Case, what trait, row *law.Row) {
	last := g.lastFound()
	g.each(what, func(i int, l *line) {
		ref := g.log.ref(i)
		c.dueOf(&ref, g.clock(l, row, last))
	})
}

func (g treasureGroup) clock(l *line, row *law.Row, found edtf.Day) clock {
	return clock{row: row, what: tellTreasure, place: g.log.texts[l.place], found: found, dated: !found.IsZero(),
		told: l.what&told != 0}
}

// lastFound is the day on which the last find of a group was made; zero where one is not known.
func (g treasureGroup) lastFound() edtf.Day {
	last := int32(noDay)
	for _, i := range g.finds {
		day := g.log.line(i).day
		if day == noDay {
			return edtf.Day{}
		}
		last = max(last, day)
	}
	return dayOf(int(last))
}

// labels names the finds of a group that have some traits, by the numbers on their bags.
func (g treasureGroup) labels(what trait) string {
	var names []string
	g.each(what, func(i int, _ *line) { names = append(names, g.log.label(i)) })
	const most = 12
	if len(names) > most {
		return "numbers " + strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	if len(names) == 1 {
		return "number " + names[0]
	}
	return "numbers " + strings.Join(names, ", ")
}
