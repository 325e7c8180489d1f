package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	jsonpatch "github.com/evanphx/json-patch/v5"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/schemacheck"
	"github.com/findslip/findslip/pkg/validate"
)

// A fence is an example of SPEC.md: what its first line says it is, and what stands in it.
type fence struct {
	line       int
	info, text string
}

func fences(t *testing.T) []fence {
	t.Helper()
	_, text := spec(t)
	var out []fence
	var open *fence
	for i, line := range strings.Split(text, "\n") {
		info, isFence := strings.CutPrefix(line, "```")
		switch {
		case isFence && open == nil:
			open = &fence{line: i + 1, info: info}
		case isFence:
			out = append(out, *open)
			open = nil
		case open != nil:
			open.text += line + "\n"
		}
	}
	if open != nil {
		t.Fatalf("the fence of line %d does not end", open.line)
	}
	return out
}

// Every example between fences is run. An example that leads to the next one is worked out and
// compared with it: a log or a draft with the report that it becomes, a patch with the report that
// it makes of the one before.
func TestExamplesInSpec(t *testing.T) {
	schemas, err := schemacheck.New()
	if err != nil {
		t.Fatal(err)
	}
	all := fences(t)
	ran := map[string]int{}
	for i, x := range all {
		kind, rest, _ := strings.Cut(x.info, " ")
		ran[x.info]++
		failed := func(format string, args ...any) {
			t.Helper()
			t.Errorf("SPEC.md line %d, %s: "+format, append([]any{x.line, x.info}, args...)...)
		}
		next := func() fence {
			t.Helper()
			if third := kind == "jsonl" || kind == "geojson"; !third && i+1 < len(all) && all[i+1].info == "json report" {
				return all[i+1]
			}
			for j := i - 1; j >= 0; j-- { // a third form of the same report
				if all[j].info == "json report" {
					return all[j]
				}
			}
			t.Fatalf("%s: no report stands beside this", x.info)
			return fence{}
		}
		same := func(got []byte) {
			t.Helper()
			if want := next().text; !jsonpatch.Equal(got, []byte(want)) {
				failed("this becomes\n%s\nand not what follows", got)
			}
		}
		switch {
		case x.info == "json profile":
			if _, list := profile.Parse("SPEC.md", []byte(x.text)); len(list) > 0 {
				failed("%v", list)
			}
		case x.info == "json report", x.info == "json find", x.info == "json notices":
			found, err := schemas.Document([]byte(x.text), rest)
			if err != nil || len(found) > 0 {
				failed("%v %v", err, found)
			}
			if unknown := schemas.UnknownMembers([]byte(x.text), rest); rest != "notices" && len(unknown) > 0 {
				failed("members that there are not: %v", unknown)
			}
			if damaged := i+1 < len(all) && all[i+1].info == "json patch"; rest != "notices" && !damaged {
				for _, n := range checked(t, x.text, rest) {
					failed("%s is said of it: %s", n.Kind.Code, n.Message)
				}
			}
		case x.info == "json": // a report with members that nobody knows yet
			if found, err := schemas.Document([]byte(x.text), "report"); err != nil || len(found) > 0 {
				failed("%v %v", err, found)
			}
			if len(schemas.UnknownMembers([]byte(x.text), "report")) == 0 {
				failed("all members are known: this is a json report")
			}
		case x.info == "json proposals":
			if _, err := repair.ReadProposals(strings.NewReader(x.text), limit.Limits{}); err != nil {
				failed("%v", err)
			}
		case x.info == "json patch":
			patch, err := jsonpatch.DecodePatch([]byte(x.text))
			if err != nil {
				failed("%v", err)
				continue
			}
			got, err := patch.Apply([]byte(all[i-1].text))
			if err != nil {
				failed("%v", err)
				continue
			}
			same(got)
			same(repaired(t, all[:i]))
		case kind == "csv", kind == "jsonl", kind == "geojson":
			format, err := pipeline.ParseFormat(kind)
			if err != nil {
				t.Fatal(err)
			}
			same(converted(t, x.text, format))
		case x.info == "ids":
			for line := range strings.SplitSeq(strings.TrimSpace(x.text), "\n") {
				parts := strings.Fields(line)
				if len(parts) != 4 || find.FindID(parts[0], parts[1]) != parts[3] {
					failed("%q is not the id of that number", line)
				}
			}
		case kind == "readings":
			readings(t, x, rest)
		default:
			failed("this sort of example cannot be run")
		}
	}
	for _, info := range []string{"json report", "json find", "json patch", "ids", "csv", "jsonl", "geojson",
		"readings length", "readings position", "readings dating"} {
		if ran[info] == 0 {
			t.Errorf("SPEC.md has no example %q", info)
		}
	}
}

// checked returns the errors that the rules find in an example, and codes that are on no list.
func checked(t *testing.T, text, kind string) notice.List {
	t.Helper()
	if kind == "find" {
		text = `{"findslip": "1.0", "id": "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "people": [{"id": "person-1"}], ` +
			`"finds": [` + text + `]}`
	}
	r, err := pipeline.Check(context.Background(), "-",
		pipeline.Options{Stdin: strings.NewReader(text), From: pipeline.Findslip, Level: validate.NoLevel})
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(r.Notices, func(n notice.Notice) bool {
		// what a reader would copy
		return n.Kind.Severity != notice.Error && n.Kind.Code != "code-own" && n.Kind.Code != "code-not-listed"
	})
}

// converted reads a file as the specification has it, of the report whose id it uses throughout.
func converted(t *testing.T, text string, from pipeline.Format) []byte {
	t.Helper()
	var out bytes.Buffer
	o := pipeline.Options{Stdin: strings.NewReader(text), From: from, To: pipeline.Findslip, Level: validate.NoLevel,
		ReportID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}
	r, err := pipeline.Convert(context.Background(), "-", &out, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range r.Notices {
		if n.Kind.Group == "conversion" || n.Kind.Spec == "6.1" {
			t.Errorf("%s is said of the example: %s", n.Kind.Code, n.Message)
		}
	}
	return out.Bytes()
}

// repaired applies the proposals of the example before to the report of the example before.
func repaired(t *testing.T, before []fence) []byte {
	t.Helper()
	text := map[string]string{}
	for _, x := range before {
		text[x.info] = x.text
	}
	p, err := repair.ReadProposals(strings.NewReader(text["json proposals"]), limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	r, err := repair.Apply(context.Background(), "-", p, &out,
		pipeline.Options{Stdin: strings.NewReader(text["json report"]), From: pipeline.Findslip, To: pipeline.Findslip})
	if err != nil || r.Applied == 0 {
		t.Fatalf("%v, %v", r, err)
	}
	return out.Bytes()
}

// readings runs the lines of an example: TEXT => {members}, or TEXT => refused: CODE. Of notices the
// codes are compared.
func readings(t *testing.T, x fence, kind string) {
	t.Helper()
	read, err := normalise.Reader(kind, normalise.Options{})
	if err != nil {
		t.Errorf("SPEC.md line %d: %v", x.line, err)
		return
	}
	for i, line := range strings.Split(strings.TrimSpace(x.text), "\n") {
		input, want, ok := strings.Cut(line, " => ")
		if !ok {
			t.Errorf("SPEC.md line %d: %q has no =>", x.line+i+1, line)
			continue
		}
		r := read(input)
		if code, refused := strings.CutPrefix(want, "refused: "); refused {
			if r.Error == nil || r.Error.Code != code {
				t.Errorf("SPEC.md line %d: %q is not refused with %s: %+v", x.line+i+1, input, code, r)
			}
			continue
		}
		raw, err := find.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		var got, expected map[string]any
		if err := json.Unmarshal(raw, &got); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(want), &expected); err != nil {
			t.Errorf("SPEC.md line %d: %v", x.line+i+1, err)
			continue
		}
		delete(got, "input")
		if len(r.Notices) > 0 {
			codes := []any{}
			for _, n := range r.Notices {
				codes = append(codes, n.Code)
			}
			got["notices"] = codes
		}
		if d := cmp.Diff(expected, got); d != "" {
			t.Errorf("SPEC.md line %d, %q: %s", x.line+i+1, input, d)
		}
	}
}

// What section 4 names as a text that is read or refused stands among the readings that are run.
func TestReadingsOfTheTextAreRun(t *testing.T) {
	_, text := spec(t)
	run := map[string]bool{}
	for _, x := range fences(t) {
		if strings.HasPrefix(x.info, "readings ") {
			for line := range strings.SplitSeq(x.text, "\n") {
				input, _, _ := strings.Cut(line, " => ")
				run[input] = true
			}
		}
	}
	section := ""
	for _, title := range []string{"\n## 4 Values\n", "\n## 4 From text to value\n"} {
		_, rest, ok := strings.Cut(text, title)
		if !ok {
			t.Fatalf("%s is missing", title)
		}
		rest, _, _ = strings.Cut(rest, "\n## ")
		section += rest
	}
	section = regexp.MustCompile("(?s)```.*?```").ReplaceAllString(section, "")
	named := 0
	for _, m := range regexp.MustCompile("`([^`\n]+)`").FindAllStringSubmatch(section, -1) {
		if !strings.ContainsAny(m[1], "0123456789") {
			continue
		}
		named++
		if !run[m[1]] {
			t.Errorf("section 4 names `%s`, and no reading of it is run", m[1])
		}
	}
	// Likewise what stands there as a sentence.
	for _, input := range []string{"8 1/2 in", "8 in", "a foot", "20.5 cm", "20 ± 2 cm", "200 BC"} {
		if !strings.Contains(section, input) || !run[input] {
			t.Errorf("%q does not stand in section 4, or is not run", input)
		}
	}
	if named < 6 {
		t.Errorf("only %d texts", named)
	}
}

// Code spans that hold an object of JSON are JSON, where dots stand for what is left out.
func TestInlineJSONInSpec(t *testing.T) {
	_, text := spec(t)
	n := 0
	for _, m := range regexp.MustCompile("`(\\{\"[^`]*\\})`").FindAllStringSubmatch(text, -1) {
		if strings.Contains(m[1], `{"file", "reportId"}`) {
			continue // the members by name; the example beside it is whole
		}
		n++
		whole := strings.NewReplacer("{...}", "{}", "[...]", "[]", ": n}", ": 0}").Replace(m[1])
		if !json.Valid([]byte(whole)) {
			t.Errorf("%s is no JSON", m[1])
		}
	}
	if n < 3 {
		t.Errorf("only %d", n)
	}
}

// Every section reports whether it is normative; the head says what the program implements.
func TestSectionsAreMarked(t *testing.T) {
	_, whole := spec(t)
	lines := strings.Split(whole, "\n")
	n := 0
	for i, line := range lines {
		if !strings.HasPrefix(line, "## ") || i+1 >= len(lines) {
			continue
		}
		n++
		if mark := lines[i+1]; !regexp.MustCompile(`^\*(Normative|Informative)\b.*\.\*$`).MatchString(mark) {
			t.Errorf("%q is not marked *Normative.* or *Informative.* on the next line", line)
		}
	}
	if n < 15 {
		t.Errorf("only %d sections", n)
	}
	head, _, _ := strings.Cut(whole, "\n## ")
	for _, want := range []string{"| Version | " + find.Version + " |", "| Date | ", "| Status | ",
		"| Licence | CC0 1.0"} {
		if !strings.Contains(head, want) {
			t.Errorf("the head lacks %q", want)
		}
	}
}

// What the part on profiles says to write for what stands on paper is what the vectors hold, letter for letter.
func TestFromPaperToAProfile(t *testing.T) {
	part, err := os.ReadFile("../../examples/profiles/from-paper.md")
	if err != nil {
		t.Fatal(err)
	}
	vectors, err := os.ReadFile("../../testdata/suite/required/profiles.json")
	if err != nil {
		t.Fatal(err)
	}
	rows := regexp.MustCompile("(?m)^\\| .* \\| `(.*)` \\|$").FindAllStringSubmatch(string(part), -1)
	for _, row := range rows {
		if !bytes.Contains(vectors, []byte(row[1])) {
			t.Errorf("no vector holds %s", row[1])
		}
	}
	if len(rows) < 35 {
		t.Errorf("%d rows", len(rows))
	}
}
