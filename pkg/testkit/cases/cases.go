// Package cases reads the reports below testdata/codes for tests and tools: a file a code of a notice,
// with reports that draw it and reports that come near.
//
// This package is unstable: it may change between any two versions.
package cases

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	jsonpatch "github.com/evanphx/json-patch/v5"
)

// Folder is where the files lie in a project.
const Folder = "testdata/codes"

// A Code is one file.
type Code struct {
	Code  string `json:"code"`
	Draws []Case `json:"draws"` // reports that draw the notice
	Near  []Case `json:"near"`  // reports that come close and do not
	// Edges are reports with one difference to one of these. Read puts each of them into the list where it belongs.
	Edges []Edge `json:"edges"`
}

// An Edge is a case with one difference: a condition left out, the other side of a border, a word more.
type Edge struct {
	Of      string          `json:"of"` // draws or near, and the name of the case: draws/one-blank
	Words   string          `json:"words"`
	Change  json.RawMessage `json:"change"`  // a JSON Patch (RFC 6902) of add, remove and replace
	Notices []Notice        `json:"notices"` // all that is said then
}

// A Case is one report, the settings it is checked with, and everything that is reported about it.
type Case struct {
	Name        string            `json:"name"` // unique in its list
	Description string            `json:"description"`
	AsOf        string            `json:"asOf"`
	Level       string            `json:"level"`
	Notices     []Notice          `json:"notices"`
	Protected   []json.RawMessage `json:"protected"` // geometries of protected areas that the user has supplied
	Pictures    map[string]string `json:"pictures"`  // name that the report gives, to the file below Folder
	Report      json.RawMessage   `json:"report"`

	Of     string          `json:"-"` // of an edge: the pointer of its case in the file
	Change json.RawMessage `json:"-"`
}

// A Notice is a code and the JSON Pointer where it is reported.
type Notice struct {
	Code    string `json:"code"`
	Pointer string `json:"pointer"`
}

// Read reads every code of a project, in the order of names.
func Read(project fs.FS) ([]Code, error) {
	names, err := fs.Glob(project, Folder+"/*.json")
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("%s holds no codes", Folder)
	}
	var all []Code
	for _, name := range names {
		raw, err := fs.ReadFile(project, name)
		if err != nil {
			return nil, err
		}
		var c Code
		dec := json.NewDecoder(bytes.NewReader(raw))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&c); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if err := c.check(name); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if err := c.unfold(); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		all = append(all, c)
	}
	return all, nil
}

func (c *Code) check(name string) error {
	if want := Folder + "/" + c.Code + ".json"; name != want {
		return fmt.Errorf("the code is %q", c.Code)
	}
	for _, list := range [][]Case{c.Draws, c.Near} {
		seen := map[string]bool{}
		for _, one := range list {
			if one.Name == "" || seen[one.Name] || one.Description == "" || len(one.Report) == 0 {
				return fmt.Errorf("case %q: a case has a name of its own, a description and a report", one.Name)
			}
			seen[one.Name] = true
		}
	}
	return nil
}

// unfold makes cases of the edges.
func (c *Code) unfold() error {
	lists := map[string][]Case{"draws": c.Draws, "near": c.Near}
	for _, e := range c.Edges {
		list, name, _ := strings.Cut(e.Of, "/")
		i := slices.IndexFunc(lists[list], func(one Case) bool { return one.Name == name })
		if i < 0 {
			return fmt.Errorf("edge %q: there is no case %s", e.Words, e.Of)
		}
		one := lists[list][i]
		one.Description += " Here: " + e.Words + "."
		one.Name += "--" + strings.Trim(notInNames.ReplaceAllString(strings.ToLower(e.Words), "-"), "-")
		one.Of, one.Change, one.Notices = fmt.Sprintf("/%s/%d/report", list, i), e.Change, e.Notices
		var err error
		if one.Report, err = Apply(one.Report, e.Change); err != nil {
			return fmt.Errorf("edge %q: %w", e.Words, err)
		}
		if slices.ContainsFunc(e.Notices, func(n Notice) bool { return n.Code == c.Code }) {
			c.Draws = append(c.Draws, one)
		} else {
			c.Near = append(c.Near, one)
		}
	}
	c.Edges = nil
	return nil
}

var notInNames = regexp.MustCompile(`[^a-z0-9]+`)

// Reports returns the report of every case and of every file in testdata/valid.
func Reports(project fs.FS) ([]json.RawMessage, error) {
	all, err := Read(project)
	if err != nil {
		return nil, err
	}
	var out []json.RawMessage
	names, err := fs.Glob(project, "testdata/valid/*.json")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		raw, err := fs.ReadFile(project, name)
		if err != nil {
			return nil, err
		}
		out = append(out, raw)
	}
	for _, c := range all {
		for _, list := range [][]Case{c.Draws, c.Near} {
			for _, one := range list {
				out = append(out, one.Report)
			}
		}
	}
	return out, nil
}

// Folder returns the pictures of a case under the names that its report gives; nil if it has none.
func (c Case) Folder(project fs.FS) (fs.FS, error) {
	if len(c.Pictures) == 0 {
		return nil, nil
	}
	folder := fstest.MapFS{}
	for name, file := range c.Pictures {
		raw, err := fs.ReadFile(project, Folder+"/"+file)
		if err != nil {
			return nil, err
		}
		folder[name] = &fstest.MapFile{Data: raw, Mode: 0o644}
	}
	return folder, nil
}

// Reference reads a table of testdata/reference, for a test of a package below pkg: each row by the names of its
// columns.
func Reference(t testing.TB, name string) []map[string]string {
	t.Helper()
	r, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	lines, err := csv.NewReader(r).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) < 2 {
		t.Fatalf("%s has no rows", name)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, cell := range line {
			row[lines[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

// Vectors reads a file of testdata/vectors, for a test of a package below pkg.
func Vectors[T any](t testing.TB, name string) []T {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var out []T
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

// Table reads a table of testdata/tables.json, beside the package under test: what one test puts side by side, under
// the name of the test.
func Table[T any](t testing.TB, name string) (table T) {
	t.Helper()
	raw, err := os.ReadFile("testdata/tables.json")
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]json.RawMessage
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	strict := json.NewDecoder(bytes.NewReader(all[name]))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&table); err != nil {
		t.Fatalf("table %s: %v", name, err)
	}
	return table
}

// Seeds returns what a fuzz target begins with: all, or every sixteenth where it really fuzzes (-fuzz), for it runs
// each of them before it makes any of its own, and go test alone has run them all.
func Seeds[T any](all []T) []T {
	if f := flag.Lookup("test.fuzz"); f == nil || f.Value.String() == "" {
		return all
	}
	var some []T
	for i := 0; i < len(all); i += 16 {
		some = append(some, all[i])
	}
	return some
}

// Apply returns a document with a JSON Patch (RFC 6902) applied.
func Apply(document, change []byte) ([]byte, error) {
	patch, err := jsonpatch.DecodePatch(change)
	if err != nil {
		return nil, err
	}
	o := jsonpatch.NewApplyOptions()
	o.EscapeHTML = false
	return patch.ApplyWithOptions(document, o)
}
