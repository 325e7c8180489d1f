package find

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// A Ring is a closed line of positions, each a JSON list of longitude and latitude.
type Ring []jsontext.Value

// Polygons returns the polygons of an area, each an outer ring and then its holes. An area that is
// neither a Polygon nor a MultiPolygon, or is not nested as one, is an error.
func (a *Area) Polygons() ([][]Ring, error) {
	var polygons [][]Ring
	var err error
	switch a.Type {
	case "Polygon":
		polygons = make([][]Ring, 1)
		err = json.Unmarshal(a.Coordinates, &polygons[0])
	case "MultiPolygon":
		err = json.Unmarshal(a.Coordinates, &polygons)
	default:
		return nil, fmt.Errorf("an area of type %q is not a Polygon or MultiPolygon", a.Type)
	}
	if err != nil {
		return nil, fmt.Errorf("the coordinates of an area are not nested as those of a %s", a.Type)
	}
	return polygons, nil
}

// AreaOf makes an area of polygons: a Polygon of a single one unless multi is set.
func AreaOf(polygons [][]Ring, multi bool) *Area {
	a := &Area{Type: "Polygon"}
	var raw []byte
	var err error
	if multi || len(polygons) != 1 {
		a.Type = "MultiPolygon"
		raw, err = json.Marshal(polygons)
	} else {
		raw, err = json.Marshal(polygons[0])
	}
	if err == nil {
		a.Coordinates = raw
	}
	return a
}

// Wound returns the area with its outer rings running against the clock and its holes with it, as
// RFC 7946 section 3.1.6 asks of writers. An area that runs so already, or that has no rings to
// turn, is returned as it is.
func (a *Area) Wound() *Area {
	polygons, err := a.Polygons()
	if err != nil {
		return a
	}
	turned := false
	for _, rings := range polygons {
		for i, ring := range rings {
			if size := ring.area(); size < 0 && i == 0 || size > 0 && i > 0 {
				slices.Reverse(ring)
				turned = true
			}
		}
	}
	if !turned {
		return a
	}
	out := AreaOf(polygons, a.Type == "MultiPolygon")
	out.Unknown = a.Unknown
	return out
}

// area is twice the size that the ring encloses in degrees, positive against the clock. A ring
// that is not one has none.
func (r Ring) area() float64 {
	points := make([][]float64, len(r))
	for i, v := range r {
		if json.Unmarshal(v, &points[i]) != nil || len(points[i]) < 2 {
			return 0
		}
	}
	sum := 0.0
	for i := 1; i < len(points); i++ {
		// Relative to the first position, so that small rings far from the origin keep their digits.
		ax, ay := points[i-1][0]-points[0][0], points[i-1][1]-points[0][1]
		bx, by := points[i][0]-points[0][0], points[i][1]-points[0][1]
		sum += ax*by - bx*ay
	}
	return sum
}

// sound reports whether an area is one that map files hold: a Polygon or MultiPolygon whose rings
// have four positions or more of two numbers or more, within the range of degrees, the last like
// the first (RFC 7946 sections 3.1.6 and 4).
func (a *Area) sound() bool {
	polygons, err := a.Polygons()
	if err != nil || len(polygons) == 0 {
		return false
	}
	for _, rings := range polygons {
		for _, ring := range rings {
			if !ring.sound() {
				return false
			}
		}
		if len(rings) == 0 {
			return false
		}
	}
	return true
}

func (r Ring) sound() bool {
	var first, last []float64
	for _, v := range r {
		last = nil
		if json.Unmarshal(v, &last) != nil || len(last) < 2 || math.Abs(last[0]) > 180 || math.Abs(last[1]) > 90 {
			return false
		}
		if first == nil {
			first = last
		}
	}
	return len(r) >= 4 && first[0] == last[0] && first[1] == last[1]
}

// SoundAreas reports whether the area of a permission and all its excluded parts are such as map
// files hold. Where one is not, a map file keeps them all in the report, so that none is lost and
// none is drawn wrongly.
func (p *Permission) SoundAreas() bool {
	for i := range p.Excluded {
		if !p.Excluded[i].sound() {
			return false
		}
	}
	return p.Area == nil || p.Area.sound()
}

// Located reports whether a position has a longitude and a latitude within the range of degrees, so
// that a map file can show it.
func (p *Position) Located() bool {
	return p != nil && p.Latitude.Known() && p.Longitude.Known() && math.Abs(p.Latitude.Float()) <= 90 &&
		math.Abs(p.Longitude.Float()) <= 180
}
