package schemacheck

import (
	"strings"
	"testing"

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
	want := []string{
		`schema-enum /absent/depth | Missing on purpose: "why" is not one of: not-noted, not-measured, not-known, illegible, not-applicable, withheld, blank | `,
		`schema-pattern /absent/depth | Missing on purpose: the name "depth" is not in the form expected: a slash and the name of the member | Write it like this: /depth`,
		`schema-pattern /changed | Changed: "yesterday" is not a moment, written YYYY-MM-DDThh:mm:ss with Z or an offset such as +01:00 | Write it like this: 2026-04-12T14:30:00+01:00`,
		`schema-forbidden /count/unit | Count, Unit: this may not stand here | A count has no unit, so this member may not stand here.`,
		`schema-type /dating/earliest | Dating, Earliest year: a whole number is expected, but the number 1.5 stands here | Write a whole number, without decimals.`,
		`schema-type /depth | Depth: an object is expected, but the text "8 in" stands here | Write it in braces: {"verbatim": "8 in"}.`,
		`schema-type /embargoUntil | Embargo until: text is expected, but null stands here | Leave it out, or say why it is missing: "absent": {"/embargoUntil": "not-noted"}.`,
		`schema-pattern /found/date | When found, Date found: "12/4/26" is not in the form expected: YYYY-MM-DD, YYYY-MM, YYYY-21 to YYYY-24 for spring to winter, or YYYY; two of them with a slash for a span | Write it like this: 2026-04-12`,
		`schema-pattern /found/time | When found, Time found: "25:00" is not in the form expected: hh:mm or hh:mm:ss, with an offset where it is known | Write it like this: 14:30`,
		`schema-type /hazards | Hazards: a list is expected, but the text "lead" stands here | Put it in square brackets: [...].`,
		`schema-type /humanRemains | Human remains: true or false is expected, but the text "no" stands here | Write true or false, without quotes.`,
		`schema-pattern /id | Identifier: "x" is not in the form expected: urn:uuid: and a UUID in lower case | Write it like this: urn:uuid:0190f3c2-5b7e-7a41-8c1d-2f6a9e0b4d37`,
		`schema-enum /kind | Kind of record: "singel" is not one of: single, lot, part | Did you mean "single"?`,
		`schema-pattern /lot | Lot: the object is empty | `,
		`schema-required /materials/0 | Materials 1: it needs at least one of Code (code) or As written (verbatim) | `,
		`schema-enum /materials/0/certainty | Materials 1, Certainty: "possibel" is not one of: certain, probable, possible, disputed, unlikely, unknown | Did you mean "possible"?`,
		`schema-pattern /materials/1/code | Materials 2, Code: "A b" is not in the form expected: lower-case letters, digits and hyphens, starting with a letter | Write it like this: copper-alloy`,
		`schema-type /name | Name: text is expected, but the number 7 stands here | Put it in double quotes: "7".`,
		`schema-type /notes | Notes: text is expected, but a list stands here | `,
		`schema-pattern /number | Number: the text is empty | `,
		`schema-type /permission | Permission: text is expected, but an object stands here | `,
		`schema-required /weight | Weight: Unit (unit) is missing beside the rest | Add "unit": "g".`,
		`schema-range /weight/min | Weight, Smallest: -3 is too small; the least is 0 | `,
	}
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
	for _, c := range []struct{ root, raw string }{
		{"find", `"position": "S3cret"`},
		{"find", `"position": {"longitude": "S3cret", "latitude": ["S3cret"]}`},
		{"find", `"position": {"verbatim": {"S3cret": 1}, "referenceSystem": 7, "takenAt": "S3cret", "by": "S3cret"}`},
		{"find", `"otherPositions": [{"longitude": 1, "latitude": "S3cret"}, "S3cret"]`},
		{"find", `"position": {"area": {"type": "S3cret", "coordinates": "S3cret"}}`},
		{"find", `"place": "S3cret"`},
		{"find", `"place": {"country": "S3cret"}`},
		{"find", `"finder": "S3cret"`},
		{"find", `"recorded": {"by": "S3cret"}`},
		{"find", `"owners": [{"person": "S3cret"}]`},
		{"find", `"custody": [{"from": "S3cret", "to": "S3cret"}]`},
		{"find", `"storagePlace": ["S3cret"]`},
		{"find", `"value": {"is": "S3cret"}`},
		{"find", `"columns": {"Owner": ["S3cret"]}`},
		{"find", `"columns": "S3cret"`},
		{"find", `"media": [{"file": "C:\\S3cret\\x.jpg"}]`},
		{"find", `"opinions": [{"id": "opinion-1", "says": "S3cret"}]`},
		{"report", `"people": [{"id": "S3cret", "name": ["S3cret"], "handle": ["S3cret"], "contact": ["S3cret"]}]`},
		{"report", `"permissions": [{"id": "S3cret", "place": "S3cret", "area": "S3cret", "excluded": ["S3cret"], "grantedBy": "S3cret", "terms": ["S3cret"]}]`},
		{"report", `"outings": [{"id": "outing-1", "people": ["S3cret"]}]`},
		{"report", `"people": ["S3cret"]`},
		{"report", `"people": "S3cret"`},
		{"find", `"owners": ["S3cret"]`},
		{"find", `"notified": "S3cret"`},
		{"find", `"opinions": ["S3cret"]`},
	} {
		raw := `{"findslip": "1.0", "id": "urn:uuid:0190f3c2-5b7e-7a41-8c1d-2f6a9e0b4d37", "number": "1", ` + c.raw + `}`
		got, err := schemas(t).Document([]byte(raw), c.root)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) == 0 {
			t.Errorf("%s: no error at all", c.raw)
		}
		for _, e := range got {
			if strings.Contains(e.Message+e.Help, secret) {
				t.Errorf("%s: %s | %s", c.raw, e.Message, e.Help)
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
