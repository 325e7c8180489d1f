package validate

import (
	"math"
	"math/big"
	"regexp"
	"slices"
	"unicode/utf8"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

// The fast way to a yes. The compiled schema stays the only truth: at start-up its public fields, as
// schema_outline.go has them, are walked into a small program, which answers yes, no or maybe for a decoded value. Only a yes is
// believed; every other answer goes to the schema engine for verdict and words. A keyword that the
// program does not know makes its answer maybe. The tests hold it to one thing: what it says yes
// to, the engine accepts.

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
	types      []string
	constant   []any
	enum       []any
	ref        *program
	not        *program
	allOf      []*program
	anyOf      []*program
	cond       *program
	then, elso *program

	minProperties, maxProperties int
	required                     []string
	properties                   map[string]*program
	names                        *program
	others                       *program // additionalProperties as a schema
	closed                       bool     // additionalProperties: false
	dependent                    map[string][]string

	minItems, maxItems int
	prefix             []*program
	items              *program

	minLength, maxLength int
	pattern              *regexp.Regexp
	format               func(any) bool

	minimum, maximum, above, below *float64
}

// compileFast makes the program of a compiled schema.
func compileFast(s *jsonschema.Schema) *program {
	return fastCompiler{}.compile(s)
}

type fastCompiler map[*jsonschema.Schema]*program

func (c fastCompiler) compile(s *jsonschema.Schema) *program {
	if s == nil {
		return nil
	}
	if p := c[s]; p != nil {
		return p
	}
	p := &program{}
	c[s] = p
	p.never = s.RecursiveRef != nil || s.DynamicRef != nil || len(s.OneOf) > 0 || s.RegexProperties || len(s.PatternProperties) > 0 || len(s.Dependencies) > 0 ||
		len(s.DependentSchemas) > 0 || s.UnevaluatedProperties != nil || s.UniqueItems || s.Items != nil || s.AdditionalItems != nil || s.Contains != nil ||
		s.UnevaluatedItems != nil || s.ContentEncoding != "" || s.ContentMediaType != "" || s.MultipleOf != nil || len(s.Extensions) > 0
	if s.Always != nil {
		if !*s.Always {
			p.never = true
		}
		return p
	}
	p.types, p.constant, p.enum = s.Types, s.Constant, s.Enum
	p.never = p.never || !scalars(s.Constant) || !scalars(s.Enum)
	p.ref, p.not, p.cond, p.then, p.elso = c.compile(s.Ref), c.compile(s.Not), c.compile(s.If), c.compile(s.Then), c.compile(s.Else)
	p.allOf, p.anyOf = c.all(s.AllOf), c.all(s.AnyOf)
	p.minProperties, p.maxProperties, p.required, p.dependent = s.MinProperties, s.MaxProperties, s.Required, s.DependentRequired
	if len(s.Properties) > 0 {
		p.properties = make(map[string]*program, len(s.Properties))
		for name, member := range s.Properties {
			p.properties[name] = c.compile(member)
		}
	}
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
	p.minItems, p.maxItems, p.prefix, p.items = s.MinItems, s.MaxItems, c.all(s.PrefixItems), c.compile(s.Items2020)
	p.minLength, p.maxLength, p.pattern = s.MinLength, s.MaxLength, s.Pattern
	if s.Format != "" {
		p.format = jsonschema.Formats[s.Format]
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

func (c fastCompiler) all(list []*jsonschema.Schema) []*program {
	var out []*program
	for _, s := range list {
		out = append(out, c.compile(s))
	}
	return out
}

// scalars tells whether values can be compared with ==.
func scalars(list []any) bool {
	for _, v := range list {
		switch v.(type) {
		case nil, string, bool:
		default:
			return false
		}
	}
	return true
}

// fastRun judges one value. Odd is set when a member stands in an object that does not describe it.
type fastRun struct{ odd bool }

// judge judges a value as json.Unmarshal makes it: nil, bool, float64, string, []any, map[string]any.
func (r *fastRun) judge(p *program, v any) ternary {
	if p == nil {
		return yea
	}
	if p.never {
		return maybe
	}
	// The first answer that is not yes is the answer: an engine that is asked anyway decides.
	if len(p.types) > 0 {
		if a := typeOf(p.types, v); a != yea {
			return a
		}
	}
	if len(p.constant) > 0 && p.constant[0] != scalar(v) || len(p.enum) > 0 && !slices.Contains(p.enum, scalar(v)) {
		return nay
	}
	if a := r.kind(p, v); a != yea {
		return a
	}
	if p.ref != nil {
		if a := r.judge(p.ref, v); a != yea {
			return a
		}
	}
	for _, q := range p.allOf {
		if a := r.aside(q, v); a != yea {
			return a
		}
	}
	if len(p.anyOf) > 0 {
		if a := r.any(p.anyOf, v); a != yea {
			return a
		}
	}
	if p.not != nil {
		if a := invert(r.aside(p.not, v)); a != yea {
			return a
		}
	}
	return r.choice(p, v)
}

// aside judges by a schema that speaks of the same value beside its description, as if, anyOf and the
// like do: what members it leaves out is no matter (unknownIn does not look there either).
func (r *fastRun) aside(p *program, v any) ternary {
	odd := r.odd
	a := r.judge(p, v)
	r.odd = odd
	return a
}

// choice applies if, then and else.
func (r *fastRun) choice(p *program, v any) ternary {
	if p.cond == nil {
		return yea
	}
	switch r.aside(p.cond, v) {
	case yea:
		return r.aside(p.then, v)
	case nay:
		return r.aside(p.elso, v)
	}
	return maybe
}

// scalar returns a value that can be compared, or a mark that equals nothing.
func scalar(v any) any {
	switch v.(type) {
	case nil, string, bool:
		return v
	}
	return incomparable{}
}

type incomparable struct{}

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

func (r *fastRun) any(list []*program, v any) ternary {
	result := nay
	for _, q := range list {
		switch r.aside(q, v) {
		case yea:
			return yea
		case maybe:
			result = maybe
		}
	}
	return result
}

func typeOf(types []string, v any) ternary {
	for _, t := range types {
		switch v := v.(type) {
		case nil:
			if t == "null" {
				return yea
			}
		case bool:
			if t == "boolean" {
				return yea
			}
		case string:
			if t == "string" {
				return yea
			}
		case []any:
			if t == "array" {
				return yea
			}
		case map[string]any:
			if t == "object" {
				return yea
			}
		case float64:
			if t == "number" {
				return yea
			}
			if t == "integer" {
				if math.Abs(v) >= 1e15 {
					return maybe
				}
				if v == math.Trunc(v) {
					return yea
				}
			}
		default:
			return maybe
		}
	}
	return nay
}

// kind applies the keywords that speak of one kind of value.
func (r *fastRun) kind(p *program, v any) ternary {
	switch v := v.(type) {
	case string:
		return p.text(v)
	case float64:
		return p.number(v)
	case []any:
		return r.list(p, v)
	case map[string]any:
		return r.object(p, v)
	}
	if p.format != nil && v == nil {
		return truth(p.format(v))
	}
	return yea
}

func (p *program) text(s string) ternary {
	if p.minLength >= 0 || p.maxLength >= 0 {
		n := utf8.RuneCountInString(s)
		if p.minLength >= 0 && n < p.minLength || p.maxLength >= 0 && n > p.maxLength {
			return nay
		}
	}
	if p.pattern != nil && !p.pattern.MatchString(s) {
		return nay
	}
	if p.format != nil && !p.format(s) {
		return nay
	}
	return yea
}

func (p *program) number(f float64) ternary {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return maybe
	}
	if p.minimum != nil && f < *p.minimum || p.maximum != nil && f > *p.maximum || p.above != nil && f <= *p.above || p.below != nil && f >= *p.below {
		return nay
	}
	return yea
}

func (r *fastRun) list(p *program, list []any) ternary {
	if p.minItems >= 0 && len(list) < p.minItems || p.maxItems >= 0 && len(list) > p.maxItems {
		return nay
	}
	for i, item := range list {
		q := p.items
		if i < len(p.prefix) {
			q = p.prefix[i]
		}
		if a := r.judge(q, item); a != yea {
			return a
		}
	}
	return yea
}

func (r *fastRun) object(p *program, object map[string]any) ternary {
	if p.minProperties >= 0 && len(object) < p.minProperties || p.maxProperties >= 0 && len(object) > p.maxProperties {
		return nay
	}
	for _, name := range p.required {
		if _, ok := object[name]; !ok {
			return nay
		}
	}
	for name, with := range p.dependent {
		if _, ok := object[name]; !ok {
			continue
		}
		for _, other := range with {
			if _, ok := object[other]; !ok {
				return nay
			}
		}
	}
	for name, member := range object {
		if p.names != nil {
			if a := r.judge(p.names, name); a != yea {
				return a
			}
		}
		q, known := p.properties[name]
		switch {
		case known:
		case p.closed:
			return nay
		case p.others != nil:
			q = p.others
		default:
			r.odd = r.odd || p.properties != nil
			continue
		}
		if a := r.judge(q, member); a != yea {
			return a
		}
	}
	return yea
}
