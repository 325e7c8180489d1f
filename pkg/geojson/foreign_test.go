package geojson

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// RFC 7946 section 3.1.6: outer rings run against the clock, holes with it. Writers must, readers
// should not mind.
func TestRingsAreTurnedOnWriting(t *testing.T) {
	r := &find.Report{Findslip: "1.0", Permissions: []find.Permission{{ID: "permission-1",
		Area: &find.Area{Type: "Polygon",
			Coordinates: []byte(`[[[0,0],[1,1],[1,0],[0,0]],[[0.5,0.2],[0.6,0.2],[0.6,0.3],[0.5,0.2]]]`)}}}}
	text := string(encode(t, r))
	for _, ring := range []string{`[[0,0],[1,0],[1,1],[0,0]]`, `[[0.5,0.2],[0.6,0.3],[0.6,0.2],[0.5,0.2]]`} {
		if !strings.Contains(text, ring) {
			t.Errorf("no ring %s in %s", ring, text)
		}
	}
	s, err := Decode(strings.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(r.Permissions[0].Area.Wound(), s.Report.Permissions[0].Area); d != "" {
		t.Errorf("the area is another: %s", d)
	}
}

// Points that are no degrees: in a system that the file names they wait for the reader of positions, swapped ones are
// proposed, and others are kept. An empty point is a find without a place.
func TestPointsElsewhere(t *testing.T) {
	point := func(coordinates string) string {
		return `{"type":"FeatureCollection"%s,"features":[{"type":"Feature","properties":{"nr":"1"},"geometry":{"type":"Point","coordinates":` + coordinates + `}}]}`
	}
	for name, c := range map[string]struct {
		text, crs, verbatim, system string
		kind                        *notice.Kind
	}{
		"named": {point("[512345.5,6219870]"),
			`,"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}}`, "512345.5, 6219870", "EPSG:25832",
			crsNamed},
		"not named":   {point("[512345.5,6219870]"), ``, "512345.5, 6219870", "", outOfRange},
		"not known":   {point("[5,6]"), `,"crs":{"type":"name","properties":{"name":"local"}}`, "5, 6", "", crsNamed},
		"swapped":     {point("[56.1,120.2]"), ``, "56.1, 120.2", "", outOfRange},
		"empty point": {point("[]"), ``, "", "", featureWithoutPlace},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Decode(strings.NewReader(fmt.Sprintf(c.text, c.crs)), Options{})
			if err != nil {
				t.Fatal(err)
			}
			list := slices.Clone(s.Notices)
			for e, err := range s.Entries {
				if err != nil {
					t.Fatal(err)
				}
				list.Add(e.Notices...)
				verbatim := ""
				if p := e.Find.Position; p != nil {
					verbatim = p.Verbatim
				}
				if system := e.Origin.Layout.HintsAt("/position/verbatim").System; verbatim != c.verbatim ||
					system != c.system || e.Find.Number != "1" {
					t.Errorf("%q in %q: %+v", verbatim, system, e.Find)
				}
			}
			if !slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == c.kind }) {
				t.Errorf("not said: %v", list)
			}
		})
	}
}

// What RFC 7946 refuses is never written: an area that is no polygon stays in the report, a place
// out of the range of degrees among the properties, and both come back.
func TestWhatIsNoGeometryIsNotWrittenAsOne(t *testing.T) {
	r := &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}
	for i, area := range []string{`[[[0,0],[1,0],[0,0]]]`, `[[[0,0],[1,0],[1,1],[0,1]]]`,
		`[[["0",0],[1,0],[1,1],["0",0]]]`, `[[[0,0],[1,0],[1,91],[0,0]]]`, `[]`} {
		r.Permissions = append(r.Permissions, find.Permission{ID: fmt.Sprintf("permission-%d", i+1),
			Area:     &find.Area{Type: "Polygon", Coordinates: []byte(area)},
			Excluded: []find.Area{{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,0],[1,1],[0,0]]]`)}}})
	}
	r.Finds = []*find.Find{{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11", Number: "1",
		Position: &find.Position{Longitude: find.Float(181), Latitude: find.Float(52)}}}
	text := encode(t, r)
	if n := strings.Count(string(text), `"geometry":null`); n != 6 {
		t.Errorf("%d geometries are null in %s", n, text)
	}
	s, err := Decode(bytes.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, list, err := find.Collect(s)
	if err != nil || len(list) > 0 {
		t.Fatal(err, list)
	}
	if d := cmp.Diff(r, got, cmp.AllowUnexported(find.Number{})); d != "" {
		t.Error(d)
	}
}

// The name that others give a collection becomes the title of the report.
func TestNameOfTheCollectionIsKept(t *testing.T) {
	s, err := Decode(strings.NewReader(`{"type":"FeatureCollection","name":"Long Furlong","features":[]}`), Options{})
	if err != nil || s.Report.Title != "Long Furlong" {
		t.Errorf("%+v, %v", s, err)
	}
}
