package main

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/vocabulary"
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

// spec returns the specification with the generated tables behind it, and the core with its parts alone.
func spec(t *testing.T) (whole, normative string) {
	t.Helper()
	normative, err := specification(root)
	if err != nil {
		t.Fatal(err)
	}
	whole = normative
	files, err := filepath.Glob(filepath.Join(root, "schema", "spec", "lookup", "*.md"))
	if err != nil || len(files) < 10 {
		t.Fatalf("%d tables: %v", len(files), err)
	}
	for _, file := range files {
		name := "lookup/" + filepath.Base(file)
		if !strings.Contains(normative, name+")") {
			t.Errorf("the specification does not link %s", name)
		}
		whole += annexText(t, "schema/spec/"+name)
	}
	return whole, normative
}

func annexText(t *testing.T, name string) string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
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

// sections are the headings of SPEC.md by number, and the subsections that the list of section 5 names.
func sections(t *testing.T, whole string) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^##+ ([\d.]+) `).FindAllStringSubmatch(whole, -1) {
		out[m[1]] = true
	}
	at := strings.LastIndex(whole, "\n## 5 Rules\n")
	if at < 0 {
		t.Fatal("section 5 is missing")
	}
	rules, _, _ := strings.Cut(whole[at+5:], "\n## ")
	for i := 1; ; i++ {
		number := fmt.Sprintf("5.%d", i)
		if !regexp.MustCompile(`(?:^|\n|· )` + regexp.QuoteMeta(number) + ` [a-z]`).MatchString(rules) {
			if i < 10 {
				t.Errorf("the list of section 5 ends before %s", number)
			}
			return out
		}
		out[number] = true
	}
}

// Every kind of notice is of a section that exists, has all its words, and stands once in the table with a page.
func TestSpecNamesEveryNotice(t *testing.T) {
	whole, _ := spec(t)
	there := sections(t, whole)
	rows := map[string]string{}
	for _, m := range regexp.MustCompile("(?m)^\\| \\[`([^`]+)`\\]\\([^)]+\\) \\| [^|]+ \\| ([^|]+) \\|").FindAllStringSubmatch(annexText(t, "schema/spec/lookup/rules.md"), -1) {
		if rows[m[1]] != "" {
			t.Errorf("the table has %s twice", m[1])
		}
		rows[m[1]] = m[2]
	}
	codes := strings.ReplaceAll(annexText(t, "schema/spec/lookup/codes.md"), `\|`, "|")
	kebab := regexp.MustCompile(`^[a-z]+(-[a-z0-9]+)+$`)
	for _, k := range pipeline.Kinds() {
		if !kebab.MatchString(k.Code) {
			t.Errorf("the code %s is not written as codes are", k.Code)
		}
		if rows[k.Code] != k.Spec {
			t.Errorf("the notice %s is of section %s; the table has section %q", k.Code, k.Spec, rows[k.Code])
		}
		delete(rows, k.Code)
		if !there[k.Spec] {
			t.Errorf("the notice %s is of section %s, which there is not", k.Code, k.Spec)
		}
		if k.Title == "" || k.Why == "" || k.Help == "" || k.Source == "" || k.Group == "" {
			t.Errorf("the words of %s are not whole", k.Code)
		}
		_, page, _ := strings.Cut(codes, "\n## "+k.Code+"\n")
		page, _, _ = strings.Cut(page, "\n## ")
		for name, text := range map[string]string{"title": k.Title, "why": k.Why, "help": k.Help, "source": k.Source,
			"before": k.Before, "after": k.After} {
			if !strings.Contains(strings.ToLower(page), strings.ToLower(strings.Join(strings.Fields(text), " "))) {
				t.Errorf("the section of %s in codes.md does not give its %s", k.Code, name)
			}
		}
	}
	for code := range rows {
		t.Errorf("the table has %s, which is no notice", code)
	}
}

// otherCodes are written like the codes of notices in the text of SPEC.md and are something else.
var otherCodes = map[string]string{
	"file-name":       "a basis of the id of a report",
	"person-1":        "a local id",
	"person-2":        "a local id",
	"stated-for-file": "a word of supplied",
	"version-unknown": "an error of the reader, find.ReadError",
}

// What is written like a code in the text of SPEC.md is a notice or a code of a list.
func TestCodesInSpecExist(t *testing.T) {
	_, text := spec(t)
	notices, listed := map[string]bool{}, map[string]bool{}
	for _, k := range pipeline.Kinds() {
		notices[k.Code] = true
	}
	for _, name := range vocabulary.Lists() {
		listed[name] = true
		for _, c := range vocabulary.Get(name).Concepts {
			listed[c.Code] = true
		}
	}
	others := maps.Clone(otherCodes)
	named := 0
	for _, m := range regexp.MustCompile("`([a-z][a-z0-9]*(?:-[a-z0-9]+)+)`").FindAllStringSubmatch(text, -1) {
		switch code := m[1]; {
		case notices[code]:
			named++
		case listed[code]:
		case otherCodes[code] != "":
			delete(others, code)
		default:
			t.Errorf("SPEC.md names `%s`, which is no notice and no code of a list", code)
		}
	}
	for code, what := range others {
		t.Errorf("%s (%s) is excused and does not stand in SPEC.md", code, what)
	}
	if named < 80 {
		t.Errorf("only %d notices are named in the text", named)
	}
}

// Every file and folder of the project that SPEC.md names is there.
func TestPathsInSpecExist(t *testing.T) {
	whole, _ := spec(t)
	seen := map[string]bool{}
	for _, path := range regexp.MustCompile(`\b(?:testdata|schema|examples)/[A-Za-z0-9/._-]*[A-Za-z0-9]`).FindAllString(whole, -1) {
		if seen[path] {
			continue
		}
		seen[path] = true
		if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(path))); err != nil {
			t.Errorf("SPEC.md names %s, which is not there", path)
		}
	}
	if len(seen) < 30 {
		t.Errorf("only %d paths", len(seen))
	}
}

// Likewise for the papers that speak of the code; a name with a part in angle brackets is a pattern.
func TestPathsInPapersExist(t *testing.T) {
	code := regexp.MustCompile("`[^`\\n]+`")
	path := regexp.MustCompile(`(?:^|[ "(/])((?:cmd|pkg|schema|testdata|examples|\.ci)/[A-Za-z0-9/._-]+)`)
	for paper, least := range map[string]int{"DEVELOPERS.md": 30, "README.md": 4} {
		raw, err := os.ReadFile(filepath.Join(root, paper))
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, span := range code.FindAllString(string(raw), -1) {
			if strings.ContainsAny(span, "<>") {
				continue
			}
			for _, m := range path.FindAllStringSubmatch(strings.Trim(span, "`"), -1) {
				n++
				if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(strings.TrimSuffix(m[1], "...")))); err != nil {
					t.Errorf("%s names %s, which is not there", paper, m[1])
				}
			}
		}
		if n < least {
			t.Errorf("%s names only %d paths", paper, n)
		}
	}
}
