package release

import (
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"strings"
)

// words are the keywords of a schema that speak to people only.
var words = map[string]bool{"title": true, "description": true, "examples": true, "$comment": true, "x-form": true}

// inner are the keywords that hold one schema, lists those that hold several in an order.
var (
	inner = []string{"items", "propertyNames", "additionalProperties", "not", "if", "then", "else"}
	lists = []string{"prefixItems", "anyOf", "oneOf", "allOf"}
)

// upper are the limits that narrow as they fall, lower those that narrow as they rise.
var (
	upper = []string{"maximum", "exclusiveMaximum", "maxLength", "maxItems", "maxProperties"}
	lower = []string{"minimum", "exclusiveMinimum", "minLength", "minItems", "minProperties"}
)

// comparer walks two sets of schemas side by side.
type comparer struct {
	found Changes
	seen  map[pair]bool // what was compared already; false: only as something on trial
}

// A pair is two shapes by their place in memory.
type pair struct{ old, now any }

// compareSchemas says what changed from one set of schemas to the next.
func compareSchemas(old, now schemas) Changes {
	c := &comparer{seen: map[pair]bool{}}
	for _, id := range slices.Sorted(maps.Keys(old)) {
		name := id[strings.LastIndex(id, "/")+1:]
		if now[id] == nil {
			c.found.add(Breaking, name, "the schema is gone")
			continue
		}
		c.nodes(name, node{old, id, old[id]}, node{now, id, now[id]}, false)
	}
	for _, id := range slices.Sorted(maps.Keys(old)) {
		if now[id] != nil {
			c.shapes(id[strings.LastIndex(id, "/")+1:], node{old, id, old[id]}, node{now, id, now[id]})
		}
	}
	for _, id := range slices.Sorted(maps.Keys(now)) {
		if old[id] == nil {
			c.found.add(Compatible, id[strings.LastIndex(id, "/")+1:], "a new schema")
		}
	}
	c.found.sort()
	return c.found
}

// shapes compares what stands below $defs: the names, for schemas of others may refer to them, the
// words, and whatever no member led to.
func (c *comparer) shapes(name string, old, now node) {
	was, is := old.v.(*object).object("$defs"), now.v.(*object).object("$defs")
	if was != nil {
		for _, shape := range was.names {
			a, isA := was.get(shape).(*object)
			b, isB := is.get(shape).(*object)
			if !isA || !isB {
				c.found.add(Breaking, name, "the shape %s is gone from $defs", shape)
				continue
			}
			at, one, other := name+"#"+shape, node{old.set, old.base, a}, node{now.set, now.base, b}
			if _, led := c.seen[pair{target(one), target(other)}]; led {
				c.words(at, a, b)
			} else {
				c.nodes(at, one, other, false)
			}
		}
	}
	if is != nil {
		for _, shape := range is.names {
			if was.get(shape) == nil {
				c.found.add(Compatible, name, "a new shape %s in $defs", shape)
			}
		}
	}
}

// say adds a change; what is on trial may change within a major version.
func (c *comparer) say(v Verdict, trial bool, where, format string, args ...any) {
	if trial && v == Breaking {
		v, format = Compatible, "on trial: "+format
	}
	c.found.add(v, where, format, args...)
}

func (c *comparer) nodes(where string, old, now node, trial bool) {
	was, err := old.whole()
	is, wrong := now.whole()
	if err := cmp.Or(err, wrong); err != nil {
		c.found.add(Breaking, where, "%v", err)
		return
	}
	a, isA := was.v.(*object)
	b, isB := is.v.(*object)
	if !isA || !isB {
		if canon(was.v) != canon(is.v) {
			c.say(Breaking, trial, where, "was the schema %s and is now another", short(was.v))
		}
		return
	}
	// The shape that a reference leads to is compared once; what stands beside the reference, each time.
	c.words(where, a, b)
	c.marks(where, a, b)
	trial = trial || a.truth("x-trial") && b.truth("x-trial")
	both := pair{target(old), target(now)}
	if earnest, seen := c.seen[both]; earnest || seen && trial {
		return
	}
	c.seen[both] = !trial
	c.kinds(where, a, b, trial)
	c.limits(where, a, b, trial)
	c.presence(where, a, b, trial)
	c.members(where, was, is, trial)
	for _, name := range inner {
		c.part(where+" "+name, name, was, is, trial)
	}
	for _, name := range lists {
		c.series(where, name, was, is, trial)
	}
	c.rest(where, a, b, trial)
}

// target returns the place in memory of the shape that a node is, or refers to.
func target(n node) any {
	o, _ := n.v.(*object)
	base := n.base
	for hops := 0; o.text("$ref") != "" && hops <= 16; hops++ {
		var err error
		if o, base, err = n.set.find(base, o.text("$ref")); err != nil {
			return n.v
		}
	}
	return o
}

func (c *comparer) words(where string, a, b *object) {
	for _, name := range slices.Sorted(maps.Keys(words)) {
		if canon(a.get(name)) != canon(b.get(name)) {
			c.found.add(Documentation, where, "other words in %s", name)
		}
	}
}

// marks compares the annotations of our own that say something of a member.
func (c *comparer) marks(where string, a, b *object) {
	switch was, is := a.truth("x-trial"), b.truth("x-trial"); {
	case was && !is:
		c.found.add(Compatible, where, "is no longer on trial")
	case !was && is:
		c.found.add(Breaking, where, "is put on trial, though it was promised to stay")
	}
	switch was, is := a.truth("x-private"), b.truth("x-private"); {
	case was && !is:
		c.found.add(Breaking, where, "is no longer private, so that older documents would be quoted")
	case !was && is:
		c.found.add(Compatible, where, "is private now")
	}
	if canon(a.get("x-since")) != canon(b.get("x-since")) {
		c.found.add(Documentation, where, "says another version in x-since")
	}
}

// kinds compares what sort of value is allowed: type, enum, const, pattern, format.
func (c *comparer) kinds(where string, a, b *object, trial bool) {
	c.set(where, "type", types(a), types(b), trial)
	if a.get("enum") != nil && b.get("enum") == nil {
		c.say(Breaking, trial, where, "closed to open: any value is allowed now, which older programs refuse")
	} else if a.get("enum") == nil && b.get("enum") != nil {
		c.say(Breaking, trial, where, "open to closed: only %s are allowed now", strings.Join(strs(b.get("enum")), ", "))
	} else {
		c.set(where, "enum", strs(a.get("enum")), strs(b.get("enum")), trial)
	}
	for _, name := range []string{"const", "pattern", "format"} {
		switch was, is := a.get(name), b.get(name); {
		case canon(was) == canon(is):
		case was == nil:
			c.say(Breaking, trial, where, "narrowed: %s %s is new", name, short(is))
		case is == nil:
			c.say(Breaking, trial, where, "widened: %s %s is gone, and older programs still ask for it", name, short(was))
		default:
			c.say(Breaking, trial, where, "%s changed from %s to %s", name, short(was), short(is))
		}
	}
}

// types returns the types that a schema allows; number allows integer too. None means all.
func types(o *object) []string {
	list := strs(o.get("type"))
	if slices.Contains(list, "number") {
		list = append(list, "integer")
	}
	return list
}

func strs(v any) []string {
	switch v := v.(type) {
	case string:
		return []string{v}
	case []any:
		out := make([]string, len(v))
		for i := range v {
			if s, ok := v[i].(string); ok {
				out[i] = s
			} else {
				out[i] = canon(v[i])
			}
		}
		return out
	}
	return nil
}

func (c *comparer) set(where, name string, was, is []string, trial bool) {
	switch {
	case len(was) == 0 && len(is) == 0:
		return
	case len(was) == 0:
		c.say(Breaking, trial, where, "narrowed: %s is only %s now", name, strings.Join(is, ", "))
		return
	case len(is) == 0:
		c.say(Breaking, trial, where, "widened: any %s is allowed now, which older programs refuse", name)
		return
	}
	for _, v := range was {
		if !slices.Contains(is, v) {
			c.say(Breaking, trial, where, "narrowed: %s %s is gone", name, v)
		}
	}
	for _, v := range is {
		if !slices.Contains(was, v) {
			c.say(Breaking, trial, where, "widened: %s %s is new, and older programs refuse it", name, v)
		}
	}
}

func (c *comparer) limits(where string, a, b *object, trial bool) {
	for _, name := range slices.Concat(upper, lower) {
		was, isA := number(a.get(name))
		is, isB := number(b.get(name))
		tighter := isA && isB && (is < was) == slices.Contains(upper, name)
		switch {
		case !isA && !isB || isA && isB && was == is:
		case !isA || isB && tighter:
			c.say(Breaking, trial, where, "narrowed: %s is %s now, was %s", name, short(b.get(name)), short(a.get(name)))
		default:
			c.say(Breaking, trial, where, "widened: %s is %s now, was %s, and older programs refuse what lies between", name, short(b.get(name)), short(a.get(name)))
		}
	}
}

func number(v any) (float64, bool) {
	n, ok := v.(json.Number)
	if !ok {
		return 0, false
	}
	f, err := n.Float64()
	return f, err == nil
}

// presence compares what must be there.
func (c *comparer) presence(where string, a, b *object, trial bool) {
	c.required(where, "", strs(a.get("required")), strs(b.get("required")), trial)
	was, is := a.object("dependentRequired"), b.object("dependentRequired")
	names := map[string]bool{}
	for _, o := range []*object{was, is} {
		if o != nil {
			for _, name := range o.names {
				names[name] = true
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		c.required(where, " beside "+name, strs(was.get(name)), strs(is.get(name)), trial)
	}
}

func (c *comparer) required(where, beside string, was, is []string, trial bool) {
	for _, name := range is {
		if !slices.Contains(was, name) {
			c.say(Breaking, trial, where+"/"+name, "must be given now%s", beside)
		}
	}
	for _, name := range was {
		if !slices.Contains(is, name) {
			c.say(Breaking, trial, where+"/"+name, "may be left out now%s, and older programs ask for it", beside)
		}
	}
}

func (c *comparer) members(where string, was, is node, trial bool) {
	a, b := was.v.(*object).object("properties"), is.v.(*object).object("properties")
	var kept []string
	if a != nil {
		for _, name := range a.names {
			at := where + "/" + name
			old := node{was.set, was.base, a.get(name)}
			if b.get(name) == nil {
				o, _ := a.get(name).(*object)
				c.say(Breaking, trial || o.truth("x-trial"), at, "the member is gone")
				continue
			}
			kept = append(kept, name)
			c.nodes(at, old, node{is.set, is.base, b.get(name)}, trial)
		}
	}
	if b == nil {
		return
	}
	var order []string
	for _, name := range b.names {
		if a.get(name) == nil {
			c.found.add(Compatible, where+"/"+name, "a new member")
		} else {
			order = append(order, name)
		}
	}
	if !slices.Equal(kept, order) {
		c.say(Breaking, trial, where, "the members stand in another order, which is that of canonical JSON")
	}
}

// part compares a keyword that holds one schema.
func (c *comparer) part(where, name string, was, is node, trial bool) {
	a, b := was.v.(*object).get(name), is.v.(*object).get(name)
	where = strings.TrimSuffix(where, " "+name) + "/" + map[string]string{"items": "#"}[name]
	if name != "items" {
		where += name
	}
	switch {
	case a == nil && b == nil:
	case a == nil:
		c.say(Breaking, trial, where, "narrowed: %s is new", name)
	case b == nil:
		c.say(Breaking, trial, where, "widened: %s is gone, and older programs still ask for it", name)
	default:
		c.nodes(where, node{was.set, was.base, a}, node{is.set, is.base, b}, trial)
	}
}

// series compares a keyword that holds several schemas.
func (c *comparer) series(where, name string, was, is node, trial bool) {
	a, _ := was.v.(*object).get(name).([]any)
	b, _ := is.v.(*object).get(name).([]any)
	if len(a) != len(b) {
		c.say(Breaking, trial, where, "%s had %d branches and has %d", name, len(a), len(b))
		return
	}
	for i := range a {
		c.nodes(where+"/"+name, node{was.set, was.base, a[i]}, node{is.set, is.base, b[i]}, trial)
	}
}

// compared are the keywords that are looked at one by one above.
var compared = func() map[string]bool {
	all := map[string]bool{"x-trial": true, "x-private": true, "x-since": true, "$defs": true, "properties": true, "required": true,
		"dependentRequired": true, "type": true, "enum": true, "const": true, "pattern": true, "format": true}
	for _, some := range [][]string{inner, lists, upper, lower, slices.Collect(maps.Keys(words))} {
		for _, name := range some {
			all[name] = true
		}
	}
	return all
}()

// rest compares every other keyword: what it means is not known here, so any change may break.
func (c *comparer) rest(where string, a, b *object, trial bool) {
	names := map[string]bool{}
	for _, name := range slices.Concat(a.names, b.names) {
		names[name] = !compared[name]
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if names[name] && canon(a.get(name)) != canon(b.get(name)) {
			c.say(Breaking, trial, where, "%s changed from %s to %s", name, short(a.get(name)), short(b.get(name)))
		}
	}
}

// short shows a value in a message.
func short(v any) string {
	if v == nil {
		return "nothing"
	}
	text := []rune(canon(v))
	if len(text) > 60 {
		return string(text[:57]) + "..."
	}
	return string(text)
}
