package validate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// What makes a hoard of coins, wherever they lie: our proposal.
const (
	hoardCoins  = 3
	hoardGold   = 2
	hoardMetres = 5
	hoardRadius = 50   // metres: of a vaguer place nothing is near
	hoardYear   = 1700 // coins made since are often purse losses
	hoardWindow = 64   // finds of a day that one is compared with
)

var reportDue = &Rule{
	Kind: kinds.ReportDue,
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, g := range log.hoardGroups(prehistoricAlone, prehistoricAlone, false) {
			n := 0
			for _, i := range g {
				n += int(log.line(i).count)
			}
			if n >= hoardGold {
				say(log.ref(g[0]), log.line(g[0]).called(), fmt.Sprintf(
					"%d prehistoric things of metal from one spot (%s), and no "+
						"report is recorded. They may be a hoard: ask the finds officer, the museum or the authority of the place", n,
					treasureGroup{log, g}.labels(prehistoricAlone)))
			}
		}
		for _, g := range log.hoardGroups(nearCoin|goldAlone, nearCoin, true) {
			n, gold, lawful := 0, 0, true
			first := log.line(g[0])
			for _, i := range g {
				l := log.line(i)
				if l.what&nearCoin != 0 {
					n += int(l.count)
				}
				if l.what&goldCoin != 0 {
					gold += int(l.count)
				}
				lawful = lawful && l.what&oldCoin != 0
			}
			if (n >= hoardCoins || gold >= hoardGold) && !lawful {
				labels := treasureGroup{log, g}.labels(nearCoin)
				say(log.ref(g[0]), first.called(),
					fmt.Sprintf("%d old coins or things of silver or gold from one spot (%s), and no report is recorded. "+
						"They may be a hoard: ask the finds officer, the museum or the authority of the place", n, labels))
			} else if first.what&goldAlone != 0 {
				say(log.ref(g[0]), first.called(), goldWords)
			}
		}
	},
	Check: func(c *Case, say Say) {
		if at := hoardWordsAt(c); at != "" {
			say(at, "this speaks of several coins of silver or gold together, and no report is recorded. They may be a hoard: "+
				"stop digging there and ask the finds officer, the museum or the authority of the place")
		} else if heading := stepNotTaken(c); heading != "" {
			say("/columns/"+notice.Escape(heading), fmt.Sprintf("it seems old, and %q says %q; where it seems to "+
				"come from such a find is to be reported", heading, clip(c.Find.Columns[heading])))
		}
	},
}

const goldWords = "old gold, and no report is recorded; where it seems to come from such a find is to be reported"

// goldIsTold reports whether an old find of gold that nobody was told of is to be reported by itself where it comes
// from, while no row of that law speaks of it.
func goldIsTold(c *Case) bool {
	f, words := c.Find, theTables().law.Hoard
	if material(f) != "gold" || c.precious() != law.Yes || f.Retracted != nil || !isOld(c) || anybodyTold(f) {
		return false
	}
	in := []string{c.law().Code}
	if in[0] == "" {
		in, _ = countriesOf(c)
	}
	if len(in) == 0 || len(in) > mostCountries {
		return false
	}
	for _, code := range in {
		land, _, _ := strings.Cut(code, "-")
		if !slices.Contains(words.Gold, land) && (coinLike(c) || !slices.Contains(words.GoldThings, land)) {
			return false
		}
	}
	row, _, _ := treasureRow(c)
	return row == nil
}

// stepNotTaken returns the heading under which an old find is said not to be reported where it is to be; empty: none.
func stepNotTaken(c *Case) string {
	f, words := c.Find, theTables().law.Hoard
	for _, heading := range sortedKeys(f.Columns) {
		step, taken := words.StepUnder(heading, f.Columns[heading])
		if step == nil || taken != law.No || f.Retracted != nil || anybodyTold(f) || !fromBefore1500(c) {
			continue
		}
		in := []string{c.law().Code}
		if land, _, _ := strings.Cut(step.In, "-"); step.In != "" && (in[0] == "" || in[0] == land) {
			in[0] = step.In
		} else if in[0] == "" {
			in, _ = countriesOf(c)
		}
		if row, _, _ := treasureRow(c); row != nil || len(in) == 0 || slices.ContainsFunc(in, func(code string) bool {
			return !slices.Contains(words.Anything, code) && (code != "DK" || c.precious() != law.Yes)
		}) {
			continue
		}
		return heading
	}
	return ""
}

// fromBefore1500 reports whether a find was surely made before that year, or is said to be of a time before it.
func fromBefore1500(c *Case) bool {
	const year, ends = 1500, 1600 // the middle ages end late in some lands
	d, t := c.Find.Dating, theTables()
	if madeBefore(c, year) == law.Yes || t.law.Hoard.Old.Has(c.Find.Name) {
		return true
	}
	if d == nil {
		return false
	}
	words := periodWords(d)
	_, to, ok := t.things.spanOf(words)
	return t.law.Hoard.Old.Has(words) || ok && to <= ends || prehistoric(c, prehistoryEnds) == law.Yes
}

// nearCoinOf reports whether a find is an old coin, or another old thing, of silver or gold that nobody was told of.
func nearCoinOf(c *Case) bool {
	f, words := c.Find, theTables().law.Hoard
	is, coin := c.precious(), theTables().in("coin", classOf(f))
	if classOf(f) == "" {
		row, _ := c.thing()
		coin = row.isCoin()
	}
	if is != law.Yes && !(coin && is == law.CannotTell && words.Precious.Has(f.Name)) {
		return false
	}
	if f.Retracted != nil || f.Kind == "lot" && f.Lot != nil && f.Lot.Rule != nil && !f.Lot.Rule.Is("same-hole",
		"same-spot") {
		return false
	}
	return isOld(c) && !anybodyTold(f)
}

// isOld reports whether a find was surely made before 1700, or is called so.
func isOld(c *Case) bool {
	d, old := c.Find.Dating, theTables().law.Hoard.Old
	return old.Has(c.Find.Name) || d != nil && (old.Has(d.Verbatim) || d.Period != nil && old.Has(d.Period.Label) ||
		madeBefore(c, hoardYear) == law.Yes)
}

// anybodyTold reports whether the record says, anywhere, that somebody was told of the find.
func anybodyTold(f *find.Find) bool {
	words := theTables().law.Hoard
	if reported(f) || words.SaysTold(f.Notes) || words.SaysTold(f.Description) {
		return true
	}
	for i := range f.Notified {
		if n := &f.Notified[i]; !n.Status.Is("not-sent", "returned") &&
			(n.On != "" && n.To == "" || theTables().care["not-landowner"].Has(n.To)) {
			return true
		}
	}
	for _, text := range f.Columns {
		if words.SaysTold(text) {
			return true
		}
	}
	return false
}

// hoardWordsAt returns the member that speaks of coins of silver or gold together, of which nobody was told.
func hoardWordsAt(c *Case) string {
	f, words := c.Find, theTables().law.Hoard
	for _, m := range [...]struct{ pointer, text string }{{"/name", f.Name}, {"/notes", f.Notes},
		{"/description", f.Description}} {
		if words.Coins.Has(m.text) && words.Together.Has(m.text) && words.Precious.Has(m.text) {
			if f.Retracted != nil || anybodyTold(f) {
				return ""
			}
			return m.pointer
		}
	}
	return ""
}

// hoardGroups returns the groups of finds with one of some traits, such as old coins of one day, that lie near each
// other, or name each other.
func (r *Roll) hoardGroups(what, near trait, oneDay bool) [][]int {
	members, all := map[int]bool{}, union{}
	for i := range r.n {
		if r.line(i).what&what != 0 {
			members[i] = true
		}
	}
	r.eachNear(near, oneDay, all.join)
	r.eachBeside(func(a, b int) {
		if members[a] && members[b] {
			all.join(a, b)
		}
	})
	return r.onceEach(all.groups(members))
}

// isPrehistoric reports whether a find is surely prehistoric, by its years or by the name of its period.
func isPrehistoric(c *Case) bool {
	if prehistoric(c, prehistoryEnds) == law.Yes || c.Find.Dating == nil {
		return c.Find.Dating != nil
	}
	_, to, ok := theTables().things.spanOf(periodWords(c.Find.Dating))
	return ok && to <= prehistoryEnds
}

// onceEach leaves each find in a group once: not again under its id, nor as its twin with the same number, as a log
// that came twice has it.
func (r *Roll) onceEach(groups [][]int) [][]int {
	for n, g := range groups {
		seen := map[uint64]bool{}
		groups[n] = slices.DeleteFunc(g, func(i int) bool {
			l := r.line(i)
			twin := sumOf(fmt.Sprint(l.twin, " ", r.label(i)))
			again := l.id != 0 && seen[l.id] || seen[twin]
			seen[l.id], seen[twin] = true, true
			return again
		})
	}
	return groups
}

// besideOf is a find whose words say that another lay with it, and the number of that.
type besideOf struct {
	from   uint32
	number uint64 // sum of the folded number
}

// besides enters what the words of a find say of others that lay with it: same hole as 12, found with no. 12.
func (r *Roll) besides(f *find.Find) {
	for _, text := range [...]string{f.Notes, f.Description} {
		if !strings.ContainsAny(text, "0123456789") {
			continue
		}
		for _, m := range theTables().law.Hoard.Beside.FindAllStringSubmatch(text, -1) {
			r.beside = append(r.beside, besideOf{uint32(r.n), sumOf(find.FoldNumber(m[1]))})
		}
	}
}

// eachBeside calls visit with each two finds of which the words of one name the other.
func (r *Roll) eachBeside(visit func(a, b int)) {
	if len(r.beside) == 0 {
		return
	}
	at := map[uint64]int{}
	for i := range r.n {
		at[sumOf(find.FoldNumber(r.label(i)))] = i
	}
	for _, b := range r.beside {
		if i, known := at[b.number]; known && i != int(b.from) {
			visit(int(b.from), i)
		}
	}
}

// eachNear calls visit with each two finds that have one of some traits and lie within five metres, of one day where
// that is asked. A degree is 111,320 metres of the mean meridian.
func (r *Roll) eachNear(what trait, oneDay bool, visit func(a, b int)) {
	var list []int
	for i := range r.n {
		if l := r.line(i); l.what&what != 0 && l.flags&hasSpot != 0 && l.radius <= hoardRadius && l.flags&isRetracted == 0 {
			list = append(list, i)
		}
	}
	day := func(l *line) int32 {
		if oneDay {
			return l.day
		}
		return 0
	}
	slices.SortFunc(list, func(a, b int) int {
		la, lb := r.line(a), r.line(b)
		return cmp.Or(cmp.Compare(day(la), day(lb)), cmp.Compare(la.y, lb.y), cmp.Compare(la.x, lb.x), a-b)
	})
	for k, a := range list {
		for _, b := range list[k+1 : min(len(list), k+1+hoardWindow)] {
			la, lb := r.line(a), r.line(b)
			north := float64(lb.y-la.y) * 1e-7 * 111320
			if day(la) != day(lb) || north > hoardMetres {
				break
			}
			if east := float64(lb.x-la.x) * 1e-7 * 111320 * math.Cos(float64(la.y)*1e-7*math.Pi/180); math.Hypot(north,
				east) <= hoardMetres {
				visit(a, b)
			}
		}
	}
}
