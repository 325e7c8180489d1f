package release

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
)

// An object is a JSON object that remembers the order of its members: in these schemas the order
// means something. Schemas are compared as plain JSON, so that a keyword that this program has never
// heard of is still seen to change.
type object struct {
	names   []string
	members map[string]any
}

func (o *object) get(name string) any {
	if o == nil {
		return nil
	}
	return o.members[name]
}

func (o *object) text(name string) string {
	s, _ := o.get(name).(string)
	return s
}

func (o *object) truth(name string) bool {
	b, _ := o.get(name).(bool)
	return b
}

func (o *object) object(name string) *object {
	inner, _ := o.get(name).(*object)
	return inner
}

// parse reads one JSON value with its objects as *object.
func parse(text []byte) (any, error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	v, err := value(dec)
	if err != nil {
		return nil, err
	}
	if dec.More() {
		return nil, fmt.Errorf("there is more than one JSON value")
	}
	return v, nil
}

func value(dec *json.Decoder) (any, error) {
	token, err := dec.Token()
	if err != nil {
		return nil, err
	}
	switch token {
	case json.Delim('{'):
		o := &object{members: map[string]any{}}
		for dec.More() {
			name, err := dec.Token()
			if err != nil {
				return nil, err
			}
			key := name.(string) // the decoder allows nothing else here
			if o.members[key], err = value(dec); err != nil {
				return nil, err
			}
			o.names = append(o.names, key)
		}
		_, err = dec.Token()
		return o, err
	case json.Delim('['):
		list := []any{}
		for dec.More() {
			v, err := value(dec)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		_, err = dec.Token()
		return list, err
	}
	return token, nil
}

// canon writes a value so that equal values are equal texts, whatever the order of their members.
func canon(v any) string {
	text, err := json.Marshal(plain(v))
	if err != nil {
		return err.Error()
	}
	return string(text)
}

func plain(v any) any {
	switch v := v.(type) {
	case *object:
		m := make(map[string]any, len(v.names))
		for name, inner := range v.members {
			m[name] = plain(inner)
		}
		return m
	case []any:
		list := make([]any, len(v))
		for i := range v {
			list[i] = plain(v[i])
		}
		return list
	}
	return v
}

// schemas are the schemas of one version by their $id.
type schemas map[string]*object

// add reads one schema into the set.
func (s schemas) add(text []byte) error {
	v, err := parse(text)
	if err != nil {
		return err
	}
	root, _ := v.(*object)
	id := root.text("$id")
	if id == "" {
		return fmt.Errorf("the schema has no $id")
	}
	s[id] = root
	return nil
}

// A node is a schema, or a part of one, and the document that it stands in.
type node struct {
	set  schemas
	base string
	v    any
}

// whole follows $ref and lays what stands beside it over what it leads to.
func (n node) whole() (node, error) {
	o, _ := n.v.(*object)
	merged, base := o, n.base
	for hops := 0; o.text("$ref") != ""; hops++ {
		target, targetBase, err := n.set.find(base, o.text("$ref"))
		if err != nil || hops > 16 {
			return n, fmt.Errorf("$ref %q leads nowhere: %w", o.text("$ref"), err)
		}
		o, base = target, targetBase
		sum := &object{members: map[string]any{}}
		for _, part := range []*object{target, merged} {
			for _, name := range part.names {
				if name == "$ref" {
					continue
				}
				if _, there := sum.members[name]; !there {
					sum.names = append(sum.names, name)
				}
				sum.members[name] = part.members[name]
			}
		}
		merged = sum
	}
	if merged == nil {
		return n, nil
	}
	return node{n.set, base, merged}, nil
}

func (s schemas) find(base, ref string) (*object, string, error) {
	from, err := url.Parse(base)
	if err != nil {
		return nil, "", err
	}
	to, err := from.Parse(ref)
	if err != nil {
		return nil, "", err
	}
	fragment := to.Fragment
	to.Fragment = ""
	var v any = s[to.String()]
	for token := range strings.SplitSeq(strings.TrimPrefix(fragment, "/"), "/") {
		if token == "" {
			continue
		}
		o, _ := v.(*object)
		v = o.get(strings.NewReplacer("~1", "/", "~0", "~").Replace(token))
	}
	o, _ := v.(*object)
	if o == nil {
		return nil, "", fmt.Errorf("there is no such schema")
	}
	return o, to.String(), nil
}
