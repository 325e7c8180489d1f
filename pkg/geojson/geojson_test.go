package geojson

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
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

// That it comes back is held for every format by TestAnyReportThereAndBack of pkg/pipeline.
func TestWhatIsWritten(t *testing.T) {
	text := encode(t, report())
	if strings.Contains(string(text), `"position.longitude"`) {
		t.Error("the longitude stands outside the geometry")
	}
}

func TestReportIsRebuiltWithoutItsMember(t *testing.T) {
	text := string(encode(t, report()))
	from, to := strings.Index(text, `"findslip":`), strings.Index(text, `"features"`)
	s, err := Decode(strings.NewReader(text[:from]+text[to:]), Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, list, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 1 || list[0].Kind != headerMissing {
		t.Errorf("notices %v", list)
	}
	if d := cmp.Diff(report().Permissions, got.Permissions); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(report().Finds, got.Finds, cmp.AllowUnexported(find.Number{})); d != "" {
		t.Error(d)
	}
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
		return n.Kind == featureUnreadable || n.Kind == outOfRange || n.Kind == crsNamed
	})
}

// Each row of the table again, for what is written: the whole of it for a report that has everything
// awkward. A row that writing cannot break says why.
func TestWhatIsWrittenKeepsTheRules(t *testing.T) {
	r := report()
	r.Finds = append(r.Finds, &find.Find{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a13", Number: "3",
		Position: &find.Position{Longitude: find.Float(-1.2345678), Latitude: find.Float(91)},
		Columns:  map[string]string{"type": "x", "geometry": "y"}})
	text := encode(t, r)
	var all struct {
		Type     string           `json:"type"`
		Header   map[string]any   `json:"findslip"`
		Features []map[string]any `json:"features"`
	}
	if err := json.Unmarshal(text, &all, jsontext.AllowDuplicateNames(false),
		json.RejectUnknownMembers(true)); err != nil {
		t.Fatal(err)
	}
	each := func(holds func(f map[string]any) bool) bool {
		for _, f := range all.Features {
			if !holds(f) {
				return false
			}
		}
		return true
	}
	points := func(holds func(p []any) bool) bool {
		n := 0
		ok := each(func(f map[string]any) bool {
			g, _ := f["geometry"].(map[string]any)
			if g == nil || g["type"] != "Point" {
				return true
			}
			n++
			p, isList := g["coordinates"].([]any)
			return len(g) == 2 && isList && holds(p)
		})
		return ok && n > 0
	}
	only := func(names ...string) func(map[string]any) bool {
		return func(f map[string]any) bool {
			for name := range f {
				if !slices.Contains(names, name) {
					return false
				}
			}
			return true
		}
	}
	two := points(func(p []any) bool {
		lon, isLon := p[0].(float64)
		lat, isLat := p[1].(float64)
		return len(p) == 2 && isLon && isLat && lon >= -180 && lon <= 180 && lat >= -90 && lat <= 90
	})
	members := each(only("type", "id", "geometry", "properties"))
	geometries := each(func(f map[string]any) bool {
		g, there := f["geometry"]
		m, isObject := g.(map[string]any)
		return there && (g == nil || isObject && (m["type"] == "Point" || m["type"] == "Polygon") &&
			only("type", "coordinates")(m))
	})
	find1 := all.Features[2]
	properties, _ := find1["properties"].(map[string]any)
	held := map[string]bool{
		"g01": all.Type == "FeatureCollection" && each(func(f map[string]any) bool { return f["type"] == "Feature" }),
		"g02": jsontext.Value(text).IsValid(), "g04": geometries, "g05": geometries, "g06": two,
		// the find of report() that has a place
		"g07": points(func(p []any) bool { return p[0] == -1.2345678 && p[1] == 52.5 }),
		"g08": two, "g09": two, "g10": two, "g11": two,
		"g12": geometries, "g13": each(func(f map[string]any) bool { _, ok := f["properties"].(map[string]any); return ok }),
		"g14": find1["id"] == string(r.Finds[0].ID), "g15": len(all.Features) == 2+len(r.Finds),
		"g16": two, "g17": two, "g18": properties["depth"] == "8 in", "g19": members,
		"g20": properties["position.uncertainty"] == 5.0,
		"g21": members, "g22": members, "g23": members, "g25": geometries, "g26": members && properties["record"] == "find",
		"g27": geometries, "g28": members, "g29": members, "g30": geometries, "g31": members,
		"g34": properties["position.uncertainty"] == 5.0, "g36": utf8.Valid(text), "g37": strings.Contains(string(text),
			"[-1.2345678,52.5]"),
		"g39": geometries,
	}
	elsewhere := map[string]string{
		"g03": "a rule for readers: members of any order are read, as TestMembersInAnyOrder has it",
		"g24": "a permission that crosses the antimeridian is written as it was drawn",
		"g32": "a matter of names: members of GeoJSON keep their meaning, by g28",
		"g33": "geo URIs are read by pkg/coordinate, whose tests have them",
		"g35": "what others get to see is made by pkg/share",
		"g38": "file names and media types are those of the command and of SPEC.md",
	}
	for _, row := range cases.Reference(t, "geojson_rules.csv") {
		holds, tested := held[row["id"]]
		if tested == (elsewhere[row["id"]] != "") {
			t.Errorf("%s is tested, or it is said why not: one of them", row["id"])
		}
		if tested && !holds {
			t.Errorf("%s: %s: not so in %s", row["id"], row["rule"], text)
		}
	}
}

// RFC 7946 section 1.3: the order of members has no meaning.
func TestMembersInAnyOrder(t *testing.T) {
	text := `{"features":[{"properties":{"name":"bell","record":"find"},"geometry":{"coordinates":[-1.2,52.5],"type":"Point"},"type":"Feature"}],"findslip":{"findslip":"1.0"},"type":"FeatureCollection"}`
	s, err := Decode(strings.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, list, err := find.Collect(s)
	if err != nil || len(list) > 0 || len(got.Finds) != 1 || got.Finds[0].Name != "bell" ||
		!got.Finds[0].Position.Located() {
		t.Error(err, list, got)
	}
}

// What other programs write and RFC 7946 lets readers make sense of: empty coordinates (section
// 3.1), a collection of one point (3.1.8), members that it does not know (6.1).
func TestOddGeometries(t *testing.T) {
	for text, want := range map[string]string{
		`"geometry":{"type":"Point","coordinates":[]}`:                                                       "nil map[]",
		`"geometry":{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[-1.2,52.5]}]}`: "-1.2 map[]",
		`"geometry":{"type":"GeometryCollection","geometries":[]}`:                                           "nil map[geometry:[]]",
		`"geometry":null,"mood":"good","bbox":[0,0,1,1],"list":[1]`:                                          "nil map[list:[1] mood:good]",
	} {
		s, err := Decode(strings.NewReader(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"bell"},`+text+`}]}`), Options{})
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		r, _, err := find.Collect(s)
		if err != nil || len(r.Finds) != 1 {
			t.Fatal(err)
		}
		place := "nil"
		if p := r.Finds[0].Position; p != nil {
			place = p.Longitude.String()
		}
		if got := place + " " + fmt.Sprint(r.Finds[0].Columns); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
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

func TestAltitudeIsSaid(t *testing.T) {
	s, err := Decode(strings.NewReader(collection(`{"type":"Point","coordinates":[-1.2,52.5,-0.3]}`)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, list, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == altitude }) {
		t.Errorf("notices %v", list)
	}
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
