package validate

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// project is the folder of the project.
var project = os.DirFS("../..")

// casesOf returns the cases of testdata/codes by code.
func casesOf(t testing.TB) map[string]cases.Code {
	t.Helper()
	list, err := cases.Read(project)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]cases.Code{}
	for _, c := range list {
		out[c.Code] = c
	}
	return out
}

// TestCodes walks the catalogue: each rule has a report that draws its code and nothing else, and a
// near miss that does not draw it.
func TestCodes(t *testing.T) {
	all := casesOf(t)
	known := map[string]bool{LevelIncomplete.Code: true}
	for _, k := range kinds.All() {
		known[k.Code] = known[k.Code] || k.Group == "schema"
	}
	for _, r := range Catalogue() {
		known[r.Code] = true
		if c := all[r.Code]; len(c.Draws) == 0 || len(c.Near) == 0 {
			t.Errorf("testdata/codes/%s.json has %d reports that draw it and %d near misses", r.Code, len(c.Draws), len(c.Near))
		}
	}
	for _, code := range slices.Sorted(maps.Keys(all)) {
		if !known[code] {
			t.Errorf("testdata/codes/%s.json stands for no rule", code)
		}
		for _, v := range all[code].Draws {
			t.Run("draws/"+code+"/"+v.Name, func(t *testing.T) { runCase(t, v, code, true) })
		}
		for _, v := range all[code].Near {
			t.Run("near/"+code+"/"+v.Name, func(t *testing.T) { runCase(t, v, code, false) })
		}
	}
}

func runCase(t *testing.T, v cases.Case, code string, drawn bool) {
	got := judgeCase(t, v)
	said := false
	for _, n := range v.Notices {
		said = said || n.Code == code
	}
	if said != drawn {
		t.Errorf("the notices of the case name %s: %v, want %v", code, said, drawn)
	}
	if len(v.Notices) == 0 {
		v.Notices = nil
	}
	if diff := cmp.Diff(v.Notices, got); diff != "" {
		t.Errorf("notices (-want +got):\n%s", diff)
	}
}

// judgeCase runs the report of a case as the command would, without normalising it, and
// returns what was said in the order of notice.Compare.
func judgeCase(t testing.TB, v cases.Case) []cases.Notice {
	got, err := noticesBy(judgeOf(t, v), v.Report)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// judgeOf returns the validator that a case asks for.
func judgeOf(t testing.TB, v cases.Case) *Validator {
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
	options := Options{Level: level, AsOf: asOf, Rules: "all", Workers: 1}
	if options.Files, err = v.Folder(project); err != nil {
		t.Fatal(err)
	}
	if len(v.Protected) > 0 {
		settings := DefaultSettings()
		settings.Protected = &Protected{}
		for _, raw := range v.Protected {
			var a find.Area
			if err := json.Unmarshal(raw, &a); err != nil {
				t.Fatal(err)
			}
			settings.Protected.Areas = append(settings.Protected.Areas, areaOf(&a))
		}
		options.Settings = &settings
	}
	validator, err := New(options)
	if err != nil {
		t.Fatal(err)
	}
	return validator
}

func noticesBy(validator *Validator, report []byte) ([]cases.Notice, error) {
	in, err := find.DecodeJSON(bytes.NewReader(report), find.Options{KeepSource: true})
	if err != nil {
		return nil, err
	}
	out := validator.Stream(in)
	var list notice.List
	list.Add(out.Notices...)
	for e, err := range out.Entries {
		if err != nil {
			return nil, err
		}
		for _, n := range e.Notices {
			if e.Find != nil {
				e.Locate(&n)
			}
			list.Add(n)
		}
	}
	list.Sort()
	var got []cases.Notice
	for _, n := range list {
		got = append(got, cases.Notice{Code: n.Kind.Code, Pointer: n.Pointer})
		if strings.TrimSpace(n.Message) == "" {
			return nil, fmt.Errorf("%s at %s says nothing", n.Kind.Code, n.Pointer)
		}
	}
	return got, nil
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
		for _, set := range []bool{r.Check != nil, r.Header != nil, r.Across != nil, r.Log != nil} {
			if set {
				ways++
			}
		}
		if ways < 1 || ways > 2 || ways == 2 && r.Check == nil {
			t.Errorf("%s has %d checks, want one of Check, Header, Across and Log, or the first with another", r.Code, ways)
		}
	}
}

// FuzzAcceptances: an entry silences a notice only where its code and find are those of the notice and
// it gives a reason, and is told when it silences nothing.
func FuzzAcceptances(f *testing.F) {
	f.Add("name-missing", "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", "", "seen")
	f.Add("member-unknown", "", "/x", "")
	f.Add("", "\xff", "/depth/", "\x00")
	f.Fuzz(func(t *testing.T, code, id, pointer, reason string) {
		r := &find.Report{Findslip: find.Version,
			Accepted: []find.Acceptance{{Code: code, Find: id, Pointer: pointer, Reason: reason},
				{Code: code, Find: id, Pointer: pointer, Reason: reason}},
			Finds: []*find.Find{{ID: id, Number: "1"}, {ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", Name: "bell"}}}
		v, err := New(Options{Level: "log", AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}})
		if err != nil {
			t.Fatal(err)
		}
		checked := v.Stream(find.StreamOf(r))
		list, stale, silenced := checked.Notices, 0, 0
		for e, err := range checked.Entries {
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, e.Notices...)
		}
		for _, n := range list {
			if n.Kind.Code == AcceptanceStale.Code {
				stale++
			}
			if n.Accepted != "" {
				if silenced++; n.Kind.Code != code || n.Accepted != reason {
					t.Fatalf("%s is silenced by an entry for %q", n.Kind.Code, code)
				}
			}
		}
		if silenced == 0 && stale != 2 || silenced > 0 && stale != 0 {
			t.Fatalf("%d notices are silenced, and %d entries said to silence nothing", silenced, stale)
		}
	})
}
