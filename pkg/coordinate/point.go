package coordinate

import (
	"math"
	"strconv"
	"strings"
)

// Point is a place on WGS 84, in degrees: longitude -180 to 180, east positive, latitude -90 to 90, north positive.
//
// The canonical text that Parse accepts is
//
//	point    = latitude ", " longitude
//	latitude = [ "-" ] digits [ "." 1*7 digits ]
//
// with no leading or trailing zero that is not needed and no negative zero: "52.507195, -1.224". The zero Point is
// a real place in the Gulf of Guinea, and does not mean that nothing is known; where that must be told apart, see
// Reading.IsZero.
type Point struct{ Longitude, Latitude float64 }

// Valid reports whether both coordinates are numbers within their range.
func (p Point) Valid() bool {
	return math.Abs(p.Latitude) <= 90 && math.Abs(p.Longitude) <= 180
}

// Round returns p with both coordinates rounded to seven decimals, about a centimetre.
func (p Point) Round() Point { return Point{Round7(p.Longitude), Round7(p.Latitude)} }

// String returns the canonical text, with at most seven decimals. A point that is not valid prints its numbers too, but
// Parse will refuse them.
func (p Point) String() string {
	b := make([]byte, 0, 32)
	b = appendDegrees(b, p.Latitude)
	b = append(b, ", "...)
	return string(appendDegrees(b, p.Longitude))
}

func appendDegrees(b []byte, v float64) []byte {
	return strconv.AppendFloat(b, Round7(v), 'f', -1, 64)
}

// Parse reads the canonical text of a Point and nothing else; use Normalise for what people write.
func Parse(s string) (Point, error) {
	lat, lon, ok := strings.Cut(s, ", ")
	if !ok {
		return Point{}, notCanonical(s)
	}
	p, ok := Point{}, true
	var err error
	if p.Latitude, err = strconv.ParseFloat(lat, 64); err != nil {
		return Point{}, notCanonical(s)
	}
	if p.Longitude, err = strconv.ParseFloat(lon, 64); err != nil {
		return Point{}, notCanonical(s)
	}
	if !p.Valid() || p.String() != s {
		return Point{}, notCanonical(s)
	}
	return p, nil
}

func notCanonical(s string) *Error {
	return fault(s, "not-canonical", "this is not the canonical text of a position",
		"write latitude, comma, blank, longitude in decimal degrees with at most seven decimals")
}

// Round7 rounds degrees to seven decimals, about a centimetre, half away from zero; it never returns a negative
// zero. What is not a number stays so.
func Round7(v float64) float64 {
	if math.Abs(v) >= 1e8 || v != v {
		return v
	}
	r := math.Round(v*1e7) / 1e7
	if r == 0 {
		return 0
	}
	return r
}
