package coordinate

import (
	"fmt"
	"iter"
	"math"
	"strings"

	"github.com/findslip/findslip/pkg/text"
)

// Method names a map projection.
type Method string

// The projections this package knows.
const (
	Geographic         Method = "geographic" // latitude and longitude themselves
	TransverseMercator Method = "transverse Mercator"
	LambertConic       Method = "Lambert conic conformal, two standard parallels"
	ObliqueStereo      Method = "oblique stereographic"
	SwissMercator      Method = "Swiss oblique Mercator"
	EqualArea          Method = "Lambert azimuthal equal area"
	Krovak             Method = "Krovak, north orientated"
)

// Projection is a method with its parameters: angles in decimal degrees, lengths in metres.
type Projection struct {
	Method                               Method
	LatitudeOfOrigin, LongitudeOfOrigin  float64
	Scale                                float64 // at the origin; not used by the conic
	StandardParallel1, StandardParallel2 float64 // the conic; Krovak's pseudo standard parallel is the first
	ConeAxis                             float64 // co-latitude of the axis of the cone, Krovak only
	FalseEasting, FalseNorthing          float64
}

// Extent is an area of use in degrees of WGS 84.
type Extent struct{ South, West, North, East float64 }

// Contains reports whether p lies in the extent widened by margin degrees on every side.
func (x Extent) Contains(p Point, margin float64) bool {
	return p.Latitude >= x.South-margin && p.Latitude <= x.North+margin &&
		p.Longitude >= x.West-margin && p.Longitude <= x.East+margin
}

// System is a coordinate reference system: a projection on an ellipsoid and the shift of its datum to WGS 84, all of it
// data from the EPSG dataset. Systems are shared; do not change one.
type System struct {
	Code          string   // "EPSG:27700"
	Name          string   // in plain English
	Aliases       []string // what people call it, lower case, without marks
	Datum         string
	Ellipsoid     Ellipsoid
	Projection    Projection
	Shift         Shift
	Extent        Extent // area of use as the EPSG dataset gives it
	NorthingFirst bool   // the registry's axis order is northing, easting
	XIsNorthing   bool   // x names the northing in national use

	conv  converter
	shift *helmert
}

// converter is a projection made ready; angles are in radians.
type converter interface {
	forward(phi, lambda float64) (easting, northing float64)
	inverse(easting, northing float64) (phi, lambda float64)
	reach(phi, lambda float64) bool
}

// ready fills what is computed once.
func (s *System) ready() *System {
	switch s.Projection.Method {
	case TransverseMercator:
		s.conv = newMercator(s.Ellipsoid, s.Projection)
	case LambertConic:
		s.conv = newConic(s.Ellipsoid, s.Projection)
	case ObliqueStereo:
		s.conv = newStereographic(s.Ellipsoid, s.Projection)
	case SwissMercator:
		s.conv = newSwiss(s.Ellipsoid, s.Projection)
	case EqualArea:
		s.conv = newAzimuthal(s.Ellipsoid, s.Projection)
	case Krovak:
		s.conv = newKrovak(s.Ellipsoid, s.Projection)
	}
	s.shift = newHelmert(s.Shift)
	return s
}

// Geographic reports whether the system's coordinates are latitude and longitude in degrees, not metres.
func (s *System) Geographic() bool { return s.conv == nil }

// ToWGS84 turns easting and northing in metres into a WGS 84 point. For a geographic system they are longitude and
// latitude in degrees. It is an error to be outside what the projection can hold; whether a point lies in the area of
// use is for Extent.Contains to say.
func (s *System) ToWGS84(easting, northing float64) (Point, error) {
	if s.conv == nil {
		if math.Abs(northing) > 90 || math.Abs(easting) > 180 || easting != easting || northing != northing {
			return Point{}, s.beyond()
		}
	} else if !(math.Abs(easting) < 2e7 && math.Abs(northing) < 2e7) {
		return Point{}, s.beyond()
	}
	phi, lambda := northing*radians, easting*radians
	if s.conv != nil {
		phi, lambda = s.conv.inverse(easting, northing)
		if !(math.Abs(phi) <= math.Pi/2) || !s.conv.reach(phi, lambda) {
			return Point{}, s.beyond()
		}
	}
	if s.shift != nil {
		phi, lambda = s.shift.toWGS84(s.Ellipsoid, phi, lambda)
	}
	p := Point{Longitude: wrap(lambda) * degrees, Latitude: phi * degrees}
	if !p.Valid() {
		return Point{}, s.beyond()
	}
	return p, nil
}

// FromWGS84 turns a WGS 84 point into easting and northing in metres (longitude and latitude in degrees for a
// geographic system). It undoes ToWGS84 exactly.
func (s *System) FromWGS84(p Point) (easting, northing float64, err error) {
	if !p.Valid() {
		return 0, 0, s.beyond()
	}
	phi, lambda := p.Latitude*radians, p.Longitude*radians
	if s.shift != nil {
		phi, lambda = s.shift.fromWGS84(s.Ellipsoid, phi, lambda)
	}
	if s.conv == nil {
		return lambda * degrees, phi * degrees, nil
	}
	if !s.conv.reach(phi, lambda) {
		return 0, 0, s.beyond()
	}
	easting, northing = s.conv.forward(phi, lambda)
	return easting, northing, nil
}

func (s *System) beyond() error { return beyondError{s} }

// beyondError is written out only where it is shown: trying a system out is common.
type beyondError struct{ *System }

func (e beyondError) Error() string {
	return fmt.Sprintf("the place lies beyond what %s (%s) can hold", e.Code, e.Name)
}

// Systems yields every system this package knows: the named ones first, then the zones of UTM in order of code.
func Systems() iter.Seq[*System] {
	return func(yield func(*System) bool) {
		for _, s := range systems() {
			if !yield(s) {
				return
			}
		}
	}
}

// SystemByCode finds a system by its EPSG code, written "EPSG:27700", "27700", as a URN
// ("urn:ogc:def:crs:EPSG::27700") or as an OGC address; case and blanks do not matter.
func SystemByCode(code string) (*System, bool) {
	n, ok := epsgNumber(code)
	if !ok {
		return nil, false
	}
	s, ok := byNumber()[n]
	return s, ok
}

// epsgNumber takes the number out of an EPSG code in any of its spellings.
func epsgNumber(code string) (int, bool) {
	code = strings.TrimSpace(code)
	end := len(code)
	start := end
	for start > 0 && code[start-1] >= '0' && code[start-1] <= '9' {
		start--
	}
	if end-start < 4 || end-start > 6 {
		return 0, false
	}
	switch head := code[:start]; {
	case head == "",
		hasFold(head, "epsg:"), hasFold(head, "epsg"), hasFold(head, "epsg::"),
		hasFold(strings.TrimRight(head, " "), "epsg:"), hasFold(strings.TrimRight(head, " "), "epsg"),
		strings.EqualFold(head, "urn:ogc:def:crs:epsg::"),
		strings.EqualFold(head, "http://www.opengis.net/def/crs/epsg/0/"),
		strings.EqualFold(head, "https://www.opengis.net/def/crs/epsg/0/"):
	default:
		return 0, false
	}
	n := 0
	for _, c := range code[start:] {
		n = n*10 + int(c-'0')
	}
	return n, true
}

func hasFold(s, want string) bool { return len(s) == len(want) && strings.EqualFold(s, want) }

// SystemByName finds a system by its code or by a name that people give it ("RD", "British National Grid", "UTM 32N").
func SystemByName(name string) (*System, bool) {
	if s, ok := SystemByCode(name); ok {
		return s, true
	}
	folded := foldName(name)
	if strings.HasSuffix(name, "+") { // CH1903+ is not CH1903
		folded += "plus"
	}
	return named(folded)
}

// named finds a system by its folded name; a zone of UTM may have the letter of its band, but S, which may mean south.
func named(folded string) (*System, bool) {
	if s, ok := byAlias()[folded]; ok {
		return s, true
	}
	rest, utm := strings.CutPrefix(folded, "utm")
	rest = strings.TrimPrefix(rest, "zone")
	zone, figures := 0, 0
	for figures < min(len(rest), 2) && rest[figures]-'0' <= 9 {
		zone, figures = 10*zone+int(rest[figures]-'0'), figures+1
	}
	if !utm || zone < 1 || zone > 60 || len(rest) != figures+1 || rest[figures] == 's' {
		return nil, false
	}
	letter := rest[figures] - 'a' + 'A'
	_, _, ok := band(letter)
	return utmSystem(zone, letter < 'N'), ok
}

// foldName keeps letters and digits, lower case: "ETRS89 / UTM zone 32N" is "etrs89utmzone32n".
func foldName(s string) string { return strings.ReplaceAll(text.Key(text.Typed(s), ""), " ", "") }
