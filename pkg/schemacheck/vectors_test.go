package schemacheck

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

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

func root(t *testing.T, name string) *schema.Node {
	t.Helper()
	n, err := schema.Root(name)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// concepts returns the codes of a published list.
func concepts(t *testing.T, list string) []string {
	t.Helper()
	text, err := schema.Vocabulary.ReadFile("vocabulary/" + list + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var v struct {
		Open     bool `json:"open"`
		Concepts []struct {
			Code string `json:"code"`
		} `json:"concepts"`
	}
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	if v.Open {
		t.Errorf("list %s is open; the schema closes it", list)
	}
	var codes []string
	for _, c := range v.Concepts {
		codes = append(codes, c.Code)
	}
	return codes
}

// The closed lists stand in the schema as the published lists have them.
func TestClosedListsAreThePublishedOnes(t *testing.T) {
	f, r := root(t, "find"), root(t, "report")
	for pointer, list := range map[string]string{
		"/properties/kind":                          "kind",
		"/properties/lifted":                        "lifted",
		"/properties/sensitivity":                   "sensitivity",
		"/$defs/certainty":                          "certainty",
		"/$defs/absent/additionalProperties":        "absence-reason",
		"report /properties/audience":               "audience",
		"report /$defs/consent/properties/audience": "audience",
	} {
		n, at := f, pointer
		if rest, ok := strings.CutPrefix(pointer, "report "); ok {
			n, at = r, rest
		}
		if d := cmp.Diff(concepts(t, list), n.At(at).Enum); d != "" {
			t.Errorf("%s and list %s differ (-list +schema):\n%s", pointer, list, d)
		}
	}
	units := slices.Concat(f.At("/$defs/depth/properties/said").Enum, f.At("/$defs/weight/properties/said").Enum)
	if d := cmp.Diff(concepts(t, "unit"), units); d != "" {
		t.Errorf("units (-list +schema):\n%s", d)
	}
	for shape, unit := range map[string]string{"depth": "cm", "length": "cm", "size": "mm", "weight": "g"} {
		if d := cmp.Diff([]string{unit}, f.At("/$defs/"+shape+"/properties/unit").Enum); d != "" {
			t.Errorf("unit of %s: %s", shape, d)
		}
	}
}

// Every enum of text in the schema of report and find is one of the lists above or is counted here:
// Polygon and MultiPolygon of RFC 7946 section 3.1.
func TestNoOtherClosedList(t *testing.T) {
	known := [][]string{{"Polygon", "MultiPolygon"}, {"cm"}, {"mm"}, {"g"}}
	for _, list := range []string{"kind", "lifted", "sensitivity", "certainty", "absence-reason", "audience"} {
		known = append(known, concepts(t, list))
	}
	units := concepts(t, "unit")
	known = append(known, units[:6], units[6:])
	for _, name := range []string{"find", "report"} {
		root(t, name).Walk(func(n *schema.Node) {
			if len(n.Enum) > 0 && !slices.ContainsFunc(known, func(k []string) bool { return slices.Equal(k, n.Enum) }) {
				t.Errorf("%s: %s closes a list that is not published: %v", name, n.Title, n.Enum)
			}
		})
	}
}

// The trial members are those that SPEC.md marks so, and none of them is required anywhere.
func TestTrialMembers(t *testing.T) {
	var got []string
	for _, name := range []string{"find", "report"} {
		root(t, name).Walk(func(n *schema.Node) {
			for _, m := range n.Properties {
				if m.Node.Trial {
					got = append(got, m.Name)
					if slices.Contains(n.Required, m.Name) {
						t.Errorf("%s is on trial and required", m.Name)
					}
				}
			}
		})
	}
	slices.Sort(got)
	want := []string{"consents", "custody", "discarded", "kept", "ploughDepth", "question", "rubbish", "storage",
		"supplied",
		"surviving", "use"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

const wrongEverywhere = `{"id": "x", "number": "", "name": 7, "kind": "singel", "depth": "8 in", "count": {"min": 3, "unit": "cm"},
	"weight": {"min": -3}, "materials": [{"certainty": "possibel"}, {"code": "A b"}], "changed": "yesterday",
	"absent": {"depth": "why", "/x": "withheld"}, "found": {"date": "12/4/26", "time": "25:00"}, "lot": {}, "embargoUntil": null,
	"dating": {"earliest": 1.5}, "humanRemains": "no", "notes": [], "permission": {}, "hazards": "lead", "wieght": 1}`

// What a finder reads: place, what was found, what was expected, and what to type instead.
func TestMessages(t *testing.T) {
	got, err := schemas(t).Document([]byte(wrongEverywhere), "find")
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, e := range got {
		lines = append(lines, e.Code+" "+e.Pointer+" | "+e.Message+" | "+e.Help)
	}
	want := cases.Table[[]string](t, "Messages")
	if d := cmp.Diff(want, lines); d != "" {
		t.Error(d)
	}
	for _, e := range got {
		if n := e.Notice(); n.Kind.Code != e.Code || n.HelpText() == "" || n.Pointer != e.Pointer {
			t.Errorf("%s: notice %+v", e.Code, n)
		}
		if !strings.HasPrefix(e.SchemaPath, "https://w3id.org/findslip/1/find#/") {
			t.Errorf("%s: schema path %q", e.Code, e.SchemaPath)
		}
	}
}

// No message or help quotes a position, a person, an address, a place, a value or a storage place,
// also where it stands in a member that it does not belong in.
func TestMessagesKeepSecrets(t *testing.T) {
	const secret = "S3cret"
	for _, c := range cases.Table[[]struct{ Root, Raw string }](t, "MessagesKeepSecrets") {
		raw := `{"findslip": "1.0", "id": "urn:uuid:0190f3c2-5b7e-7a41-8c1d-2f6a9e0b4d37", "number": "1", ` + c.Raw + `}`
		got, err := schemas(t).Document([]byte(raw), c.Root)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) == 0 {
			t.Errorf("%s: no error at all", c.Raw)
		}
		for _, e := range got {
			if strings.Contains(e.Message+e.Help, secret) {
				t.Errorf("%s: %s | %s", c.Raw, e.Message, e.Help)
			}
		}
	}
}

// A number out of range is private where the member is: the message says only which end was passed.
func TestMessagesKeepPositions(t *testing.T) {
	raw := `{"id": "urn:uuid:0190f3c2-5b7e-7a41-8c1d-2f6a9e0b4d37", "number": "1", "position": {"longitude": 191.25, "latitude": 52.5, "uncertainty": 0,
		"area": {"type": "Polygon", "coordinates": [[[191.25, 52], [1, 1], [2, 2], [191.25, 52]]]}}}`
	got, err := schemas(t).Document([]byte(raw), "find")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"Position, Footprint, Coordinates 1: the number is too large; the most is 180",
		"Position, Footprint, Coordinates 1: the number is too large; the most is 180",
		"Position, Longitude: the number is too large; the most is 180",
		"Position, Uncertainty: the number is too small; it must be more than 0",
	}
	if d := cmp.Diff(want, messagesOf(got)); d != "" {
		t.Error(d)
	}
}

func TestQuoteText(t *testing.T) {
	for in, want := range map[string]string{
		"8 in":                   `"8 in"`,
		"a\tb\u202e":             `"a\tb\u202e"`,
		strings.Repeat("é", 41):  `"` + strings.Repeat("é", 40) + `…"`,
		`he said "about a foot"`: `"he said "about a foot""`,
	} {
		if got := quoteText(in); got != want {
			t.Errorf("quoteText(%q) = %s, want %s", in, got, want)
		}
	}
}
