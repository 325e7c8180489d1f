package schemacheck

import (
	"math"
	"slices"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/internal/tape"
)

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
}

// clean tells that the value at a node is surely as the schema has it and has no unknown members.
func (r *fastRun) clean(p *program, t *tape.Tape, i uint32) bool {
	r.t, r.odd = t, false
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
	for at := i + 1; at < n.Next; at = r.t.Nodes[at+1].Next {
		if p.names != nil {
			if a := r.judge(p.names, at); a != yea {
				return a
			}
		}
		q := p.others
		if p.properties != nil {
			if d, ok := p.properties[string(r.t.Bytes(at))]; ok {
				there.add(d.index)
				if a := r.judge(d.p, at+1); a != yea {
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
