package schemacheck

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

func schemas(t *testing.T) *Schemas {
	t.Helper()
	s, err := New()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func readFile(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// The reports of testdata/valid draw nothing from the schema and are canonical: read and written again
// they are the same bytes.
func TestValidReports(t *testing.T) {
	files, err := filepath.Glob("../../testdata/valid/*.findslip.json")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d valid reports, want minimal, typical and full: %v", len(files), err)
	}
	for _, file := range files {
		text := readFile(t, file)
		if got := schemas(t).Notices(text, "report"); len(got) > 0 {
			t.Errorf("%s: %+v", filepath.Base(file), got)
		}
		stream, err := find.DecodeJSON(bytes.NewReader(text), find.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var again bytes.Buffer
		if err := find.EncodeJSON(&again, stream); err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(text), again.String()); d != "" {
			t.Errorf("%s is not canonical (-file +written again):\n%s", filepath.Base(file), d)
		}
	}
}

// The full report uses every member of every shape of the schemas.
func TestFullReportUsesEveryMember(t *testing.T) {
	var value any
	if err := json.Unmarshal(readFile(t, "../../testdata/valid/full.findslip.json"), &value); err != nil {
		t.Fatal(err)
	}
	used := map[*schema.Node]bool{}
	markUsed(value, root(t, "report"), used)
	for _, name := range []string{"report", "find"} {
		root(t, name).Walk(func(n *schema.Node) {
			for _, m := range n.Properties {
				if m.Node.Title != "" && m.Node.Not == nil && !used[m.Node] {
					t.Errorf("%s: %s of %s is not used", name, m.Name, n.Title)
				}
			}
		})
	}
}

func markUsed(value any, n *schema.Node, used map[*schema.Node]bool) {
	if n == nil {
		return
	}
	used[n] = true
	n = n.Follow()
	switch v := value.(type) {
	case map[string]any:
		for name, member := range v {
			markUsed(member, n.Properties.Get(name), used)
		}
	case []any:
		for _, entry := range v {
			markUsed(entry, n.Items, used)
		}
	}
}

// Each kind of the schema has reports that draw it, one notice each; TestCodes runs them.
func TestSchemaKindsAreDrawn(t *testing.T) {
	list, err := cases.Read(os.DirFS("../.."))
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]cases.Code{}
	for _, c := range list {
		all[c.Code] = c
	}
	for _, kind := range kinds.All() {
		// The kinds of the gate have their cases in TestGate: a file that is no JSON cannot hold a
		// report. The published schemas use no keyword that leads to schema-other: schema.Node knows
		// all of theirs, and wordsFor and tellMembers have words for each.
		if kind.Group != "schema" || strings.HasPrefix(kind.Code, "json-") || kind.Code == "schema-other" {
			continue
		}
		for _, v := range all[kind.Code].Draws {
			if len(v.Notices) != 1 {
				t.Errorf("%s of %s draws %d notices", v.Name, kind.Code, len(v.Notices))
			}
		}
		if len(all[kind.Code].Draws) == 0 {
			t.Errorf("no file draws %s", kind.Code)
		}
	}
}

// The notices schema accepts what a check prints and refuses what it may not.
func TestNoticesSchema(t *testing.T) {
	whole := `{"noticesVersion": "1.0", "tool": "findslip 1.0.0", "asOf": "2026-04-12", "level": "log", "levelsMet": ["bag"],
		"summary": {"finds": 2, "errors": 0, "warnings": 1, "info": 0, "cautions": 1, "notChecked": 3}, "truncated": false,
		"notices": [{"code": "depth-implausible", "severity": "warning", "caution": true, "title": "t", "message": "m", "help": "h", "spec": "5.3",
			"file": "finds.xlsx", "pointer": "/finds/0/depth", "sheet": "Finds", "cell": "D7", "row": 7, "column": 4, "heading": "Depth", "line": 3, "find": "TL-014"}],
		"accepted": [{"code": "number-repeated", "severity": "error", "message": "m", "pointer": "", "reason": "two bags", "by": "person-1", "on": "2026-04-13"}]}`
	if got := schemas(t).Notices([]byte(whole), "notices"); len(got) > 0 {
		t.Errorf("%+v", got)
	}
	bad := strings.Replace(whole, `"warning"`, `"fatal"`, 1)
	if got := schemas(t).Notices([]byte(bad), "notices"); len(got) != 1 || got[0].Pointer != "/notices/0/severity" {
		t.Errorf("%+v", got)
	}
}

func TestUnknownMembers(t *testing.T) {
	raw := []byte(`{"$schema": "https://w3id.org/findslip/1/report", "findslip": "1.0", "titel": "x", "mood": 1,
		"finds": [{"id": "urn:uuid:0190f3c2-5b7e-7a41-8c1d-2f6a9e0b4d37", "number": "1", "Depth": {"min": 1}, "depth": {"min": 1, "max": 2, "unit": "cm", "bais": 1, "on~/": 2},
			"columns": {"Wieght": "3"}, "absent": {"/x": "withheld"}, "extensions": {"club": {"nmae": 1}}, "materials": [{"code": "lead", "zz": {"deeper": 1}}]}]}`)
	want := []Unknown{
		{"/finds/0/Depth", "depth"},
		{"/finds/0/depth/bais", "basis"},
		{"/finds/0/depth/on~0~1", ""}, // two edits of a name of two letters are no likeness
		{"/finds/0/materials/0/zz", ""},
		{"/mood", ""},
		{"/titel", "title"},
	}
	for range 20 {
		if d := cmp.Diff(want, schemas(t).UnknownMembers(raw, "report")); d != "" {
			t.Fatal(d)
		}
	}
	if got := schemas(t).UnknownMembers([]byte(`{`), "report"); got != nil {
		t.Errorf("not JSON: %v", got)
	}
	if n := (Unknown{"/wieght", "weight"}).Notice(); n.Kind != &kinds.MemberMisspelt || n.Kind.Severity != notice.Warning {
		t.Errorf("%+v", n)
	}
	if n := (Unknown{"/mood", ""}).Notice(); n.Kind != &kinds.MemberUnknown || n.Kind.Severity != notice.Info {
		t.Errorf("%+v", n)
	}
}
