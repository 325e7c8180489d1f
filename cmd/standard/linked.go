package main

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// A mapping is what schema/mapping.json says.
type mapping struct {
	Prefixes map[string]string `json:"prefixes"`
	Members  []mapped          `json:"members"`
}

// mapped is one member with its term of another vocabulary.
type mapped struct {
	Of     string `json:"of"` // name of the shape in the schemas; term, quantity and any stand for several
	Member string `json:"member"`
	Term   string `json:"term"`  // empty: a term of our own
	As     string `json:"as"`    // node, link, licence, json or a datatype
	Match  string `json:"match"` // exact or close, as in SKOS
}

func readMapping() (*mapping, error) {
	m := new(mapping)
	return m, json.Unmarshal(schema.Mapping(), m)
}

// shapes that share what is reported of them.
var groupOf = map[string]string{"term": "term", "material": "term", "trace": "term",
	"length": "quantity", "size": "quantity", "weight": "quantity", "count": "quantity", "depth": "quantity"}

// of finds what is said of a member of a shape: of the shape itself, its group, or any.
func (m *mapping) of(shape, member string) mapped {
	for _, name := range []string{shape, groupOf[shape], "any"} {
		for _, x := range m.Members {
			if name != "" && x.Of == name && x.Member == member {
				return x
			}
		}
	}
	return mapped{Of: shape, Member: member}
}

// shapeOf follows a member to the object that it or its entries are, with the name of the shape;
// nil for everything else.
func shapeOf(n *schema.Node) (name string, object *schema.Node) {
	for hops := 0; n != nil && hops < 16; hops++ {
		switch {
		case n.Target != nil:
			name, n = n.Ref[strings.LastIndexAny(n.Ref, "/#")+1:], n.Target
		case n.Type == "array":
			n = n.Items
		case n.Type == "object" && len(n.Properties) > 0:
			return name, n
		default:
			return "", nil
		}
	}
	return "", nil
}

// A scope is what the members of an object mean, by name, as JSON.
type scope map[string]string

// listOf is the list that the codes of a member come from, also where the member is what another place describes.
func listOf(n *schema.Node) string {
	for hops := 0; n != nil && hops < 16; hops++ {
		if n.List != "" {
			return n.List
		}
		n = n.Target
	}
	return ""
}

// own is what a member means of which nothing is said: @vocab makes it a term of ours.
const own = ""

// context writes the members of a shape whose meaning differs from what is inherited, in the order
// of the schema.
func (m *mapping) context(shape string, object *schema.Node, inherited scope, within []string) (string, error) {
	if slices.Contains(within, shape) {
		return "", fmt.Errorf("the shape %s holds itself", shape)
	}
	within = append(within[:len(within):len(within)], shape)
	inner := maps.Clone(inherited)
	var out []string
	// First what is plain, then what has a context of its own, which inherits the plain.
	type holder struct {
		name, shape, list string
		object            *schema.Node
	}
	var holders []holder
	set := func(name, meaning string) {
		if inner[name] == meaning {
			return
		}
		inner[name] = meaning
		if meaning == own {
			meaning = quote("fs:" + name)
		}
		out = append(out, quote(name)+": "+meaning)
	}
	for _, p := range object.Properties {
		if p.Name == "@context" {
			continue
		}
		if child, o := shapeOf(p.Node); o != nil && m.of(shape, p.Name).As != "json" {
			holders = append(holders, holder{p.Name, child, p.Node.List, o})
			continue
		}
		if x, list := m.of(shape, p.Name), listOf(p.Node); list != "" && x.As == "" {
			set(p.Name, x.coded(list))
			continue
		}
		set(p.Name, m.of(shape, p.Name).plain())
	}
	for _, h := range holders {
		x := m.of(shape, h.name)
		content, err := m.context(h.shape, h.object, inner, within)
		if err != nil {
			return "", err
		}
		if h.list != "" && h.object.Properties.Get("code") != nil {
			code := quote("code") + ": " + mapped{Member: "code"}.coded(h.list) // skos:notation holds texts, and this is a node
			content = strings.TrimSuffix(code+", "+content, ", ")
		}
		if content == "" {
			set(h.name, x.plain())
			continue
		}
		set(h.name, fmt.Sprintf(`{"@id": %s, "@context": {%s}}`, quote(x.iri()), content))
	}
	return strings.Join(out, ", "), nil
}

func (x mapped) iri() string {
	if x.Term != "" {
		return x.Term
	}
	return "fs:" + x.Member
}

// plain is the definition of a member whose value has no context of its own.
func (x mapped) plain() string {
	switch x.As {
	case "node":
		return quote("@id")
	case "link":
		return fmt.Sprintf(`{"@id": %s, "@type": "@id"}`, quote(x.iri()))
	case "json":
		return fmt.Sprintf(`{"@id": %s, "@type": "@json"}`, quote(x.iri()))
	case "unit": // a name in the list of units of QUDT
		return fmt.Sprintf(`{"@id": %s, "@type": "@vocab", "@context": {"cm": "%[2]sCentiM", "mm": "%[2]sMilliM", "g": `+
			`"%[2]sGM"}}`,
			quote(x.iri()), "http://qudt.org/vocab/unit/")
	case "licence":
		return fmt.Sprintf(`{"@id": %s, "@type": "@vocab", "@context": {"@vocab": "http://spdx.org/licenses/"}}`,
			quote(x.iri()))
	case "":
		if x.Term == "" {
			return own
		}
		return quote(x.Term)
	}
	return fmt.Sprintf(`{"@id": %s, "@type": %s}`, quote(x.iri()), quote(x.As))
}

// coded is the definition of a member that holds a code of a list: the code becomes the permanent name of the concept.
// A code that is also the name of a member, such as the owner "finder", is said, for it would have the term of that.
func (x mapped) coded(list string) string {
	base := schema.Base + "vocabulary/" + list + "/"
	context := `"@vocab": ` + quote(base)
	if s := vocabulary.Get(list); s != nil {
		for _, c := range s.Concepts {
			if memberNames()[c.Code] {
				context += ", " + quote(c.Code) + ": " + quote(base+c.Code)
			}
		}
	}
	return fmt.Sprintf(`{"@id": %s, "@type": "@vocab", "@context": {%s}}`, quote(x.iri()), context)
}

// memberNames are the names of the members of all objects of a report.
func memberNames() map[string]bool {
	names := map[string]bool{}
	_ = eachShape(&mapping{}, func(_ string, object *schema.Node) {
		// an error is that of reading the schemas, said elsewhere
		for _, p := range object.Properties {
			names[p.Name] = true
		}
	})
	return names
}

func quote(s string) string {
	b, err := jsontext.AppendQuote(nil, s)
	if err != nil {
		return `""`
	}
	return string(b)
}

// linked writes schema/context.jsonld.
func linked(put func(string, []byte) error) error {
	m, err := readMapping()
	if err != nil {
		return err
	}
	report, err := schema.Root("report")
	if err != nil {
		return err
	}
	out := []string{`"@version": 1.1`, `"@vocab": ` + quote(schema.Terms), `"fs": ` + quote(schema.Terms)}
	for _, prefix := range slices.Sorted(maps.Keys(m.Prefixes)) {
		out = append(out, quote(prefix)+": "+quote(m.Prefixes[prefix]))
	}
	// What many shapes share is said once, for all of them.
	shared := scope{}
	for _, x := range m.Members {
		if x.Of == "term" || x.Of == "quantity" || x.Of == "any" {
			shared[x.Member] = x.plain()
			out = append(out, quote(x.Member)+": "+x.plain())
		}
	}
	shared["certainty"] = mapped{Member: "certainty"}.coded("certainty")
	out = append(out, quote("certainty")+": "+shared["certainty"])
	content, err := m.context("report", report, shared, nil)
	if err != nil {
		return err
	}
	text := jsontext.Value(`{"@context": {` + strings.Join(append(out, content), ", ") + `}}`)
	if err := text.Indent(jsontext.WithIndent("  ")); err != nil {
		return err
	}
	return put("schema/context.jsonld", append(text, '\n'))
}

// eachShape calls visit for every object of a report once, in the order of the schema.
// What goes out as JSON is not looked into.
func eachShape(m *mapping, visit func(shape string, object *schema.Node)) error {
	report, err := schema.Root("report")
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	var walk func(shape string, object *schema.Node)
	walk = func(shape string, object *schema.Node) {
		if seen[shape] {
			return
		}
		seen[shape] = true
		visit(shape, object)
		for _, p := range object.Properties {
			if child, o := shapeOf(p.Node); o != nil && m.of(shape, p.Name).As != "json" {
				walk(child, o)
			}
		}
	}
	walk("report", report)
	return nil
}

// linkedAnnex writes which member has which term, and which members have none.
func linkedAnnex(b *bytes.Buffer) {
	m, err := readMapping()
	if err != nil {
		fmt.Fprintf(b, "%v\n", err)
		return
	}
	b.WriteString("| object | member | term | match | value |\n|---|---|---|---|---|\n")
	values := map[string]string{"": "as it is", "node": "the identifier of the node", "link": "an identifier",
		"licence": "a name of SPDX", "unit": "a unit of QUDT", "json": "JSON as it is"}
	alone := []string{}
	err = eachShape(m, func(shape string, object *schema.Node) {
		var none []string
		for _, p := range object.Properties {
			x := m.of(shape, p.Name)
			if p.Name == "@context" { // no member, but what gives the others their terms
				continue
			}
			if x.Term == "" && x.As != "node" {
				none = append(none, "`"+p.Name+"`")
				continue
			}
			term := x.Term
			if x.As == "node" {
				term = "@id"
			}
			value, ok := values[x.As]
			switch {
			case !ok:
				value = x.As
			case p.Name == "code" && term == "skos:notation": // a notation holds texts, and a concept is a node
				value = "of a list: the concept, under `terms#code`; else as it is"
			}
			fmt.Fprintf(b, "| %s | `%s` | `%s` | %s | %s |\n", shape, p.Name, term, x.Match, value)
		}
		if len(none) > 0 {
			alone = append(alone, fmt.Sprintf("- %s: %s", shape, strings.Join(none, ", ")))
		}
	})
	if err != nil {
		fmt.Fprintf(b, "%v\n", err)
		return
	}
	fmt.Fprintf(b, "\nThese members have terms of our own, `%s` and their name:\n\n%s\n", schema.Terms,
		strings.Join(alone, "\n"))
}
