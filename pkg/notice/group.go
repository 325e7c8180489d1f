package notice

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
)

// A Group is one thing that was said of one field for one cause, wherever it was said. Figures and quoted
// words are no part of what groups, so that forty depths below the plough are one group.
type Group struct {
	Kind     *Kind
	File     string
	Field    string   // the heading as written, else the member, without places in lists
	Count    int      // exact
	Examples []Notice // the first MostExamples in the order of List.Sort
	Values   []Value  // what was written there, commonest first
	New      int      // how many of them an earlier report did not have; of no meaning without one

	values map[string]int
}

// Value is a text as it was written, and how often.
type Value struct {
	Text  string
	Count int
}

// What a group keeps, and how many groups there may be: beyond, notices of one code and file are one group.
const (
	MostExamples = 10
	mostValues   = 200
	mostGroups   = 2000
)

// Groups gathers notices into groups, with exact counts. The zero value is ready.
type Groups struct {
	index  map[groupKey]*Group
	list   []*Group
	shape  []byte
	sorted bool
}

type groupKey struct {
	kind               *Kind
	file, field, cause string
}

// Add counts a notice.
func (g *Groups) Add(n *Notice) *Group {
	if g.index == nil {
		g.index = map[groupKey]*Group{}
	}
	g.sorted = false
	g.shape = appendShape(g.shape[:0], n.Message)
	field := n.Field()
	at := g.index[groupKey{n.Kind, n.File, field, string(g.shape)}]
	if at == nil {
		key := groupKey{n.Kind, n.File, field, string(g.shape)}
		if len(g.list) >= mostGroups {
			key = groupKey{kind: n.Kind, file: n.File}
		}
		if at = g.index[key]; at == nil {
			at = &Group{Kind: key.kind, File: key.file, Field: key.field}
			g.index[key] = at
			g.list = append(g.list, at)
		}
	}
	at.add(n)
	return at
}

func (g *Group) add(n *Notice) {
	g.Count++
	if n.Written != "" {
		if g.values == nil {
			g.values = map[string]int{}
		}
		if g.values[n.Written] > 0 || len(g.values) < mostValues {
			g.values[n.Written]++
		}
	}
	full := len(g.Examples) == MostExamples
	if full && compare(*n, g.Examples[MostExamples-1]) >= 0 {
		return
	}
	at, _ := slices.BinarySearchFunc(g.Examples, *n, func(a, b Notice) int { return cmp.Or(compare(a, b), -1) })
	if full {
		g.Examples = g.Examples[:MostExamples-1]
	}
	g.Examples = slices.Insert(g.Examples, at, *n)
}

// Merge returns one group of two of one kind, as if all had been one.
func Merge(a, b *Group) *Group {
	out := &Group{Kind: a.Kind, File: a.File, Count: a.Count + b.Count, New: a.New + b.New,
		Examples: slices.Concat(a.Examples, b.Examples)}
	slices.SortStableFunc(out.Examples, compare)
	out.Examples = out.Examples[:min(len(out.Examples), MostExamples)]
	values := map[string]int{}
	for _, v := range slices.Concat(a.Values, b.Values) {
		values[v.Text] += v.Count
	}
	out.Values = sortedValues(values)
	return out
}

// sortedValues lists values, commonest first.
func sortedValues(values map[string]int) (out []Value) {
	for text, n := range values {
		out = append(out, Value{text, n})
	}
	slices.SortFunc(out, func(a, b Value) int { return cmp.Or(b.Count-a.Count, strings.Compare(a.Text, b.Text)) })
	return out
}

// List returns the groups, gravest first: danger, cautions, errors, warnings, information; then those with most
// notices.
func (g *Groups) List() []*Group {
	if g == nil {
		return nil
	}
	if !g.sorted {
		for _, at := range g.list {
			at.Values = sortedValues(at.values)
		}
		slices.SortStableFunc(g.list, func(a, b *Group) int {
			return cmp.Or(a.Kind.Rank()-b.Kind.Rank(), strings.Compare(a.File, b.File), b.Count-a.Count,
				strings.Compare(a.Kind.Code, b.Kind.Code), strings.Compare(a.Field, b.Field),
				compare(a.Examples[0], b.Examples[0]))
		})
		g.sorted = true
	}
	return g.list
}

// Rank orders kinds, gravest first: danger, cautions, errors, warnings, information.
func (k *Kind) Rank() int {
	switch {
	case k.Danger():
		return 0
	case k.Caution:
		return 1
	}
	return 1 + int(k.Severity)
}

// Join adds the groups of another file.
func (g *Groups) Join(other *Groups) {
	if g.index == nil {
		g.index = map[groupKey]*Group{}
	}
	for key, at := range other.index {
		g.index[key] = at
	}
	g.list = append(g.list, other.list...)
	g.sorted = false
}

// Count returns how many notices the groups have for which in reports true.
func (g *Groups) Count(in func(*Kind) bool) int {
	n := 0
	if g != nil {
		for _, at := range g.list {
			if in(at.Kind) {
				n += at.Count
			}
		}
	}
	return n
}

// Field names what a notice is about: the heading, else the member without the places in lists.
func (n *Notice) Field() string {
	if n.Heading != "" {
		return n.Heading
	}
	return fieldOf(n.Pointer)
}

// fieldOf cuts the record off a pointer, and the numbers out of it: /finds/12/materials/0 is materials.
func fieldOf(pointer string) string {
	if strings.HasPrefix(pointer, "/finds/") {
		_, rest, _ := strings.Cut(pointer[len("/finds/"):], "/")
		pointer = "/" + rest
	}
	numbers := false
	for i := 0; i+1 < len(pointer); i++ {
		numbers = numbers || pointer[i] == '/' && pointer[i+1] >= '0' && pointer[i+1] <= '9'
	}
	if !numbers {
		return strings.Trim(pointer, "/")
	}
	var parts []string
	for part := range strings.SplitSeq(strings.Trim(pointer, "/"), "/") {
		if !isNumber(part) {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, "/")
}

// appendShape appends a message without its figures and without what it quotes.
func appendShape(out []byte, message string) []byte {
	quote := rune(0)
	for i, r := range message {
		switch {
		case quote != 0:
			if r == quote {
				quote = 0
			}
		case r == '"':
			quote = '"'
			out = append(out, '"')
		case r == '“':
			quote = '”'
			out = append(out, '"')
		case r >= '0' && r <= '9' || (r == '.' || r == ',') && between(message, i):
			if len(out) == 0 || out[len(out)-1] != '#' {
				out = append(out, '#')
			}
		default:
			out = utf8.AppendRune(out, r)
		}
	}
	return out
}

// between reports whether there are digits on both sides of a byte.
func between(s string, i int) bool {
	return i > 0 && i+1 < len(s) && s[i-1] >= '0' && s[i-1] <= '9' && s[i+1] >= '0' && s[i+1] <= '9'
}
