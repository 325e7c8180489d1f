package share

import (
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// The actions of the table.
const (
	keep     = "keep"
	withhold = "withhold"
	key      = "key"      // an id or a link, made new with the secret of the register
	fresh    = "new"      // made anew for the copy
	code     = "code"     // kept where it stands in its closed list
	lexicon  = "lexicon"  // kept where every word is one of the format's own, or was passed by the owner
	consent  = "consent"  // kept where the person has consented to the audience
	cell     = "cell"     // the cell of the land
	cellOne  = "cell-1"   // the same, of 1 degree
	district = "district" // region and country, where no cell is told
	month    = "month"
	year     = "year"
	band     = "band" // within or below the plough depth
	step     = "step" // in steps of 1, 2 and 5
	codes    = "codes"
)

// table is the published table of sharing.
type table struct {
	classes map[string]map[string]string // class to audience to action
	ladders map[string][]string          // class to its actions, from what shows most to what shows nothing
	leaves  map[string]string            // leaf to class
	along   map[string][]string          // member of a find to the classes that a policy of it takes along
}

// published is the table; where it cannot be read every leaf is withheld, and its test fails.
var published = sync.OnceValue(func() *table {
	t := &table{classes: map[string]map[string]string{}, ladders: map[string][]string{}}
	raw, err := schema.Data.ReadFile("data/sharing.json")
	if err != nil {
		return t
	}
	var file struct {
		Classes []map[string]any    `json:"classes"`
		Along   map[string][]string `json:"along"`
		Leaves  map[string]string   `json:"leaves"`
	}
	if json.Unmarshal(raw, &file) != nil {
		return t
	}
	t.leaves, t.along = file.Leaves, file.Along
	for _, row := range file.Classes {
		name, _ := row["class"].(string)
		actions := map[string]string{}
		for column, v := range row {
			if text, ok := v.(string); ok && column != "class" && column != "what" {
				actions[column] = text
			}
		}
		t.classes[name] = actions
		if ladder, ok := row["ladder"].([]any); ok {
			for _, v := range ladder {
				text, _ := v.(string)
				t.ladders[name] = append(t.ladders[name], text)
			}
		}
	}
	return t
})

// action is what an audience gets of a leaf; a leaf that is not in the table is withheld.
func (t *table) action(leaf string, a Audience) string {
	if a == Self {
		return keep
	}
	if act := t.classes[t.leaves[leaf]][string(a)]; act != "" {
		return act
	}
	return withhold
}

// A node is a part of the record: a struct with its members, or a leaf.
type node struct {
	name     string // of the member in JSON
	path     string // of the leaf, such as finds.depth.min
	index    int    // of the field in the struct of Go
	flat     bool   // an embedded struct: its members stand in the one around it
	list     string // the code list of its codes
	shape    *shape // of a leaf in which nobody writes what he likes
	children []*node
}

// nodes are the parts of one kind of record, by its path: people, permissions, outings, finds, or
// nothing for the report itself.
var nodes = sync.OnceValue(func() map[string][]*node {
	return map[string][]*node{
		"":            nodesFor[find.Report](""),
		"people":      nodesFor[find.Person]("people"),
		"permissions": nodesFor[find.Permission]("permissions"),
		"outings":     nodesFor[find.Outing]("outings"),
		"finds":       nodesFor[find.Find]("finds"),
	}
})

func nodesFor[T find.Record](path string) []*node {
	lists := map[string]string{}
	for _, f := range find.FieldsOf[T]() {
		if f.List != "" {
			lists[strings.TrimPrefix(path+strings.ReplaceAll(f.Pointer, "/#", ""), "/")] = f.List
		}
	}
	root, err := schema.Root("report")
	if err != nil {
		return nil
	}
	if path != "" {
		root = root.Child(path).Child("0")
	}
	return nodesOf(reflect.TypeFor[T](), path, lists, root)
}

func nodesOf(t reflect.Type, path string, lists map[string]string, of *schema.Node) (out []*node) {
	for i := range t.NumField() {
		field := t.Field(i)
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		n := &node{name: name, path: strings.TrimPrefix(path+"."+name, "."), index: i, flat: field.Anonymous}
		if n.flat {
			n.path = path
		} else if name == "" || path == "" && slices.Contains([]string{"people", "permissions", "outings", "finds"}, name) {
			continue // members that the format does not know, and records
		}
		n.list = lists[strings.ReplaceAll(n.path, ".", "/")]
		ft, s := field.Type, of
		if !n.flat {
			s = of.Child(name)
		}
		if s.Follow() != nil && s.Follow().Items != nil {
			s = s.Child("0")
		}
		for ft.Kind() == reflect.Pointer || ft.Kind() == reflect.Slice && ft.Elem().Kind() != reflect.Uint8 {
			ft = ft.Elem()
		}
		if name == "basis" && ft.Kind() == reflect.String {
			n.list = "identification-basis" // how the code of a term is known
		}
		if ft.Kind() == reflect.Struct && ft != numberType {
			n.children = nodesOf(ft, n.path, lists, s)
		} else {
			n.shape = shapeOf(s, n.path, n.list)
		}
		out = append(out, n)
	}
	return out
}

var numberType = reflect.TypeFor[find.Number]()

// leavesOf lists the leaves of the record.
func leavesOf() (out []string) {
	var walk func(list []*node)
	walk = func(list []*node) {
		for _, n := range list {
			if n.children == nil {
				out = append(out, n.path)
			}
			walk(n.children)
		}
	}
	for _, kind := range []string{"", "people", "permissions", "outings", "finds"} {
		walk(nodes()[kind])
	}
	return out
}

// A shape is what the schema asks of a leaf in which nobody writes what he likes: a code of its list, a day, a unit, a
// figure. What is not of its form is words, whatever the leaf is called.
type shape struct {
	schema  *schema.Node
	pattern *regexp.Regexp
	list    *vocabulary.Scheme
	day     bool
}

// shapeOf is the form of a leaf; nil where people write what they like.
func shapeOf(s *schema.Node, path, list string) *shape {
	s = s.Follow()
	if s == nil {
		return nil
	}
	f := &shape{schema: s, day: s.Format == "date" || s.Format == "date-time" || strings.HasSuffix(path, ".date")}
	if list != "" {
		f.list = vocabulary.Get(list)
	}
	if s.Pattern != "" {
		f.pattern = regexp.MustCompile(s.Pattern)
	}
	switch { // the figures and letters of a part of a country may be a square of a grid, a code of no list a word
	case strings.HasSuffix(path, ".jurisdiction"):
		f.pattern = regexp.MustCompile(`^[A-Z]{2}(?:-[A-Z]{2,3})?$`)
	case f.list == nil && s.Pattern == "^[a-z][a-z0-9-]*$", s.Type == "string" && !f.day && f.list == nil &&
		f.pattern == nil &&
		s.Enum == nil && s.Format == "":
		return nil
	}
	return f
}

// holds reports whether a text is of the form. A day has a year that a find or its finder can have.
func (f *shape) holds(text string) bool {
	s := f.schema
	switch {
	case s.Not != nil, s.Enum != nil && !slices.Contains(s.Enum, text), f.list != nil && !f.list.Has(text),
		f.pattern != nil && !f.pattern.MatchString(text):
		return false
	case f.day:
		d, err := edtf.Parse(text)
		if err != nil {
			return false
		}
		from, to, open, open2 := d.Span()
		return (open || plainYear(from.Year)) && (open2 || plainYear(to.Year))
	}
	return s.Format != "uri" || uriForm().MatchString(text)
}

var uriForm = later(`^https?://[A-Za-z0-9.-]+/[A-Za-z0-9./_#?=&%-]*$`)

// formed reports whether what stands in a leaf is of its form; where it has none, whatever stands there is not.
func (c *copier) formed(n *node, v reflect.Value) bool {
	switch {
	case published().leaves[n.path] == "label" && v.Kind() == reflect.String:
		return ownLabel(n.path, v.String())
	case n.shape == nil:
		return false
	case v.Type() == numberType:
		return n.shape.figure(v.Interface().(find.Number), c.measure)
	case v.Kind() == reflect.String:
		return n.shape.holds(v.String())
	}
	return v.Kind() == reflect.Bool
}

// figure reports whether a number is one that its leaf can have: within its bounds, whole where it counts, with no more
// decimals than somebody weighs or measures, unless it was stated in another unit.
func (f *shape) figure(n find.Number, q *find.Quantity) bool {
	s, v := f.schema, n.Float()
	switch {
	case s.Minimum != nil && v < *s.Minimum, s.Maximum != nil && v > *s.Maximum, s.Type == "integer" && v != math.Trunc(v),
		math.Abs(v) >= 10_000:
		return false
	case s.Minimum != nil && *s.Minimum < 0: // a year
		return plainYear(int64(v))
	}
	_, part, _ := strings.Cut(n.String(), ".")
	return len(part) <= 3 || q != nil && q.Said != "" && q.Said != q.Unit
}
