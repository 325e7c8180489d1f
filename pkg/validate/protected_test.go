package validate

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/limit"
)

const square = `{"type": "Polygon", "coordinates": [[[-1.23, 52.5], [-1.22, 52.5], [-1.22, 52.51], [-1.23, 52.51], [-1.23, 52.5]]]}`

// The shapes of GeoJSON that hold areas: RFC 7946 sections 3.1.6, 3.2 and 3.3.
func TestReadProtected(t *testing.T) {
	for name, x := range map[string]struct {
		text          string
		areas, passed int
		date          string
	}{
		"a collection":    {`{"type": "FeatureCollection", "date": "2026-03-01", "features": [{"type": "Feature", "geometry": ` + square + `}, {"type": "Feature", "geometry": {"type": "Point", "coordinates": [-1.2, 52.5]}}, {"type": "Feature", "geometry": null}]}`, 1, 2, "2026-03-01"},
		"a feature":       {`{"type": "Feature", "properties": null, "geometry": ` + square + `}`, 1, 0, ""},
		"a polygon":       {square, 1, 0, ""},
		"a date in words": {`{"type": "FeatureCollection", "date": "last spring", "features": [{"type": "Feature", "geometry": ` + square + `}]}`, 1, 0, ""},
	} {
		p, passed, err := ReadProtected(strings.NewReader(x.text), "sites.geojson", limit.Limits{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(p.Areas) != x.areas || passed != x.passed || p.Date != x.date {
			t.Errorf("%s: %d areas, %d passed over, date %q", name, len(p.Areas), passed, p.Date)
		}
		if v := p.Areas[0].Contains(coordinate.Point{Longitude: -1.225, Latitude: 52.505}, 5); v != coordinate.Inside {
			t.Errorf("%s: the middle is %v", name, v)
		}
	}
}

// A file of which nothing can be told is an error: checked against nothing is not checked.
func TestReadProtectedRefuses(t *testing.T) {
	for _, text := range []string{"", "[]", "{}", `{"type": "FeatureCollection", "features": []}`,
		`{"type": "Point", "coordinates": [1, 2]}`,
		`{"type": "Polygon", "coordinates": [[[452700, 290110], [452800, 290110], [452800, 290210], [452700, 290110]]]}`,
		`{"type": "Polygon", "coordinates": "x"}`} {
		if p, _, err := ReadProtected(strings.NewReader(text), "x", limit.Limits{}); err == nil {
			t.Errorf("%s: %d areas", text, len(p.Areas))
		}
	}
}
