package validate

import (
	"errors"
	"fmt"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// Protected are the protected areas that the user has supplied, such as scheduled sites, crash
// sites and nature reserves. They are never taken from the report.
type Protected struct {
	Name  string // of the file, as the caller calls it
	Date  string // the day the outlines are of, as the file says it; empty: it does not
	Areas []coordinate.Area
}

// mostProtected bounds the areas in a file of them.
const (
	mostProtected = 200000
)

// protectedFile is the part of a GeoJSON file that is read (RFC 7946 section 3). date is a foreign
// member, as people add it; no standard names one.
type protectedFile struct {
	Type        string             `json:"type"`
	Date        string             `json:"date"`
	Features    []protectedFeature `json:"features"`
	Coordinates jsontext.Value     `json:"coordinates"`
}

type protectedFeature struct {
	Geometry *find.Area `json:"geometry"`
}

// ReadProtected reads protected areas from GeoJSON: a FeatureCollection of polygons, or one polygon.
// Features without an area, such as points and lines, are counted in passed: nothing can be told of
// them. Of the limits Side is looked at.
func ReadProtected(r io.Reader, name string, limits limit.Limits) (p *Protected, passed int, err error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if over := limit.Of(err); over != nil {
		return nil, 0, fmt.Errorf("reading the protected areas: %w, or cut it to the land around your permissions", over)
	}
	if err != nil {
		return nil, 0, fmt.Errorf("reading the protected areas: %w", err)
	}
	var f protectedFile
	if err := json.Unmarshal(raw, &f); err != nil {
		return nil, 0, fmt.Errorf("reading the protected areas: the file is not GeoJSON (%w); save the outlines as GeoJSON in degrees", err)
	}
	p = &Protected{Name: name}
	if _, ok := momentOf(f.Date); ok && len(f.Date) == len("2026-04-12") {
		p.Date = f.Date
	}
	switch f.Type {
	case "FeatureCollection":
	case "Feature":
		var one protectedFeature
		if err := json.Unmarshal(raw, &one); err != nil {
			return nil, 0, fmt.Errorf("reading the protected areas: %w", err)
		}
		f.Features = []protectedFeature{one}
	case "Polygon", "MultiPolygon":
		f.Features = []protectedFeature{{&find.Area{Type: f.Type, Coordinates: f.Coordinates}}}
	default:
		return nil, 0, fmt.Errorf("reading the protected areas: the file has the type %q; a FeatureCollection of polygons is expected", f.Type)
	}
	for i := range f.Features {
		a := areaOf(f.Features[i].Geometry)
		if a.IsZero() {
			passed++
			continue
		}
		if p.Areas = append(p.Areas, a); len(p.Areas) > mostProtected {
			return nil, 0, fmt.Errorf("reading the protected areas: there are more than %d; cut the file to the land around your permissions", mostProtected)
		}
	}
	if len(p.Areas) == 0 {
		return nil, 0, errors.New("reading the protected areas: there is no polygon in degrees (WGS 84) in the file; save the outlines as GeoJSON in that system")
	}
	return p, passed, nil
}

// String says what was loaded.
func (p *Protected) String() string {
	if len(p.Areas) == 1 {
		return "1 area from " + p.words()
	}
	return fmt.Sprintf("%d areas from %s", len(p.Areas), p.words())
}

// words names where the areas come from.
func (p *Protected) words() string {
	if p.Name == "" {
		return "those supplied"
	}
	if p.Date == "" {
		return p.Name + " (of what day, it does not say)"
	}
	return p.Name + " of " + p.Date
}
