package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// An annex is one generated file below schema/spec/lookup.
type annex struct {
	file, title, status string
	write               func(*bytes.Buffer)
}

// annexes writes the annexes of SPEC.md and the index of requirements.
func annexes(root string, put func(string, []byte) error) error {
	text, err := specification(root)
	if err != nil {
		return err
	}
	m, err := newModel(text)
	if err != nil {
		return err
	}
	when, err := conditions(root)
	if err != nil {
		return fmt.Errorf("the conditions of the rules: %w", err)
	}
	x, err := newIndex(root, text)
	if err != nil {
		return fmt.Errorf("testdata/suite: %w", err)
	}
	list, err := x.file()
	if err != nil {
		return err
	}
	if err := put("testdata/suite/requirements.json", list); err != nil {
		return err
	}
	for _, a := range []annex{
		{"rules", "Every notice", "Normative.", ruleIndex},
		{"codes", "The codes of notices, one by one", "Normative in what stands under *When*; the rest is informative.",
			func(b *bytes.Buffer) { codePages(b, root, when) }},
		{"vocabulary", "Code lists", "Normative.", listAnnex},
		{"units", "Units", "Normative.", unitAnnex},
		{"fields", "Fields of a find", "Normative.", fieldAnnex},
		{"settings", "Settings of rules", "Normative.", settingAnnex},
		{"absences", "Words for nothing", "Normative.", absenceAnnex},
		{"linked", "Linked data", "Normative.", linkedAnnex},
		{"requirements", "Requirements and their vectors",
			"Informative. The numbers count vectors of the conformance suite below `testdata/suite`, each of which names " +
				"the requirements that it serves; `testdata/suite/requirements.json` lists their ids.", x.annex},
		{"sharing", "Sharing", "Normative.", sharingAnnex},
		{"model", "Members", "Normative. Section 3 of SPEC.md says how these tables are read.", m.annex},
		{"notices", "Report of notices", "Normative.", noticeTables},
	} {
		var b bytes.Buffer
		fmt.Fprintf(&b, "# %s\n\nOf [Findslip 1.0](../../../SPEC.md). *%s* This file is generated.\n\n", a.title, a.status)
		a.write(&b)
		if err := put("schema/spec/lookup/"+a.file+".md", append(bytes.TrimRight(b.Bytes(), "\n"), '\n')); err != nil {
			return err
		}
	}
	return nil
}

// cell makes text safe in a table of Markdown.
func cell(s string) string {
	return strings.ReplaceAll(strings.Join(strings.Fields(s), " "), "|", `\|`)
}

func listAnnex(b *bytes.Buffer) {
	for _, name := range vocabulary.Lists() {
		s := vocabulary.Get(name)
		kind := "closed"
		if s.Open {
			kind = "open"
		}
		fmt.Fprintf(b, "**%s** (%s). %s\n\n", s.List, kind, cell(s.Description))
		var codes []string
		for _, c := range s.Concepts {
			codes = append(codes, fmt.Sprintf("`%s` %s", c.Code, cell(c.Label("en"))))
		}
		fmt.Fprintf(b, "%s.\n\n", strings.Join(codes, "; "))
	}
}

func unitAnnex(b *bytes.Buffer) {
	b.WriteString("| unit | is exactly |\n|---|---|\n")
	for u := quantity.MM; u <= quantity.LB; u++ {
		into := quantity.CM
		if u.Dimension() == quantity.Mass {
			into = quantity.G
		}
		one, err := quantity.ParseDecimal("1")
		if err != nil {
			continue
		}
		q := quantity.Quantity{Unit: u, Min: quantity.Bound{Value: one, Known: true},
			Max: quantity.Bound{Value: one, Known: true}}.In(into)
		fmt.Fprintf(b, "| `%s` | %s %s |\n", u, q.Min.Value, into)
	}
	b.WriteString("\nRead and converted, but not stated in `said`:\n\n| unit | is exactly |\n|---|---|\n")
	for _, u := range quantity.OtherUnits() {
		fmt.Fprintf(b, "| %s | %s |\n", u.Name, u.Size())
	}
}

func fieldAnnex(b *bytes.Buffer) {
	b.WriteString("| flat name | pointer | holds | unit | list |\n|---|---|---|---|---|\n")
	kinds := map[find.FieldKind]string{find.Text: "text", find.Decimal: "number", find.Flag: "true or false",
		find.TermText:     "words of a term",
		find.QuantityText: "words of a quantity", find.PointerMap: "pairs", find.JSON: "JSON"}
	for _, f := range find.FieldsOf[find.Find]() {
		fmt.Fprintf(b, "| `%s` | `%s` | %s | %s | %s |\n", f.Name, f.Pointer, kinds[f.Kind], f.Unit, f.List)
	}
}

func settingAnnex(b *bytes.Buffer) {
	b.WriteString("| setting | default | what it means | source |\n|---|---|---|---|\n")
	s := validate.DefaultSettings()
	for _, x := range s.List() {
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", x.Name, x.Default, cell(x.Doc), cell(x.Source))
	}
}

func absenceAnnex(b *bytes.Buffer) {
	b.WriteString("Of these words and others the " +
		"[grammar of absence](../../grammar/README.md#absence) makes phrases: not yet " +
		"measured, no idea, date unknown.\n\n" +
		"| reason | words, in lower case and without full stops |\n|---|---|\n")
	words := vocabulary.Absences()
	for _, reason := range slices.Sorted(maps.Keys(words)) {
		fmt.Fprintf(b, "| `%s` | %s |\n", reason, cell(strings.Join(words[reason], ", ")))
	}
}

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
