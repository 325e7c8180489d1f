package profile

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/vocabulary"
)

// A solver looks for a find that meets conditions. Of each member that they look at it tries the few values between
// which they can tell; what it tries is bounded.
type solver struct {
	left  int // parts of conditions that may still be looked at
	codes map[*Condition]map[string]bool
	year  int
}

// mostLooks is how many parts of conditions are looked at in one profile.
const mostLooks = 20_000_000

// value is what a find has at a member, if anything.
type value struct {
	there  bool
	codes  []string
	number float64
	day    string
}

// axis is a member that conditions look at, with the values that are tried.
type axis struct {
	key    string
	tests  []*Condition
	values []value
}

// can reports whether a find can meet all of the conditions; nil is met by all. few: it has one item of each list, for
// few finds are of silver and of pottery, where each condition can be met so.
func (s *solver) can(few bool, all ...*Condition) bool {
	return few && s.found(true, all...) || (!few || slices.ContainsFunc(all, func(c *Condition) bool {
		return !s.found(true, c)
	})) && s.found(false, all...)
}

func (s *solver) found(few bool, all ...*Condition) bool {
	whole := &Condition{All: all}
	axes := map[string]*axis{}
	s.survey(whole, axes)
	list := slices.SortedFunc(maps.Values(axes), func(a, b *axis) int { return strings.Compare(a.key, b.key) })
	var numbers []float64
	for _, a := range list {
		for _, t := range a.tests {
			numbers = append(numbers, s.bounds(t)...)
		}
	}
	slices.Sort(numbers)
	for _, a := range list {
		a.values = s.values(a, numbers, few)
	}
	return s.search(whole, list, map[string]value{})
}

// survey finds what conditions look at.
func (s *solver) survey(c *Condition, axes map[string]*axis) {
	if c == nil {
		return
	}
	if key := c.axis(); key != "" {
		if axes[key] == nil {
			axes[key] = &axis{key: key}
		}
		axes[key].tests = append(axes[key].tests, c)
	}
	for _, part := range c.parts() {
		s.survey(part, axes)
	}
}

// axis names what a test looks at. What may be there several times is another for each bound.
func (c *Condition) axis() string {
	at := strings.TrimSuffix(c.Member, "/code")
	bounds := c.AtLeast != nil || c.AtMost != nil || c.Older != nil
	switch {
	case c.Land != nil:
		return "/permission/land"
	case at == "/found":
		return "/found/date"
	case bounds && (at == "/dating/earliest" || at == "/dating/latest"):
		return strings.Replace(at, "/dating/", "/dating/of ", 1) // a period in words has years, too
	case c.at.Many && c.Given == nil && c.Is == nil && !strings.HasSuffix(at, "/#"):
		return fmt.Sprintf("%s/%p", at, c)
	}
	return at
}

// bounds are the numbers on which a test turns.
func (s *solver) bounds(c *Condition) (out []float64) {
	for _, n := range []*float64{c.AtLeast, c.AtMost} {
		if n != nil {
			out = append(out, *n)
		}
	}
	if c.Older != nil {
		out = append(out, float64(s.year)-*c.Older)
	}
	return out
}

// values are those that are tried at a member.
func (s *solver) values(a *axis, numbers []float64, few bool) (out []value) {
	said, days, measured := map[string]bool{}, map[string]bool{}, false
	for _, t := range a.tests {
		maps.Copy(said, s.named(t))
		measured = measured || len(s.bounds(t)) > 0
		for _, day := range []string{t.From, t.To} {
			if d, err := time.Parse(time.DateOnly, day); err == nil {
				for by := range 3 {
					days[d.AddDate(0, 0, by-1).Format(time.DateOnly)] = true
				}
			}
		}
	}
	switch {
	case len(said) > 0:
		for _, codes := range s.told(a, said, few) {
			out = append(out, value{there: true, codes: codes})
		}
	case measured:
		least := -1e9
		if strings.HasSuffix(a.key, "/#") {
			least = 1
		} else if !strings.HasPrefix(a.key, "/dating") && !strings.HasPrefix(a.key, "/position") {
			least = 0
		}
		for i, n := range numbers {
			for _, n := range []float64{n - 1, n, n + 1, (n + numbers[max(i-1, 0)]) / 2} {
				if whole := n == float64(int(n)); n >= least && (whole || !a.counts()) {
					out = append(out, value{there: true, number: n})
				}
			}
		}
	case len(days) > 0:
		for day := range days {
			out = append(out, value{there: true, day: day})
		}
	default:
		out = append(out, value{there: true})
	}
	if a.key == "/kind" && len(said) > 0 {
		return out // which is single, where nothing is said
	}
	return append(out, value{})
}

// counts reports whether what is measured has whole numbers only.
func (a *axis) counts() bool {
	return strings.HasSuffix(a.key, "/#") || strings.HasPrefix(a.key, "/count") || strings.HasPrefix(a.key, "/dating")
}

// named are the codes that a test names, with those that groups stand for; of no list, the words.
func (s *solver) named(c *Condition) map[string]bool {
	if s.codes[c] == nil {
		s.codes[c] = codeSet(c.at.list, slices.Concat(c.Is, c.Land))
	}
	return s.codes[c]
}

// told are the codes that are tried: of those between which no test can tell, one; of a list, with others.
func (s *solver) told(a *axis, said map[string]bool, few bool) (out [][]string) {
	one, list := map[string]string{}, a.tests[0].at.list
	if scheme := vocabulary.Get(list); scheme == nil || scheme.Open || slices.ContainsFunc(scheme.Concepts,
		func(c *vocabulary.Concept) bool { return !said[c.Code] }) {
		said = maps.Clone(said)
		said["~"] = true // none that is named
	}
	for code := range said {
		by := ""
		for _, t := range a.tests {
			by += fmt.Sprint(s.named(t)[code], " ")
		}
		one[by] = max(one[by], code)
	}
	codes := slices.Sorted(maps.Values(one))
	for _, code := range codes {
		out = append(out, []string{code})
	}
	if few || !a.tests[0].at.Many {
		return out
	}
	for i, code := range codes {
		out = append(out, codes[i:])
		for _, other := range codes[:i] {
			out = append(out, []string{code, other})
		}
	}
	return out
}

// search tries the values of one member after another until the condition holds.
func (s *solver) search(c *Condition, axes []*axis, w map[string]value) bool {
	is := c.answer(func(t *Condition) Answer {
		s.left--
		return s.test(t, w)
	})
	if is == Yes || s.left < 0 {
		return true
	} else if is == No || len(axes) == 0 {
		return false
	}
	defer delete(w, axes[0].key)
	for _, v := range axes[0].values {
		if w[axes[0].key] = v; possible(axes[0].key, v, w) && s.search(c, axes[1:], w) {
			return true
		}
	}
	return false
}

// possible reports whether a find can have such a value, as far as it is known: a part only of what is there, no year
// of making that begins after it ended, and of a single thing one.
func possible(key string, v value, w map[string]value) bool {
	for at := key; v.there && at != ""; at = at[:strings.LastIndexByte(at, '/')] {
		if above, known := w[at]; known && !above.there {
			return false
		}
	}
	first, last := w["/dating/of earliest"], w["/dating/of latest"]
	number, kind := w["/count"], w["/kind"]
	return (!first.there || !last.there || first.number <= last.number) &&
		(key != "/kind" || !slices.Contains(kind.codes, "single") || !number.there || number.number <= 1)
}

// test answers one test, as far as it is known what the find has.
func (s *solver) test(c *Condition, w map[string]value) Answer {
	v, known := w[c.axis()]
	switch {
	case !known:
		return Untold
	case c.Given != nil:
		return answer(v.there == *c.Given)
	case !v.there:
		return Untold
	case c.Is != nil || c.Land != nil:
		return answer(slices.ContainsFunc(v.codes, func(code string) bool { return s.named(c)[code] }))
	case c.From != "" || c.To != "":
		return answer((c.From == "" || v.day >= c.From) && (c.To == "" || v.day <= c.To))
	}
	most := c.AtMost
	if c.Older != nil {
		most = &s.bounds(c)[0]
	}
	return answer((c.AtLeast == nil || v.number >= *c.AtLeast) && (most == nil || v.number <= *most))
}

// has is the condition that a find has what an ask wants, and, where it is to, as it wants it.
func (a *Ask) has(asWanted bool) *Condition {
	out, yes := &Condition{Any: []*Condition{}}, true
	for _, w := range a.Ask.Ways() {
		for _, p := range w.Any {
			one := &Condition{All: []*Condition{{Member: p, Given: &yes}}}
			for _, part := range essential[p] {
				one.All = append(one.All, &Condition{Member: p + part, Given: &yes})
			}
			if asWanted && w.OneOf != nil {
				one.All = append(one.All, &Condition{Member: p, Is: w.OneOf})
			}
			if m, _ := memberAt(p); asWanted && (w.AtLeast != nil || w.AtMost != nil) {
				at := p
				if !m.isNumber() {
					at += "/#" // how many there are
				}
				one.All = append(one.All, &Condition{Member: at, AtLeast: w.AtLeast, AtMost: w.AtMost})
			}
			out.Any = append(out.Any, one)
		}
	}
	out.compile()
	return out
}
