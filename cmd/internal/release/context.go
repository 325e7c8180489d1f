package release

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// readTerms reads the terms of a JSON-LD context. A term is named by the terms within whose own context
// it stands, such as position/latitude; what is said of it is its IRI written out, its type, and
// whatever else is said, as JSON. Prefixes are none. Keywords that hold for all, such as @vocab, are terms here too.
func readTerms(text []byte) (map[string]string, error) {
	var file struct {
		Context map[string]any `json:"@context"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return nil, err
	}
	if len(file.Context) == 0 {
		return nil, errors.New("the file has no @context")
	}
	terms := map[string]string{}
	return terms, contextTerms(terms, "", file.Context, map[string]string{})
}

// contextTerms adds the terms of one context, which knows the prefixes of those around it.
func contextTerms(terms map[string]string, at string, context map[string]any, around map[string]string) error {
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
		for key, value := range definition {
			if key == "@context" {
				inner, ok := value.(map[string]any)
				if !ok {
					return fmt.Errorf("the context of %s is no object", at+name)
				}
				if err := contextTerms(terms, at+name+"/", inner, prefixes); err != nil {
					return err
				}
				continue
			}
			if iri, ok := value.(string); ok {
				value = writtenOut(iri, prefixes)
			}
			said[key] = value
		}
		one, err := json.Marshal(said)
		if err != nil {
			return err
		}
		terms[at+name] = string(one)
	}
	return nil
}

// writtenOut puts the address of a prefix in its place.
func writtenOut(iri string, prefixes map[string]string) string {
	prefix, rest, ok := strings.Cut(iri, ":")
	if whole := prefixes[prefix]; ok && whole != "" && !strings.HasPrefix(rest, "//") {
		return whole + rest
	}
	return iri
}

// compareTerms says what changed from the context of one version to that of the next. Prefixes are
// not compared, but what is written with them, written out.
func compareTerms(old, now map[string]string) Changes {
	var found Changes
	for _, name := range slices.Sorted(maps.Keys(old)) {
		where := "context " + name
		switch is, there := now[name]; {
		case !there:
			found.add(Breaking, where, "the term is gone")
		case is != old[name]:
			found.add(Breaking, where, "says %s now, was %s", is, old[name])
		}
	}
	for _, name := range slices.Sorted(maps.Keys(now)) {
		if _, there := old[name]; !there {
			found.add(Compatible, "context "+name, "a new term")
		}
	}
	found.sort()
	return found
}
