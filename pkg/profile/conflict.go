package profile

import (
	"slices"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
)

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

// A contradiction is what looks for contradictions between the asks of a profile.
type contradiction struct {
	*checker
	solver
	inside *Condition // finds of which anything is asked
	nevers []*Ask
}

// contradictions says what no find can be, and which asks want opposite things of one find: of one kind surely, of
// another where a find is both.
func (c *checker) contradictions() {
	e := c.effective
	k := &contradiction{c, solver{mostLooks, map[*Condition]map[string]bool{}, time.Now().Year()}, &Condition{}, nil}
	k.inside.All = []*Condition{}
	if v := e.Covers; v != nil {
		k.inside.All = append(k.inside.All, v.When)
		if v.From != "" || v.To != "" {
			k.inside.All = append(k.inside.All, &Condition{Member: "/found/date", From: v.From, To: v.To})
		}
		if k.inside.compile(); !k.can(false, k.inside) {
			k.say(&kinds.ProfileImpossible, "/covers", "no find can be such as it covers|Change its condition, or its days.")
			return
		}
	}
	for _, a := range e.Asks {
		if a.leavesOut() {
			k.inside.All = append(k.inside.All, &Condition{Not: a.When})
		} else if a.Strength == Never {
			k.nevers = append(k.nevers, a)
		}
	}
	for i, a := range e.Asks {
		if k.alone(a); a.Strength == Never {
			continue
		}
		k.unworked(a)
		if k.refused(a); a.Strength == May || !a.bounded() {
			continue
		}
		for _, b := range e.Asks[:i] {
			k.pair(a, b)
		}
	}
	for i := range e.Waivers {
		w := &e.Waivers[i]
		if a := e.Named(w.Ask); a != nil && !k.can(false, w.When, a.When) {
			k.tell(&kinds.ProfileImpossible, "/waivers", "no find can be such as the waiver of %q is for, and be asked it|"+
				"Change its condition.", w.Ask)
		}
	}
	if k.left < 0 {
		c.say(&kinds.ProfileShape, "/asks", "its conditions are so many that it cannot be seen whether they contradict each "+
			"other|Ask for less, or make two profiles of it.")
	}
}

// tell is say, unless too much would have to be looked at to know.
func (k *contradiction) tell(kind *notice.Kind, at, format string, args ...any) {
	if k.left >= 0 {
		k.say(kind, at, format, args...)
	}
}

// alone looks at an ask by itself.
func (k *contradiction) alone(a *Ask) {
	at := k.askAt(a.Name)
	switch {
	case !k.can(false, a.When):
		k.tell(&kinds.ProfileImpossible, at+"/when", "no find can be such as %q is about|Change its condition: one find "+
			"has one class, and one number lies on one side of a bound.", a.Name)
	case a.leavesOut():
	case !k.can(false, a.When, k.inside):
		k.tell(&kinds.ProfileConflict, at, "%q is never asked: the finds that it is about lie outside covers, or nothing of "+
			"them is to be sent|Change its condition, or that of covers.", a.Name)
	case a.Strength != Never && a.bounded() && k.can(false, a.When, k.inside, a.has(false)) &&
		!k.can(false, a.When, k.inside, a.has(true)):
		k.tell(&kinds.ProfileImpossible, at+"/ask", "no find that %q is about can have what it wants|Change its "+
			"condition, or what is wanted.", a.Name)
	}
}

// unworked looks for asks about finds of which a list of terms allows no code.
func (k *contradiction) unworked(a *Ask) {
	for _, t := range k.effective.Terms {
		no := false
		among := &Condition{Any: []*Condition{{Member: t.Member, Given: &no}, {Member: t.Member, Is: t.Allowed}}}
		if among.compile(); t.Allowed != nil && !a.allowed && a.When != nil && !k.can(true, a.When, among) &&
			k.can(false, a.When) {
			k.tell(&kinds.ProfileConflict, k.askAt(a.Name)+"/when",
				"%q is about codes that are none of those you work with|Change its condition, or allow them.", a.Name)
		}
	}
}

// bounded reports whether an ask wants more of a member than that it is there.
func (a *Ask) bounded() bool {
	return a.Share == 0 && slices.ContainsFunc(a.Ask.Ways(), func(w *Wanted) bool {
		return w.OneOf != nil || w.AtLeast != nil || w.AtMost != nil
	})
}

// refused looks for finds of which all that would do for an ask is never to be sent.
func (k *contradiction) refused(a *Ask) {
	var first *Ask
	finds := []*Condition{a.When, k.inside}
	always := a.When == nil
	for _, p := range a.Ask.Members() {
		taken := &Condition{Any: []*Condition{}}
		for _, b := range k.nevers {
			if b.takes(p) && k.can(true, a.When, b.When) {
				if taken.Any = append(taken.Any, b.When); first == nil {
					first = b
				}
				always = always || b.When == nil || same(a.When, b.When)
			}
		}
		finds = append(finds, taken)
	}
	for _, b := range k.nevers {
		if a.Strength == Must && a.When != nil && b.When == nil && looksAt(a, b) {
			k.tell(&kinds.ProfileConflict, k.askAt(a.Name)+"/when",
				"it looks at what %q never wants: in the copy it cannot be told whether %q is asked|Put another member into "+
					"the condition.", b.Name, a.Name)
		}
	}
	if first == nil || !k.can(true, finds...) {
		return
	}
	const what = "%q is never to be sent and %q asks for it"
	if always && a.Strength != May {
		k.tell(&kinds.ProfileImpossible, k.askAt(first.Name), what, first.Name, a.Name)
		return
	}
	k.tell(&kinds.ProfileConflict, k.askAt(first.Name), what+" of some finds|Say in the condition of one that it "+
		"is not about the finds of the other.", first.Name, a.Name)
}

// pair looks for finds of which two asks want what no find has at once.
func (k *contradiction) pair(a, b *Ask) {
	few := a.allowed || b.allowed
	if b.Strength == Never || b.Strength == May || !b.bounded() || !k.can(true, k.inside, a.When, b.When) ||
		!k.can(few, a.When, b.When, a.has(true)) || !k.can(few, a.When, b.When, b.has(true)) ||
		k.can(few, a.When, b.When, a.has(true), b.has(true)) {
		return
	}
	const what = "%q and %q want opposite things of one member"
	if a.When == nil || b.When == nil || same(a.When, b.When) {
		k.tell(&kinds.ProfileImpossible, k.askAt(a.Name), what, a.Name, b.Name)
	} else if a.Strength == Must && b.Strength == Must {
		k.tell(&kinds.ProfileConflict, k.askAt(a.Name), what+": a find that both are about is never good|Say in the "+
			"condition of one that it is not about the finds of the other.", a.Name, b.Name)
	}
}

// takes reports whether a member is not there, or not to be read, where what is never to be sent is left out.
func (a *Ask) takes(p string) bool {
	return slices.ContainsFunc(a.Ask.Any, func(q string) bool {
		return q != "" && (p == q || strings.HasPrefix(p, q+"/") || slices.Contains(essential[p], strings.TrimPrefix(q, p)))
	})
}

// essential are the parts without which a member is not read.
var essential = map[string][]string{"/position": {"/longitude", "/latitude"}, "/found": {"/date"},
	"/weight": {"/min", "/max"}, "/depth": {"/min", "/max"}, "/count": {"/min", "/max"}}

// looksAt reports whether the condition of an ask looks at what another never wants.
func looksAt(a, never *Ask) bool { return slices.ContainsFunc(a.When.members(nil), never.takes) }
