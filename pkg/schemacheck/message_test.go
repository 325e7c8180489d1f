package schemacheck

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/google/go-cmp/cmp"
)

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

// A record with many faults gives the same bytes on each of 200 runs.
func TestMessagesAreTheSameOnEveryRun(t *testing.T) {
	first := schemas(t).Notices([]byte(wrongEverywhere), "find")
	if len(first) != 24 {
		t.Errorf("%d notices, want 23 of the schema and one misspelt member", len(first))
	}
	for range 200 {
		if d := cmp.Diff(first, schemas(t).Notices([]byte(wrongEverywhere), "find")); d != "" {
			t.Fatal(d)
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
