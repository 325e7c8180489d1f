package validate

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"

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
	set   coordinate.AreaSet // of Areas, once indexed
}

// indexed returns the same areas, made ready for many questions.
func (p *Protected) indexed() *Protected {
	if p == nil {
		return nil
	}
	out := *p
	out.set = coordinate.NewAreaSet(p.Areas)
	return &out
}

// near returns the areas that may matter to a place.
func (p *Protected) near(point coordinate.Point, radius float64) iter.Seq[coordinate.Area] {
	if p.set.Len() != len(p.Areas) {
		return slices.Values(p.Areas)
	}
	return p.set.Near(point, radius)
}

// protectedReader reads the part of a GeoJSON file that counts (RFC 7946 section 3), feature by
// feature.
type protectedReader struct {
	p              *Protected
	limits         limit.Limits
	points, passed int
}

type protectedFeature struct {
	Geometry *find.Area `json:"geometry"`
}

// ReadProtected reads protected areas from GeoJSON: a FeatureCollection of polygons, or one polygon.
// Features without an area, such as points and lines, are counted in passed: nothing can be told of
// them. Of the limits Side, Areas and AreaPoints are looked at.
func ReadProtected(r io.Reader, name string, limits limit.Limits) (p *Protected, passed int, err error) {
	limits = limits.WithDefaults()
	x := protectedReader{p: &Protected{Name: name}, limits: limits}
	err = x.read(jsontext.NewDecoder(limit.Reader(r, "side", limits.Side)))
	var syntax *jsontext.SyntacticError
	var semantic *json.SemanticError
	switch over := limit.Of(err); {
	case over != nil:
		err = fmt.Errorf("%w, or cut it to the land around your permissions", over)
	case errors.As(err, &syntax), errors.As(err, &semantic), errors.Is(err, io.ErrUnexpectedEOF):
		err = fmt.Errorf("the file is not GeoJSON (%w); save the outlines as GeoJSON in degrees", err)
	case err == nil && len(x.p.Areas) == 0:
		err = errors.New("there is no polygon in degrees (WGS 84) in the file; save the outlines as GeoJSON in that system")
	}
	if err != nil {
		return nil, 0, fmt.Errorf("reading the protected areas: %w", err)
	}
	return x.p, x.passed, nil
}

func (x *protectedReader) read(d *jsontext.Decoder) error {
	if d.PeekKind() != '{' {
		if _, err := d.ReadToken(); err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		return errors.New("the file does not begin with a bracket {, as GeoJSON does; save the outlines as GeoJSON in " +
			"degrees")
	}
	if _, err := d.ReadToken(); err != nil {
		return err
	}
	var form string
	var one find.Area // of a file that is one polygon
	var feature protectedFeature
	for d.PeekKind() == '"' {
		name, err := d.ReadToken()
		if err != nil {
			return err
		}
		switch key := name.String(); {
		case key == "type" && d.PeekKind() == '"':
			err = json.UnmarshalDecode(d, &form)
		case key == "date" && d.PeekKind() == '"': // a foreign member, as people add it; no standard names one
			var date string
			err = json.UnmarshalDecode(d, &date)
			if _, ok := momentOf(date); ok && len(date) == len("2026-04-12") {
				x.p.Date = date
			}
		case key == "features" && d.PeekKind() == '[':
			err = x.features(d)
		case key == "geometry" && d.PeekKind() == '{':
			err = json.UnmarshalDecode(d, &feature.Geometry)
		case key == "coordinates":
			one.Coordinates, err = d.ReadValue()
			one.Coordinates = one.Coordinates.Clone()
		default:
			err = d.SkipValue()
		}
		if err != nil {
			return err
		}
	}
	if err := ended(d); err != nil {
		return err
	}
	switch form {
	case "FeatureCollection":
		return nil
	case "Feature":
		return x.add(feature.Geometry)
	case "Polygon", "MultiPolygon":
		one.Type = form
		return x.add(&one)
	}
	return fmt.Errorf("the file has the type %.40q; a FeatureCollection of polygons is expected", form)
}

// ended reads the end of the object, behind which nothing may follow.
func ended(d *jsontext.Decoder) error {
	_, err := d.ReadToken()
	if err != nil {
		return err
	}
	switch _, err = d.ReadToken(); {
	case err == nil:
		return errors.New("something follows after the end of the GeoJSON; save the outlines once more")
	case errors.Is(err, io.EOF):
		return nil
	}
	return err
}

func (x *protectedReader) features(d *jsontext.Decoder) error {
	if _, err := d.ReadToken(); err != nil {
		return err
	}
	for d.PeekKind() != ']' {
		var f protectedFeature
		if err := json.UnmarshalDecode(d, &f); err != nil {
			return err
		}
		if err := x.add(f.Geometry); err != nil {
			return err
		}
	}
	_, err := d.ReadToken()
	return err
}

func (x *protectedReader) add(geometry *find.Area) error {
	if geometry != nil {
		// which cost more memory unpacked than here
		if x.points += positions(geometry.Coordinates); int64(x.points) > x.limits.AreaPoints {
			return limit.Over("area-points", x.limits.AreaPoints)
		}
	}
	a := areaOf(geometry)
	if a.IsZero() {
		x.passed++
		return nil
	}
	if x.p.Areas = append(x.p.Areas, a); int64(len(x.p.Areas)) > x.limits.Areas {
		return limit.Over("areas", x.limits.Areas)
	}
	return nil
}

// positions counts the positions of GeoJSON coordinates: each begins at a bracket that no other follows.
func positions(coordinates []byte) (n int) {
	open := false
	for _, c := range coordinates {
		switch c {
		case '[':
			open = true
		case ' ', '\t', '\r', '\n':
		default:
			if open {
				n++
			}
			open = false
		}
	}
	return n
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
