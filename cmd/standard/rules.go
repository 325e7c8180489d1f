package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
)

// ruleIndex writes a table of all kinds of notice, each with a link to its section.
func ruleIndex(b *bytes.Buffer) {
	b.WriteString("| code | severity | section | what |\n|---|---|---|---|\n")
	for _, k := range pipeline.Kinds() {
		fmt.Fprintf(b, "| [`%s`](codes.md#%s) | %s | %s | %s |\n", k.Code, k.Code, severityOf(k), k.Spec, cell(k.Title))
	}
}

// codePages writes a section for each kind of notice: when it is given, why, how to mend it, before and after, and
// its vectors.
func codePages(b *bytes.Buffer, root string, when map[string]string) {
	for _, k := range pipeline.Kinds() {
		vectors := "testdata/codes/" + k.Code + ".json"
		if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(vectors))); err != nil {
			vectors = ""
		}
		fmt.Fprintf(b, "## %s\n\n%s. Section %s, group %s. Severity: %s.\n", k.Code, capital(cell(k.Title)), k.Spec, k.Group,
			severityOf(k))
		text := when[k.Code]
		if text == "" {
			text = "The reading, conversion or repair that section " + k.Spec + " describes gives it."
		}
		for _, part := range []struct{ name, text string }{{"When", text}, {"Why", k.Why}, {"How to mend it", k.Help},
			{"Source", k.Source}} {
			fmt.Fprintf(b, "\n**%s.** %s%s\n", part.name, capital(cell(part.text)), stop(part.text))
		}
		if k.Before != "" {
			fmt.Fprintf(b, "\n**Before.** %s\n\n**After.** %s\n", codeSpan(k.Before), codeSpan(k.After))
		}
		if vectors != "" {
			fmt.Fprintf(b, "\n**Vectors.** [%s](../../../%s)\n", vectors, vectors)
		}
		b.WriteString("\n")
	}
}

// capital begins a sentence with a capital letter, unless it begins with a code.
func capital(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[size:]
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
