package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
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
	for _, m := range regexp.MustCompile("(?m)^\\| \\[`([^`]+)`\\]\\([^)]+\\) \\| [^|]+ \\| ([^|]+) "+
		"\\|").FindAllStringSubmatch(annexText(t, "schema/spec/lookup/rules.md"), -1) {
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
	for _, path := range regexp.MustCompile(`\b(?:testdata|schema|examples)/[A-Za-z0-9/._-]*[A-Za-z0-9]`).FindAllString(
		whole, -1) {
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
				name := filepath.Join(root, filepath.FromSlash(strings.TrimSuffix(m[1], "...")))
				_, err := os.Stat(name)
				if err != nil { // a name within a package: its test compares
					_, err = os.Stat(strings.TrimSuffix(name, filepath.Ext(name)))
				}
				if err != nil {
					t.Errorf("%s names %s, which is not there", paper, m[1])
				}
			}
		}
		if n < least {
			t.Errorf("%s names only %d paths", paper, n)
		}
	}
}

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
	texts := map[string]string{"README.md": "[a](SPEC.md#3-model) [b](SPEC.md#no-such) [c](none.md) " +
		"[d](https://example.org/none) `[e](none.md)`",
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

// Every rule says exactly when it reports, in words of the format: codes, settings and rules that it names
// are there.
func TestEveryRuleHasItsCondition(t *testing.T) {
	when, err := conditions(root)
	if err != nil {
		t.Fatal(err)
	}
	rules := map[string]bool{}
	for _, r := range validate.Catalogue() {
		rules[r.Code] = true
		if text := when[r.Code]; len(text) < 40 {
			t.Errorf("%s: its condition does not say exactly when it is drawn", r.Code)
		}
	}
	asIn := regexp.MustCompile("\\bas in ((?:`[a-z-]+`(?:, | and )?)+)")
	code := regexp.MustCompile("`([a-z-]+)`")
	for of := range rules {
		for _, m := range asIn.FindAllStringSubmatch(when[of], -1) {
			for _, named := range code.FindAllStringSubmatch(m[1], -1) {
				if !rules[named[1]] {
					t.Errorf("%s: %q is no rule", of, named[1])
				} else if named[1] == of {
					t.Errorf("%s names itself", of)
				}
			}
		}
	}
}

// Every list that a field has its codes from is named in a table, or meant by the member that holds
// the term; every object stands in one table.
func TestModelIsWhole(t *testing.T) {
	_, text := spec(t)
	m, err := newModel(text)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	m.annex(&b)
	for _, f := range find.FieldsOf[find.Find]() {
		if f.List != "" && !strings.Contains(b.String(), "| `"+f.List+"` |") {
			t.Errorf("no table names the list %s of %s", f.List, f.Name)
		}
		if vocabulary.Get(f.List) == nil && f.List != "" {
			t.Errorf("%s has its codes from %s, which is no list", f.Name, f.List)
		}
	}
	if len(m.shapes) < 30 {
		t.Errorf("only %d objects", len(m.shapes))
	}
	for _, s := range m.shapes {
		if n := strings.Count(b.String(), "## "+s.name+"\n"); n != 1 {
			t.Errorf("the table of %s stands %d times", s.name, n)
		}
	}
}

// The site is made by one command; every link of its pages leads to a file, and every anchor to a heading.
func TestSite(t *testing.T) {
	to := filepath.Join(t.TempDir(), "site")
	var out, talk bytes.Buffer
	if status := run(context.Background(), []string{"site", "-root", root, "-o", to}, &out, &talk); status != 0 {
		t.Fatalf("status %d: %s", status, talk.String())
	}
	pages := map[string]string{}
	if err := filepath.WalkDir(to, func(file string, d os.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(file, ".html") {
			raw, err := os.ReadFile(file)
			pages[file] = string(raw)
			return err
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	links := 0
	for file, text := range pages {
		for _, m := range regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(text, -1) {
			name, anchor, _ := strings.Cut(m[1], "#")
			if strings.Contains(name, "://") {
				continue
			}
			links++
			to := file
			if name != "" {
				to = filepath.Join(filepath.Dir(file), filepath.FromSlash(name))
			}
			if _, err := os.Stat(to); err != nil {
				t.Errorf("%s links %s: %v", file, m[1], err)
			} else if anchor != "" && !strings.Contains(pages[to], `id="`+anchor+`"`) {
				t.Errorf("%s links %s, and there is no such heading", file, m[1])
			}
		}
	}
	if len(pages) < 500 || links < 3000 {
		t.Errorf("only %d pages and %d links", len(pages), links)
	}
	for name, want := range map[string]string{
		"1/vocabulary/material/copper-alloy.ttl":  `skos:prefLabel "copper alloy"@en`,
		"1/vocabulary/material/copper-alloy.json": `"code": "copper-alloy"`,
		"1/notice/depth-implausible.html":         "<h1",
		"1/context.jsonld":                        "@context",
		"htaccess.txt":                            "text/turtle",
	} {
		raw, err := os.ReadFile(filepath.Join(to, filepath.FromSlash(name)))
		if err != nil || !strings.Contains(string(raw), want) {
			t.Errorf("%s: %v, %.80s", name, err, raw)
		}
	}
	if status := run(context.Background(), []string{"site", "-root", root, "-o", to}, &out, &talk); status != 2 {
		t.Error("a folder that is there is written over")
	}
}

func TestRender(t *testing.T) {
	for _, x := range []struct{ text, want string }{
		{"## 3 Model", `<h2 id="3-model">3 Model</h2>`},
		{"a `b<c` **d** *e* [f](g.md#h)",
			`<p>a <code>b&lt;c</code> <strong>d</strong> <em>e</em> <a href="g.html#h">f</a></p>`},
		{"| a | b |\n|---|---|\n| 1 \\| 2 | `x` |",
			"<tr><th>a</th><th>b</th></tr>\n<tr><td>1 | 2</td><td><code>x</code></td></tr>"},
		{"- **3.1-1** A\n  b\n  - c\n- d", "<li id=\"r3.1-1\"><strong>3.1-1</strong> A b\n<ul>\n<li>c</li>\n</ul>\n</li>\n" +
			"<li>d</li>"},
		{"```x\n<a>\n```", "<pre><code>&lt;a&gt;</code></pre>"},
	} {
		if got := render(x.text); !strings.Contains(got, x.want) {
			t.Errorf("%q:\n%s\nwant\n%s", x.text, got, x.want)
		}
	}
}

// The papers are as short as they may be, their links lead somewhere, and every requirement has its key word, its
// target, and vectors that meet it and tempt to break it, or testdata/suite/gaps.json says why not.
func TestPapers(t *testing.T) {
	faults, _, err := checkPapers(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range faults {
		t.Error(fault)
	}
}

// TestIndexSeesGaps shows that the index does not pass over what is missing.
func TestIndexSeesGaps(t *testing.T) {
	const must = "A reader MUST"
	x := &index{
		requirements: []requirement{{"1-1", must}, {"1-2", must}, {"1-3", must}, {"1-4", must}, {"1-5", "A reader SHOULD"}},
		pass:         map[string][]string{"1-1": {"a"}, "1-2": {"a"}, "9-9": {"a"}}, fail: map[string][]string{"1-1": {"b"}},
		gaps: map[string]gap{"1-1": {Lacks: "fail", Reason: "not needed any more"}, "1-3": {Lacks: "both"},
			"8-8": {Lacks: "both", Reason: "x"}},
	}
	want := []string{
		`1-1 lacks "", and gaps.json says "fail"`, `1-2 lacks "fail", and gaps.json says ""`,
		`1-3 has no reason in gaps.json`,
		`1-4 lacks "both", and gaps.json says ""`, `8-8 is no requirement, and gaps.json names it`,
		`9-9 is no requirement, and a vector serves it`,
	}
	got := x.faults()
	if len(got) != len(want) {
		t.Fatalf("%d faults, want %d: %q", len(got), len(want), got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%q, want %q", got[i], want[i])
		}
	}
}

// termTable is testdata/reference/terms.csv: kind (class, property, datatype) by IRI. Its rows for
// CIDOC CRM, DCMI terms and SKOS are all terms of the published RDF, those for Darwin Core come from
// its published lists; each row has its source.
func termTable(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, row := range cases.Reference(t, "terms.csv") {
		if row["source"] == "" || row["verified"] == "" {
			t.Errorf("%s has no source", row["iri"])
		}
		out[row["iri"]] = row["kind"]
	}
	return out
}

// Every term of another vocabulary that the context uses is a property of that vocabulary.
func TestMappedTermsExist(t *testing.T) {
	table := termTable(t)
	m, err := readMapping()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, x := range m.Members {
		if x.Term == "" {
			if x.Match != "" {
				t.Errorf("%s.%s matches %s with no term", x.Of, x.Member, x.Match)
			}
			continue
		}
		n++
		prefix, name, _ := strings.Cut(x.Term, ":")
		if kind := table[m.Prefixes[prefix]+name]; kind != "property" {
			t.Errorf("%s.%s: %s is no property of a published vocabulary (%q)", x.Of, x.Member, x.Term, kind)
		}
		if x.Match != "exact" && x.Match != "close" {
			t.Errorf("%s.%s: how close is %s? %q", x.Of, x.Member, x.Term, x.Match)
		}
	}
	if n < 50 {
		t.Errorf("only %d terms", n)
	}
}

// The terms that the text of SPEC.md names with a prefix exist too.
func TestTermsInSpecExist(t *testing.T) {
	table := termTable(t)
	m, err := readMapping()
	if err != nil {
		t.Fatal(err)
	}
	_, text := spec(t)
	n := 0
	for _, x := range regexp.MustCompile("`(crm|dcterms|dwc|skos):([^`]+)`").FindAllStringSubmatch(text, -1) {
		n++
		if table[m.Prefixes[x[1]]+x[2]] == "" {
			t.Errorf("SPEC.md names %s:%s, which no published vocabulary has", x[1], x[2])
		}
	}
	if n < 50 {
		t.Errorf("only %d terms are named", n)
	}
}

// Nothing is said of members that are not there, and nothing twice.
func TestMappedMembersExist(t *testing.T) {
	m, err := readMapping()
	if err != nil {
		t.Fatal(err)
	}
	there := map[[2]string]bool{}
	if err := eachShape(m, func(shape string, object *schema.Node) {
		for _, p := range object.Properties {
			for _, name := range []string{shape, groupOf[shape], "any"} {
				there[[2]string{name, p.Name}] = true
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	seen := map[[2]string]bool{}
	for _, x := range m.Members {
		key := [2]string{x.Of, x.Member}
		if !there[key] {
			t.Errorf("%s has no member %s", x.Of, x.Member)
		}
		if seen[key] {
			t.Errorf("%s.%s stands twice", x.Of, x.Member)
		}
		seen[key] = true
	}
}

// The context names no address that a library would have to fetch: every context in it is an object.
func TestContextFetchesNothing(t *testing.T) {
	var doc any
	if err := json.Unmarshal(schema.Context(), &doc); err != nil {
		t.Fatal(err)
	}
	contexts := 0
	var walk func(any)
	walk = func(v any) {
		object, ok := v.(map[string]any)
		if !ok {
			return
		}
		for name, value := range object {
			if name == "@import" {
				t.Error("the context imports another")
			}
			if name == "@context" {
				contexts++
				if _, ok := value.(map[string]any); !ok {
					t.Errorf("a context is %v, not an object", value)
				}
			}
			walk(value)
		}
	}
	walk(doc)
	if contexts < 20 {
		t.Errorf("only %d contexts", contexts)
	}
}
