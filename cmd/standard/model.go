package main

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// A model knows every object of the format, for its tables in SPEC.md.
type model struct {
	shapes   []shape
	lists    map[[2]string]string   // code list by object and member; empty where several are meant
	spoken   map[[2]string][]string // requirements that speak of a member
	quantity map[string]string      // unit by name of a shape
}

type shape struct {
	name   string
	object *schema.Node
}

// ownTables are the objects with a section of their own; all others stand in section 3.7.
var ownTables = []string{"report", "person", "permission", "outing", "find"}

// newModel reads the schemas and, for the requirements, the text of the specification.
func newModel(specification string) (*model, error) {
	m := &model{lists: map[[2]string]string{}, spoken: map[[2]string][]string{}, quantity: map[string]string{}}
	// Every object, also those that linked data does not look into.
	if err := eachShape(&mapping{}, func(name string, object *schema.Node) {
		m.shapes = append(m.shapes, shape{name, object})
		if u := object.Properties.Get("unit"); u != nil && len(u.Enum) == 1 {
			m.quantity[name] = u.Enum[0]
		}
	}); err != nil {
		return nil, err
	}
	m.readLists()
	m.readRequirements(specification)
	return m, nil
}

// readLists takes the code lists from the tables of fields.
func (m *model) readLists() {
	take := func(root string, fields []find.Field) {
		for _, f := range fields {
			if f.List == "" {
				continue
			}
			if object, member, ok := m.follow(root, f.Pointer); ok {
				key := [2]string{object, member}
				if old, there := m.lists[key]; there && old != f.List {
					m.lists[key] = ""
					continue
				}
				m.lists[key] = f.List
			}
		}
	}
	take("report", find.FieldsOf[find.Report]())
	take("person", find.FieldsOf[find.Person]())
	take("permission", find.FieldsOf[find.Permission]())
	take("outing", find.FieldsOf[find.Outing]())
	take("find", find.FieldsOf[find.Find]())
}

// follow walks a pointer of the table of fields to the object that holds its last member.
func (m *model) follow(root, pointer string) (object, member string, ok bool) {
	object = root
	tokens := slices.DeleteFunc(strings.Split(strings.TrimPrefix(pointer, "/"), "/"),
		func(s string) bool { return s == "#" })
	for i, token := range tokens {
		node := m.node(object)
		if node == nil {
			return "", "", false
		}
		if i == len(tokens)-1 {
			return object, token, node.Properties.Get(token) != nil
		}
		if object, _ = shapeOf(node.Properties.Get(token)); object == "" {
			return "", "", false
		}
	}
	return "", "", false
}

func (m *model) node(name string) *schema.Node {
	for _, s := range m.shapes {
		if s.name == name {
			return s.object
		}
	}
	return nil
}

// homes are the sections in which a bare name means a member of this object and of no other.
var homes = map[string][]string{
	"report": {"3.1", "3.6"}, "person": {"3.2"}, "permission": {"3.2"}, "outing": {"3.2"}, "find": {"3.3", "3.6"},
	"term": {"3.4", "4.5"}, "material": {"3.4", "4.5"}, "trace": {"3.4", "4.5"},
	"length": {"4.1"}, "size": {"4.1"}, "weight": {"4.1"}, "count": {"4.1"}, "depth": {"4.1"},
	"position": {"4.2"}, "found": {"4.3"}, "dating": {"4.4"},
}

// otherwise are names that a section uses for something else than the member: of a file of proposals,
// a foreign member of GeoJSON, an element of KML.
var otherwise = map[string]string{"accepted": "6.6", "findslip": "8.", "description": "8."}

var (
	requirementText = regexp.MustCompile(`(?ms)^- \*\*([\d.]+)-(\d+)\*\*(.*?)(?:^- |^$)`)
	codeSpans       = regexp.MustCompile("`/?([A-Za-z]+(?:\\.[A-Za-z]+)?)`")
)

// readRequirements finds which requirement speaks of which member: by its full name, as in
// found.date, by its bare name in the section of its object, and anywhere by a bare name that one
// object alone has.
func (m *model) readRequirements(text string) {
	owners := map[string]map[string]bool{}
	for _, s := range m.shapes {
		for _, p := range s.object.Properties {
			group := s.name
			if g := groupOf[s.name]; g != "" {
				group = g
			}
			if owners[p.Name] == nil {
				owners[p.Name] = map[string]bool{}
			}
			owners[p.Name][group] = true
		}
	}
	// A requirement ends where the next begins, or at an empty line.
	text = strings.ReplaceAll(text, "\n- **", "\n\n- **")
	for _, r := range requirementText.FindAllStringSubmatch(text, -1) {
		for _, span := range codeSpans.FindAllStringSubmatch(r[3], -1) {
			object, name, full := strings.Cut(span[1], ".")
			if !full {
				name = object
			}
			if section := otherwise[name]; section != "" && strings.HasPrefix(r[1], section) {
				continue
			}
			for _, s := range m.shapes {
				if s.object.Properties.Get(name) == nil {
					continue
				}
				if full && s.name == object || !full && (len(owners[name]) == 1 || slices.Contains(homes[s.name], r[1])) {
					key, id := [2]string{s.name, name}, r[1]+"-"+r[2]
					if !slices.Contains(m.spoken[key], id) {
						m.spoken[key] = append(m.spoken[key], id)
					}
				}
			}
		}
	}
}

// table writes the members of one object.
func (m *model) table(b *bytes.Buffer, name string) {
	object := m.node(name)
	if object == nil {
		fmt.Fprintf(b, "no object %s\n", name)
		return
	}
	b.WriteString("| member | title | type | presence | unit | code list | since | requirements | what it holds |\n" +
		"|---|---|---|---|---|---|---|---|---|\n")
	for _, p := range object.Properties {
		member := "`" + p.Name + "`"
		if p.Node.Trial {
			member += " *"
		}
		key := [2]string{name, p.Name}
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", member, cell(p.Node.Title), cell(typeOf(p.Node)),
			presence(object, p.Name, p.Node),
			m.unit(name, p), m.list(key, p.Node), since(p.Node), strings.Join(m.spoken[key], ", "), cell(p.Node.Description))
	}
}

// annex writes the tables of all objects: first those of section 3, then the parts that stand in them.
func (m *model) annex(b *bytes.Buffer) {
	for _, name := range ownTables {
		fmt.Fprintf(b, "## %s\n\n", name)
		m.table(b, name)
		b.WriteString("\n")
	}
	b.WriteString("## Parts\n")
	for _, s := range m.shapes {
		if slices.Contains(ownTables, s.name) {
			continue
		}
		fmt.Fprintf(b, "\n### %s\n\n%s. %s\n\n", s.name, s.object.Title, cell(s.object.Description))
		m.table(b, s.name)
	}
}

// typeOf says in words what a member holds.
func typeOf(n *schema.Node) string {
	if name, object := shapeOf(n); object != nil {
		if followed := n.Follow(); followed.Type == "array" {
			return "list of " + name
		}
		return name
	}
	f := n.Follow()
	switch {
	case f.Not != nil:
		return "nothing"
	case f.Type == "array" && f.Items == nil:
		return "list"
	case f.Type == "array":
		return "list of " + typeOf(f.Items)
	case f.Type == "object":
		return "map"
	case f.Type == "boolean":
		return "true or false"
	case f.Type == "integer":
		return "whole number"
	case f.Format == "date":
		return "day (ISO 8601)"
	case f.Format == "date-time":
		return "moment (RFC 3339)"
	case f.Format == "uri":
		return "web address (RFC 3986)"
	case f.Type == "string" && n.Ref != "":
		if strings.HasPrefix(f.Title, "JSON") {
			return f.Title
		}
		return strings.ToLower(f.Title[:1]) + f.Title[1:]
	case f.Form != "":
		return "text: " + f.Form
	case f.Type == "string":
		return "text"
	}
	return f.Type
}

// presence says when a member has to be there.
func presence(object *schema.Node, name string, n *schema.Node) string {
	switch {
	case n.Follow().Not != nil:
		return "never"
	case slices.Contains(object.Required, name):
		return "MUST"
	}
	var choice []string
	for _, branch := range object.AnyOf {
		choice = append(choice, branch.Required...)
	}
	if slices.Contains(choice, name) {
		return "at least one of " + strings.Join(choice, ", ")
	}
	var with []string
	for _, p := range object.Properties {
		if slices.Contains(object.DependentRequired[p.Name], name) {
			with = append(with, p.Name)
		}
	}
	if len(with) > 0 {
		return "with " + strings.Join(with, ", ")
	}
	return "MAY"
}

// unit is that of the numbers of a member: of a measure, or of what holds the member.
func (m *model) unit(object string, p schema.Member) string {
	if name, o := shapeOf(p.Node); o != nil {
		return m.quantity[name]
	}
	if p.Node.Follow().Type == "number" {
		if own := map[string]string{"longitude": "degree", "latitude": "degree", "uncertainty": "m", "hours": "h",
			"share": "%"}[p.Name]; own != "" {
			return own
		}
		return m.quantity[object]
	}
	return ""
}

// list names the code list of a member, or its few words where they are on no list of their own.
func (m *model) list(key [2]string, n *schema.Node) string {
	if name := m.lists[key]; name != "" {
		return "`" + name + "`"
	}
	f := n.Follow()
	if f.Type == "array" {
		f = f.Items.Follow()
	}
	if f == nil || len(f.Enum) == 0 {
		return ""
	}
	for _, name := range vocabulary.Lists() {
		var codes []string
		for _, c := range vocabulary.Get(name).Concepts {
			codes = append(codes, c.Code)
		}
		if slices.Equal(codes, f.Enum) {
			return "`" + name + "`"
		}
	}
	return strings.Join(f.Enum, ", ")
}

func since(n *schema.Node) string {
	if n.Since != "" {
		return n.Since
	}
	return "1.0"
}
