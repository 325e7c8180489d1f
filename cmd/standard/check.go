package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
)

// most are the most words that a paper may have, as wc -w counts them; examples are among them.
var most = map[string]int{
	"SPEC.md":                  6000,
	"schema/spec/primer.md":    3000,
	"schema/spec/guide.md":     2500,
	"schema/spec/simple.md":    800,
	"schema/spec/readings.md":  2500,
	"schema/spec/rules.md":     2500,
	"schema/spec/profiles.md":  2900,
	"schema/spec/tables.md":    4500,
	"schema/spec/sharing.md":   4000,
	"schema/spec/linked.md":    2000,
	"testdata/suite/README.md": 2500,
}

var (
	keyWord = regexp.MustCompile(`\b(MUST NOT|MUST|SHOULD NOT|SHOULD|MAY)\b`)
	target  = regexp.MustCompile(`(?i)\b(document|producer|consumer|normaliser|validator|converter|redactor|template|` +
		`publisher|linked-data program)s?\b`)
	link      = regexp.MustCompile(`\]\(([^)\s]+)\)`)
	heading   = regexp.MustCompile(`(?m)^#{1,6} +(.+)$`)
	fenced    = regexp.MustCompile("(?ms)^```.*?^```$")
	codeSpan1 = regexp.MustCompile("`[^`\n]*`")
)

// doCheck prints what is not as it should be with the papers: too long, a dead link, a requirement without a key
// word, a target or a vector, a key word outside a requirement, a required vector that rests on a sentence
// without MUST, a section without an example.
func doCheck(_ context.Context, flags *flag.FlagSet, args []string, out, _ io.Writer) error {
	root := flags.String("root", ".", "`folder` of the project")
	if err := flags.Parse(args); err != nil {
		return err
	}
	faults, counts, err := checkPapers(*root)
	if err != nil {
		return err
	}
	for _, line := range append(counts, faults...) {
		fmt.Fprintln(out, line)
	}
	if len(faults) > 0 {
		return errDiffers
	}
	return nil
}

// checkPapers returns the faults of the papers, and what was counted.
func checkPapers(root string) (faults, counts []string, err error) {
	names := append([]string{}, papers...)
	for _, pattern := range []string{"*.md", "schema/spec/*.md", "schema/spec/*/*.md", "schema/grammar/*.md",
		"testdata/suite/*.md"} {
		found, err := filepath.Glob(filepath.Join(root, filepath.FromSlash(pattern)))
		if err != nil {
			return nil, nil, err
		}
		for _, file := range found {
			name, err := filepath.Rel(root, file)
			if err != nil {
				return nil, nil, err
			}
			names = append(names, filepath.ToSlash(name))
		}
	}
	slices.Sort(names)
	names = slices.Compact(names)
	texts := map[string]string{}
	for _, name := range names {
		raw, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		if err != nil {
			return nil, nil, err
		}
		texts[name] = string(raw)
	}
	links := 0
	for _, name := range names {
		if limit := most[name]; limit > 0 {
			n := len(strings.Fields(texts[name]))
			counts = append(counts, fmt.Sprintf("%-26s %5d words of at most %d", name, n, limit))
			if n > limit {
				faults = append(faults, fmt.Sprintf("%s has %d words; at most %d are allowed", name, n, limit))
			}
		}
		n, dead := deadLinks(root, name, texts)
		links += n
		faults = append(faults, dead...)
	}
	for name := range most {
		if texts[name] == "" {
			faults = append(faults, name+" is not there")
		}
	}
	for _, name := range papers {
		faults = append(faults, sentences(name, texts[name])...)
	}
	faults = append(faults, withoutExample(texts["SPEC.md"])...)
	rest, n, err := vectorsRest(root)
	counts = append(counts, fmt.Sprintf("%d papers, %d links, %d requirements", len(names), links, n))
	slices.Sort(faults)
	return append(faults, rest...), counts, err
}

// deadLinks follows the links of a paper to files of the project and to their headings.
func deadLinks(root, name string, texts map[string]string) (n int, dead []string) {
	text := codeSpan1.ReplaceAllString(fenced.ReplaceAllString(texts[name], ""), "")
	for _, m := range link.FindAllStringSubmatch(text, -1) {
		to, anchor, _ := strings.Cut(m[1], "#")
		if strings.Contains(to, "://") {
			continue
		}
		n++
		file := name
		if to != "" {
			file = path.Join(path.Dir(name), to)
		}
		if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(file))); err != nil {
			dead = append(dead, fmt.Sprintf("%s links %s, which is not there", name, m[1]))
			continue
		}
		if anchor != "" && !slices.Contains(anchors(texts[file]), anchor) {
			dead = append(dead, fmt.Sprintf("%s links %s, and %s has no such heading", name, m[1], file))
		}
	}
	return n, dead
}

// anchors are the names by which the headings of a text can be linked: lower case, without signs, blanks as hyphens.
func anchors(text string) (list []string) {
	for _, m := range heading.FindAllStringSubmatch(fenced.ReplaceAllString(text, ""), -1) {
		list = append(list, strings.Map(func(r rune) rune {
			switch {
			case r == ' ':
				return '-'
			case r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r > 127:
				return r
			}
			return -1
		}, strings.ToLower(m[1])))
	}
	return list
}

// sentences finds requirements that do not say what has to be done or by whom, and key words outside a requirement.
func sentences(name, text string) (faults []string) {
	text = fenced.ReplaceAllString(text, "")
	for _, r := range requirementsOf(text) {
		plain := codeSpan1.ReplaceAllString(r.text, "")
		if !keyWord.MatchString(plain) {
			faults = append(faults, fmt.Sprintf("%s: requirement %s has no key word", name, r.id))
		}
		if !target.MatchString(plain) {
			faults = append(faults, fmt.Sprintf("%s: requirement %s does not say who has to meet it", name, r.id))
		}
	}
	outside := false // whether the line belongs to no requirement
	for i, line := range strings.Split(text, "\n") {
		switch {
		case requirementLine.MatchString(line):
			outside = false
		case line == "" || !strings.HasPrefix(line, " "):
			outside = true
		}
		if outside && keyWord.MatchString(codeSpan1.ReplaceAllString(line, "")) && !strings.Contains(line, "BCP 14") &&
			!strings.HasPrefix(line, "MUST is an error") &&
			!strings.Contains(line, "serve MUST") {
			faults = append(faults, fmt.Sprintf("%s, paragraph %d: a key word outside a requirement: %.60s", name, i+1, line))
		}
	}
	return faults
}

var requirementLine = regexp.MustCompile(`^- \*\*[\d.]+-\d+\*\* `)

// withoutExample lists the sections of the core from 3 on that show no example: none between fences, and none in
// the line.
func withoutExample(core string) (faults []string) {
	sections := strings.Split(core, "\n## ")
	for _, s := range sections[1:] {
		title, body, _ := strings.Cut(s, "\n")
		if title < "3" && !strings.HasPrefix(title, "1") || strings.HasPrefix(title, "1 ") || title == "Contents" ||
			strings.HasPrefix(title, "16 ") {
			continue
		}
		if !strings.Contains(body, "```") && !strings.Contains(body, "`") {
			faults = append(faults, "SPEC.md: section "+title+" has no example")
		}
	}
	return faults
}

// vectorsRest reports requirements without a vector, and required vectors that rest on a sentence without MUST.
func vectorsRest(root string) (faults []string, n int, err error) {
	text, err := specification(root)
	if err != nil {
		return nil, 0, err
	}
	x, err := newIndex(root, text)
	if err != nil {
		return nil, 0, err
	}
	faults = x.faults()
	must := map[string]bool{}
	for _, r := range x.requirements {
		must[r.id] = strings.Contains(codeSpan1.ReplaceAllString(r.text, ""), "MUST")
	}
	all, err := suite.Load(os.DirFS(root))
	if err != nil {
		return nil, 0, errors.Join(errors.New("the suite"), err)
	}
	for _, v := range all {
		if v.Folder == "required" && !slices.ContainsFunc(v.Requirements, func(id string) bool { return must[id] }) {
			faults = append(faults, fmt.Sprintf("the required vector %s rests on %s, which has no MUST", v.ID,
				strings.Join(v.Requirements, ", ")))
		}
	}
	return faults, len(x.requirements), nil
}

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
		for _, part := range []struct{ name, text string }{{"When", when[k.Code]}, {"Why", k.Why}, {"How to mend it", k.Help},
			{"Source", k.Source}} {
			fmt.Fprintf(b, "\n**%s.** %s%s\n", part.name, capital(cell(part.text)), stop(part.text))
		}
		if k.Off != "" {
			fmt.Fprintf(b, "\n**Left out** unless it is asked for: %s.\n", k.Off)
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
	switch {
	case k.Caution:
		return k.Severity.String() + ", caution"
	case k.Off != "":
		return k.Severity.String() + ", off"
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

// conditions returns, by code, exactly when each notice is given.
func conditions(root string) (map[string]string, error) {
	raw, err := os.ReadFile(filepath.Join(root, "schema/spec/conditions.json"))
	if err != nil {
		return nil, err
	}
	var when struct{ Rows map[string]string }
	if err := json.Unmarshal(raw, &when); err != nil {
		return nil, err
	}
	for _, k := range pipeline.Kinds() {
		if when.Rows[k.Code] == "" {
			return nil, fmt.Errorf("schema/spec/conditions.json: %s has no condition", k.Code)
		}
	}
	if len(when.Rows) != len(pipeline.Kinds()) {
		return nil, errors.New("schema/spec/conditions.json names a code that there is not")
	}
	return when.Rows, nil
}
