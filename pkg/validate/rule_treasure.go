package validate

import (
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

var treasureTogether = &Rule{
	Kind: kinds.TreasureTogether,
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, speak := range [...]func(*Case, treasureGroup, SayOf){sayCoins, sayPrehistoric, sayCompanions} {
			for _, finds := range log.treasureGroups() {
				speak(c, treasureGroup{log, finds}, say)
			}
		}
	},
}

// trait is what of a find the rows of law speak of.
type trait uint16

const (
	oldCoin trait = 1 << iota
	preciousCoin
	prehistoricBase
	prehistoricPrecious
	treasure
	told             // an authority was told
	nearCoin         // an old coin of silver or gold, wherever it lies: see report-due
	goldCoin         // one of gold
	goldAlone        // old gold that is to be reported by itself
	prehistoricAlone // prehistoric metal, no coin, of which no law of the place speaks
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
	var what trait
	coin := coinLike(c)
	if coin && (f.Kind != "lot" || f.Lot == nil || f.Lot.Rule == nil || f.Lot.Rule.Is("same-hole", "same-spot")) {
		if r := firstRow(c, "treasure-coins"); r != nil && olderThan(c, r.Applies.AgeYearsMin) == law.Yes {
			what |= oldCoin
			if c.precious() != law.No {
				what |= preciousCoin
			}
		}
	}
	if !coin && firstRow(c, "treasure-prehistoric") != nil && prehistoric(c, prehistoryEnds) == law.Yes {
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

// firstRow returns the first row of a rule where and when the find was made, of those that ask anything of an object.
func firstRow(c *Case, rule string) *law.Row {
	for _, r := range c.lawRows(rule) {
		if r.Topic != "age" {
			return r.Row
		}
	}
	return nil
}

// A treasureGroup is the finds that belong together, as places in the roll, in the order of the file.
type treasureGroup struct {
	log   *Roll
	finds []int
}

// treasureGroups returns the finds under a law that looks at finds together, group by group: joined by one exact
// position, or by links that make one find of them. A find with a trait that counts may stand alone.
func (r *Roll) treasureGroups() [][]int {
	all := union{}
	join := all.join
	lawful := func(i int) bool { return theTables().law.Of(r.texts[r.line(i).place]).Has("treasure-same-find") }
	members := map[int]bool{}
	for i := range r.n {
		if r.line(i).what&^(told|nearCoin|goldCoin|goldAlone|prehistoricAlone) != 0 {
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
	r.eachBeside(func(a, b int) {
		if lawful(a) && lawful(b) {
			members[a], members[b] = true, true
			join(a, b)
		}
	})
	r.eachNear(oldCoin|prehistoricBase|prehistoricPrecious, false, join)
	return r.onceEach(all.groups(members))
}

// union joins finds into groups: each has one above it, the first of its group none.
type union map[int]int

func (u union) root(i int) int {
	for {
		p, ok := u[i]
		if !ok || p == i {
			return i
		}
		u[i] = u.root(p)
		i = u[i]
	}
}

func (u union) join(a, b int) {
	if a, b = u.root(a), u.root(b); a != b {
		u[max(a, b)] = min(a, b)
	}
}

// groups returns the members group by group, in the order of the file.
func (u union) groups(members map[int]bool) [][]int {
	groups := map[int][]int{}
	for i := range members {
		groups[u.root(i)] = append(groups[u.root(i)], i)
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

// asked returns the rows of a rule under which the finds of a group are looked at.
func (g treasureGroup) asked(rule string) (rows []*law.Row) {
	place := theTables().law.Of(g.log.texts[g.log.line(g.finds[0]).place])
	for _, r := range place.On(rule, edtf.Day{}, g.lastFound()) {
		if r.Topic != "age" {
			rows = append(rows, r.Row)
		}
	}
	return rows
}

// askedTrait is what a find must be for a row of coins or of prehistoric metal.
func askedTrait(r *law.Row) trait {
	switch a := &r.Applies; {
	case a.Period != "" && a.AnyPrecious:
		return prehistoricPrecious
	case a.Period != "":
		return prehistoricBase
	case a.PreciousPercentMin > 0:
		return oldCoin | preciousCoin
	}
	return oldCoin
}

func sayCoins(c *Case, g treasureGroup, say SayOf) {
	g.sayFirst(c, "treasure-coins", say, func(n int, labels string) string {
		return fmt.Sprintf("%d coins from one find (%s)", n, labels)
	})
}

func sayPrehistoric(c *Case, g treasureGroup, say SayOf) {
	g.sayFirst(c, "treasure-prehistoric", say, func(_ int, labels string) string {
		return fmt.Sprintf("prehistoric metal from one find (%s)", labels)
	})
}

// sayFirst tells of the first row of a rule of which the group has enough, and that not all were reported under.
func (g treasureGroup) sayFirst(c *Case, rule string, say SayOf, what func(n int, labels string) string) {
	for _, r := range g.asked(rule) {
		has := askedTrait(r)
		n, first, all := g.tally(has)
		if n < max(1, r.Applies.SameFindMin) || n == 0 {
			continue
		}
		g.due(c, has, r)
		if !all {
			say(g.log.ref(first), "", what(n, g.labels(has))+". "+c.words(r)+g.meaning(rule))
			return
		}
	}
}

// meaning is what the law of the place says of the words of a rule.
func (g treasureGroup) meaning(rule string) (text string) {
	place := theTables().law.Of(g.log.texts[g.log.line(g.finds[0]).place])
	for _, name := range [...]string{rule, "treasure-same-find"} {
		for _, r := range place.On(name, edtf.Day{}, g.lastFound()) {
			if r.Topic == "age" {
				text += " " + r.Rule
			}
		}
	}
	return text
}

func sayCompanions(c *Case, g treasureGroup, say SayOf) {
	rows := g.asked("treasure-same-find")
	if len(g.finds) < 2 || len(rows) == 0 {
		return
	}
	itself := treasure | prehistoricPrecious
	for _, rule := range [...]string{"treasure-coins", "treasure-prehistoric"} {
		for _, r := range g.asked(rule) {
			has := askedTrait(r)
			if n, _, _ := g.tally(has); n >= max(1, r.Applies.SameFindMin) {
				itself |= has &^ oldCoin
				if has == oldCoin {
					itself |= oldCoin
				}
			}
		}
	}
	row := rows[0]
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
				g.log.label(g.finds[at]), c.words(row)))
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
	return labelled(names)
}
