package profile

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Answer is what a question about a find comes to. The zero Answer is Untold.
type Answer int8

// The answers.
const (
	Untold Answer = iota // it cannot be told
	Yes
	No
)

func answer(yes bool) Answer {
	if yes {
		return Yes
	}
	return No
}

// opposite of what cannot be told cannot be told.
func (a Answer) opposite() Answer { return [...]Answer{Untold, No, Yes}[a] }

// compiled is what a condition is put to finds with.
type compiled struct {
	at     member
	wanted map[string]bool // of Is and Land, as they are compared
}

// compile finds the members of a condition; a pointer that names none is left, and is told by the self-check.
func (c *Condition) compile() {
	if c == nil {
		return
	}
	c.at, _ = memberAt(c.Member)
	c.wanted = wordSet(slices.Concat(c.Is, c.Land))
	for _, part := range c.parts() {
		part.compile()
	}
}

// parts are the conditions within a condition; of Not it may be nil.
func (c *Condition) parts() []*Condition { return slices.Concat(c.All, c.Any, []*Condition{c.Not}) }

// members names the members that a condition looks at, each once; land is the permission.
func (c *Condition) members(out []string) []string {
	if c == nil {
		return out
	}
	pointer := c.Member
	if c.Land != nil {
		pointer = "/permission"
	}
	if pointer != "" && !slices.Contains(out, pointer) {
		out = append(out, pointer)
	}
	for _, part := range c.parts() {
		out = part.members(out)
	}
	return out
}

// because names the members for which a condition is true or false, or cannot be told.
func (c *Condition) because(s *Subject, is Answer, out []string) []string {
	if c == nil || c.holds(s) != is {
		return out
	}
	if c.Member != "" || c.Land != nil {
		return c.members(out)
	}
	for _, part := range slices.Concat(c.All, c.Any) {
		out = part.because(s, is, out)
	}
	return c.Not.because(s, is.opposite(), out)
}

// holds answers the condition for a find. Nil holds for every find.
func (c *Condition) holds(s *Subject) Answer {
	return c.answer(func(t *Condition) Answer { return t.test(s) })
}

// answer answers the condition where its tests are answered. Nil is met by all.
func (c *Condition) answer(test func(*Condition) Answer) Answer {
	switch {
	case c == nil:
		return Yes
	case c.All != nil:
		return worst(c.All, test, No)
	case c.Any != nil:
		return worst(c.Any, test, Yes)
	case c.Not != nil:
		return c.Not.answer(test).opposite()
	}
	return test(c)
}

// worst is decisive where one part is, else Untold where one part is, else the opposite.
func worst(parts []*Condition, test func(*Condition) Answer, decisive Answer) Answer {
	out := decisive.opposite()
	for _, part := range parts {
		switch part.answer(test) {
		case decisive:
			return decisive
		case Untold:
			out = Untold
		}
	}
	return out
}

// test answers a condition that looks at one member.
func (c *Condition) test(s *Subject) Answer {
	switch {
	case c.Land != nil:
		return onLand(c.wanted, s.land())
	case c.Given != nil:
		return answer(c.at.given(s) == *c.Given)
	case c.Is != nil:
		return isOne(&c.at, s, c.wanted)
	case c.Older != nil:
		most := float64(s.year) - *c.Older
		if s.year == 0 {
			return Untold
		}
		return measures(&c.at, s, nil, &most)
	case c.AtLeast != nil || c.AtMost != nil:
		return measures(&c.at, s, c.AtLeast, c.AtMost)
	}
	return inDays(&c.at, s, c.From, c.To)
}

// onLand compares the names of the land of a find with those that are named.
func onLand(wanted map[string]bool, land []string) Answer {
	if len(land) == 0 {
		return Untold
	}
	return answer(slices.ContainsFunc(land, func(name string) bool { return wanted[fold(name)] }))
}

// fold makes names alike that differ in case and blanks.
func fold(s string) string { return find.FoldName(s) }

// wordSet holds words as they are compared: a find is put to many of them.
func wordSet(words []string) map[string]bool {
	out := make(map[string]bool, len(words))
	for _, word := range words {
		out[fold(word)] = true
	}
	return out
}

// isOne reports whether a member has one of the codes or words. What was not read as a code may be one of them.
func isOne(m *member, s *Subject, wanted map[string]bool) Answer {
	if m.pointer == "/kind" && !m.given(s) { // a find that does not say is a single one (section 3.3)
		return answer(wanted["single"])
	}
	if m.above != nil && !m.given(s) && m.above.given(s) { // no words are left over: all was read
		return No
	}
	return oneOfThem(m, s, func(v any) Answer { return codeIs(v, m.list, wanted) })
}

// oneOfThem answers a question of which one value of a member decides; of a member that is not there it cannot be told.
func oneOfThem(m *member, s *Subject, is func(any) Answer) Answer {
	out, some := No, false
	decided := !m.values(s, func(v any) bool {
		one := is(v)
		if some = true; one == Untold {
			out = Untold
		}
		return one != Yes
	})
	switch {
	case decided:
		return Yes
	case !some:
		return Untold
	}
	return out
}

// codeIs compares one value, by its code or one of the names of that.
func codeIs(v any, list string, wanted map[string]bool) Answer {
	code := ""
	switch x := v.(type) {
	case *find.Period:
		if code = x.ID; code == "" {
			code = x.Label
		}
	case *string:
		code = *x
	case *bool:
		return answer(wanted["true"])
	default:
		t := find.TermOf(v)
		if t == nil || t.Code == "" {
			return Untold
		}
		code = t.Code
	}
	return answer(wanted[fold(code)] ||
		slices.ContainsFunc(namesOf(list, code), func(name string) bool { return wanted[name] }))
}

// namesOf are what a code of a list is called too: its group, what it is a sort of, and metal where it is one.
func namesOf(list, code string) (out []string) {
	scheme := vocabulary.Get(list)
	if scheme == nil {
		return nil
	}
	c, ok := scheme.Concept(code)
	if !ok || c.Group == "" {
		return nil
	}
	if out = append(out, groupName(c.Group)); list == "material" && slices.Contains(metals, c.Group) {
		out = append(out, "metal")
		if c.Group == "copper-based" && code != "copper" {
			out = append(out, "copper-alloy") // bronze and brass are
		}
	}
	return out
}

// metals are the groups of materials that are metals: whoever says metal means all of them.
var metals = []string{"ferrous", "copper-based", "lead-tin", "light-metal", "other-metal", "precious"}

// groupName is how a condition names a group of codes: arms-and-ammunition.
func groupName(group string) string { return strings.ReplaceAll(strings.ToLower(group), " ", "-") }

// measures compares numbers. A quantity that lies on both sides of a bound cannot be told.
func measures(m *member, s *Subject, least, most *float64) Answer {
	if m.pointer == "/dating/latest" || m.pointer == "/dating/earliest" {
		if low, high, ok := s.periodYears(); ok {
			return between(low, high, least, most)
		}
	}
	return oneOfThem(m, s, func(v any) Answer {
		low, high, ok := interval(v)
		if !ok {
			return Untold
		}
		return between(low, high, least, most)
	})
}

// interval returns the bounds of a number or a quantity; a bound that is open is not known.
func interval(v any) (low, high find.Number, ok bool) {
	if n, is := v.(*find.Number); is {
		return *n, *n, n.Known()
	}
	if q := find.QuantityOf(v); q != nil {
		return q.Min, q.Max, q.HasValue()
	}
	return low, high, false
}

// between answers whether an interval lies within two bounds. A bound of it that is open is not known.
func between(low, high find.Number, least, most *float64) Answer {
	out := Yes
	if least != nil && (!low.Known() || low.Float() < *least) {
		if out = Untold; high.Known() && high.Float() < *least {
			return No
		}
	}
	if most != nil && (!high.Known() || high.Float() > *most) {
		if out = Untold; low.Known() && low.Float() > *most {
			return No
		}
	}
	return out
}

// inDays answers whether the dates of a member lie between two days.
func inDays(m *member, s *Subject, from, to string) (is Answer) {
	m.values(s, func(v any) bool {
		if words, ok := v.(*string); ok {
			is = daysIn(*words, from, to)
		}
		return false
	})
	return is
}

// daysIn answers whether an EDTF date lies between two days; either may be empty.
func daysIn(date, from, to string) Answer {
	d, err := edtf.Parse(date)
	if err != nil {
		return Untold
	}
	first, last, openFirst, openLast := d.Span()
	out := Yes
	if start, err := edtf.ParseDay(from); err == nil {
		switch {
		case !openLast && last.Compare(start) < 0:
			return No
		case openFirst || first.Compare(start) < 0:
			out = Untold
		}
	}
	if end, err := edtf.ParseDay(to); err == nil {
		switch {
		case !openFirst && first.Compare(end) > 0:
			return No
		case openLast || last.Compare(end) > 0:
			out = Untold
		}
	}
	return out
}
