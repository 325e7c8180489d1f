package geojson

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func report() *find.Report {
	yes := true
	return &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", Title: "Long Furlong",
		People: []find.Person{{ID: "person-1", Handle: "finder-a"}},
		Permissions: []find.Permission{{ID: "permission-1", Basis: &find.Term{Code: "oral-owner",
			Verbatim: "asked the farmer"},
			Area:     &find.Area{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,0],[1,1],[0,0]]]`)},
			Excluded: []find.Area{{Type: "Polygon", Coordinates: []byte(`[[[0.2,0.1],[0.3,0.1],[0.3,0.2],[0.2,0.1]]]`)}}}},
		Finds: []*find.Find{
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11", Number: "1", Finder: "person-1",
				Permission: "permission-1", Name: "crotal bell",
				Position: &find.Position{Longitude: find.Float(-1.2345678), Latitude: find.Float(52.5),
					Uncertainty: find.Int(5), Method: &find.Term{Code: "phone"}},
				Depth: &find.Depth{Quantity: find.Quantity{Min: find.Float(20.32), Max: find.Float(20.32), Unit: "cm",
					Said: "in", Resolution: find.Float(2.54), Verbatim: "8 in"}, Basis: &find.Term{Code: "tape-measured"}},
				Count: &find.Quantity{Min: find.Int(1), Max: find.Int(1), Verbatim: "1"}, HumanRemains: new(bool),
				Unknown: []byte(`{"colour":"green"}`)},
			{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", Name: "jetton",
				Absent:   map[string]string{"/position": "withheld"},
				Position: &find.Position{Verbatim: "by the gate", Method: &find.Term{Code: "told"}},
				Columns:  map[string]string{"Mood": "good"}, Dimensions: &find.Dimensions{Surviving: &yes}},
		}}
}

func encode(t *testing.T, r *find.Report) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(r), Options{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Each error row of the table of RFC 7946 rules: the bad example, wrapped into a collection where it is a feature or a
// geometry, is refused or said, and none of it is taken for a place; the good one is read and nothing is said.
func TestRulesOfRFC7946(t *testing.T) {
	passed := map[string]string{
		"g07": "swapped axes within range cannot be told from a true place by the file alone",
		"g13": "a feature without the member properties is read as one that has none",
		"g33": "an example of geo URIs, not of GeoJSON",
		"g39": "RFC 7946 section 3.1.6: readers should not refuse polygons that wind the wrong way",
		"g21": "a south of 51.4 in the place of the west is within range: it cannot be told",
	}
	refused := 0
	for _, row := range cases.Reference(t, "geojson_rules.csv") {
		id, bad, good := row["id"], row["bad_example"], row["good_example"]
		if row["severity"] != "error" {
			continue
		}
		if _, ok := passed[id]; ok {
			continue
		}
		t.Run(id, func(t *testing.T) {
			if !faulty(collection(bad)) {
				t.Errorf("bad example is neither refused nor said: %s", bad)
			}
			refused++
			if strings.HasPrefix(good, "{") && faulty(collection(good)) {
				t.Errorf("good example is refused: %s", good)
			}
		})
	}
	if refused < 15 {
		t.Errorf("only %d rows", refused)
	}
}

// faulty reports whether a text is refused, or something in it said to be wrong.
func faulty(text string) bool {
	s, err := Decode(strings.NewReader(text), Options{})
	if err != nil {
		return true
	}
	_, list, err := find.Collect(s)
	return err != nil || slices.ContainsFunc(list, func(n notice.Notice) bool {
		return n.Kind == &kinds.PlaceUnreadable || n.Kind == &kinds.GeojsonOutOfRange || n.Kind == &kinds.GeojsonCrsMember
	})
}

func collection(text string) string {
	switch {
	case strings.Contains(text, `"type":"FeatureCollection"`) || strings.HasPrefix(text, "["):
		return text
	case strings.HasPrefix(text, `{"bbox"`):
		return `{"type":"FeatureCollection","features":[],` + text[1:]
	case strings.Contains(text, `"geometry"`) || strings.Contains(text, `"properties"`):
		return `{"type":"FeatureCollection","features":[` + text + `]}`
	}
	return `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":` + text + `}]}`
}

func FuzzDecode(f *testing.F) {
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(report()), Options{}); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(collection(`{"type":"Polygon","coordinates":[[[0,0],[1,1],[0,1],[0,0]]]}`)))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Decode(bytes.NewReader(data), Options{})
		if err != nil {
			return
		}
		r, _, err := find.Collect(s)
		if err != nil {
			t.Fatalf("the first pass accepts what the second refuses: %v", err)
		}
		var once bytes.Buffer
		if err := Encode(&once, find.StreamOf(r), Options{}); err != nil {
			return // an area that is no JSON shape
		}
		if _, err = Decode(bytes.NewReader(once.Bytes()), Options{}); err != nil {
			t.Fatalf("cannot read what was written: %v\n%s", err, once.Bytes())
		}
	})
}

func ExampleEncode() {
	r := &find.Report{ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", Finds: []*find.Find{{Name: "jetton",
		Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}}}}
	var b bytes.Buffer
	if err := Encode(&b, find.StreamOf(r), Options{}); err != nil {
		fmt.Println(err)
	}
	fmt.Print(b.String())
	// Output:
	// {"type":"FeatureCollection",
	// "findslip":{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"},
	// "features":[
	// {"type":"Feature","geometry":{"type":"Point","coordinates":[-1.2,52.5]},"properties":{"record":"find","name":"jetton"}}
	// ]}
}
