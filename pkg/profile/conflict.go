package profile

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A literal is a test of a condition, or its opposite.
type literal struct {
	*Condition
	not bool
}

// literals are the tests that all hold where a condition does, or where it does not; false: it is no such list.
func (c *Condition) literals(not bool) (out []literal, ok bool) {
	switch {
	case c == nil:
		return nil, !not
	case c.Not != nil:
		return c.Not.literals(!not)
	case c.All == nil && c.Any == nil:
		return []literal{{c, not}}, true
	case c.All != nil && not, c.Any != nil && !not:
		return nil, false
	}
	for _, part := range slices.Concat(c.All, c.Any) {
		more, ok := part.literals(not)
		if out = append(out, more...); !ok {
			return nil, false
		}
	}
	return out, true
}

// apart reports whether surely no find meets both conditions, as far as they are lists of tests.
func apart(a, b *Condition) bool {
	xs, ok := a.literals(false)
	ys, ok2 := b.literals(false)
	return ok && ok2 && slices.ContainsFunc(xs, func(x literal) bool {
		return slices.ContainsFunc(ys, func(y literal) bool {
			switch {
			case x.not && y.not:
				return false
			case y.not:
				return x.inside(y.Condition)
			case x.not:
				return y.inside(x.Condition)
			}
			return x.excludes(y.Condition) || y.excludes(x.Condition)
		})
	})
}

// absent reports whether a test is that its member is not there.
func (c *Condition) absent() bool { return c.Given != nil && !*c.Given }

// isAt reports whether a test looks at the member of another or at a part of it.
func (c *Condition) isAt(o *Condition) bool {
	return c.Member != "" && (c.Member == o.Member || strings.HasPrefix(c.Member, o.Member+"/"))
}

// codes are those that a test names, with those that groups and words stand for; of no list, the words.
func (c *Condition) codes() map[string]bool { return codeSet(c.at.list, slices.Concat(c.Is, c.Land)) }

// beyond reports whether the least that a test lets pass is above the most of another.
func (c *Condition) beyond(o *Condition) bool {
	return c.AtLeast != nil && o.AtMost != nil && *c.AtLeast > *o.AtMost
}

// excludes reports whether surely no find meets both tests. Where there may be several, of silver and of pottery, few
// finds have both.
func (c *Condition) excludes(o *Condition) bool {
	switch {
	case c.absent():
		return o.isAt(c) && !o.absent()
	case c.Member != o.Member:
		return false
	case len(c.Is)+len(c.Land) > 0 && len(o.Is)+len(o.Land) > 0:
		return !some(c.codes(), o.codes(), true)
	}
	return !c.at.Many && c.beyond(o)
}

// inside reports whether surely each find that meets a test meets another.
func (c *Condition) inside(o *Condition) bool {
	switch {
	case o.Given != nil && *o.Given:
		return c.isAt(o) && !c.absent()
	case c.Member != o.Member:
		return false
	case len(c.Is)+len(c.Land) > 0 && len(o.Is)+len(o.Land) > 0:
		return !some(c.codes(), o.codes(), false)
	}
	return same(c, o) || c.AtMost != nil && o.AtMost != nil && *c.AtMost <= *o.AtMost && o.AtLeast == nil ||
		c.AtLeast != nil && o.AtLeast != nil && *c.AtLeast >= *o.AtLeast && o.AtMost == nil
}

// some reports whether an item of a set is, or is not, in another.
func some(a, b map[string]bool, is bool) bool {
	for item := range a {
		if b[item] == is {
			return true
		}
	}
	return false
}

// codeSet is the codes that codes, groups and words stand for; of no list, the words.
func codeSet(list string, words []string) map[string]bool {
	out, scheme := wordSet(words), vocabulary.Get(list)
	for i := 0; scheme != nil && i < len(scheme.Concepts); i++ {
		code := scheme.Concepts[i].Code
		if slices.ContainsFunc(namesOf(list, code), func(name string) bool { return out[name] }) {
			out[code] = true
		}
	}
	return out
}

// contradictions says which asks want opposite things of one find: of one kind surely, of another where a find is both.
func (c *checker) contradictions() {
	asks := c.effective.Asks
	for i, a := range asks {
		if a.Strength == Never || a.Strength == May {
			continue
		}
		if covers := c.effective.Covers; covers != nil && apart(a.When, covers.When) {
			c.say(&kinds.ProfileConflict, c.askAt(a.Name),
				"%q is never asked: the finds that it is about lie outside covers|Change its condition, or that of covers.", a.Name)
		}
		for k, b := range asks {
			what := ""
			switch {
			case b.Strength == Never && a.takenBy(b):
				what = "%q is never to be sent and %q asks for it"
			case b.Strength == Never && a.Strength == Must && a.When != nil && b.When == nil && looksAt(a, b):
				c.say(&kinds.ProfileConflict, c.askAt(a.Name)+"/when",
					"it looks at what %q never wants: in the copy it cannot be told whether %q is asked|Put another member into the "+
						"condition.", b.Name, a.Name)
			case k < i && b.Strength != Never && b.Strength != May && a.against(b):
				what = "%q and %q want opposite things of one member"
			}
			if what == "" || apart(a.When, b.When) {
				continue
			}
			if a.When == nil || b.When == nil || same(a.When, b.When) {
				c.say(&kinds.ProfileImpossible, c.askAt(b.Name), what, b.Name, a.Name)
			} else if a.Strength == Must && (b.Strength == Must || b.Strength == Never) {
				c.say(&kinds.ProfileConflict, c.askAt(b.Name),
					what+": a find that both are about is never good|Say in the condition of one that it is not about the finds of "+
						"the other.", b.Name, a.Name)
			}
		}
	}
}

// takenBy reports whether nothing that would do for an ask stays where what another names is left out.
func (a *Ask) takenBy(never *Ask) bool {
	return !slices.ContainsFunc(a.Ask.Members(), func(p string) bool {
		return !slices.ContainsFunc(never.Ask.Any, func(q string) bool {
			return q != "" && (p == q || strings.HasPrefix(p, q+"/")) || slices.Contains(essential[p], strings.TrimPrefix(q, p))
		})
	})
}

// essential are the parts without which a member is not read.
var essential = map[string][]string{"/position": {"/longitude", "/latitude"}, "/found": {"/date"},
	"/weight": {"/min", "/max"}, "/depth": {"/min", "/max"}, "/count": {"/min", "/max"}}

// looksAt reports whether the condition of an ask looks at what another never wants.
func looksAt(a, never *Ask) bool {
	return slices.ContainsFunc(a.When.members(nil), func(p string) bool {
		return slices.ContainsFunc(never.Ask.Any, func(q string) bool {
			return q != "" && (p == q || strings.HasPrefix(p, q+"/"))
		})
	})
}

// against reports whether two asks want what one member cannot have at once.
func (a *Ask) against(b *Ask) bool {
	if len(a.Ask.Members())+len(b.Ask.Members()) > 2 || a.Ask.Any[0] != b.Ask.Any[0] || a.Share+b.Share > 0 ||
		a.Ask.Or != nil || b.Ask.Or != nil {
		return false
	}
	m, _ := memberAt(a.Ask.Any[0])
	x := Condition{AtLeast: a.Ask.AtLeast, AtMost: a.Ask.AtMost}
	y := Condition{AtLeast: b.Ask.AtLeast, AtMost: b.Ask.AtMost}
	return x.beyond(&y) || y.beyond(&x) ||
		a.Ask.OneOf != nil && b.Ask.OneOf != nil && (!m.Many || a.allowed || b.allowed) &&
			!some(codeSet(m.list, a.Ask.OneOf), codeSet(m.list, b.Ask.OneOf), true)
}
