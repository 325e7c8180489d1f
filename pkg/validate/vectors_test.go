package validate

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// A vector is one file under testdata/invalid or testdata/near, for any implementation to run.
// Notices lists all that is said about the report, information included; a near miss lists
// nothing unless something else must be said.
type vector struct {
	Description string          `json:"description"`
	AsOf        string          `json:"asOf"`
	Level       string          `json:"level"`
	Notices     []vectorNotice  `json:"notices"`
	Protected   []*find.Area    `json:"protected"` // protected areas that the user has supplied
	Report      json.RawMessage `json:"report"`

	pictures string // folder of the pictures that the report names, if there is one
}

type vectorNotice struct {
	Code    string `json:"code"`
	Pointer string `json:"pointer"`
}

const vectorRoot = "../../testdata"

// TestVectors walks the catalogue: each rule has a report that draws its code and nothing else,
// and a near miss that does not draw it.
func TestVectors(t *testing.T) {
	known := map[string]bool{LevelIncomplete.Code: true}
	elsewhere := map[string]bool{} // the vectors of the schema have a test of their own
	for _, k := range SchemaKinds() {
		elsewhere[k.Code] = true
	}
	for _, r := range Catalogue() {
		known[r.Code] = true
		for _, dir := range []string{"invalid", "near"} {
			files, err := filepath.Glob(filepath.Join(vectorRoot, dir, r.Code, "*.json"))
			if err != nil || len(files) == 0 {
				t.Errorf("rule %s has no vector under testdata/%s", r.Code, dir)
			}
		}
	}
	for _, dir := range []string{"invalid", "near"} {
		codes, err := os.ReadDir(filepath.Join(vectorRoot, dir))
		if err != nil {
			t.Fatal(err)
		}
		for _, code := range codes {
			if !code.IsDir() || elsewhere[code.Name()] {
				continue
			}
			if !known[code.Name()] {
				t.Errorf("testdata/%s/%s stands for no rule", dir, code.Name())
			}
			files, err := filepath.Glob(filepath.Join(vectorRoot, dir, code.Name(), "*.json"))
			if err != nil {
				t.Fatal(err)
			}
			for _, file := range files {
				name := strings.TrimSuffix(filepath.Base(file), ".json")
				t.Run(dir+"/"+code.Name()+"/"+name, func(t *testing.T) { runVector(t, file, code.Name(), dir == "invalid") })
			}
		}
	}
}

func runVector(t *testing.T, file, code string, drawn bool) {
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var v vector
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&v); err != nil {
		t.Fatal(err)
	}
	if v.Description == "" {
		t.Error("the vector has no description")
	}
	v.pictures = filepath.Join(filepath.Dir(file), "files")
	got := judgeVector(t, v)
	said := false
	for _, n := range v.Notices {
		said = said || n.Code == code
	}
	if said != drawn {
		t.Errorf("the notices of the vector name %s: %v, want %v", code, said, drawn)
	}
	if len(v.Notices) == 0 {
		v.Notices = nil
	}
	if diff := cmp.Diff(v.Notices, got); diff != "" {
		t.Errorf("notices (-want +got):\n%s", diff)
	}
}

// judgeVector runs the report of a vector as the command would, without normalising it, and
// returns what was said in the order of notice.Compare.
func judgeVector(t *testing.T, v vector) []vectorNotice {
	level, err := ParseLevel(v.Level)
	if err != nil {
		t.Fatal(err)
	}
	var asOf edtf.Day
	if v.AsOf != "" {
		d, err := edtf.Parse(v.AsOf)
		if err != nil {
			t.Fatal(err)
		}
		asOf, _, _, _ = d.Span()
	}
	options := Options{Level: level, AsOf: asOf}
	if _, err := os.Stat(v.pictures); v.pictures != "" && err == nil {
		options.Files = os.DirFS(v.pictures)
	}
	if len(v.Protected) > 0 {
		settings := DefaultSettings()
		settings.Protected = &Protected{}
		for _, a := range v.Protected {
			settings.Protected.Areas = append(settings.Protected.Areas, areaOf(a))
		}
		options.Settings = &settings
	}
	validator, err := New(options)
	if err != nil {
		t.Fatal(err)
	}
	in, err := find.DecodeJSON(bytes.NewReader(v.Report), find.Options{KeepSource: true})
	if err != nil {
		t.Fatal(err)
	}
	out := validator.Stream(in)
	var list notice.List
	list.Add(out.Notices...)
	for e, err := range out.Entries {
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range e.Notices {
			if e.Find != nil {
				e.Locate(&n)
			}
			list.Add(n)
		}
	}
	list.Sort()
	var got []vectorNotice
	for _, n := range list {
		got = append(got, vectorNotice{n.Kind.Code, n.Pointer})
		if strings.TrimSpace(n.Message) == "" {
			t.Errorf("%s at %s says nothing", n.Kind.Code, n.Pointer)
		}
	}
	return got
}

// TestKinds holds the words of the catalogue to their form.
func TestKinds(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Catalogue() {
		if seen[r.Code] {
			t.Errorf("code %s is given to two rules", r.Code)
		}
		seen[r.Code] = true
		for member, text := range map[string]string{
			"Title": r.Title, "Why": r.Why, "Help": r.Help, "Spec": r.Spec, "Group": r.Group, "Source": r.Source,
			"Before": r.Before, "After": r.After, "Severity": r.Severity.String(),
		} {
			if text == "" {
				t.Errorf("%s has no %s", r.Code, member)
			}
		}
		ways := 0
		for _, set := range []bool{r.Check != nil, r.Header != nil, r.Across != nil} {
			if set {
				ways++
			}
		}
		if ways != 1 {
			t.Errorf("%s has %d checks, want one of Check, Header and Across", r.Code, ways)
		}
	}
}
