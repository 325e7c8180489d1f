package validate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// What makes a hoard of coins, wherever they lie: our proposal.
const (
	hoardCoins  = 3
	hoardMetres = 5
	hoardRadius = 50   // metres: of a vaguer place nothing is near
	hoardYear   = 1700 // coins made since are often purse losses
	hoardWindow = 64   // finds of a day that one is compared with
)

var coinsNear = &Rule{
	Kind: kinds.CoinsNear,
	// When: Counted are finds that are no retracted ones, are placed to 50 metres and better (as in
	// `outside-permission`), are no lots of another rule than `same-hole` or `same-spot`; are
	// coins by their class (`coin`, `coin-group`) or, without a class, by their name (schema/data/things.json, rows of
	// coins); are surely of gold or silver by their first material, or by a word of `precious` of schema/data/law.json in
	// the name; are old: surely made before 1700, or with a word of `old` in the name, the label of the period or the
	// words of the dating; and are not told of: neither `notified` (as in `treasure-may-apply`) nor a word of `told` in
	// `notes` or `description`. Those of one day, each within five metres of another, are a group; if its objects
	// (`/count/min`, else 1) are three or more, one notice on the `/name` of the first of them, unless all are old coins
	// under a law that `old-coins-together` asks.
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, g := range log.coinGroups() {
			n, lawful := 0, true
			first := log.line(g[0])
			for _, i := range g {
				l := log.line(i)
				n += int(l.count)
				lawful = lawful && l.what&oldCoin != 0
			}
			if n >= hoardCoins && !lawful {
				labels := treasureGroup{log, g}.labels(nearCoin)
				say(log.ref(g[0]), first.called(), fmt.Sprintf("%d old coins of silver or gold from one spot (%s), and no report is recorded. "+
					"They may be a hoard: stop digging there and ask the finds officer, the museum or the authority of the place", n,
					labels))
			}
		}
	},
}

var hoardInWords = &Rule{
	Kind: kinds.HoardInWords,
	// When: `name`, `notes` or `description` (the first that does) has a word of `coins`, one of `precious` and one of
	// `together` of the member `hoard` of schema/data/law.json; the find is not `retracted`, and nobody was told, as in
	// `coins-near`. At that member.
	Check: func(c *Case, say Say) {
		if at := hoardWordsAt(c); at != "" {
			say(at, "this speaks of several coins of silver or gold together, and no report is recorded. They may be a hoard: "+
				"stop digging there and ask the finds officer, the museum or the authority of the place")
		}
	},
}

// nearCoinOf reports whether a find is an old coin of silver or gold that nobody was told of.
func nearCoinOf(c *Case) bool {
	f, t := c.Find, theTables()
	class := classOf(f)
	if class == "" {
		if row, _ := c.thing(); row == nil || !row.Coin && row.ID != "coin" {
			return false
		}
	} else if class != "coin" && class != "coin-group" {
		return false
	}
	if f.Retracted != nil || f.Kind == "lot" && f.Lot != nil && f.Lot.Rule != nil && !f.Lot.Rule.Is("same-hole",
		"same-spot") {
		return false
	}
	words := t.law.Hoard
	if p := precious(f); p == law.No || p == law.CannotTell && !words.Precious.Has(f.Name) {
		return false
	}
	old := words.Old.Has(f.Name)
	if d := f.Dating; d != nil && !old {
		old = words.Old.Has(d.Verbatim) || d.Period != nil && words.Old.Has(d.Period.Label) || madeBefore(c,
			hoardYear) == law.Yes
	}
	return old && !reported(f) && !words.Told.Has(f.Notes) && !words.Told.Has(f.Description)
}

// hoardWordsAt returns the member that speaks of coins of silver or gold together, of which nobody was told.
func hoardWordsAt(c *Case) string {
	f, words := c.Find, theTables().law.Hoard
	for _, m := range [...]struct{ pointer, text string }{{"/name", f.Name}, {"/notes", f.Notes},
		{"/description", f.Description}} {
		if words.Coins.Has(m.text) && words.Together.Has(m.text) && words.Precious.Has(m.text) {
			if reported(f) || words.Told.Has(f.Notes) || words.Told.Has(f.Description) || f.Retracted != nil {
				return ""
			}
			return m.pointer
		}
	}
	return ""
}

// coinGroups returns the groups of old coins of one day that lie near each other.
func (r *Roll) coinGroups() [][]int {
	var coins []int
	for i := range r.n {
		if l := r.line(i); l.what&nearCoin != 0 && l.flags&hasSpot != 0 && l.radius <= hoardRadius &&
			l.flags&isRetracted == 0 {
			coins = append(coins, i)
		}
	}
	slices.SortFunc(coins, func(a, b int) int {
		la, lb := r.line(a), r.line(b)
		return cmp.Or(cmp.Compare(la.day, lb.day), cmp.Compare(la.y, lb.y), cmp.Compare(la.x, lb.x), a-b)
	})
	group := make([]int, len(coins))
	for i := range group {
		group[i] = i
	}
	root := func(i int) int {
		for group[i] != i {
			group[i] = group[group[i]]
			i = group[i]
		}
		return i
	}
	for i := range coins {
		for j := i + 1; j < len(coins) && j <= i+hoardWindow && r.sameSpot(coins[i], coins[j]) != tooFarNorth; j++ {
			if r.sameSpot(coins[i], coins[j]) == near {
				a, b := root(i), root(j)
				group[max(a, b)] = min(a, b)
			}
		}
	}
	of := map[int][]int{}
	for i := range coins {
		of[root(i)] = append(of[root(i)], coins[i])
	}
	var groups [][]int
	for _, g := range of {
		slices.Sort(g)
		groups = append(groups, g)
	}
	slices.SortFunc(groups, func(a, b []int) int { return a[0] - b[0] })
	return groups
}

type nearness uint8

const (
	near nearness = iota
	aside
	tooFarNorth // or on another day: so are all behind it
)

// sameSpot compares two finds by day and place. A degree is 111,320 metres of the mean meridian.
func (r *Roll) sameSpot(a, b int) nearness {
	la, lb := r.line(a), r.line(b)
	north := float64(lb.y-la.y) * 1e-7 * 111320
	if la.day != lb.day || north > hoardMetres {
		return tooFarNorth
	}
	east := float64(lb.x-la.x) * 1e-7 * 111320 * math.Cos(float64(la.y)*1e-7*math.Pi/180)
	if math.Hypot(north, east) > hoardMetres {
		return aside
	}
	return near
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

// eachNear calls visit with each two finds that have one of some traits and lie within five metres.
func (r *Roll) eachNear(what trait, visit func(a, b int)) {
	var list []int
	for i := range r.n {
		if l := r.line(i); l.what&what != 0 && l.flags&hasSpot != 0 && l.radius <= hoardRadius && l.flags&isRetracted == 0 {
			list = append(list, i)
		}
	}
	slices.SortFunc(list, func(a, b int) int { return cmp.Or(cmp.Compare(r.line(a).y, r.line(b).y), a-b) })
	for k, a := range list {
		for _, b := range list[k+1 : min(len(list), k+1+hoardWindow)] {
			la, lb := r.line(a), r.line(b)
			north := float64(lb.y-la.y) * 1e-7 * 111320
			if north > hoardMetres {
				break
			}
			if east := float64(lb.x-la.x) * 1e-7 * 111320 * math.Cos(float64(la.y)*1e-7*math.Pi/180); math.Hypot(north,
				east) <= hoardMetres {
				visit(a, b)
			}
		}
	}
}
