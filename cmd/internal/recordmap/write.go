package main

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/schema"
)

// writeShape writes the rows of the map for one struct.
func (g *generator) writeShape(name string, members []member) {
	fmt.Fprintf(&g.out, "\nvar shapeOf%s = newShape(%q, []member{\n", name, name)
	for _, m := range members {
		kind, _ := g.kind(m.typ)
		fmt.Fprintf(&g.out, "{name: %q, title: %q, kind: %s", m.name, m.node.Title, kind)
		if of := g.objectOf(m.typ); of != "" {
			fmt.Fprintf(&g.out, ", of: shapeOf%s", of)
		}
		target := m.node.Follow()
		for _, word := range []struct{ key, value string }{
			{"unit", unitOf(m.node)}, {"list", either(m.node.List, target.List)},
			{"sharing", either(m.node.Sharing, target.Sharing)},
		} {
			if word.value != "" {
				fmt.Fprintf(&g.out, ", %s: %q", word.key, word.value)
			}
		}
		for _, mark := range []struct {
			key string
			set bool
		}{{"private", m.node.Private || target.Private}, {"part", m.part},
			{"day", target.Format == "date" || strings.HasSuffix(m.node.Ref, "/when")}} {
			if mark.set {
				fmt.Fprintf(&g.out, ", %s: true", mark.key)
			}
		}
		g.out.WriteString("},\n")
	}
	g.out.WriteString("})\n")
}

func either(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// unitOf returns the unit of the quantities that a member holds: the only one that its schema allows.
func unitOf(n *schema.Node) string {
	n = n.Follow()
	if n.Items != nil {
		n = n.Items.Follow()
	}
	if unit := n.Properties.Get("unit"); unit != nil && len(unit.Enum) == 1 {
		return unit.Enum[0]
	}
	return ""
}

// writeAccess writes the methods by which the members of one struct are reached.
func (g *generator) writeAccess(name string, members []member) {
	w := func(format string, args ...any) { fmt.Fprintf(&g.out, format, args...) }
	w("\nfunc (v *%s) shape() *shape { return shapeOf%s }\n", name, name)
	w("\nfunc (v *%s) unknown() *jsontext.Value { return &v.Unknown }\n", name)
	w("\n// MarshalJSON writes it as canonical JSON without blanks.\nfunc (v %s) MarshalJSON() ([]byte, error) { return appendObject(nil, &v) }\n", name)
	w("\n// UnmarshalJSON reads it; a member that does not fit is kept in Unknown.\nfunc (v *%s) UnmarshalJSON(text []byte) error { *v = %s{}; return decodeObject(text, v) }\n", name, name)
	w("\nfunc (v *%s) next(i int) int {\nswitch i {\n", name)
	for i, m := range members {
		_, given := g.kind(m.typ)
		w("case %d:\nif v.%s%s {\nreturn %d\n}\n", i, m.field, given, i)
		if i+1 < len(members) {
			w("fallthrough\n")
		}
	}
	w("}\nreturn -1\n}\n")
	g.cases(name, "leaf(i int) any", members, func(m member, kind string) string {
		if kind == "objectKind" || kind == "listKind" {
			return ""
		}
		return fmt.Sprintf("return &v.%s", m.field)
	})
	g.cases(name, "child(i int, create bool) object", members, func(m member, kind string) string {
		if kind != "objectKind" {
			return ""
		}
		return fmt.Sprintf("if v.%[1]s == nil {\nif !create {\nreturn nil\n}\nv.%[1]s = new(%[2]s)\n}\nreturn v.%[1]s",
			m.field, m.typ[1:])
	})
	g.cases(name, "drop(i int)", members, func(m member, kind string) string {
		if kind != "objectKind" {
			return ""
		}
		return fmt.Sprintf("v.%s = nil", m.field)
	})
	g.cases(name, "list(i int) list", members, func(m member, kind string) string {
		if kind != "listKind" {
			return ""
		}
		of := g.objectOf(m.typ)
		if strings.HasPrefix(m.typ, "[]*") {
			return fmt.Sprintf("return (*pointersTo[%[1]s, *%[1]s])(&v.%[2]s)", of, m.field)
		}
		return fmt.Sprintf("return (*listOf[%[1]s, *%[1]s])(&v.%[2]s)", of, m.field)
	})
}

// cases writes a method that does something for some of the members, by their number.
func (g *generator) cases(name, signature string, members []member, body func(m member, kind string) string) {
	var out strings.Builder
	for i, m := range members {
		kind, _ := g.kind(m.typ)
		if text := body(m, kind); text != "" {
			fmt.Fprintf(&out, "case %d:\n%s\n", i, text)
		}
	}
	last := "return nil\n"
	if strings.HasSuffix(signature, ")") { // it returns nothing
		last = ""
	}
	if out.Len() == 0 {
		fmt.Fprintf(&g.out, "\nfunc (v *%s) %s { %s }\n", name, signature, strings.TrimSpace(last))
		return
	}
	fmt.Fprintf(&g.out, "\nfunc (v *%s) %s {\nswitch i {\n%s}\n%s}\n", name, signature, out.String(), last)
}
