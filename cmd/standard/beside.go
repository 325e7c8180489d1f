package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
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
			fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", p.Name, cell(kind), presence(object, p.Name, p.Node),
				cell(p.Node.Description))
		}
		if i < len(names)-1 {
			b.WriteString("\n")
		}
	}
}

// sharingAnnex writes what each audience gets of each class, and which leaves are of it.
func sharingAnnex(b *bytes.Buffer) {
	raw, err := schema.Data.ReadFile("data/sharing.json")
	var table struct {
		Description string              `json:"description"`
		Classes     []map[string]any    `json:"classes"`
		Along       map[string][]string `json:"along"`
		Leaves      map[string]string   `json:"leaves"`
	}
	if err == nil {
		err = json.Unmarshal(raw, &table)
	}
	if err != nil {
		fmt.Fprintf(b, "%v\n", err)
		return
	}
	audiences := []string{"public", "expert", "club", "landowner", "partner", "recorder"}
	fmt.Fprintf(b, "%s\n\n| class | what | %s |\n|---|---%s|\n", cell(table.Description), strings.Join(audiences, " | "),
		strings.Repeat("|---", len(audiences)))
	byClass := map[string][]string{}
	for leaf, class := range table.Leaves {
		byClass[class] = append(byClass[class], leaf)
	}
	for _, c := range table.Classes {
		row := []string{fmt.Sprintf("`%s`", c["class"]), cell(fmt.Sprint(c["what"]))}
		for _, a := range audiences {
			row = append(row, fmt.Sprint(c[a]))
		}
		fmt.Fprintf(b, "| %s |\n", strings.Join(row, " | "))
	}
	b.WriteString("\nThe leaves of each class:\n\n")
	for _, c := range table.Classes {
		class := fmt.Sprint(c["class"])
		slices.Sort(byClass[class])
		fmt.Fprintf(b, "- `%s`: %s\n", class, strings.Join(shortened(byClass[class]), ", "))
	}
	b.WriteString("\nWhat a policy takes along:\n\n")
	for _, member := range slices.Sorted(maps.Keys(table.Along)) {
		fmt.Fprintf(b, "- `%s`: `%s`\n", member, strings.Join(table.Along[member], "`, `"))
	}
}

// shortened writes leaves of one member together: finds.depth.{min, max}.
func shortened(leaves []string) (out []string) {
	for i := 0; i < len(leaves); {
		at := strings.LastIndexByte(leaves[i], '.') + 1
		head, last := leaves[i][:at], []string{}
		for ; i < len(leaves) && strings.LastIndexByte(leaves[i], '.')+1 == at && leaves[i][:at] == head; i++ {
			last = append(last, leaves[i][at:])
		}
		name := head + last[0]
		if len(last) > 1 {
			name = head + "{" + strings.Join(last, ", ") + "}"
		}
		out = append(out, "`"+name+"`")
	}
	return out
}
