package share

import (
	"bytes"
	"maps"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/language"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// record copies what the audience sees of one record into an empty one, leaf by leaf, and returns the
// pointers of what the source has and the copy has not. What the table makes coarser is left to the
// caller, and is not among them.
func (c *copier) record(to, from any, kind string) (gone []string) {
	src := reflect.ValueOf(from).Elem()
	p, _ := from.(*find.Person)
	_, _, gone = c.part(reflect.ValueOf(to).Elem(), src, nodes()[kind], p)
	return gone
}

// part copies the members of one struct. A list has one pointer for what went from any of its items.
func (c *copier) part(to, from reflect.Value, list []*node, p *find.Person) (had, kept bool, gone []string) {
	if c.o.Audience.coarse() {
		switch x := from.Addr().Interface().(type) {
		case *find.Quantity:
			if !likely(list[0].path, x) {
				c.doubt(list[0].path, x.Verbatim)
				return true, false, nil
			}
			c.measure = x
			defer func() { c.measure = nil }()
		case *find.Dating:
			c.sieve.years = yearsOf(x)
			defer func() { c.sieve.years = nil }()
		}
	}
	for _, n := range list {
		src, dst := from.Field(n.index), to.Field(n.index)
		if src.IsZero() {
			continue
		}
		var h, k bool
		var g []string
		switch {
		case n.flat:
			h, k, g = c.part(dst, src, n.children, p)
			gone = append(gone, g...)
			had, kept = had || h, kept || k
			continue
		case n.children == nil:
			k = c.leaf(dst, src, n, p)
			h = !c.silent(n)
		default:
			h, k, g = c.member(dst, src, n, p)
		}
		had, kept = had || h, kept || k
		if h && !k {
			gone = append(gone, "/"+n.name)
			continue
		}
		for _, at := range g {
			gone = append(gone, "/"+n.name+at)
		}
	}
	if kept && hollow(to) {
		to.SetZero()
		kept = false
	}
	return had, kept, gone
}

// yearsOf are the years of a dating and their centuries, as its words may have them.
func yearsOf(d *find.Dating) map[string]bool {
	out := map[string]bool{}
	for _, n := range []find.Number{d.Earliest, d.Latest} {
		if y := int(math.Abs(n.Float())); n.Known() && y < 10_000 {
			out[strconv.Itoa(y)] = true
		}
	}
	return out
}

// member copies a struct or a list of structs.
func (c *copier) member(to, from reflect.Value, n *node, p *find.Person) (had, kept bool, gone []string) {
	switch from.Kind() {
	case reflect.Pointer:
		item := reflect.New(from.Type().Elem())
		if had, kept, gone = c.part(item.Elem(), from.Elem(), n.children, p); kept {
			to.Set(item)
		}
	case reflect.Slice:
		for i := range from.Len() {
			item := reflect.New(from.Type().Elem()).Elem()
			h, k, g := c.part(item, from.Index(i), n.children, p)
			if had = had || h; k {
				to.Set(reflect.Append(to, item))
				kept = true
			}
			for _, at := range g {
				if !slices.Contains(gone, at) {
					gone = append(gone, at)
				}
			}
		}
	default:
		had, kept, gone = c.part(to, from, n.children, p)
	}
	return had, kept, gone
}

// silent reports whether nothing is said when a leaf goes: what the file says of itself, what is made anew
// or coarser, and what no mark is needed for.
func (c *copier) silent(n *node) bool {
	switch c.action(n.path) {
	case fresh, cell, cellOne, district, month, year, band, step:
		return true
	}
	switch published().leaves[n.path] {
	case "id", "marks", "label", "consent":
		return true
	case "private":
		return !slices.Contains([]string{"finds.storagePlace", "finds.value", "finds.columns", "finds.extensions",
			"people.columns", "permissions.columns", "outings.columns"}, n.path)
	}
	return n.path == "finds.changed"
}

// leaf copies one leaf, or leaves it out.
func (c *copier) leaf(to, from reflect.Value, n *node, p *find.Person) bool {
	switch c.action(n.path) {
	case keep:
		switch formed := c.formed(n, from); {
		case n.path == "finds.opinions.says":
			to.SetBytes(c.says(from.Bytes()))
		case from.Kind() == reflect.Slice && bytes.ContainsAny(from.Bytes(), "\"{"): // an outline has figures only
		case formed, !c.o.Audience.coarse() && from.Kind() != reflect.String:
			to.Set(cloned(from))
		case published().leaves[n.path] == "label":
		case from.Kind() == reflect.String && (n.shape == nil || !c.o.Audience.coarse()):
			to.SetString(c.told(n, from.String()))
		default:
			c.doubtful(n.path, formlessWhy)
		}
	case key:
		c.links(to, from, n)
	case code:
		if c.formed(n, from) {
			to.Set(cloned(from))
		}
	case lexicon:
		if c.everyWord(n.path, from.String()) {
			to.Set(cloned(from))
		}
	case consent:
		if published().leaves[n.path] == "finder" {
			p = c.head.Person(from.String())
		}
		if p == nil || !consents(p, c.o.Audience) || n.path == "people.consents.audience" &&
			from.String() != string(c.o.Audience) || n.shape != nil && !c.formed(n, from) {
			return false
		}
		if published().leaves[n.path] == "finder" {
			c.links(to, from, n)
		} else {
			to.Set(cloned(from))
		}
	}
	return !to.IsZero()
}

// says leaves out of what an opinion says the members that the audience does not see of a find.
func (c *copier) says(raw []byte) []byte {
	var members map[string]jsontext.Value
	if json.Unmarshal(raw, &members) != nil {
		return nil
	}
	for name := range members {
		if known, seen := c.sees("finds", "/"+name); !known || !seen || c.sieve.hasLeft(string(members[name])) {
			delete(members, name)
		}
	}
	out, err := json.Marshal(members, json.Deterministic(true))
	if err != nil || len(members) == 0 {
		return nil
	}
	return out
}

// links makes the ids of a leaf anew. A link to a find that is not in the copy goes.
func (c *copier) links(to, from reflect.Value, n *node) {
	one := func(id string) string {
		kind := kindOfLink(n.path)
		if kind == "find" && n.path != "finds.id" && !c.shows(id) {
			if _, ours := c.out.labels[id]; ours || c.o.Audience != Partner && c.o.Audience != Recorder {
				return "" // a link would tell that there is more
			}
		}
		if kind == "person" {
			c.people[id] = true
		}
		return c.ids.link(n.path, id)
	}
	if from.Kind() == reflect.String {
		to.SetString(one(from.String()))
		return
	}
	for i := range from.Len() {
		if id := one(from.Index(i).String()); id != "" {
			to.Set(reflect.Append(to, reflect.ValueOf(id)))
		}
	}
}

func asksConsent(question string) bool {
	return heading.Understand(question).Field == heading.Consent ||
		heading.UnderstandIn("people", question).Field == "consents.1.audience"
}

// consents reports whether a person has agreed that an audience has his name, and nowhere said no: a no stands under
// the question, in words.
func consents(p *find.Person, a Audience) bool {
	for question, answer := range p.Columns {
		if yes, known := heading.Answer(answer); known && !yes && asksConsent(question) {
			return false
		}
	}
	return slices.ContainsFunc(p.Consents, func(c find.Consent) bool { return c.Audience == string(a) })
}

// plainLabel is what a file may say of itself: versions, a language, a licence.
var plainLabel = later(`^[A-Za-z0-9][A-Za-z0-9.+-]{0,99}$`)

var versionForm = later(`^\d{1,2}\.\d{1,3}(?:\.\d{1,3})?$`)

var absenceReasons = sync.OnceValue(func() *vocabulary.Scheme { return vocabulary.Get("absence-reason") })

// hollow reports whether what is left of a part says nothing: a term without code and words, a quantity
// without figures and words, a link to nothing.
func hollow(v reflect.Value) bool {
	switch x := v.Addr().Interface().(type) {
	case *find.Term:
		return x.Code == "" && x.Label == "" && x.Verbatim == "" && x.Note == ""
	case *find.Quantity:
		return !x.HasValue() && x.Verbatim == ""
	case *find.Material:
		return x.Code == "" && x.Label == "" && x.Verbatim == "" && x.Part == "" && x.Note == ""
	case *find.Trace:
		return x.Code == "" && x.Label == "" && x.Verbatim == "" && x.Note == ""
	case *find.Depth:
		return !x.HasValue() && x.Verbatim == "" && x.Basis == nil
	case *find.Association:
		return x.Find == ""
	case *find.Consent:
		return x.Audience == ""
	case *find.Dating:
		return x.Date == "" && !x.Earliest.Known() && !x.Latest.Known() && x.Period == nil && x.Verbatim == ""
	case *find.Media:
		return false
	case *find.Mark:
		return x.Kind == nil && x.Text == "" && x.Meaning == "" && !x.Year.Known()
	}
	return false
}

// everyWord reports whether every word of a text is one of the format's own lists of objects, or the owner has
// passed the text. A word of fields and farms is none, nor is a name within the text (a capital, but for German)
// or a figure, which may be the number of a house, a field or a find. The name of a thing may hold one thing only:
// Penny buckle is the buckle of somebody.
func (c *copier) everyWord(leaf, text string) bool {
	if c.o.Policy.passes(text) {
		return true
	}
	if objectNames()[strings.TrimSpace(spaced(text))] {
		return true
	}
	german := strings.HasPrefix(c.head.Language, "de")
	for i, w := range strings.FieldsFunc(text, notInWord) {
		first := []rune(w)[0]
		switch key := keyOf(w); {
		case !objectWords()[key] || landscapeWords()[key] && !smallWords()[key] || ordinals()[key]:
			return false
		case i > 0 && unicode.IsUpper(first) && !german:
			return false
		}
	}
	return leaf != "finds.name" || thingsIn(text) < 2
}

// thingsIn counts the things that a name speaks of: the words that name a class of objects and nothing else.
func thingsIn(text string) (n int) {
	words := strings.Fields(spaced(text))
	for i := 0; i < len(words); i++ {
		for size := min(4, len(words)-i); size > 0; size-- {
			if key := strings.Join(words[i:i+size], " "); objectNames()[key] && !qualifiers()[key] {
				n++
				i += size - 1
				break
			}
		}
	}
	return n
}

// objectNames are the labels of classes of objects, whole.
var objectNames = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	eachLabel([]string{"object-class"}, func(text string) { out[strings.TrimSpace(spaced(text))] = true })
	return out
})

// qualifiers are the words that say of what, how or in what state a thing is.
var qualifiers = sync.OnceValue(func() map[string]bool {
	out := wordSet("small")
	eachLabel(qualifierLists, func(text string) { addWords(out, text) })
	return out
})

var qualifierLists = []string{"material", "technique", "use", "completeness", "condition-state", "corrosion", "wear",
	"trace", "mark-kind", "certainty", "kind", "period-scheme"}

// objectWords are the words of the lists that speak of objects, and the small words between them.
var objectWords = sync.OnceValue(func() map[string]bool {
	out := maps.Clone(qualifiers())
	eachLabel([]string{"object-class"}, func(text string) { addWords(out, text) })
	return out
})

var smallWords = sync.OnceValue(func() map[string]bool { return wordSet("small") })

var landscapeWords = sync.OnceValue(func() map[string]bool { return wordSet("landscape") })

// eachLabel calls yield for every label of some lists, in every language.
func eachLabel(lists []string, yield func(text string)) {
	for _, list := range lists {
		for _, concept := range vocabulary.Get(list).Concepts {
			for _, texts := range concept.AltLabel {
				for _, text := range texts {
					yield(text)
				}
			}
			for _, text := range concept.PrefLabel {
				yield(text)
			}
		}
	}
}

func addWords(out map[string]bool, text string) {
	for _, w := range strings.FieldsFunc(text, notInWord) {
		out[keyOf(w)] = true
	}
}

// ownLabel reports whether a file may say this of itself: a language that there is, a licence of the published
// list, a version of this format.
func ownLabel(leaf, text string) bool {
	switch leaf {
	case "language":
		_, err := language.Parse(text)
		return err == nil
	case "reuse":
		return slices.Contains(tellingWords()["licences"], text)
	case "vocabularyVersion":
		return versionForm().MatchString(text)
	}
	return plainLabel().MatchString(text)
}

// coarseDay makes a date coarser; what cannot be read becomes nothing.
func coarseDay(date, how string) string {
	d, err := edtf.Parse(date)
	if err != nil {
		return ""
	}
	precision := edtf.PrecisionMonth
	if how == year {
		precision = edtf.PrecisionYear
	}
	return d.Coarsen(precision).String()
}

// clone copies a record with all that it points to.
func clone[T find.Record](record *T) *T {
	out := new(T)
	reflect.ValueOf(out).Elem().Set(cloned(reflect.ValueOf(record).Elem()))
	return out
}

func cloned(v reflect.Value) reflect.Value {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return v
		}
		out := reflect.New(v.Type().Elem())
		out.Elem().Set(cloned(v.Elem()))
		return out
	case reflect.Slice:
		out := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		for i := range v.Len() {
			out.Index(i).Set(cloned(v.Index(i)))
		}
		if v.IsNil() {
			return v
		}
		return out
	case reflect.Map:
		if v.IsNil() {
			return v
		}
		out := reflect.MakeMapWithSize(v.Type(), v.Len())
		for key, value := range v.Seq2() {
			out.SetMapIndex(key, value) // of texts
		}
		return out
	case reflect.Struct:
		out := reflect.New(v.Type()).Elem()
		out.Set(v)
		if v.Type() != numberType {
			for i := range v.NumField() {
				out.Field(i).Set(cloned(v.Field(i)))
			}
		}
		return out
	}
	return v
}

// later is a regular expression that is compiled when it is first asked for: most runs share nothing.
func later(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}
