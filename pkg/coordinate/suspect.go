package coordinate

import (
	"cmp"
	"math"
	"slices"
)

// Suspicion is a slip that would explain why a point lies outside an area: the Point as it would be without the slip
// lies in the area or near it. It is a proposal and never applied.
type Suspicion struct {
	// "swapped-axes", "lost-minus-longitude", "lost-minus-latitude", "lost-minus-both", "minutes-as-decimals",
	// "seconds-as-decimals", "projected-as-degrees"
	Code    string
	Point   Point
	System  string // of eastings and northings that were read as degrees; else empty
	Message string // without the position
}

// nearArea is how far outside an area a corrected point may lie, in metres: a slip moves a point by kilometres.
const nearArea = 500

// Suspect looks for the slips that move a point far away: axes swapped, a minus sign lost, minutes read as decimals,
// eastings and northings in the columns of degrees. It proposes only what lands inside a or near it, and nothing where
// p itself does. What lands inside comes first. verbatim is the text the point was read from, if there is one; it
// is looked into for eastings and northings when p cannot hold them.
func Suspect(p Point, a Area, verbatim string) []Suspicion {
	if a.IsZero() || near(p, a) {
		return nil
	}
	var out []Suspicion
	try := func(code, system string, q Point, message string) {
		q = q.Round()
		if near(q, a) {
			out = append(out, Suspicion{Code: code, Point: q, System: system, Message: message})
		}
	}
	x, y := p.Longitude, p.Latitude
	try("swapped-axes", "", Point{Longitude: y, Latitude: x}, "longitude and latitude seem to stand in each other's place")
	try("lost-minus-longitude", "", Point{Longitude: -x, Latitude: y},
		"the longitude seems to lie on the wrong side of Greenwich; a minus sign or a W may be missing")
	try("lost-minus-latitude", "", Point{Longitude: x, Latitude: -y},
		"the latitude seems to lie on the wrong side of the equator; a minus sign or an S may be missing")
	try("lost-minus-both", "", Point{Longitude: -x, Latitude: -y},
		"longitude and latitude both seem to have lost or gained their sign")
	for _, flip := range [...]float64{1, -1} {
		if q, ok := fromMinutes(x, y, false); ok {
			q.Longitude *= flip
			try("minutes-as-decimals", "", q, "the figures behind the point seem to be minutes, not decimals of a degree")
		}
		if q, ok := fromMinutes(x, y, true); ok {
			q.Longitude *= flip
			try("seconds-as-decimals", "", q,
				"the figures behind the point seem to be minutes and seconds, not decimals of a degree")
		}
	}
	if e, n, ok := metres(p, verbatim); ok {
		for _, s := range systems() {
			if s.Geographic() {
				continue
			}
			for i, pair := range [...][2]float64{{e, n}, {n, e}} {
				if i == 1 && e == n {
					continue
				}
				if q, err := s.ToWGS84(pair[0], pair[1]); err == nil && s.Extent.Contains(q, 1) {
					try("projected-as-degrees", s.Code, q,
						"these seem to be easting and northing in metres ("+s.Name+") in columns meant for degrees")
				}
			}
		}
	}
	slices.SortStableFunc(out, func(x, y Suspicion) int {
		return cmp.Compare(outsideBy(x.Point, a), outsideBy(y.Point, a))
	})
	return out
}

// outsideBy is how far outside the area a point lies, 0 inside.
func outsideBy(p Point, a Area) float64 {
	in, d := a.locate(p)
	if in {
		return 0
	}
	return d
}

func near(p Point, a Area) bool {
	if !p.Valid() {
		return false
	}
	return outsideBy(p, a) <= nearArea
}

// fromMinutes reads the decimals of both as minutes (52.3045 is 52 degrees 30.45 minutes), or as minutes and seconds
// (52 degrees 30 minutes 45 seconds).
func fromMinutes(x, y float64, seconds bool) (Point, bool) {
	var v [2]float64
	for i, d := range [2]float64{x, y} {
		whole, part := math.Modf(math.Abs(Round7(d)))
		minutes := math.Round(part*1e7) / 1e5
		if minutes >= 60 {
			return Point{}, false
		}
		if seconds {
			m, s := math.Modf(minutes)
			s = math.Round(s*1e5) / 1e3
			if s >= 60 {
				return Point{}, false
			}
			minutes = m + s/60
		}
		v[i] = math.Copysign(whole+minutes/60, d)
	}
	q := Point{Longitude: v[0], Latitude: v[1]}
	return q, q.Valid() && q != Point{Longitude: x, Latitude: y}
}

// metres takes easting and northing from a point that cannot be degrees, or from the text beside it.
func metres(p Point, verbatim string) (e, n float64, ok bool) {
	if !p.Valid() && math.Abs(p.Longitude) < 1e8 && math.Abs(p.Latitude) < 1e8 {
		return p.Longitude, p.Latitude, true
	}
	text, bad := tidy(verbatim)
	if bad != nil {
		return 0, 0, false
	}
	if text, bad = decimalCommas(ungroup(text)); bad != nil {
		return 0, 0, false
	}
	var t tokens
	if lex(text, &t) != nil {
		return 0, 0, false
	}
	a, b, found := takePair(joinGroups(t.slice()), false)
	if !found || math.Abs(a.number.value) <= 180 && math.Abs(b.number.value) <= 180 {
		return 0, 0, false
	}
	return a.number.signed(), b.number.signed(), true
}
