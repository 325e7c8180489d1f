package main

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

// termTable is testdata/reference/terms.csv: kind (class, property, datatype) by IRI. Its rows for
// CIDOC CRM, DCMI terms and SKOS are all terms of the published RDF, those for Darwin Core come from
// its published lists; each row has its source.
func termTable(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, row := range cases.Reference(t, "terms.csv") {
		if row["source"] == "" || row["verified"] == "" {
			t.Errorf("%s has no source", row["iri"])
		}
		out[row["iri"]] = row["kind"]
	}
	return out
}

// Every term of another vocabulary that the context uses is a property of that vocabulary.
func TestMappedTermsExist(t *testing.T) {
	table := termTable(t)
	m, err := readMapping()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, x := range m.Members {
		if x.Term == "" {
			if x.Match != "" {
				t.Errorf("%s.%s matches %s with no term", x.Of, x.Member, x.Match)
			}
			continue
		}
		n++
		prefix, name, _ := strings.Cut(x.Term, ":")
		if kind := table[m.Prefixes[prefix]+name]; kind != "property" {
			t.Errorf("%s.%s: %s is no property of a published vocabulary (%q)", x.Of, x.Member, x.Term, kind)
		}
		if x.Match != "exact" && x.Match != "close" {
			t.Errorf("%s.%s: how close is %s? %q", x.Of, x.Member, x.Term, x.Match)
		}
	}
	if n < 50 {
		t.Errorf("only %d terms", n)
	}
}

// The terms that the text of SPEC.md names with a prefix exist too.
func TestTermsInSpecExist(t *testing.T) {
	table := termTable(t)
	m, err := readMapping()
	if err != nil {
		t.Fatal(err)
	}
	_, text := spec(t)
	n := 0
	for _, x := range regexp.MustCompile("`(crm|dcterms|dwc|skos):([^`]+)`").FindAllStringSubmatch(text, -1) {
		n++
		if table[m.Prefixes[x[1]]+x[2]] == "" {
			t.Errorf("SPEC.md names %s:%s, which no published vocabulary has", x[1], x[2])
		}
	}
	if n < 50 {
		t.Errorf("only %d terms are named", n)
	}
}

// Nothing is said of members that are not there, and nothing twice.
func TestMappedMembersExist(t *testing.T) {
	m, err := readMapping()
	if err != nil {
		t.Fatal(err)
	}
	there := map[[2]string]bool{}
	if err := eachShape(m, func(shape string, object *schema.Node) {
		for _, p := range object.Properties {
			for _, name := range []string{shape, groupOf[shape], "any"} {
				there[[2]string{name, p.Name}] = true
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	seen := map[[2]string]bool{}
	for _, x := range m.Members {
		key := [2]string{x.Of, x.Member}
		if !there[key] {
			t.Errorf("%s has no member %s", x.Of, x.Member)
		}
		if seen[key] {
			t.Errorf("%s.%s stands twice", x.Of, x.Member)
		}
		seen[key] = true
	}
}

// The context names no address that a library would have to fetch: every context in it is an object.
func TestContextFetchesNothing(t *testing.T) {
	var doc any
	if err := json.Unmarshal(schema.Context(), &doc); err != nil {
		t.Fatal(err)
	}
	contexts := 0
	var walk func(any)
	walk = func(v any) {
		object, ok := v.(map[string]any)
		if !ok {
			return
		}
		for name, value := range object {
			if name == "@import" {
				t.Error("the context imports another")
			}
			if name == "@context" {
				contexts++
				if _, ok := value.(map[string]any); !ok {
					t.Errorf("a context is %v, not an object", value)
				}
			}
			walk(value)
		}
	}
	walk(doc)
	if contexts < 20 {
		t.Errorf("only %d contexts", contexts)
	}
}
