package main

import (
	"bytes"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// An annex is one generated file below schema/spec/lookup.
type annex struct {
	letter, file, title, status string
	write                       func(*bytes.Buffer)
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
	when, err := conditions(filepath.Join(root, "pkg/validate"))
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
		{"A", "rules", "Rules", "Normative in codes, severities, sections and conditions (*When*), which are those of a rule; a kind without one is drawn by the reading, " +
			"conversion or repair that its section describes. The words of a notice are informative. A code named in a condition (as in `found-after-recorded`) is where " +
			"an idea is told that both share.", func(b *bytes.Buffer) { ruleAnnex(b, when) }},
		{"B", "vocabulary", "Code lists", "Normative.", listAnnex},
		{"C", "units", "Units", "Normative.", unitAnnex},
		{"D", "fields", "Fields of a find", "Normative.", fieldAnnex},
		{"E", "settings", "Settings of rules", "Normative.", settingAnnex},
		{"F", "absences", "Words for nothing", "Normative.", absenceAnnex},
		{"G", "linked", "Linked data", "Normative.", linkedAnnex},
		{"H", "requirements", "Requirements and their vectors",
			"Informative. The numbers count vectors of the conformance suite below `testdata/suite`, each of which names " +
				"the requirements that it serves; `testdata/suite/requirements.json` lists their ids.", x.annex},
		{"I", "sharing", "Sharing", "Normative.", sharingAnnex},
		{"J", "model", "Members", "Normative. Section 3 of SPEC.md says how these tables are read.", m.annex},
		{"K", "notices", "Report of notices", "Normative.", noticeTables},
		{"L", "limits", "Limits of readers", "Normative.", limitAnnex},
	} {
		var b bytes.Buffer
		fmt.Fprintf(&b, "# Annex %s of SPEC.md: %s\n\n*%s* This file is generated.\n\n", a.letter, a.title,
			strings.ReplaceAll(a.status, "(*When*)", "(\"When\")"))
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

// ruleAnnex writes a table of all kinds and then each in the words that explain has, with the condition under
// which a rule draws it.
func ruleAnnex(b *bytes.Buffer, when map[string]string) {
	b.WriteString("| code | severity | section | what |\n|---|---|---|---|\n")
	for _, k := range pipeline.Kinds() {
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", k.Code, severityOf(k), k.Spec, cell(k.Title))
	}
	group := ""
	for _, k := range pipeline.Kinds() {
		if k.Spec != group {
			group = k.Spec
			fmt.Fprintf(b, "\n## Notices of section %s\n", group)
		}
		fmt.Fprintf(b, "\n**`%s`** (%s): %s.\n", k.Code, severityOf(k), cell(k.Title))
		if text := when[k.Code]; text != "" {
			fmt.Fprintf(b, "*When:* %s%s\n", text, stop(text))
		}
		for _, part := range []struct{ name, text string }{{"Why", k.Why}, {"What to do", k.Help}, {"Source", k.Source}} {
			fmt.Fprintf(b, "*%s:* %s%s\n", part.name, cell(part.text), stop(part.text))
		}
		if k.Before != "" {
			fmt.Fprintf(b, "*Before:* %s *After:* %s\n", codeSpan(k.Before), codeSpan(k.After))
		}
	}
}

func severityOf(k *notice.Kind) string {
	if k.Caution {
		return k.Severity.String() + ", caution"
	}
	return k.Severity.String()
}

// stop ends a text that does not end by itself.
func stop(text string) string {
	if strings.HasSuffix(text, ".") {
		return ""
	}
	return "."
}

// codeSpan quotes an example, which may hold the sign that quotes.
func codeSpan(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if !strings.Contains(s, "`") {
		return "`" + s + "`"
	}
	return "`` " + s + " ``"
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

func limitAnnex(b *bytes.Buffer) {
	b.WriteString("| limit | default | what is bounded |\n|---|---|---|\n")
	for _, l := range limit.All() {
		fmt.Fprintf(b, "| %s | %s | %s |\n", l.Name, l.Figure(l.Default), cell(l.Bounds))
	}
}

func absenceAnnex(b *bytes.Buffer) {
	b.WriteString("| reason | words, in lower case and without full stops |\n|---|---|\n")
	words := vocabulary.Absences()
	for _, reason := range slices.Sorted(maps.Keys(words)) {
		fmt.Fprintf(b, "| `%s` | %s |\n", reason, cell(strings.Join(words[reason], ", ")))
	}
}
