package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/schema"
)

// noticeTables writes the members of a report of notices: the report, and the objects that stand in it.
func noticeTables(b *bytes.Buffer) {
	root, err := schema.Root("notices")
	if err != nil {
		fmt.Fprintf(b, "%v\n", err)
		return
	}
	names, objects := []string{"report of notices"}, map[string]*schema.Node{"report of notices": root}
	for i := 0; i < len(names); i++ {
		object := objects[names[i]]
		fmt.Fprintf(b, "## %s\n\n| member | type | presence | what it holds |\n|---|---|---|---|\n", names[i])
		for _, p := range object.Properties {
			kind := typeOf(p.Node)
			if name, inner := shapeOf(p.Node); inner != nil {
				if name == "" {
					name = p.Name
					kind = strings.TrimSpace(kind + " " + name)
				}
				if objects[name] == nil {
					names, objects[name] = append(names, name), inner
				}
			}
			if words := p.Node.Follow().Enum; len(words) > 0 {
				kind = strings.Join(words, ", ")
			}
			fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", p.Name, cell(kind), presence(object, p.Name, p.Node), cell(p.Node.Description))
		}
		if i < len(names)-1 {
			b.WriteString("\n")
		}
	}
}

// sharingAnnex writes what each audience sees of each member of a find.
func sharingAnnex(b *bytes.Buffer) {
	raw, err := schema.Data.ReadFile("data/sharing.json")
	var table struct {
		Description string              `json:"description"`
		Members     []map[string]string `json:"members"`
	}
	if err == nil {
		err = json.Unmarshal(raw, &table)
	}
	if err != nil {
		fmt.Fprintf(b, "%v\n", err)
		return
	}
	audiences := []string{"partner", "landowner", "expert", "recorder", "public"}
	fmt.Fprintf(b, "%s\n\n| member | %s |\n|---%s|\n", cell(table.Description), strings.Join(audiences, " | "), strings.Repeat("|---", len(audiences)))
	for _, m := range table.Members {
		row := []string{"`" + m["member"] + "`"}
		for _, a := range audiences {
			row = append(row, m[a])
		}
		fmt.Fprintf(b, "| %s |\n", strings.Join(row, " | "))
	}
	if extra := slices.IndexFunc(table.Members, func(m map[string]string) bool { return len(m) != len(audiences)+1 }); extra >= 0 {
		fmt.Fprintf(b, "the member %s has another number of audiences\n", table.Members[extra]["member"])
	}
}
