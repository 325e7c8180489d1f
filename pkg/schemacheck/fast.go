package schemacheck

import (
	"encoding/json"
	"math"
	"reflect"
	"regexp"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/schema"
)

// The fast way to a yes. The schema engine stays the only truth: at start-up the tree of the schema is walked into a
// small program, which answers yes, no or maybe for a text on a tape. Only a yes is believed; every other answer goes
// to the engine for verdict and words, and so it need not compile the schemas (20 ms) before it is asked. The tree has
// every keyword that the schemas use, which a test of package schema holds it to; one that the program cannot judge
// makes its answer maybe. The tests hold it to one thing: what it says yes to, the engine accepts.

// ternary is one of three answers.
type ternary uint8

const (
	maybe ternary = iota
	nay
	yea
)

// program judges one schema. Fields that a schema does not use are empty.
type program struct {
	never      bool // always maybe: a keyword is not supported
	types      kindSet
	enum       *scalarSet // or the one value of const
	ref        *program
	not        *program
	allOf      []*program
	anyOf      []*program
	cond       *program
	then, elso *program

	minProperties, maxProperties int
	required                     []string // those that are no properties
	properties                   map[string]described
	needed                       members   // of the properties
	oneGroup                     []members // all of one of them
	dependent                    []dependency
	names                        *program
	others                       *program // additionalProperties as a schema
	closed                       bool     // additionalProperties: false

	minItems, maxItems int
	prefix             []*program
	items              *program

	minLength, maxLength int
	pattern              *regexp.Regexp
	format               func(any) bool

	minimum, maximum, above, below *float64
}

// described is a member that the schema describes: its place in sets of members, and its program.
type described struct {
	index int
	p     *program
}

// members is a set of up to 128 members of an object.
type members [2]uint64

func (m *members) add(i int) { m[i>>6] |= 1 << (i & 63) }

// in reports whether all members are among those that are there.
func (m members) in(there members) bool { return m[0]&^there[0]|m[1]&^there[1] == 0 }

// meets reports whether any of the members is there.
func (m members) meets(there members) bool { return m[0]&there[0]|m[1]&there[1] != 0 }

const mostMembers = 128

// dependency says which members must be there with another.
type dependency struct{ with, needed members }

// set returns the set of the names; false where one is no property.
func (p *program) set(names []string) (m members, ok bool) {
	for _, name := range names {
		d, known := p.properties[name]
		if !known {
			return m, false
		}
		m.add(d.index)
	}
	return m, true
}

// compileFast makes the program of a schema.
func compileFast(n *schema.Node) *program { return fastCompiler{}.compile(n) }

// fastCompiler remembers what it has made, for schemas refer to each other.
type fastCompiler map[*schema.Node]*program

func (c fastCompiler) compile(n *schema.Node) *program {
	if n == nil {
		return nil
	}
	if p := c[n]; p != nil {
		return p
	}
	p := newProgram()
	c[n] = p
	p.never = n.Never || len(n.OneOf) > 0
	if n.Type != "" {
		p.types = kindsOfType[n.Type]
		p.never = p.never || p.types == 0
	}
	p.scalars(n)
	p.ref, p.not, p.cond, p.then, p.elso = c.compile(n.Target), c.compile(n.Not), c.compile(n.If), c.compile(n.Then),
		c.compile(n.Else)
	p.allOf, p.anyOf = c.all(n.AllOf), c.all(n.AnyOf)
	c.object(p, n)
	p.prefix, p.items = c.all(n.PrefixItems), c.compile(n.Items)
	if n.Pattern != "" {
		p.pattern = regexp.MustCompile(n.Pattern) // as the engine does; a test compiles them all
	}
	if n.Format != "" {
		p.format = jsonschema.Formats[n.Format]
		p.never = p.never || p.format == nil
	}
	for to, from := range map[*int]*int{&p.minItems: n.MinItems, &p.maxItems: n.MaxItems, &p.minLength: n.MinLength,
		&p.maxLength: n.MaxLength, &p.minProperties: n.MinProperties, &p.maxProperties: n.MaxProperties} {
		if from != nil {
			*to = *from
		}
	}
	p.minimum, p.maximum, p.above, p.below = n.Minimum, n.Maximum, n.ExclusiveMinimum, n.ExclusiveMaximum
	for _, bound := range []*float64{p.minimum, p.maximum, p.above, p.below} {
		p.never = p.never || bound != nil && *bound != math.Trunc(*bound) // a fraction may not be as it is written
	}
	return p
}

// scalars compiles enum and const.
func (p *program) scalars(n *schema.Node) {
	if len(n.Enum) > 0 {
		p.enum = &scalarSet{texts: n.Enum}
	}
	if len(n.Const) == 0 {
		return
	}
	var v any
	p.never = p.never || p.enum != nil || json.Unmarshal(n.Const, &v) != nil
	p.enum = &scalarSet{}
	switch v := v.(type) {
	case nil:
		p.enum.words = 1 << tape.Null
	case bool:
		p.enum.words = 1 << tape.False
		if v {
			p.enum.words = 1 << tape.True
		}
	case string:
		p.enum.texts = []string{v}
	default:
		p.never = true
	}
}

// object compiles the keywords that speak of members.
func (c fastCompiler) object(p *program, n *schema.Node) {
	if len(n.Properties) > 0 {
		p.never = p.never || len(n.Properties) > mostMembers
		p.properties = make(map[string]described, len(n.Properties))
		for i, m := range n.Properties {
			p.properties[m.Name] = described{i, c.compile(m.Node)}
		}
	}
	if needed, ok := p.set(n.Required); ok {
		p.needed = needed
	} else {
		p.required = n.Required
	}
	for name, with := range n.DependentRequired {
		d, ok1 := p.set([]string{name})
		needed, ok2 := p.set(with)
		p.never = p.never || !ok1 || !ok2
		p.dependent = append(p.dependent, dependency{d, needed})
	}
	p.groups()
	p.names = c.compile(n.PropertyNames)
	if a := n.AdditionalProperties; a != nil && a.Never {
		p.closed = true
	} else {
		p.others = c.compile(a)
	}
}

// groups takes alternatives that only ask for members into the program itself.
func (p *program) groups() {
	var groups []members
	for _, q := range p.anyOf {
		rest := *q
		rest.required = nil
		m, ok := p.set(q.required)
		if !ok || !reflect.DeepEqual(rest, *newProgram()) {
			return
		}
		groups = append(groups, m)
	}
	p.oneGroup, p.anyOf = groups, nil
}

func newProgram() *program {
	return &program{minProperties: -1, maxProperties: -1, minItems: -1, maxItems: -1, minLength: -1, maxLength: -1}
}

func (c fastCompiler) all(list []*schema.Node) []*program {
	var out []*program
	for _, n := range list {
		out = append(out, c.compile(n))
	}
	return out
}
