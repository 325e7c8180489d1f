package share

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/quantity"
)

// longestText is the length in bytes up to which a text is looked through for forms.
const longestText = 20_000

// told is what of a text that the table keeps stands in the copy: all of it, or for those who see places by cells the
// clauses of known words. What is left out is noted for the owner.
func (c *copier) told(n *node, text string) string {
	c.sieve.worth = !c.o.Audience.coarse()
	class := published().leaves[n.path]
	if c.o.Policy.passes(text) || c.sieve.worth && n.shape == nil && unspoken[class] &&
		!(class == "place" && c.sieve.unlisted(text)) {
		return text
	}
	c.sieve.prose = slices.Contains(prose, class)
	if class == "number" && c.o.Audience.coarse() {
		return text // looked at when the copy is ordered
	}
	if strings.HasSuffix(n.path, ".verbatim") && c.measure != nil && readWhole(n.path, c.measure) {
		return text
	}
	c.sieve.legend = class == "mark-text"
	kept, left := c.sieve.sift(text)
	if left == nil {
		return text
	}
	c.doubt(n.path, left...)
	return kept
}

// doubt notes for the owner what was left out of a member.
func (c *copier) doubt(path string, left ...string) { c.doubtful(path, leftOutWhy, left...) }

func (c *copier) doubtful(path, why string, left ...string) {
	c.out.Doubts = append(c.out.Doubts, Doubt{Find: c.label, Member: path, Why: why, Words: left})
	c.doubted = append(c.doubted, "/"+strings.SplitN(path, ".", 3)[1])
}

// readWhole reports whether the reader of a measure takes its words whole.
func readWhole(path string, q *find.Quantity) bool {
	o := quantity.Options{}
	for _, code := range []string{q.Unit, q.Said} {
		if u, err := quantity.ParseUnit(code); err == nil {
			o.Default = u
		}
	}
	read := func(text string, o quantity.Options) (quantity.Reading, error) {
		return quantity.NormaliseLength(text, o)
	}
	switch {
	case strings.Contains(path, "weight."):
		read = quantity.NormaliseMass
	case strings.Contains(path, "count."):
		read = quantity.NormaliseCount
	}
	r, err := read(q.Verbatim, o)
	return err == nil && r.Absent == "" && // not what only the place behind a depth says: 8 in at the ford
		!slices.ContainsFunc(r.Notes, func(n quantity.Note) bool { return n.Code == quantity.NoteLayer })
}

// likely reports whether a measure is one that a thing can have, in figures that somebody measures: where a column has
// slipped, a latitude or a grid reference stands as the depth or the weight. The largest that is found and weighed,
// 3 m and 50 kg, lies far below any figure of a grid.
func likely(path string, q *find.Quantity) bool {
	v, most := q.Value().In(quantity.MM), quantity.Whole(3_000)
	if strings.Contains(path, "weight") {
		v, most = q.Value().In(quantity.G), quantity.Whole(50_000)
	}
	if v.Min.Known && v.Min.Value > most || v.Max.Known && v.Max.Value > most {
		return false
	}
	return figuresWithin(q.Verbatim, map[bool]int{true: 1, false: 2}[strings.Contains(path, "epth")])
}

// figuresWithin reports whether no figure of a text has more than four places or three decimals, and none of two places
// or more has more decimals than so many.
func figuresWithin(text string, most int) bool {
	for _, m := range measureFigures().FindAllStringSubmatch(text, -1) {
		if len(m[2]) > 11 { // what a spreadsheet makes of 43.1: 43.099999999999994
			v, _ := strconv.ParseFloat(m[1]+"."+m[2], 64)
			_, m[2], _ = strings.Cut(strconv.FormatFloat(math.Round(v*1e9)/1e9, 'f', -1, 64), ".")
		}
		if whole, part := len(strings.TrimLeft(m[1], "0")), len(m[2]); whole > 4 || whole > 1 && part > most || part > 3 {
			return false
		}
	}
	return true
}

var measureFigures = later(`(\d+)(?:[.,](\d+))?`)

// prose are the classes of leaves in which people write what they like.
var prose = []string{"name", "type", "description", "question", "notes", "caption", "term-note"}

// unspoken are the classes of leaves that hold names, places and numbers, and no words about them.
var unspoken = map[string]bool{"label": true, "title": true, "place": true, "district": true, "person-name": true,
	"handle": true, "contact": true, "number": true, "foreign-number": true, "day-words": true, "spot-words": true,
	"outline": true, "notice": true, "period-id": true, "mark-text": true}

// Why a clause, or what stands in a leaf of a closed form, was left out.
const (
	leftOutWhy  = "words that may say where, whose or when"
	formlessWhy = "words where the format asks for a code, a day, a unit or a figure"
)

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
	return e.For(Beyond(e, a), func(p find.Person) find.Person {
		agreed := consents(&p, a)
		for leaf, value := range map[string]*string{"name": &p.Name, "contact": &p.Contact} {
			if published().action("people."+leaf, a) == consent && !agreed {
				*value = ""
			}
		}
		return p
	})
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
	o.Leave = func(s *profile.Subject) bool {
		return slices.ContainsFunc(list, func(e *profile.Effective) bool { return e.Leaves(s) })
	}
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
