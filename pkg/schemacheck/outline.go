package schemacheck

import (
	"encoding/json"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/schema"
)

// To compile the published schemas takes the schema engine longer than all the rest of checking one
// find. So the quick program is made of an outline: the public fields of the compiled schema, filled
// from the tree of package schema. The engine compiles when it is first asked. A test holds the
// outline to the compiled schema, field by field, so that no program made of the one differs from
// one made of the other.

// outliner makes outlines and remembers them, for schemas refer to each other.
type outliner map[*schema.Node]*jsonschema.Schema

// outline returns the public fields of what the engine makes of a schema; nil for nil.
func (o outliner) outline(n *schema.Node) *jsonschema.Schema {
	if n == nil {
		return nil
	}
	if s := o[n]; s != nil {
		return s
	}
	s := &jsonschema.Schema{MinProperties: -1, MaxProperties: -1, MinItems: -1, MaxItems: -1, MinContains: 1,
		MaxContains: -1, MinLength: -1, MaxLength: -1}
	o[n] = s
	if n.Never {
		s.Always = new(bool)
		return s
	}
	s.Ref, s.Format = o.outline(n.Target), n.Format
	if n.Type != "" {
		s.Types = []string{n.Type}
	}
	for _, text := range n.Enum {
		s.Enum = append(s.Enum, text)
	}
	if len(n.Const) > 0 {
		s.Constant = []any{constant(n.Const)}
	}
	if n.Pattern != "" {
		s.Pattern = regexp.MustCompile(n.Pattern) // as the engine does; a test compiles them all
	}
	s.Not, s.If, s.Then, s.Else = o.outline(n.Not), o.outline(n.If), o.outline(n.Then), o.outline(n.Else)
	s.AllOf, s.AnyOf, s.OneOf = o.all(n.AllOf), o.all(n.AnyOf), o.all(n.OneOf)
	s.Minimum, s.Maximum, s.ExclusiveMinimum, s.ExclusiveMaximum = rational(n.Minimum), rational(n.Maximum),
		rational(n.ExclusiveMinimum), rational(n.ExclusiveMaximum)
	for _, limit := range []struct {
		from *int
		to   *int
	}{{n.MinLength, &s.MinLength}, {n.MaxLength, &s.MaxLength}, {n.MinItems, &s.MinItems}, {n.MaxItems, &s.MaxItems},
		{n.MinProperties, &s.MinProperties}, {n.MaxProperties, &s.MaxProperties}} {
		if limit.from != nil {
			*limit.to = *limit.from
		}
	}
	s.Required, s.DependentRequired = n.Required, n.DependentRequired
	if len(n.Properties) > 0 {
		s.Properties = make(map[string]*jsonschema.Schema, len(n.Properties))
		for _, m := range n.Properties {
			s.Properties[m.Name] = o.outline(m.Node)
		}
	}
	s.PropertyNames, s.Items2020, s.PrefixItems = o.outline(n.PropertyNames), o.outline(n.Items), o.all(n.PrefixItems)
	switch a := n.AdditionalProperties; {
	case a == nil:
	case a.Never:
		s.AdditionalProperties = false
	default:
		s.AdditionalProperties = o.outline(a)
	}
	s.ContainsEval = true // always so in 2020-12
	return s
}

func (o outliner) all(list []*schema.Node) []*jsonschema.Schema {
	var out []*jsonschema.Schema
	for _, n := range list {
		out = append(out, o.outline(n))
	}
	return out
}

// constant decodes the value of const as the engine does, with numbers as they are written.
func constant(raw []byte) any {
	dec := json.NewDecoder(strings.NewReader(string(raw)))
	dec.UseNumber()
	var v any
	if dec.Decode(&v) != nil {
		return json.Number(raw) // equal to nothing: it goes to the engine
	}
	return v
}

// rational returns the number that is written so, not the binary one nearest to it.
func rational(f *float64) *big.Rat {
	if f == nil {
		return nil
	}
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(*f, 'g', -1, 64))
	return r
}
