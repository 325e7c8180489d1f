package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
)

const root = "../.."

func TestGeneratedFilesAreTrue(t *testing.T) {
	changed, err := generate(root, false)
	if err != nil {
		t.Fatal(err)
	}
	if len(changed) > 0 {
		t.Errorf("not as generated: %s; run go generate ./...", strings.Join(changed, ", "))
	}
}

func spec(t *testing.T) (whole, normative string) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(root, "SPEC.md"))
	if err != nil {
		t.Fatal(err)
	}
	whole = string(raw)
	normative, _, ok := strings.Cut(whole, "## Annex A")
	if !ok {
		t.Fatal("annex A is missing")
	}
	return whole, normative
}

// Every requirement has a number of its own, below its section, and every section is there.
func TestRequirementsAreNumbered(t *testing.T) {
	_, text := spec(t)
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^- \*\*([\d.]+)-(\d+)\*\*`).FindAllStringSubmatch(text, -1) {
		id := m[1] + "-" + m[2]
		if seen[id] {
			t.Errorf("requirement %s stands twice", id)
		}
		seen[id] = true
		if !regexp.MustCompile(`(?m)^##+ ` + regexp.QuoteMeta(m[1]) + ` `).MatchString(text) {
			t.Errorf("requirement %s is of no section", id)
		}
	}
	if len(seen) < 60 {
		t.Errorf("only %d requirements", len(seen))
	}
}

// Every code of a notice is named in SPEC.md with a section that exists, and every code that the
// text names is one.
func TestSpecNamesEveryNotice(t *testing.T) {
	whole, text := spec(t)
	known := map[string]bool{}
	for _, k := range pipeline.Kinds() {
		if known[k.Code] {
			t.Errorf("the code %s is given twice", k.Code)
		}
		known[k.Code] = true
		if !strings.Contains(whole, "`"+k.Code+"`") {
			t.Errorf("the notice %s is not in SPEC.md", k.Code)
		}
		if !regexp.MustCompile(`(?m)^##+ `+regexp.QuoteMeta(k.Spec)+` `).MatchString(whole) && !strings.Contains(whole, k.Spec+" ") {
			t.Errorf("the notice %s is of section %s, which there is not", k.Code, k.Spec)
		}
		if k.Title == "" || k.Why == "" || k.Help == "" || k.Source == "" || k.Group == "" {
			t.Errorf("the words of %s are not whole", k.Code)
		}
	}
	for _, m := range regexp.MustCompile("testdata/(?:invalid|near)/([a-z0-9-]+)").FindAllStringSubmatch(text, -1) {
		if !known[m[1]] {
			t.Errorf("SPEC.md names vectors of %s, which is no notice", m[1])
		}
	}
}

func TestPathsInSpecExist(t *testing.T) {
	_, text := spec(t)
	n := 0
	for _, path := range regexp.MustCompile(`testdata/[A-Za-z0-9/._-]*[A-Za-z0-9]`).FindAllString(text, -1) {
		if strings.HasSuffix(path, "/") || strings.Contains(path, "<") || path == "testdata/invalid" || path == "testdata/near" {
			continue
		}
		n++
		if _, err := os.Stat(filepath.Join(root, path)); err != nil {
			t.Errorf("SPEC.md names %s, which is not there", path)
		}
	}
	if n < 20 {
		t.Errorf("only %d paths", n)
	}
}
