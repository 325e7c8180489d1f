package release

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
)

// A key is a place in what is published and an aspect of it.
type key struct{ where, aspect string }

// A fact is what stands there.
type fact struct {
	value string
	trial bool // it stands within something on trial (x-trial)
}

// Aspects with a meaning of their own; all others are keywords or members by their name.
const (
	there = "there"  // something has this place at all
	order = "order"  // the names of its members, in their order
	words = "words " // and a name: it speaks to people only
	word  = "word "  // and a word in a language: the code that it is read as
)

// facts are those of one version.
type facts map[key]fact

func (f facts) add(where, aspect string, value any, trial bool) {
	text, ok := value.(string)
	if !ok {
		raw, err := json.Marshal(value)
		if err != nil {
			raw = []byte(err.Error())
		}
		text = string(raw)
	}
	f[key{where, aspect}] = fact{text, trial}
}

// layOut reads the files of a version.
func layOut(files Files) (facts, error) {
	f, set := facts{}, schemas{}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		var err error
		switch text := files[name]; {
		case strings.HasSuffix(name, schemaEnd):
			err = set.add(text)
		case strings.HasPrefix(name, listFolder):
			err = f.list(text)
		case name == rulesFile:
			err = f.rules(text)
		case name == contextFile:
			err = f.context(text)
		case name == vectorsFile:
			err = f.vectors(text)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return f, f.schemas(set)
}

// A rule is a kind of notice as it is published.
type rule struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Caution  bool   `json:"caution,omitempty"`
	Spec     string `json:"spec"`
	Title    string `json:"title"`
}

func (f facts) rules(text []byte) error {
	var list []rule
	err := json.Unmarshal(text, &list)
	for _, r := range list {
		where := "rule " + r.Code
		f.add(where, there, "", false)
		f.add(where, "severity", r.Severity, false)
		f.add(where, words+"section", r.Spec, false)
		f.add(where, words+"title", r.Title, false)
		if r.Caution {
			f.add(where, "caution", "true", false)
		}
	}
	return err
}

// A vector is what is kept of a vector of the conformance suite: what its id stands for.
type vector struct {
	ID           string   `json:"id"`
	Folder       string   `json:"folder"`
	Operation    string   `json:"operation"`
	Outcome      string   `json:"outcome"`
	Requirements []string `json:"requirements"`
}

func (f facts) vectors(text []byte) error {
	var list []vector
	err := json.Unmarshal(text, &list)
	for _, v := range list {
		where := "vector " + v.ID
		f.add(where, there, "", false)
		f.add(where, "operation", v.Operation, false)
		f.add(where, "outcome", v.Outcome, false)
		f.add(where, "folder", v.Folder, false)
		f.add(where, words+"requirements", v.Requirements, false)
	}
	return err
}

func (f facts) list(text []byte) error {
	var l struct {
		List     string           `json:"list"`
		Open     bool             `json:"open"`
		Concepts []map[string]any `json:"concepts"`
	}
	var all map[string]any
	if err := errors.Join(json.Unmarshal(text, &l), json.Unmarshal(text, &all)); err != nil {
		return err
	}
	if l.List == "" {
		return errors.New("the list has no name")
	}
	at := "list " + l.List
	f.add(at, there, "", false)
	f.add(at, "open", l.Open, false)
	for name, value := range all {
		if name != "list" && name != "open" && name != "concepts" {
			f.add(at, words+name, value, false)
		}
	}
	for _, c := range l.Concepts {
		code := fmt.Sprint(c["code"])
		where := at + " " + code
		f.add(where, there, "", false)
		for name, value := range c {
			switch name {
			case "code":
			case "prefLabel", "altLabel", "hiddenLabel":
				labels, _ := value.(map[string]any)
				for lang, some := range labels {
					one, isText := some.(string)
					if list, isList := some.([]any); isList {
						for _, w := range list {
							f.add(at, word+lang+": "+fmt.Sprint(w), code, false)
						}
					}
					if isText {
						f.add(at, word+lang+": "+one, code, false)
						f.add(where, words+"label in "+lang, one, false)
					}
				}
			case "scopeNote", "closeMatch":
				f.add(where, words+name, value, false)
			default:
				f.add(where, name, value, false)
			}
		}
	}
	return nil
}

// context lays out the terms of a JSON-LD context. A term is named by the terms within whose own context
// it stands, such as position/latitude. Prefixes are no terms: what is written with one is written out.
func (f facts) context(text []byte) error {
	var file struct {
		Context map[string]any `json:"@context"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return err
	}
	if len(file.Context) == 0 {
		return errors.New("the file has no @context")
	}
	return f.terms("context ", file.Context, map[string]string{})
}

func (f facts) terms(at string, context map[string]any, around map[string]string) error {
	prefixes := maps.Clone(around)
	for name, v := range context {
		if iri, ok := v.(string); ok && strings.Contains(iri, "://") && !strings.HasPrefix(name, "@") {
			prefixes[name] = iri
		}
	}
	for name, v := range context {
		if prefixes[name] != "" && prefixes[name] == v {
			continue
		}
		definition, ok := v.(map[string]any)
		if !ok {
			definition = map[string]any{"@id": v}
		}
		said := map[string]any{}
		for member, value := range definition {
			if member == "@context" {
				inner, ok := value.(map[string]any)
				if !ok {
					return fmt.Errorf("the context of %s is no object", at+name)
				}
				if err := f.terms(at+name+"/", inner, prefixes); err != nil {
					return err
				}
				continue
			}
			if iri, ok := value.(string); ok {
				prefix, rest, _ := strings.Cut(iri, ":")
				if whole := prefixes[prefix]; whole != "" && !strings.HasPrefix(rest, "//") {
					value = whole + rest
				}
			}
			said[member] = value
		}
		f.add(at+name, there, "", false)
		f.add(at+name, "term", said, false)
	}
	return nil
}

// schemas are the schemas of one version by their $id.
type schemas map[string]map[string]any

func (s schemas) add(text []byte) error {
	var root map[string]any
	if err := json.Unmarshal(text, &root); err != nil {
		return err
	}
	id, _ := root["$id"].(string)
	if id == "" {
		return errors.New("the schema has no $id")
	}
	sequence, err := memberOrder(text)
	if err != nil {
		return err
	}
	root[order] = sequence
	s[id] = root
	return nil
}

// A walk lays out schemas.
type walk struct {
	facts
	set  schemas
	used map[string]bool // shapes of $defs that something refers to
	path []string        // shapes that are being laid out
}

func (f facts) schemas(set schemas) error {
	w := &walk{facts: f, set: set, used: map[string]bool{}}
	for _, id := range slices.Sorted(maps.Keys(set)) {
		name := id[strings.LastIndex(id, "/")+1:]
		f.add(name, there, "", false)
		if err := w.schema(name, id, "", set[id], false); err != nil {
			return fmt.Errorf("schema %s: %w", name, err)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(set)) {
		name := id[strings.LastIndex(id, "/")+1:]
		shapes, _ := set[id]["$defs"].(map[string]any)
		for _, shape := range slices.Sorted(maps.Keys(shapes)) {
			at := name + "#" + shape
			f.add(at, there, "", false)
			if w.used[id+"#/$defs/"+shape] {
				continue // what refers to it has its facts
			}
			if err := w.schema(at, id, "/$defs/"+shape, shapes[shape], false); err != nil {
				return fmt.Errorf("schema %s: %w", at, err)
			}
		}
	}
	return nil
}

// speaking are the keywords of a schema that speak to people only.
var speaking = map[string]bool{"title": true, "description": true, "examples": true, "$comment": true, "x-form": true,
	"x-since": true,
	"x-list":  true, "x-sharing": true}

// schema lays out one schema, with what it refers to in the place of the reference.
func (w *walk) schema(where, base, at string, v any, trial bool) error {
	o, ok := v.(map[string]any)
	if !ok {
		w.add(where, "schema", v, trial)
		return nil
	}
	depth := len(w.path)
	defer func() { w.path = w.path[:depth] }()
	for o["$ref"] != nil {
		target, to, pointer, err := w.set.find(base, fmt.Sprint(o["$ref"]))
		if err != nil {
			return err
		}
		name := to + "#" + pointer
		if slices.Contains(w.path, name) || to == base && pointer == "" {
			w.add(where, "$ref", name, trial)
			return nil
		}
		w.used[name], w.path = true, append(w.path, name)
		merged := maps.Clone(target)
		for member, value := range o {
			if member != "$ref" {
				merged[member] = value
			}
		}
		o, base, at = merged, to, pointer
	}
	trial = trial || o["x-trial"] == true
	for _, name := range slices.Sorted(maps.Keys(o)) {
		if err := w.keyword(where, base, at, name, o[name], trial); err != nil {
			return err
		}
	}
	return nil
}

func (w *walk) keyword(where, base, at, name string, value any, trial bool) error {
	switch name {
	case "$id", "$defs", order:
		return nil
	case "properties":
		sequence, _ := w.set[base][order].(map[string][]string)
		w.add(where, order, sequence[at+"/properties"], trial)
		members, _ := value.(map[string]any)
		for _, member := range slices.Sorted(maps.Keys(members)) {
			o, _ := members[member].(map[string]any)
			w.add(where+"/"+member, there, "", trial || o["x-trial"] == true)
			if err := w.schema(where+"/"+member, base, at+"/properties/"+member, members[member], trial); err != nil {
				return err
			}
		}
		return nil
	case "items", "propertyNames", "additionalProperties", "not", "if", "then", "else":
		w.add(where, name, "", trial)
		place := where + "/" + name
		if name == "items" {
			place = where + "/#"
		}
		return w.schema(place, base, at+"/"+name, value, trial)
	case "prefixItems", "anyOf", "oneOf", "allOf":
		list, _ := value.([]any)
		w.add(where, name, fmt.Sprintf("%d branches", len(list)), trial)
		for i, one := range list {
			if err := w.schema(fmt.Sprintf("%s/%s/%d", where, name, i), base, fmt.Sprintf("%s/%s/%d", at, name, i), one,
				trial); err != nil {
				return err
			}
		}
		return nil
	case "required":
		list, _ := value.([]any)
		for _, one := range list {
			w.add(where, fmt.Sprintf("required %v", one), "", trial)
		}
		return nil
	case "enum":
		list, _ := value.([]any)
		w.add(where, name, "", trial)
		for _, one := range list {
			w.add(where, fmt.Sprintf("enum %v", one), "", trial)
		}
		return nil
	}
	if speaking[name] {
		name = words + name
	}
	w.add(where, name, value, trial)
	return nil
}

// find returns the schema that a reference leads to, its document and its pointer there.
func (s schemas) find(base, ref string) (schema map[string]any, document, pointer string, err error) {
	from, err := url.Parse(base)
	if err != nil {
		return nil, "", "", err
	}
	to, err := from.Parse(ref)
	if err != nil {
		return nil, "", "", err
	}
	pointer, to.Fragment = to.Fragment, ""
	o := s[to.String()]
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		if token != "" {
			o, _ = o[strings.NewReplacer("~1", "/", "~0", "~").Replace(token)].(map[string]any)
		}
	}
	if o == nil {
		return nil, "", "", fmt.Errorf("$ref %q leads nowhere", ref)
	}
	return o, to.String(), pointer, nil
}
