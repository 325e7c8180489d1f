package geojson

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
)

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
