package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
)

// ruleIndex writes a table of all kinds of notice, each with a link to its page.
func ruleIndex(b *bytes.Buffer) {
	b.WriteString("| code | severity | section | what |\n|---|---|---|---|\n")
	for _, k := range pipeline.Kinds() {
		fmt.Fprintf(b, "| [`%s`](../rules/%s.md) | %s | %s | %s |\n", k.Code, k.Code, severityOf(k), k.Spec, cell(k.Title))
	}
}

// rulePages writes a page for each kind of notice, and removes the pages of kinds that there are no more.
func rulePages(root string, when map[string]string, put func(string, []byte) error) error {
	wanted := map[string]bool{}
	for _, k := range pipeline.Kinds() {
		name := "schema/spec/rules/" + k.Code + ".md"
		wanted[k.Code+".md"] = true
		vectors := "testdata/codes/" + k.Code + ".json"
		if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(vectors))); err != nil {
			vectors = ""
		}
		if err := put(name, rulePage(k, when[k.Code], vectors)); err != nil {
			return err
		}
	}
	there, err := filepath.Glob(filepath.Join(root, "schema", "spec", "rules", "*.md"))
	if err != nil {
		return err
	}
	for _, file := range there {
		if !wanted[filepath.Base(file)] {
			if err := put("schema/spec/rules/"+filepath.Base(file), nil); err != nil {
				return err
			}
		}
	}
	return nil
}

// rulePage is the page of one kind: when it is given, why, how to mend it, before and after, and its vectors.
func rulePage(k *notice.Kind, when, vectors string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# `%s`: %s\n\nA notice of [Findslip 1.0](../../../SPEC.md), section %s, group %s. Severity: %s. This page is generated; its *When* is normative.\n",
		k.Code, cell(k.Title), k.Spec, k.Group, severityOf(k))
	if when == "" {
		when = "The reading, conversion or repair that section " + k.Spec + " describes gives it."
	}
	for _, part := range []struct{ name, text string }{{"When", when}, {"Why", k.Why}, {"How to mend it", k.Help}, {"Source", k.Source}} {
		fmt.Fprintf(&b, "\n**%s.** %s%s\n", part.name, cell(part.text), stop(part.text))
	}
	if k.Before != "" {
		fmt.Fprintf(&b, "\n**Before.** %s\n\n**After.** %s\n", codeSpan(k.Before), codeSpan(k.After))
	}
	if vectors != "" {
		fmt.Fprintf(&b, "\n**Vectors.** [%s](../../../%s)\n", vectors, vectors)
	}
	return b.Bytes()
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
