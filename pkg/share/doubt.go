package share

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// longestText is the length in bytes up to which a text is looked through for forms.
const longestText = 20_000

// told is what of a text that the table keeps stands in the copy: all of it, or for those who see places by cells the
// clauses of known words. What is left out is noted for the owner.
func (c *copier) told(n *node, text string) string {
	c.sieve.worth = !c.o.Audience.coarse()
	if c.o.Policy.passes(text) || c.sieve.worth && !slices.Contains(prose, published().leaves[n.path]) {
		return text
	}
	switch published().leaves[n.path] {
	case "label", "number", "sensitivity", "consent":
		return text // in closed forms, or looked at when the copy is ordered
	case "leave", "unit":
		if plainLabel().MatchString(text) && closedForm().MatchString(text) {
			return text
		}
	case "dating", "other-dating", "day", "outing-day":
		if d, err := edtf.Parse(text); err == nil {
			from, to, open, open2 := d.Span()
			if (open || plainYear(from.Year)) && (open2 || plainYear(to.Year)) {
				return text
			}
			return ""
		}
	}
	if strings.HasSuffix(n.path, ".said") && len(text) <= 5 && !strings.ContainsAny(text, "0123456789") {
		return text // a unit
	}
	if n.list != "" && vocabulary.Get(n.list).Has(text) {
		return text
	}
	c.sieve.legend = published().leaves[n.path] == "mark-text"
	kept, left := c.sieve.sift(text, strings.HasSuffix(n.path, ".verbatim"))
	if left == nil {
		return text
	}
	c.out.Doubts = append(c.out.Doubts, Doubt{Find: c.label, Member: n.path, Why: leftOutWhy, Words: left})
	c.doubted = append(c.doubted, "/"+strings.SplitN(n.path, ".", 3)[1])
	return kept
}

// prose are the classes of leaves in which people write what they like.
var prose = []string{"name", "type", "description", "question", "notes", "caption", "term-note"}

// leftOutWhy is why a clause was left out.
const leftOutWhy = "words that may say where, whose or when"

// closedForm is the form of days, countries and codes.
var closedForm = later(`^(?:\d{4}(?:-\d\d){0,2}|[A-Z]{2}(?:-[A-Z]{2,3})?|[a-z]+(?:-[a-z]+)*)$`)

func plainYear[T int | int64](year T) bool { return year > -10_000 && year < 2100 }

// A Doubt is a text that was withheld because it may tell a place. It is named and never quoted.
type Doubt struct {
	Find   string // its number or name in the source; empty: the text is of no find
	Member string
	Why    string
	Words  []string // the clauses that were left out, for the owner alone
}

// passes reports whether the owner has passed a text for everybody.
func (p *Policy) passes(text string) bool {
	if p == nil {
		return false
	}
	for _, w := range p.Words {
		if keyOf(w) == keyOf(text) {
			return true
		}
	}
	return false
}

// whole are the actions of the table with which an audience gets what there is, as far as an ask can tell.
var whole = []string{keep, key, fresh, code, lexicon, consent, codes}

// Beyond returns the asks of a profile that want more than a copy for an audience holds, by name, with what the
// audience gets in its place. A profile chooses no audience: it is the finder's.
func Beyond(e *profile.Effective, a Audience) map[string]string {
	out := map[string]string{}
	for _, ask := range e.Asks {
		if ask.Strength != profile.Must && ask.Strength != profile.Should {
			continue
		}
		how := ""
		for _, w := range ask.Ask.Ways() {
			if how = beyond(w, a); how == "" {
				break
			}
		}
		if how != "" {
			out[ask.Name] = how
		}
	}
	return out
}

// Put is a profile as it is put to a log whose copy is for an audience: what it asks beyond what that gets is told, and
// not counted. A level asks of the log itself.
func Put(e *profile.Effective, a Audience) *profile.Effective {
	if profile.Level(e.ID) == e || a == Self {
		return e
	}
	return e.For(Beyond(e, a))
}

// beyond is what an audience gets in the place of what is wanted: nothing where it gets one of the members.
func beyond(w *profile.Wanted, a Audience) (how string) {
	for _, pointer := range w.Any {
		if how = given(pointer, a); how == "" || w.Within >= 1000 && how == cell {
			return ""
		}
	}
	return how
}

// given is what an audience gets in the place of a member of a find: nothing where it gets some of it as it is.
func given(pointer string, a Audience) string {
	path, worst := leafOf(pointer), ""
	for leaf := range published().leaves {
		if leaf != path && !strings.HasPrefix(leaf, path+".") {
			continue
		}
		act := published().action(leaf, a)
		if slices.Contains(whole, act) {
			return ""
		}
		if worst == "" || worst == withhold {
			worst = act
		}
	}
	if worst == "" {
		return withhold
	}
	return worst
}

// leafOf is the leaf of the table of a member of a find, or of the permission or the person that it names.
func leafOf(pointer string) string {
	path := strings.ReplaceAll(strings.Trim(pointer, "/"), "/", ".")
	first, rest, further := strings.Cut(path, ".")
	switch {
	case first == "permission" && further:
		return "permissions." + rest
	case first == "finder" && further:
		return "people." + rest
	}
	return "finds." + path
}

// Unwanted makes a copy leave out what profiles never want to be sent: for all finds by a stricter policy, so that
// the leak check looks for it too, and for some finds by Options.Drop. Nothing is ever shown more of.
func (o *Options) Unwanted(list []*profile.Effective) {
	var drops []*profile.Effective
	for _, e := range list {
		for _, ask := range e.Asks {
			if ask.Strength != profile.Never {
				continue
			}
			if ask.When != nil {
				if !slices.Contains(drops, e) {
					drops = append(drops, e)
				}
				continue
			}
			for _, pointer := range ask.Ask.Any {
				o.withhold(leafOf(pointer))
			}
		}
	}
	if drops == nil {
		return
	}
	o.Drop = func(source *profile.Subject, copied *find.Find) (gone []string) {
		for _, e := range drops {
			gone = append(gone, e.Drop(source, copied)...)
		}
		return gone
	}
}

// withhold makes the policy of the copy leave out a member, as far as a policy can.
func (o *Options) withhold(member string) {
	p := &Policy{leaves: map[string]map[Audience]string{}}
	if o.Policy != nil {
		p.Title, p.Words, p.Lands = o.Policy.Title, o.Policy.Words, o.Policy.Lands
		for leaf, actions := range o.Policy.leaves {
			for a, action := range actions {
				p.set(leaf, a, action)
			}
		}
	}
	if p.row(map[string]string{"member": member, string(o.Audience): withhold}) == nil {
		o.Policy = p
	}
}
