// Package release compares two versions of what is published - schemas, code lists, codes of notices,
// the JSON-LD context, vectors - and reports of every change whether it is breaking, compatible or
// documentation. SPEC.md section 10 has the table.
//
// Each version is laid out as facts: at a place (find/depth/min), under an aspect (maximum), stands a
// value. Two versions are then compared fact by fact.
package release

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/schema"
)

// Names of files that are not a schema or a code list.
const (
	rulesFile   = "rules.json"     // the notices
	contextFile = "context.jsonld" // the JSON-LD context
	vectorsFile = "vectors.json"   // the vectors of the conformance suite
	schemaEnd   = ".schema.json"   // NAME.schema.json
	listFolder  = "vocabulary/"    // vocabulary/NAME.json
)

// Files are the files of a version by name.
type Files map[string][]byte

// Read reads the files of a version that was kept in a folder.
func Read(folder fs.FS) (Files, error) {
	files := Files{}
	for _, pattern := range []string{"*" + schemaEnd, listFolder + "*.json", rulesFile, contextFile, vectorsFile} {
		names, err := fs.Glob(folder, pattern)
		if err != nil {
			return nil, err
		}
		if len(names) == 0 {
			return nil, fmt.Errorf("a version has %s", pattern)
		}
		for _, name := range names {
			if files[name], err = fs.ReadFile(folder, name); err != nil {
				return nil, err
			}
		}
	}
	return files, nil
}

// Published returns the files of the version that this program was built with, and of a project the
// ids of its vectors.
func Published(project fs.FS) (Files, error) {
	files := Files{contextFile: schema.Context()}
	for _, name := range schema.Names() {
		text, ok := schema.Text(name)
		if !ok {
			return nil, fmt.Errorf("no schema %s", name)
		}
		files[name+schemaEnd] = text
	}
	names, err := fs.Glob(schema.Vocabulary, listFolder+"*.json")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if files[name], err = fs.ReadFile(schema.Vocabulary, name); err != nil {
			return nil, err
		}
	}
	var rules []any
	for _, k := range pipeline.Kinds() {
		rules = append(rules, rule{Code: k.Code, Severity: k.Severity.String(), Caution: k.Caution, Spec: k.Spec,
			Title: k.Title})
	}
	if files[rulesFile], err = rows(rules); err != nil {
		return nil, err
	}
	all, err := suite.Load(project)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(all, func(a, b *suite.Vector) int { return strings.Compare(a.ID, b.ID) })
	var vectors []any
	for _, v := range all {
		vectors = append(vectors, vector{v.ID, v.Folder, v.Operation, v.Outcome, v.Requirements})
	}
	files[vectorsFile], err = rows(vectors)
	return files, err
}

// rows writes a list with an item a line.
func rows(list []any) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("[")
	for i, item := range list {
		var row bytes.Buffer
		enc := json.NewEncoder(&row)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(item); err != nil {
			return nil, err
		}
		if i > 0 {
			b.WriteString(",")
		}
		b.WriteString("\n  " + strings.TrimSpace(row.String()))
	}
	b.WriteString("\n]\n")
	return b.Bytes(), nil
}

// Keep puts a version into a new folder. A kept version is never written over.
func (f Files) Keep(folder string) error {
	if _, err := os.Lstat(folder); err == nil {
		return fmt.Errorf("%s is there already; a version that was kept is never written over", folder)
	}
	for _, name := range slices.Sorted(maps.Keys(f)) {
		to := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, f[name], 0o644); err != nil {
			return err
		}
	}
	return nil
}

// memberOrder returns the names of the members of every object in a JSON text, in their order, by the JSON
// Pointer of the object: in the schemas the order is that of canonical JSON.
func memberOrder(text []byte) (map[string][]string, error) {
	out := map[string][]string{}
	dec := json.NewDecoder(bytes.NewReader(text))
	if err := orderOf(dec, "", out); err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, fmt.Errorf("there is more than one JSON value")
	}
	return out, nil
}

func orderOf(dec *json.Decoder, at string, out map[string][]string) error {
	token, err := dec.Token()
	if err != nil {
		return err
	}
	delim, ok := token.(json.Delim)
	if !ok {
		return nil
	}
	for i := 0; dec.More(); i++ {
		name := fmt.Sprint(i)
		if delim == '{' {
			token, err := dec.Token()
			if err != nil {
				return err
			}
			name = fmt.Sprint(token)
			out[at] = append(out[at], name)
		}
		if err := orderOf(dec, at+"/"+name, out); err != nil {
			return err
		}
	}
	_, err = dec.Token()
	return err
}

// A Verdict is what a change means to those who hold documents or programs of the older version.
type Verdict uint8

// The verdicts, gravest first.
const (
	// Breaking: a document of the older version may be refused or read as something else, or a
	// program of the older version may refuse a document of the newer one. Only a major version may.
	Breaking Verdict = iota + 1
	// Compatible: something new that both may pass over. A minor version may.
	Compatible
	// Documentation: words for people. A patch may.
	Documentation
)

// String returns the word for the verdict.
func (v Verdict) String() string {
	return [...]string{"", "breaking", "compatible", "documentation"}[v]
}

// Step returns the part of a version number that the verdict moves.
func (v Verdict) Step() string { return [...]string{"none", "major", "minor", "patch"}[v] }

// MarshalText writes the word of the verdict.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// A Change is one difference between two versions.
type Change struct {
	Verdict Verdict `json:"verdict"`
	Where   string  `json:"where"` // such as find/depth/min, list material brass, rule number-missing
	What    string  `json:"what"`
}

// Changes are differences, gravest first.
type Changes []Change

// Worst returns the gravest verdict among the changes, 0 if there are none.
func (c Changes) Worst() Verdict {
	if len(c) == 0 {
		return 0
	}
	return c[0].Verdict
}

// Write prints the changes, one a line, and what they amount to.
func (c Changes) Write(w io.Writer) error {
	count := map[Verdict]int{}
	for _, one := range c {
		count[one.Verdict]++
		if _, err := fmt.Fprintf(w, "%-13s  %s: %s\n", one.Verdict, one.Where, one.What); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w, "%d breaking, %d compatible, %d of documentation; the least step of the version: %s\n",
		count[Breaking], count[Compatible], count[Documentation], c.Worst().Step())
	return err
}

// Compare returns what changed from one version to the next. Files that neither has are not compared.
func Compare(old, now Files) (Changes, error) {
	was, err := layOut(old)
	if err != nil {
		return nil, fmt.Errorf("the older version: %w", err)
	}
	is, err := layOut(now)
	if err != nil {
		return nil, fmt.Errorf("the newer version: %w", err)
	}
	c := comparer{was, is}
	var found Changes
	for k := range was {
		found = c.compare(found, k)
	}
	for k := range is {
		if _, both := was[k]; !both {
			found = c.compare(found, k)
		}
	}
	slices.SortFunc(found, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.Verdict, b.Verdict), cmp.Compare(a.Where, b.Where), cmp.Compare(a.What, b.What))
	})
	return found, nil
}

type comparer struct{ old, now facts }

// compare adds what changed in one fact.
func (c comparer) compare(found Changes, k key) Changes {
	was, had := c.old[k]
	is, has := c.now[k]
	if had && has && was.value == is.value || k.aspect != there && c.within(k) {
		return found
	}
	if k.aspect == there && (c.missing(c.old, parent(k.where)) || c.missing(c.now, parent(k.where))) {
		return found // what it stands in came or went, and that is reported
	}
	verdict, what := c.verdict(k, was, had, is, has)
	trial := (!had || was.trial) && (!has || is.trial)
	if verdict == Breaking && trial && k.aspect != "x-trial" {
		verdict, what = Compatible, "on trial: "+what
	}
	if verdict == 0 {
		return found
	}
	return append(found, Change{verdict, k.where, what})
}

// within reports whether a fact is of something that only one of the versions has: that is one change.
func (c comparer) within(k key) bool {
	for where := k.where; where != ""; where = parent(where) {
		if c.missing(c.old, where) || c.missing(c.now, where) {
			return true
		}
	}
	return false
}

// missing reports whether only the other version has something at a place.
func (c comparer) missing(f facts, where string) bool {
	_, inOld := c.old[key{where, there}]
	_, inNow := c.now[key{where, there}]
	_, in := f[key{where, there}]
	return (inOld || inNow) && !in
}

func parent(where string) string {
	if i := strings.LastIndexAny(where, "/# "); i >= 0 {
		return where[:i]
	}
	return ""
}

// gravity ranks severities, the gravest first.
var gravity = map[string]int{"error": 1, "warning": 2, "info": 3}

// verdict is the table of SPEC.md section 10 for one fact that differs.
func (c comparer) verdict(k key, was fact, had bool, is fact, has bool) (Verdict, string) {
	kind, _, _ := strings.Cut(k.where, " ")
	switch {
	case k.aspect == there && had:
		if kind == "vector" {
			return Compatible, "is not asked any more"
		}
		return Breaking, "is gone"
	case k.aspect == there:
		if list := parent(k.where); kind == "list" && list != "list" && c.old[key{list, "open"}].value == "false" {
			return Breaking, "a new code in a closed list, which older programs refuse"
		}
		return Compatible, "is new"
	case strings.HasPrefix(k.aspect, words):
		return Documentation, "another " + strings.TrimPrefix(k.aspect, words)
	case strings.HasPrefix(k.aspect, word):
		return c.readAs(k, was.value, had, is.value, has)
	case k.aspect == order:
		return reordered(was.value, is.value)
	case k.aspect == "severity":
		return either(gravity[is.value] > gravity[was.value], Compatible, Breaking),
			fmt.Sprintf("was %s, is %s", was.value, is.value)
	case k.aspect == "folder" && kind == "vector":
		return either(is.value == "required", Breaking, Compatible), fmt.Sprintf("was %s, is %s", was.value, is.value)
	case k.aspect == "caution":
		return either(!has, Breaking, Compatible), "another caution"
	case k.aspect == "x-trial":
		return either(has && is.value == "true", Breaking, Compatible), "is put on trial, or is no longer on trial"
	case k.aspect == "x-private":
		return either(has && is.value == "true", Compatible, Breaking), "is private now, or no longer"
	case kind == "list" && k.aspect != "open":
		return Compatible, "another " + k.aspect
	}
	return Breaking, k.aspect + " " + shown(was.value, had, "is new") + shown(is.value, has, "is gone")
}

// readAs compares the code that a word of a list is read as.
func (c comparer) readAs(k key, was string, had bool, is string, has bool) (Verdict, string) {
	text := strings.TrimPrefix(k.aspect, word)
	_, stays := c.now[key{k.where + " " + was, there}]
	_, known := c.old[key{k.where + " " + is, there}]
	switch {
	case had && has && stays:
		return Breaking, fmt.Sprintf("the words %q stand for %s now, not for %s", text, is, was)
	case had && !has && stays:
		return Compatible, fmt.Sprintf("%s is no longer read from the words %q", was, text)
	case has && !had && known:
		return Compatible, fmt.Sprintf("%s is read from the words %q too", is, text)
	}
	return 0, "" // the code came or went, and that is said
}

// reordered compares the order of the members that both versions have.
func reordered(was, is string) (Verdict, string) {
	var a, b []string
	if json.Unmarshal([]byte(was), &a) != nil || json.Unmarshal([]byte(is), &b) != nil {
		return 0, ""
	}
	kept := func(from, other []string) []string {
		return slices.DeleteFunc(slices.Clone(from), func(name string) bool { return !slices.Contains(other, name) })
	}
	if slices.Equal(kept(a, b), kept(b, a)) {
		return 0, ""
	}
	return Breaking, "the members stand in another order, which is that of canonical JSON"
}

func either(first bool, a, b Verdict) Verdict {
	if first {
		return a
	}
	return b
}

// shown shows a value in a message.
func shown(value string, there bool, missing string) string {
	if !there {
		return "(" + missing + ")"
	}
	if text := []rune(value); len(text) > 60 {
		value = string(text[:57]) + "..."
	}
	if value == "" {
		return ""
	}
	return "[" + value + "]"
}
