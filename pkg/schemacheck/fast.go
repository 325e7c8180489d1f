package schemacheck

import (
	"math/big"
	"reflect"
	"regexp"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/internal/tape"
)

// The fast way to a yes. The compiled schema stays the only truth: at start-up its public fields, as
// schema_outline.go has them, are walked into a small program, which answers yes, no or maybe for a text on a
// tape. Only a yes is believed; every other answer goes to the schema engine for verdict and words. A keyword
// that the program does not know makes its answer maybe. The tests hold it to one thing: what it says yes to, the
// engine accepts.

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
	constant   *scalarSet
	enum       *scalarSet
	ref        *program
	not        *program
	allOf      []*program
	anyOf      []*program
	cond       *program
	then, elso *program

	minProperties, maxProperties int
	required                     []string // those that are no properties
	properties                   *memberTable
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
	machine              func() *machine // the pattern for plain text, made when it is first asked for
	quickFormat          func([]byte) bool
	format               func(any) bool

	minimum, maximum, above, below *float64
}

// members is a set of up to 128 members of an object, by their place in a memberTable.
type members [2]uint64

func (m *members) add(i int) { m[i>>6] |= 1 << (i & 63) }

// in reports whether all members are among those that are there.
func (m members) in(there members) bool { return m[0]&^there[0]|m[1]&^there[1] == 0 }

// meets reports whether any of the members is there.
func (m members) meets(there members) bool { return m[0]&there[0]|m[1]&there[1] != 0 }

const mostMembers = 128

// dependency says which members must be there with another.
type dependency struct{ with, needed members }

// memberTable finds the program of a member by the hash of its name.
type memberTable struct {
	slots []memberSlot // open addressing; a slot without a program is empty
	index map[string]int
}

type memberSlot struct {
	hash  uint32
	index int32
	name  string
	p     *program
}

func newMemberTable(n int) *memberTable {
	size := 4
	for size < 3*n {
		size *= 2
	}
	return &memberTable{slots: make([]memberSlot, size), index: make(map[string]int, n)}
}

func (t *memberTable) add(name string, p *program) {
	h := tape.Hash(name)
	i := int(h) & (len(t.slots) - 1)
	for t.slots[i].p != nil {
		i = (i + 1) & (len(t.slots) - 1)
	}
	t.slots[i] = memberSlot{h, int32(len(t.index)), name, p}
	t.index[name] = len(t.index)
}

func (t *memberTable) find(hash uint32, name []byte) *memberSlot {
	for i := int(hash) & (len(t.slots) - 1); t.slots[i].p != nil; i = (i + 1) & (len(t.slots) - 1) {
		if s := &t.slots[i]; s.hash == hash && s.name == string(name) {
			return s
		}
	}
	return nil
}

// set returns the set of the names; false where one is no member of the table.
func (t *memberTable) set(names []string) (m members, ok bool) {
	for _, name := range names {
		i, known := -1, false
		if t != nil {
			i, known = t.index[name], t.has(name)
		}
		if !known {
			return m, false
		}
		m.add(i)
	}
	return m, true
}

func (t *memberTable) has(name string) bool { _, ok := t.index[name]; return ok }

// compileFast makes the program of a compiled schema.
func compileFast(s *jsonschema.Schema) *program {
	c := fastCompiler{map[*jsonschema.Schema]*program{}, map[string]func() *machine{}}
	return c.compile(s)
}

type fastCompiler struct {
	made     map[*jsonschema.Schema]*program
	machines map[string]func() *machine
}

func (c fastCompiler) compile(s *jsonschema.Schema) *program {
	if s == nil {
		return nil
	}
	if p := c.made[s]; p != nil {
		return p
	}
	p := newProgram()
	c.made[s] = p
	p.never = s.RecursiveRef != nil || s.DynamicRef != nil || len(s.OneOf) > 0 || s.RegexProperties ||
		len(s.PatternProperties) > 0 || len(s.Dependencies) > 0 ||
		len(s.DependentSchemas) > 0 || s.UnevaluatedProperties != nil || s.UniqueItems || s.Items != nil ||
		s.AdditionalItems != nil || s.Contains != nil ||
		s.UnevaluatedItems != nil || s.ContentEncoding != "" || s.ContentMediaType != "" || s.MultipleOf != nil ||
		len(s.Extensions) > 0
	if s.Always != nil {
		if !*s.Always {
			p.never = true
		}
		return p
	}
	p.kinds(s)
	p.ref, p.not, p.cond, p.then, p.elso = c.compile(s.Ref), c.compile(s.Not), c.compile(s.If), c.compile(s.Then),
		c.compile(s.Else)
	p.allOf, p.anyOf = c.all(s.AllOf), c.all(s.AnyOf)
	c.object(p, s)
	p.minItems, p.maxItems, p.prefix, p.items = s.MinItems, s.MaxItems, c.all(s.PrefixItems), c.compile(s.Items2020)
	p.minLength, p.maxLength, p.pattern = s.MinLength, s.MaxLength, s.Pattern
	if p.pattern != nil {
		expression := p.pattern.String()
		if _, made := c.machines[expression]; !made {
			c.machines[expression] = sync.OnceValue(func() *machine { return newMachine(expression) })
		}
		p.machine = c.machines[expression]
	}
	if s.Format != "" {
		p.format, p.quickFormat = jsonschema.Formats[s.Format], quickFormats[s.Format]
		p.never = p.never || p.format == nil
	}
	for _, bound := range []struct {
		from *big.Rat
		to   **float64
	}{{s.Minimum, &p.minimum}, {s.Maximum, &p.maximum}, {s.ExclusiveMinimum, &p.above}, {s.ExclusiveMaximum, &p.below}} {
		if bound.from == nil {
			continue
		}
		f, exact := bound.from.Float64()
		p.never = p.never || !exact
		*bound.to = &f
	}
	return p
}

// object compiles the keywords that speak of members.
func (c fastCompiler) object(p *program, s *jsonschema.Schema) {
	p.minProperties, p.maxProperties = s.MinProperties, s.MaxProperties
	if len(s.Properties) > 0 {
		p.never = p.never || len(s.Properties) > mostMembers
		p.properties = newMemberTable(len(s.Properties))
		for name, member := range s.Properties {
			p.properties.add(name, c.compile(member))
		}
	}
	if needed, ok := p.properties.set(s.Required); ok {
		p.needed = needed
	} else {
		p.required = s.Required
	}
	for name, with := range s.DependentRequired {
		d, ok1 := p.properties.set([]string{name})
		needed, ok2 := p.properties.set(with)
		p.never = p.never || !ok1 || !ok2
		p.dependent = append(p.dependent, dependency{d, needed})
	}
	p.groups()
	p.names = c.compile(s.PropertyNames)
	switch a := s.AdditionalProperties.(type) {
	case nil:
	case bool:
		p.closed = !a
	case *jsonschema.Schema:
		p.others = c.compile(a)
	default:
		p.never = true
	}
}

// groups takes alternatives that only ask for members into the program itself.
func (p *program) groups() {
	var groups []members
	for _, q := range p.anyOf {
		rest := *q
		rest.required = nil
		m, ok := p.properties.set(q.required)
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

func (c fastCompiler) all(list []*jsonschema.Schema) []*program {
	var out []*program
	for _, s := range list {
		out = append(out, c.compile(s))
	}
	return out
}
