package normalise

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// terms finds the codes of what people wrote.
func (n *normaliser) terms() {
	n.materials()
	n.f.Terms(func(pointer, list string, t *find.Term) { n.term(pointer, list, t) })
	if n.marked {
		n.dropAbsentTerms()
	}
	f := n.f
	if d := f.Depth; d != nil && d.Verbatim == "" && !d.Min.Known() {
		f.Depth = notEmpty(d)
	}
	if p := f.Position; p != nil && p.Verbatim == "" && !p.Latitude.Known() {
		f.Position = notEmpty(p)
	}
	f.Condition = notEmpty(f.Condition)
}

// methodAlone takes the way a position was taken out of a find of a table that has no position. The
// words stay among the columns.
func (n *normaliser) methodAlone() (alone bool) {
	f := n.f
	p := f.Position
	if p == nil || !n.o.Table || p.Longitude.Known() || p.Latitude.Known() || p.Verbatim != "" || p.Area != nil ||
		p.Method == nil {
		return false
	}
	rest := *p
	rest.Method = nil
	if !onlyWords(rest, func(*find.Position) {}) {
		return false // more is reported of it
	}
	words := cmp.Or(p.Method.Verbatim, p.Method.Code)
	f.Position = nil
	if words == "" {
		return true // how sure a way is that is not told
	}
	if f.Columns == nil {
		f.Columns = map[string]string{}
	}
	f.Columns["position.method (no position)"] = words
	return true
}

// term finds the code of one term. It leaves a code that is there.
func (n *normaliser) term(pointer, list string, t *find.Term) {
	if t != nil && strings.HasPrefix(t.Note, absentMark) {
		n.marked = true
	}
	if t == nil || t.Code != "" || t.Verbatim == "" {
		return
	}
	r := terms.Of(memo.Key[string]{Text: t.Verbatim, With: list})
	switch {
	case r.scheme == nil:
		return
	case r.none && !(r.ok && statesNone(r.match)):
		if onlyWords(*t, func(t *find.Term) { t.Verbatim = "" }) {
			t.Note, n.marked = absentMark+r.reason, true
		}
		return
	case !r.ok:
		n.say(&kinds.TermNotListed, pointer, r.message)
		return
	}
	t.Code = r.match.Code
	if t.Certainty == "" {
		t.Certainty = r.match.Certainty
	}
	switch r.match.How {
	case vocabulary.Misspelling:
		n.say(&kinds.TermRespelt, pointer, r.message)
	case vocabulary.Suggested:
		n.say(&kinds.TermSuggested, pointer, r.message)
	}
	if r.match.Coated {
		n.say(&kinds.ReadingAssumed, pointer, coatedMessage)
	}
}

// termRead is what a list makes of words.
type termRead struct {
	scheme  *vocabulary.Scheme
	match   vocabulary.Match
	ok      bool // there is a match
	reason  string
	none    bool   // the words say that there is none, and why
	message string // of a notice, where there is one to give
}

// terms remembers words, which repeat from row to row.
var terms = memo.New(func(k memo.Key[string]) *termRead { return newTerm(k.Text, k.With) })

func newTerm(words, list string) *termRead {
	r := &termRead{scheme: vocabulary.Get(list)}
	if r.scheme == nil {
		return r
	}
	r.match, r.ok = r.scheme.Match(words)
	r.reason, r.none = vocabulary.Absent(words)
	switch {
	case !r.ok && !r.none:
		r.message = fmt.Sprintf("the words are kept; the list %q has none like them", r.scheme.Title)
		if c, _, near := r.scheme.Nearest(words); near {
			r.message += fmt.Sprintf(", the nearest is %q", c.Label("en"))
		}
	case r.match.How == vocabulary.Misspelling:
		r.message = fmt.Sprintf("taken as %q", label(r.scheme, r.match.Code))
	case r.match.How == vocabulary.Suggested:
		r.message = fmt.Sprintf("taken as %q, %s; the words only suggest it", label(r.scheme, r.match.Code),
			cmp.Or(r.match.Certainty, "probable"))
	}
	return r
}

// coatedMessage is said where the words name a coat beside the metal.
const coatedMessage = "the metal under the coat is taken; the coat is in the words, and is found again only in the " +
	"coating"

// statesNone reports whether a list takes "none" for a finding and not for a gap: not cleaned, no traces seen.
func statesNone(m vocabulary.Match) bool {
	return (m.Code == "none" || m.Code == "none-seen") && m.How != vocabulary.Suggested && m.How != vocabulary.Misspelling
}

// label is what a list calls a code.
func label(scheme *vocabulary.Scheme, code string) string {
	if c, ok := scheme.Concept(code); ok {
		return c.Label("en")
	}
	return code
}

// absentMark marks, while a find is worked on, a term whose words only say that there is none.
const absentMark = "\x00absent:"

// dropAbsentTerms takes away the terms whose words said that there is none.
func (n *normaliser) dropAbsentTerms() {
	f := n.f
	n.dropTerm("/layer", &f.Layer)
	n.dropTerm("/objectClass", &f.ObjectClass)
	n.dropTerm("/use", &f.Use)
	n.dropTerm("/magnetic", &f.Magnetic)
	n.dropTerm("/weightState", &f.WeightState)
	n.dropTerm("/cleaning", &f.Cleaning)
	n.dropTerm("/disposition", &f.Disposition)
	if f.Depth != nil {
		n.dropTerm("/depth/basis", &f.Depth.Basis)
		n.dropTerm("/depth/surface", &f.Depth.Surface)
	}
	if f.Position != nil {
		n.dropTerm("/position/method", &f.Position.Method)
	}
	if c := f.Condition; c != nil {
		n.dropTerm("/condition/completeness", &c.Completeness)
		n.dropTerm("/condition/state", &c.State)
		n.dropTerm("/condition/wear", &c.Wear)
	}
	if len(f.Materials) == 1 {
		if reason, ok := absentReason(&f.Materials[0].Term); ok && f.Materials[0].Part == "" {
			f.Materials = nil
			n.absent("/materials", reason)
		}
	}
	// Where a reason has no place of its own the words stand as they were written.
	f.Terms(func(_, _ string, t *find.Term) {
		if _, ok := absentReason(t); ok {
			t.Note = ""
		}
	})
}

// notEmpty returns a member, nil if there is nothing left in it.
func notEmpty[T any](v *T) *T {
	if v == nil || onlyWords(*v, func(*T) {}) {
		return nil
	}
	return v
}

func (n *normaliser) dropTerm(pointer string, t **find.Term) {
	if reason, ok := absentReason(*t); ok {
		*t = nil
		n.absent(pointer, reason)
	}
}

func absentReason(t *find.Term) (string, bool) {
	if t == nil || len(t.Note) <= len(absentMark) || t.Note[:len(absentMark)] != absentMark {
		return "", false
	}
	return t.Note[len(absentMark):], true
}

// materials parts a cell that names several: the first keeps the words, the others follow.
func (n *normaliser) materials() {
	if len(n.f.Materials) != 1 || n.f.Materials[0].Code != "" || n.f.Materials[0].Verbatim == "" {
		return
	}
	words := n.f.Materials[0].Verbatim
	r := terms.Of(memo.Key[string]{Text: words, With: "material"})
	if r.ok {
		return
	}
	matches, rest := r.scheme.MatchAll(words)
	if len(matches) < 2 || rest != "" {
		return
	}
	// brons/bronze is one material in two languages
	matches = slices.CompactFunc(matches, func(a, b vocabulary.Match) bool { return a.Code == b.Code })
	first := &n.f.Materials[0]
	first.Code = matches[0].Code
	if first.Certainty == "" {
		first.Certainty = matches[0].Certainty
	}
	for _, m := range matches[1:] {
		n.f.Materials = append(n.f.Materials, find.Material{Term: find.Term{Code: m.Code, Certainty: m.Certainty}})
	}
	if len(matches) > 1 {
		n.say(&kinds.ReadingAssumed, "/materials",
			fmt.Sprintf("the words name %d materials; the first is taken for the main one",
				len(matches)))
	}
}

// codes brings the words of closed lists to their codes.
func (n *normaliser) codes() {
	n.f.Codes(func(_, list string, code *string) {
		scheme := vocabulary.Get(list)
		if scheme == nil {
			return
		}
		if _, ok := scheme.Concept(*code); ok {
			return
		}
		if m, ok := scheme.Match(*code); ok && m.How != vocabulary.Suggested {
			*code = m.Code
		}
	})
}

// methodRadius returns the usual radius of a position method in metres, 0 if none is known.
func methodRadius(method *find.Term) float64 {
	if method == nil || method.Code == "" {
		return 0
	}
	c, ok := vocabulary.Get("position-method").Concept(method.Code)
	if !ok {
		return 0
	}
	return c.Radius
}
