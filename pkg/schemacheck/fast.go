package schemacheck

import (
	"encoding/json"
	"math"
	"reflect"
	"regexp"
	"slices"
	"unicode/utf8"

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
	required                     []string       // those that are no properties
	properties                   map[string]int // in inOrder
	inOrder                      []described
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

// described is a member that the schema describes: its place in the schema and in sets of members, and its program.
type described struct {
	name  string
	sum   uint32 // of the name
	index int
	p     *program
}

// described returns the member of a name. Most objects name theirs in the order of the schema, so that what comes
// next is not far behind the last.
func (p *program) described(name []byte, last int) *described {
	for i := last + 1; i < min(last+8, len(p.inOrder)); i++ {
		if p.inOrder[i].name == string(name) {
			return &p.inOrder[i]
		}
	}
	if i, ok := p.properties[string(name)]; ok {
		return &p.inOrder[i]
	}
	return nil
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
		i, known := p.properties[name]
		if !known {
			return m, false
		}
		m.add(i)
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
		p.properties = make(map[string]int, len(n.Properties))
		for i, m := range n.Properties {
			p.properties[m.Name] = i
			p.inOrder = append(p.inOrder, described{m.Name, tape.NameSum(m.Name), i, c.compile(m.Node)})
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

// kindSet is a set of tape kinds, and of whole numbers.
type kindSet uint16

const wholeNumbers kindSet = 1 << 15

var kindsOfType = map[string]kindSet{
	"null": 1 << tape.Null, "boolean": 1<<tape.False | 1<<tape.True, "number": 1 << tape.Number, "integer": wholeNumbers,
	"string": 1<<tape.String | 1<<tape.Name, "array": 1 << tape.Array, "object": 1 << tape.Object,
}

// scalarSet are values that can be compared without more: texts and true, false, null.
type scalarSet struct {
	texts []string
	words kindSet
}

// has reports whether a value is one of the set.
func (s *scalarSet) has(k tape.Kind, text []byte) bool {
	switch k {
	case tape.String, tape.Name:
		for _, t := range s.texts {
			if t == string(text) {
				return true
			}
		}
	case tape.Null, tape.False, tape.True:
		return s.words&(1<<k) != 0
	}
	return false
}

// fastRun judges one text. Odd is set when a member stands in an object that does not describe it.
type fastRun struct {
	t    *tape.Tape
	odd  bool
	text []byte    // of a string with escapes
	own  tape.Tape // for texts that come without one

	root    *program // of a whole record
	seen    []seen   // by member of it
	members []Member
}

// clean reports whether the value at a node is surely as the schema has it and has no unknown members.
func (r *fastRun) clean(p *program, t *tape.Tape, i uint32) bool {
	r.t = t
	yes := r.judge(p, i) == yea && !r.odd
	r.t = nil
	return yes
}

// judge judges the value at a node.
func (r *fastRun) judge(p *program, i uint32) ternary {
	if p == nil {
		return yea
	}
	if p.never {
		return maybe
	}
	// The first answer that is not yes is the answer: an engine that is asked anyway decides.
	n := &r.t.Nodes[i]
	if p.types != 0 && p.types&(1<<n.Kind) == 0 {
		if n.Kind != tape.Number || p.types&wholeNumbers == 0 {
			return nay
		}
		if a := r.whole(i); a != yea {
			return a
		}
	}
	var a ternary
	switch n.Kind {
	case tape.String, tape.Name:
		a = r.words(p, i)
	case tape.Number:
		a = r.number(p, i)
	case tape.Array:
		a = r.list(p, i)
	case tape.Object:
		a = r.object(p, i)
	default:
		a = p.among(n.Kind, nil)
		if p.format != nil && n.Kind == tape.Null && !p.format(nil) {
			a = nay
		}
	}
	if a != yea {
		return a
	}
	if p.ref != nil {
		if a := r.judge(p.ref, i); a != yea {
			return a
		}
	}
	if p.allOf != nil || p.anyOf != nil || p.not != nil || p.cond != nil {
		return r.combined(p, i)
	}
	return yea
}

// among applies const and enum.
func (p *program) among(k tape.Kind, text []byte) ternary {
	return truth(p.enum == nil || p.enum.has(k, text))
}

// combined applies the keywords that hold other schemas for the same value.
func (r *fastRun) combined(p *program, i uint32) ternary {
	for _, q := range p.allOf {
		if a := r.aside(q, i); a != yea {
			return a
		}
	}
	if len(p.anyOf) > 0 {
		if a := r.any(p.anyOf, i); a != yea {
			return a
		}
	}
	if p.not != nil {
		if a := invert(r.aside(p.not, i)); a != yea {
			return a
		}
	}
	if p.cond == nil {
		return yea
	}
	switch r.aside(p.cond, i) {
	case yea:
		return r.aside(p.then, i)
	case nay:
		return r.aside(p.elso, i)
	}
	return maybe
}

// aside judges by a schema that speaks of the same value beside its description, as if, anyOf and the
// like do: what members it leaves out is no matter (unknownIn does not look there either).
func (r *fastRun) aside(p *program, i uint32) ternary {
	odd := r.odd
	a := r.judge(p, i)
	r.odd = odd
	return a
}

func truth(b bool) ternary {
	if b {
		return yea
	}
	return nay
}

func invert(a ternary) ternary {
	switch a {
	case yea:
		return nay
	case nay:
		return yea
	}
	return maybe
}

func (r *fastRun) any(list []*program, i uint32) ternary {
	result := nay
	for _, q := range list {
		switch r.aside(q, i) {
		case yea:
			return yea
		case maybe:
			result = maybe
		}
	}
	return result
}

// words judges a string or a name.
func (r *fastRun) words(p *program, i uint32) ternary {
	n := &r.t.Nodes[i]
	text, plain := r.t.Bytes(i), n.Plain
	if n.Escaped {
		r.text = r.t.AppendString(r.text[:0], i)
		text = r.text
		plain = !slices.ContainsFunc(text, func(c byte) bool { return c >= utf8.RuneSelf })
	}
	if p.minLength >= 0 || p.maxLength >= 0 {
		long := len(text)
		if !plain {
			long = utf8.RuneCount(text)
		}
		if p.minLength >= 0 && long < p.minLength || p.maxLength >= 0 && long > p.maxLength {
			return nay
		}
	}
	return truth((p.enum == nil || p.enum.has(tape.String, text)) && (p.pattern == nil || p.pattern.Match(text)) &&
		(p.format == nil || p.format(string(text))))
}

// whole reports whether a number has no decimals.
func (r *fastRun) whole(i uint32) ternary {
	f, ok := r.t.Float(i)
	if !ok || math.Abs(f) >= 1e15 {
		return maybe
	}
	return truth(f == math.Trunc(f))
}

func (r *fastRun) number(p *program, i uint32) ternary {
	if p.enum != nil {
		return nay // they hold no numbers
	}
	if p.minimum == nil && p.maximum == nil && p.above == nil && p.below == nil {
		return yea
	}
	f, ok := r.t.Float(i)
	if !ok {
		return maybe
	}
	if p.minimum != nil && f < *p.minimum || p.maximum != nil && f > *p.maximum || p.above != nil && f <= *p.above ||
		p.below != nil && f >= *p.below {
		return nay
	}
	return yea
}

func (r *fastRun) list(p *program, i uint32) ternary {
	if p.enum != nil {
		return nay
	}
	n := &r.t.Nodes[i]
	if count := int(n.Count); p.minItems >= 0 && count < p.minItems || p.maxItems >= 0 && count > p.maxItems {
		return nay
	}
	if p.items == nil && p.prefix == nil {
		return yea
	}
	at := i + 1
	for k := range int(n.Count) {
		q := p.items
		if k < len(p.prefix) {
			q = p.prefix[k]
		}
		if a := r.judge(q, at); a != yea {
			return a
		}
		at = r.t.Nodes[at].Next
	}
	return yea
}

func (r *fastRun) object(p *program, i uint32) ternary {
	if p.enum != nil {
		return nay
	}
	n := &r.t.Nodes[i]
	if count := int(n.Count); p.minProperties >= 0 && count < p.minProperties || p.maxProperties >= 0 &&
		count > p.maxProperties {
		return nay
	}
	for _, name := range p.required {
		if !r.hasMember(i, name) {
			return nay
		}
	}
	if p.properties == nil && p.names == nil && p.others == nil && !p.closed {
		return yea
	}
	var there members
	last := -1
	for at := i + 1; at < n.Next; at = r.t.Nodes[at+1].Next {
		if p.names != nil {
			if a := r.judge(p.names, at); a != yea {
				return a
			}
		}
		q := p.others
		if p.properties != nil {
			if d := p.described(r.t.Bytes(at), last); d != nil {
				there.add(d.index)
				last = d.index
				if a := r.member(p, d, at+1); a != yea {
					return a
				}
				continue
			}
		}
		switch {
		case p.closed:
			return nay
		case q != nil:
			if a := r.judge(q, at+1); a != yea {
				return a
			}
		default:
			r.odd = r.odd || p.properties != nil
		}
	}
	return truth(p.complete(there))
}

// complete reports whether the members that are there are all that the schema asks for.
func (p *program) complete(there members) bool {
	if !p.needed.in(there) {
		return false
	}
	for i := range p.dependent {
		if d := &p.dependent[i]; d.with.meets(there) && !d.needed.in(there) {
			return false
		}
	}
	for _, group := range p.oneGroup {
		if group.in(there) {
			return true
		}
	}
	return len(p.oneGroup) == 0
}

// hasMember reports whether an object has a member.
func (r *fastRun) hasMember(i uint32, name string) bool {
	end := r.t.Nodes[i].Next
	for at := i + 1; at < end; at = r.t.Nodes[at+1].Next {
		if string(r.t.Bytes(at)) == name {
			return true
		}
	}
	return false
}
