package main

import (
	"slices"
	"strings"
	"testing"
)

// The checker sees what is wrong.
func TestCheckerSeesFaults(t *testing.T) {
	for _, x := range []struct{ name, text, want string }{
		{"no key word", "- **9.9-1** A validator gives notices.\n", "9.9-1 has no key word"},
		{"no target", "- **9.9-1** Notices MUST be sorted.\n", "9.9-1 does not say who"},
		{"a key word in prose", "A program MUST do this.\n", "outside a requirement"},
		{"a key word after the list", "- **9.9-1** A validator MUST sort.\n\nIt MUST also sing.\n", "outside a requirement"},
		{"all well", "- **9.9-1** A validator MUST sort:\n  - notices, which MUST come first\n\nIt says `MUST`.\n", ""},
	} {
		got := strings.Join(sentences("x.md", x.text), "\n")
		if x.want == "" && got != "" || !strings.Contains(got, x.want) {
			t.Errorf("%s: %q, want %q", x.name, got, x.want)
		}
	}
	texts := map[string]string{"README.md": "[a](SPEC.md#3-model) [b](SPEC.md#no-such) [c](none.md) [d](https://example.org/none) `[e](none.md)`",
		"SPEC.md": "# x\n\n## 3 Model\n```\n## no such\n```\n"}
	n, dead := deadLinks(root, "README.md", texts)
	slices.Sort(dead)
	if n != 3 || len(dead) != 2 || !strings.Contains(dead[0], "no-such") || !strings.Contains(dead[1], "none.md") {
		t.Errorf("%d links, dead: %q", n, dead)
	}
	if got := withoutExample("# x\n\n## 3 Model\nwords\n\n## 4 Values\n`8 in`\n"); len(got) != 1 {
		t.Errorf("sections without an example: %q", got)
	}
}
