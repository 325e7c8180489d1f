package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
)

// Parts of the conformance suite are made of vectors that have their home elsewhere: readings in
// testdata/vectors, whole reports in testdata/valid and testdata/codes. Their files are named
// from-*.json; the others in testdata/suite are written by hand.

// A generator makes these parts.
type generator struct {
	root  string
	kinds map[string]*notice.Kind
	serve map[string][]string // code of a notice to the requirements that name it
	files map[string][]*suite.Vector
}

func suites(root string, put func(string, []byte) error) error {
	text, err := specification(root)
	if err != nil {
		return err
	}
	g := &generator{root: root, kinds: map[string]*notice.Kind{}, serve: map[string][]string{},
		files: map[string][]*suite.Vector{}}
	for _, k := range pipeline.Kinds() {
		g.kinds[k.Code] = k
	}
	for _, r := range requirementsOf(text) {
		for _, m := range regexp.MustCompile("`([a-z0-9]+(?:-[a-z0-9]+)+)`").FindAllStringSubmatch(r.text, -1) {
			if g.kinds[m[1]] != nil && !slices.Contains(g.serve[m[1]], r.id) {
				g.serve[m[1]] = append(g.serve[m[1]], r.id)
			}
		}
	}
	for _, step := range []func() error{g.readings, g.reports, g.valid} {
		if err := step(); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(g.files)) {
		content, err := lines(g.files[name])
		if err != nil {
			return err
		}
		if err := put("testdata/suite/"+name, content); err != nil {
			return err
		}
	}
	return nil
}

// lines writes vectors as a list, one a line.
func lines(list []*suite.Vector) ([]byte, error) {
	rows := make([]string, len(list))
	for i, v := range list {
		var b bytes.Buffer
		enc := json.NewEncoder(&b)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(v); err != nil {
			return nil, err
		}
		rows[i] = "  " + strings.TrimSpace(b.String())
	}
	return []byte("[\n" + strings.Join(rows, ",\n") + "\n]\n"), nil
}

// A requirement is one numbered sentence of SPEC.md.
type requirement struct{ id, text string }

// requirementsOf finds the requirements in the text of the specification, in the order of their numbers.
func requirementsOf(text string) []requirement {
	var list []requirement
	at := regexp.MustCompile(`(?m)^- \*\*([\d.]+-\d+)\*\* `).FindAllStringSubmatchIndex(text, -1)
	for _, m := range at {
		body := text[m[1]:]
		if end := regexp.MustCompile(`\n(- |\n)`).FindStringIndex(body); end != nil {
			body = body[:end[0]]
		}
		list = append(list, requirement{text[m[2]:m[3]], strings.Join(strings.Fields(body), " ")})
	}
	slices.SortStableFunc(list, bySection)
	return list
}

func (g *generator) add(file string, v *suite.Vector) {
	slices.Sort(v.Requirements)
	v.Requirements = slices.Compact(v.Requirements)
	g.files[file] = append(g.files[file], v)
}

// opaque makes an id that says nothing and stays with its home.
func opaque(home string) string {
	sum := sha256.Sum256([]byte(home))
	return "v-" + hex.EncodeToString(sum[:5])
}

// A reading is one line of testdata/vectors.
type reading struct {
	ID, Kind, Input, Why, Source                       string
	Default, Order, System, Language, Today            string
	Serial                                             any
	Pivot                                              int
	Namespace, Name, Report, Number, Date, Place, File string
	Ordinal                                            int
	Stated                                             bool // the language is stated, and not only that of the words
	Expect                                             map[string]any
}

// refusals are the codes of notices for finer codes of the value packages.
var refusals = map[string]string{"negative": "quantity-negative", "mojibake": "text-damaged",
	"year-two-digits": "date-two-digits"}

func (g *generator) readings() error {
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position", "material", "identity"} {
		raw, err := os.ReadFile(filepath.Join(g.root, "testdata", "vectors", name+".json"))
		if err != nil {
			return err
		}
		var list []reading
		dec := json.NewDecoder(bytes.NewReader(raw))
		dec.UseNumber()
		if err := dec.Decode(&list); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		for _, r := range list {
			v, err := g.reading(r)
			if err != nil {
				return fmt.Errorf("%s: %w", r.ID, err)
			}
			if v != nil {
				g.add("required/from-"+name+".json", v)
			}
		}
	}
	return nil
}

func (g *generator) reading(r reading) (*suite.Vector, error) {
	switch r.Kind {
	case "uuid5": // an example of RFC 9562, not of this format
		return nil, nil
	case "numbered", "unnumbered", "file-name":
		return g.identity(r)
	}
	v := &suite.Vector{ID: r.ID, Target: "normaliser", Class: r.Kind, Outcome: "pass", Operation: "read", Why: r.Why,
		Source: r.Source, Languages: r.languages(),
		Options: suite.Options{"kind": r.Kind}, Input: &suite.Content{Text: &r.Input}}
	if !r.Stated {
		r.Language = ""
	}
	for name, value := range map[string]string{"unit": r.Default, "dateOrder": r.Order, "system": r.System,
		"language": r.Language, "asOf": r.Today} {
		if value != "" {
			v.Options[name] = value
		}
	}
	if r.Pivot != 0 {
		v.Options["pivot"] = r.Pivot
	}
	if serial := fmt.Sprint(r.Serial); r.Serial != nil && serial != "" && serial != "0" {
		v.Options["serial"] = serial
	}
	if code, ok := r.Expect["error"].(string); ok {
		v.Outcome, v.Expect.Refused = "fail", true
		if to := refusals[code]; to != "" {
			code = to
		}
		if g.kinds[code] != nil {
			v.Expect.Code = code
		}
		v.Requirements = slices.Concat(g.serve[v.Expect.Code], fallback(r))
		if code == "language-ambiguous" {
			v.Requirements = append(v.Requirements, "14-1")
		}
		return v, nil
	}
	want := maps.Clone(r.Expect)
	if label, ok := want["period"].(string); ok {
		want["period"] = map[string]any{"label": label}
	}
	if n, ok := want["tolerance_m"].(json.Number); ok {
		metres, err := n.Float64()
		if err != nil {
			return nil, err
		}
		v.Expect.Within = max(metres, 0.02) // coordinates are rounded to seven decimals
		delete(want, "tolerance_m")
	}
	var err error
	v.Expect.Value, err = json.Marshal(want)
	v.Requirements = served(r)
	if r.Stated && r.Language != "" {
		v.Requirements = append(v.Requirements, "14-1")
	}
	return v, err
}

// languages are those whose words the text has.
func (r *reading) languages() []string {
	if r.Language == "" || r.Language == "mul" {
		return nil
	}
	return []string{r.Language}
}

// fallback are the requirements that a refusal serves.
func fallback(r reading) []string {
	switch r.Kind {
	case "length", "weight", "count":
		return []string{"4.1-1"}
	case "date":
		if r.Expect["error"] == "serial-impossible" || r.Expect["error"] == "serial-not-expected" {
			return []string{"4.3-5"}
		}
		return []string{"4.3-4"}
	case "dating":
		if r.Expect["error"] == "dating-ambiguous" {
			return []string{"4.4-1"}
		}
		return []string{"4.4-3"}
	case "position":
		switch r.Expect["error"] {
		case "system-missing", "system-unknown", "axis-swapped":
			return []string{"4.2-5", "4.2-8"}
		case "latitude-range", "longitude-range":
			return []string{"4.2-1", "4.2-8"}
		case "grid-digits-odd", "grid-digits-many", "grid-digits-missing", "grid-digits-uneven", "grid-letters",
			"grid-outside":
			return []string{"4.2-3", "4.2-8"}
		}
		return []string{"4.2-8"}
	}
	return []string{"4.5-1"}
}

// served are the requirements that a reading serves.
func served(r reading) []string {
	has := func(name string) bool { return r.Expect[name] != nil }
	if has("absent") {
		return []string{"3.5-4"}
	}
	switch r.Kind {
	case "length", "weight", "count":
		list := []string{"4.1-1"}
		if has("said") {
			list = append(list, "4.1-3")
		}
		if has("resolution") {
			list = append(list, "4.1-4")
		}
		if has("min") != has("max") {
			list = append(list, "4.1-5")
		}
		if has("approximate") || has("best") {
			list = append(list, "4.1-6")
		}
		if r.Default != "" {
			list = append(list, "4.1-7")
		}
		if strings.ContainsAny(r.Input, "/½¼¾⅛⅓") || r.Expect["said"] == "oz" {
			list = append(list, "4.1-8")
		}
		return list
	case "date":
		switch {
		case r.Serial != nil:
			return []string{"4.3-5"}
		case r.Pivot != 0:
			return []string{"4.3-2"}
		case r.Order != "":
			return []string{"4.3-1"}
		case has("time"):
			return []string{"4.3-3"}
		}
		return []string{"4.3-4"}
	case "dating":
		if has("period") {
			return []string{"4.4-2"}
		}
		return []string{"4.4-1", "4.4-3"}
	case "position":
		list := []string{"4.2-1", "4.2-2"}
		if r.Expect["uncertaintyBasis"] == "square" {
			list = append(list, "4.2-3")
		}
		if r.System != "" {
			list = append(list, "4.2-5")
		}
		return list
	}
	return []string{"4.5-1"}
}

// identity has a table converted, so that the ids can be seen from outside.
func (g *generator) identity(r reading) (*suite.Vector, error) {
	v := &suite.Vector{ID: r.ID, Target: "converter", Class: "identity", Outcome: "pass", Operation: "convert", Why: r.Why,
		Source:  r.Source,
		Options: suite.Options{"from": "csv", "to": "findslip"}}
	pointer, want := "/finds/0/id", r.Expect["find"]
	table := ""
	quote := func(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }
	switch r.Kind {
	case "numbered":
		v.Requirements = []string{"3.6-2"}
		v.Options["reportId"] = r.Report
		table = "number,name\n" + quote(r.Number) + ",button\n"
		if r.Place != "" { // another field had it first
			pointer = "/finds/1/id"
			table = "number,name,field\n" + quote(r.Number) + ",button,First Field\n" + quote(r.Number) + ",bell," +
				quote(r.Place) + "\n"
		}
	case "unnumbered":
		if r.Name+r.Date+r.Place == "" {
			return nil, nil // an empty row is no find
		}
		v.Requirements = []string{"3.6-3"}
		v.Expect.Says = []string{"number-missing"}
		v.Options["reportId"] = r.Report
		pointer = fmt.Sprintf("/finds/%d/id", r.Ordinal-1)
		table = "name,found.date,place\n" + strings.Repeat(quote(r.Name)+","+quote(r.Date)+","+quote(r.Place)+"\n", r.Ordinal)
	default:
		if strings.HasPrefix(r.File, ".") {
			return nil, nil // a name without an ending, and a table has one
		}
		v.Requirements = []string{"3.6-5"}
		v.Options["name"] = strings.TrimSuffix(r.File, path.Ext(r.File)) + ".csv"
		pointer, want = "/id", r.Expect["report"]
		table = "number,name\n1,button\n"
	}
	id, err := json.Marshal(want)
	v.Input = &suite.Content{Text: &table}
	v.Expect.Members = map[string]json.RawMessage{pointer: id}
	return v, err
}

// A gap says why a requirement has no vector of one outcome, or of either.
type gap struct {
	Requirement string `json:"requirement"`
	Lacks       string `json:"lacks"` // pass, fail or both
	Reason      string `json:"reason"`
}

// An index is what serves each requirement: codes of notices, and vectors that meet it or tempt to
// break it.
type index struct {
	requirements []requirement
	pass, fail   map[string][]string // ids of vectors
	gaps         map[string]gap
}

// newIndex counts the vectors of the suite for the requirements of a text.
func newIndex(root, text string) (*index, error) {
	x := &index{requirements: requirementsOf(text), pass: map[string][]string{}, fail: map[string][]string{},
		gaps: map[string]gap{}}
	all, err := suite.Load(os.DirFS(root))
	if err != nil {
		return nil, err
	}
	for _, v := range all {
		for _, r := range v.Requirements {
			if v.Outcome == "pass" {
				x.pass[r] = append(x.pass[r], v.ID)
			} else {
				x.fail[r] = append(x.fail[r], v.ID)
			}
		}
	}
	raw, err := os.ReadFile(filepath.Join(root, "testdata", "suite", "gaps.json"))
	if err != nil {
		return nil, err
	}
	var list []gap
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, fmt.Errorf("gaps.json: %w", err)
	}
	for _, g := range list {
		x.gaps[g.Requirement] = g
	}
	return x, nil
}

// faults lists requirements without a vector and without a reason, reasons that are not needed, and
// vectors and reasons of requirements that there are not.
func (x *index) faults() []string {
	var wrong []string
	known := map[string]bool{}
	for _, r := range x.requirements {
		known[r.id] = true
		lacks := ""
		switch pass, fail := len(x.pass[r.id]) > 0, len(x.fail[r.id]) > 0; {
		case !pass && !fail:
			lacks = "both"
		case !pass:
			lacks = "pass"
		case !fail:
			lacks = "fail"
		}
		if lacks != "" && !strings.Contains(r.text, "MUST") {
			continue // what one should or may do needs no vector
		}
		if g := x.gaps[r.id]; g.Lacks != lacks {
			wrong = append(wrong, fmt.Sprintf("%s lacks %q, and gaps.json says %q", r.id, lacks, g.Lacks))
		} else if lacks != "" && g.Reason == "" {
			wrong = append(wrong, r.id+" has no reason in gaps.json")
		}
	}
	for _, counts := range []map[string][]string{x.pass, x.fail} {
		for id := range counts {
			if !known[id] {
				wrong = append(wrong, id+" is no requirement, and a vector serves it")
			}
		}
	}
	for id := range x.gaps {
		if !known[id] {
			wrong = append(wrong, id+" is no requirement, and gaps.json names it")
		}
	}
	slices.Sort(wrong)
	return slices.Compact(wrong)
}

// codes are the codes of notices that a requirement names, in its order.
func (r requirement) codes() []string {
	known := map[string]bool{}
	for _, k := range pipeline.Kinds() {
		known[k.Code] = true
	}
	named := []string{}
	for _, m := range regexp.MustCompile("`([a-z0-9]+(?:-[a-z0-9]+)+)`").FindAllStringSubmatch(r.text, -1) {
		if known[m[1]] && !slices.Contains(named, m[1]) {
			named = append(named, m[1])
		}
	}
	return named
}

// annex writes the index of requirements for people.
func (x *index) annex(b *bytes.Buffer) {
	b.WriteString("| requirement | notices | vectors that meet it | vectors that tempt to break it | remark |\n" +
		"|---|---|---|---|---|\n")
	for _, r := range x.requirements {
		var named []string
		for _, code := range r.codes() {
			named = append(named, "`"+code+"`")
		}
		fmt.Fprintf(b, "| %s | %s | %d | %d | %s |\n", r.id, strings.Join(named, ", "), len(x.pass[r.id]), len(x.fail[r.id]),
			cell(x.gaps[r.id].Reason))
	}
}

// file writes the index of requirements for programs, a requirement a line.
func (x *index) file() ([]byte, error) {
	rows := make([]string, len(x.requirements))
	for i, r := range x.requirements {
		text, err := json.Marshal(struct {
			Requirement string   `json:"requirement"`
			Codes       []string `json:"codes"`
			Pass        []string `json:"pass"`
			Fail        []string `json:"fail"`
			Reason      string   `json:"reason,omitempty"`
		}{r.id, r.codes(), append([]string{}, x.pass[r.id]...), append([]string{}, x.fail[r.id]...), x.gaps[r.id].Reason})
		if err != nil {
			return nil, err
		}
		rows[i] = "  " + string(text)
	}
	return []byte("[\n" + strings.Join(rows, ",\n") + "\n]\n"), nil
}
