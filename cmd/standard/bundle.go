package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// A bundle is a schema in one file, for tools: every shape stands in its $defs under a name of its own, no
// keyword is unknown to a strict validator, and no reference leaves the file. It judges as the schema does that
// it is made of, and bears its $id; those for editors and types have one of their own. The bundle for editors also
// suggests the codes of lists, with labels in six languages; open lists stay open. The bundle for types has the shape
// alone, one name a type: it leaves out what asks for one member or another, and takes more than the others.
type bundle struct {
	suffix string // of the names: .editor, .types or none
	editor bool
	types  bool
	texts  map[string]object // the schemas, by name
	names  map[string]string // the name of a shape in $defs, by schema#shape
	defs   []string          // schema#shape of what is to be written
	codes  []string          // code lists that are suggested
}

// object is a JSON object in its order.
type object []pair

type pair struct {
	key   string
	value any
}

func (o object) get(key string) any {
	for _, p := range o {
		if p.key == key {
			return p.value
		}
	}
	return nil
}

// bundles writes the bundles of all schemas that stand for a file of their own.
func bundles(put func(string, []byte) error) error {
	for _, name := range schema.Names() {
		if name == "find" { // it is in the bundle of the report
			continue
		}
		for _, of := range []string{"", ".editor", ".types"} {
			if of != "" && name != "report" {
				continue
			}
			b := &bundle{suffix: of, editor: of == ".editor", types: of == ".types", texts: map[string]object{},
				names: map[string]string{}}
			text, err := b.of(name)
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			if err := put("schema/bundle/"+name+of+".schema.json", text); err != nil {
				return err
			}
		}
	}
	return nil
}

func (b *bundle) of(name string) ([]byte, error) {
	root, err := b.schema(name)
	if err != nil {
		return nil, err
	}
	out := object{}
	for _, p := range root {
		if p.key != "$defs" {
			v, err := b.member(name, p, "", false)
			if err != nil {
				return nil, err
			}
			if v != nil && v.key == "$id" {
				v.value = v.value.(string) + b.suffix
			}
			if v != nil {
				out = append(out, *v)
			}
		}
	}
	var defs object
	for i := 0; i < len(b.defs); i++ { // grows as shapes name others
		file, shape, _ := strings.Cut(b.defs[i], "#")
		def, err := b.shape(file, shape)
		if err != nil {
			return nil, err
		}
		written, err := b.rewrite(file, def, "", false)
		if err != nil {
			return nil, err
		}
		o := written.(object)
		title := b.names[b.defs[i]]
		o = slices.DeleteFunc(o, func(p pair) bool {
			return p.key == "title" || p.key == "$schema" || p.key == "$id" || p.key == "$defs" || b.editor &&
				p.key == "examples" && shape == "code"
		})
		defs = append(defs, pair{title, append(object{{"title", title}}, o...)})
	}
	for _, list := range b.codes {
		defs = append(defs, pair{pascal(list) + "Code", b.list(list)})
	}
	if len(defs) > 0 {
		out = append(out, pair{"$defs", defs})
	}
	var text bytes.Buffer
	if err := write(&text, out, 0); err != nil {
		return nil, err
	}
	return append(text.Bytes(), '\n'), nil
}

// schema returns a published schema as it is written.
func (b *bundle) schema(name string) (object, error) {
	if o := b.texts[name]; o != nil {
		return o, nil
	}
	text, ok := schema.Text(name)
	if !ok {
		return nil, fmt.Errorf("no schema %q", name)
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	v, err := value(dec)
	if err != nil {
		return nil, err
	}
	b.texts[name] = v.(object)
	return b.texts[name], nil
}

func (b *bundle) shape(file, shape string) (object, error) {
	root, err := b.schema(file)
	if err != nil || shape == "" {
		return root, err
	}
	defs, _ := root.get("$defs").(object)
	o, ok := defs.get(shape).(object)
	if !ok {
		return nil, fmt.Errorf("%s has no shape %q", file, shape)
	}
	return o, nil
}

// rewrite copies a part of a schema; list is the code list of the member in which it stands.
func (b *bundle) rewrite(file string, v any, list string, within bool) (any, error) {
	switch v := v.(type) {
	case []any:
		out := []any{}
		for _, x := range v {
			y, err := b.rewrite(file, x, "", false)
			if err != nil {
				return nil, err
			}
			out = append(out, y)
		}
		return out, nil
	case object:
		out := object{}
		for _, p := range v {
			q, err := b.member(file, p, list, within)
			if err != nil {
				return nil, err
			}
			if q != nil {
				out = append(out, *q)
			}
		}
		return b.suggest(out, list), nil
	}
	return v, nil
}

// member copies one keyword; nil where it is not carried.
func (b *bundle) member(file string, p pair, list string, within bool) (*pair, error) {
	switch {
	case strings.HasPrefix(p.key, "x-"):
		return nil, nil
	case b.types && slices.Contains([]string{"anyOf", "if", "then", "else", "dependentRequired", "propertyNames",
		"minProperties"}, p.key):
		return nil, nil
	case p.key == "title" && within && !b.editor: // generators make a type of every title
		return nil, nil
	case p.key == "$ref":
		return &pair{"$ref", "#/$defs/" + b.refer(file, p.value.(string))}, nil
	case p.key == "properties":
		out := object{}
		for _, m := range p.value.(object) {
			own, _ := m.value.(object).get("x-list").(string)
			v, err := b.rewrite(file, m.value, own, true)
			if err != nil {
				return nil, err
			}
			if o := v.(object); b.types && o.get("$ref") != nil {
				v = object{{"$ref", o.get("$ref")}}
			} else if b.types && o.get("not") != nil { // a member that never stands there
				continue
			}
			out = append(out, pair{m.key, v})
		}
		return &pair{p.key, out}, nil
	case p.key == "anyOf":
		return &pair{p.key, b.choices(file, p.value.([]any))}, nil
	case p.key == "items":
		v, err := b.rewrite(file, p.value, list, within)
		return &pair{p.key, v}, err
	case p.key == "enum", p.key == "required", p.key == "examples", p.key == "dependentRequired", p.key == "const":
		return &p, nil
	}
	v, err := b.rewrite(file, p.value, "", within)
	return &pair{p.key, v}, err
}

// choices copies the branches of a choice. Those that only ask for members name these as properties too, as
// strict validators want it.
func (b *bundle) choices(file string, branches []any) any {
	out := []any{}
	for _, x := range branches {
		branch, ok := x.(object)
		names, _ := branch.get("required").([]any)
		if !ok || len(branch) != 1 || len(names) == 0 {
			y, err := b.rewrite(file, x, "", false)
			if err != nil {
				return x
			}
			out = append(out, y)
			continue
		}
		properties := object{}
		for _, name := range names {
			properties = append(properties, pair{name.(string), true})
		}
		out = append(out, object{{"required", names}, {"properties", properties}})
	}
	return out
}

// refer returns the name of what a reference names, and has it written.
func (b *bundle) refer(file, ref string) string {
	to, shape, _ := strings.Cut(ref, "#/$defs/")
	if to == "" || to == "#" {
		to = file
	}
	key := to + "#" + shape
	if name := b.names[key]; name != "" {
		return name
	}
	name := pascal(shape)
	if shape == "" {
		name = pascal(to)
	}
	for _, taken := range b.names {
		if taken == name {
			name = pascal(to) + name
		}
	}
	b.names[key] = name
	b.defs = append(b.defs, key)
	return name
}

// suggest adds the codes of a list to a member for editors: to the code of a term, or to a text that is a code itself.
func (b *bundle) suggest(o object, list string) object {
	if !b.editor || list == "" || vocabulary.Get(list) == nil || o.get("type") == "array" {
		return o
	}
	codes := object{{"$ref", "#/$defs/" + pascal(list) + "Code"}}
	if !slices.Contains(b.codes, list) {
		b.codes = append(b.codes, list)
	}
	ref, _ := o.get("$ref").(string)
	switch {
	case o.get("enum") != nil, strings.HasSuffix(ref, "/Code"):
		o = slices.DeleteFunc(o, func(p pair) bool { return p.key == "enum" || p.key == "$ref" || p.key == "type" })
		return append(o, codes...)
	case ref != "":
		o = slices.DeleteFunc(o, func(p pair) bool { return p.key == "$ref" })
		return append(o, pair{"allOf", []any{object{{"$ref", ref}},
			object{{"type", "object"}, {"properties", object{{"code", codes}}}}}})
	}
	return o
}

// list is a code list as choices with labels; the last choice of an open list is any code.
func (b *bundle) list(name string) object {
	s := vocabulary.Get(name)
	choices := []any{}
	for _, c := range s.Concepts {
		var labels []string
		for _, language := range []string{"en", "de", "nl", "fr", "da", "sv"} {
			if label := c.Label(language); !slices.Contains(labels, label) {
				labels = append(labels, label)
			}
		}
		choices = append(choices, object{{"const", c.Code}, {"title", strings.Join(labels, " · ")}})
	}
	if s.Open {
		choices = append(choices, object{{"$ref", "#/$defs/" + b.refer("find", "#/$defs/code")}})
	}
	return object{{"title", pascal(name) + "Code"}, {"description", s.Description}, {"anyOf", choices}}
}

// pascal writes a name in capitals and small letters: depth-basis is DepthBasis.
func pascal(name string) string {
	var b strings.Builder
	up := true
	for _, r := range name {
		if r == '-' {
			up = true
			continue
		}
		if up {
			r = unicode.ToUpper(r)
		}
		up = false
		b.WriteRune(r)
	}
	return b.String()
}

// value reads one JSON value, objects in their order.
func value(dec *json.Decoder) (any, error) {
	t, err := dec.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('{'):
		o := object{}
		for dec.More() {
			key, err := dec.Token()
			if err != nil {
				return nil, err
			}
			v, err := value(dec)
			if err != nil {
				return nil, err
			}
			o = append(o, pair{key.(string), v})
		}
		_, err := dec.Token()
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
		_, err := dec.Token()
		return list, err
	}
	return t, nil
}

// write writes a value: objects down to the members of shapes over several lines, what is deeper on one.
func write(w io.Writer, v any, depth int) error {
	o, ok := v.(object)
	if !ok || depth > 3 {
		return line(w, v)
	}
	fmt.Fprint(w, "{\n")
	for i, p := range o {
		fmt.Fprintf(w, "%s%q: ", strings.Repeat("  ", depth+1), p.key)
		if err := write(w, p.value, depth+1); err != nil {
			return err
		}
		if i < len(o)-1 {
			fmt.Fprint(w, ",")
		}
		fmt.Fprintln(w)
	}
	_, err := fmt.Fprintf(w, "%s}", strings.Repeat("  ", depth))
	return err
}

func line(w io.Writer, v any) error {
	switch v := v.(type) {
	case object:
		fmt.Fprint(w, "{")
		for i, p := range v {
			if i > 0 {
				fmt.Fprint(w, ", ")
			}
			fmt.Fprintf(w, "%q: ", p.key)
			if err := line(w, p.value); err != nil {
				return err
			}
		}
		_, err := fmt.Fprint(w, "}")
		return err
	case []any:
		fmt.Fprint(w, "[")
		for i, x := range v {
			if i > 0 {
				fmt.Fprint(w, ", ")
			}
			if err := line(w, x); err != nil {
				return err
			}
		}
		_, err := fmt.Fprint(w, "]")
		return err
	}
	enc := json.NewEncoder(trimmer{w})
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// trimmer leaves out the line feed that an encoder writes behind a value.
type trimmer struct{ w io.Writer }

// Write passes the text on without its line feed.
func (t trimmer) Write(p []byte) (int, error) {
	if _, err := t.w.Write(bytes.TrimSuffix(p, []byte("\n"))); err != nil {
		return 0, err
	}
	return len(p), nil
}
