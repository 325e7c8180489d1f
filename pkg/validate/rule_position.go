package validate

import (
	"fmt"
	"math"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var positionRules = []*Rule{nullIsland, axesSwapped, signLost, minutesAsDecimals, outsidePermission, permissionEdge,
	uncertaintyTooSmall,
	datumUnknown, positionsIdentical, photoAfterOuting, positionsDisagree}

var nullIsland = &Rule{
	Kind: notice.Kind{
		Code: "null-island", Severity: notice.Error, Group: "position", Spec: "5.3",
		Title:  "a coordinate is exactly nought, or both are the same",
		Why:    "an empty cell that became 0, or one cell copied into both columns",
		Help:   "Take the position out and say in absent why there is none, or give it again from the source.",
		Source: "common practice, no source",
		Before: `"position": {"longitude": 0, "latitude": 0}`, After: `"absent": {"/position": "not-measured"}`,
	},
	// When: The position has longitude and latitude within their ranges, and `generalised` does not name `/position`.
	// If the permission of the find has an `area`, the spot lies outside it (as in `outside-permission`). Longitude
	// and latitude are both 0, or the same number (at `/position`); or the longitude is exactly 0 (at
	// `/position/longitude`); or the latitude is (at `/position/latitude`). The first that holds.
	Check: func(c *Case, say Say) {
		p := c.placed()
		if p.impossible || !p.unbounded && p.verdict != coordinate.Outside {
			return
		}
		switch x, y := p.point.Longitude, p.point.Latitude; {
		case x == 0 && y == 0:
			say("/position", "longitude and latitude are both 0")
		case x == y:
			say("/position", "longitude and latitude are the same number")
		case x == 0:
			say("/position/longitude", "the longitude is exactly 0")
		case y == 0:
			say("/position/latitude", "the latitude is exactly 0")
		}
	},
}

// onNull tells that null-island has spoken of the point.
func (p *placement) onNull() bool { return onNull(p.point) }

func onNull(p coordinate.Point) bool {
	return p.Longitude == 0 || p.Latitude == 0 || p.Longitude == p.Latitude
}

var axesSwapped = &Rule{
	Kind: notice.Kind{
		Code: "axes-swapped", Severity: notice.Error, Group: "position", Spec: "5.3",
		Title:  "longitude and latitude stand in each other's place",
		Why:    "GeoJSON has longitude first, maps and phones have latitude first",
		Help:   "Swap the two. If all finds are so, the columns were swapped: mend the headings.",
		Source: "RFC 7946 section 3.1.1",
		Before: `"longitude": 52.5071, "latitude": -1.2241`, After: `"longitude": -1.2241, "latitude": 52.5071`,
	},
	// When: The spot, as in `outside-permission`, lies outside the ground it is looked for by: the `area` of the
	// permission, or where that has none, or the find has no permission, the box of its jurisdiction
	// (schema/data/countries.json). It lies more than 500 m outside that ground. Tried in this order are the point with
	// both numbers exchanged; with the other sign of the longitude; of the latitude; of both; with the decimals of both
	// numbers, as seven decimals, read as minutes (0.3045 as 30.45 minutes) and then as minutes and seconds (30 minutes
	// 45 seconds), where minutes and seconds stay below 60, first with the sign of the longitude as it is and then both
	// with the other sign; and, where `verbatim` is two numbers of which one is beyond 180, as eastings and northings
	// in either order, each projected system of those in `datum-unknown` in whose area of use in the EPSG dataset, or
	// up to 1 degree beyond, the point then lies. Counted are those that come to lie inside the ground or up to 500 m
	// outside it. The nearest counts (0 inside), and of equals the first. Here it is the exchange, and neither number
	// is 0 nor are both the same. Not checked where there is neither area nor box. At `/position`.
	Check: func(c *Case, say Say) {
		p := c.placed()
		if p.blind() {
			c.NotChecked()
		} else if p.slip("swapped-axes") != nil && !p.onNull() {
			say("/position", "the position lies outside the "+p.ground()+
				", but inside it or beside it when longitude and latitude are swapped")
		}
	},
}

var signLost = &Rule{
	Kind: notice.Kind{
		Code: "sign-lost", Severity: notice.Warning, Group: "position", Spec: "5.3",
		Title:  "a minus sign was lost or gained",
		Why:    "west of Greenwich longitudes are negative, south of the equator latitudes are",
		Help:   "Put the minus sign in or take it out, and look whether all finds of the file are so.",
		Source: "ISO 6709; boxes of countries: EPSG dataset, some from memory",
		Before: `"longitude": 1.2241, "latitude": 52.5071`, After: `"longitude": -1.2241, "latitude": 52.5071`,
	},
	// When: As in `axes-swapped`, with a changed sign as the slip that counts: of the longitude (at
	// `/position/longitude`), of the latitude (at `/position/latitude`) or of both (at `/position`).
	Check: func(c *Case, say Say) {
		p := c.placed()
		if p.blind() {
			c.NotChecked()
			return
		}
		switch s := p.slip("lost-minus-longitude", "lost-minus-latitude", "lost-minus-both"); {
		case s == nil || p.onNull():
		case s.Code == "lost-minus-longitude":
			say("/position/longitude", "the position lies outside the "+p.ground()+
				", but inside it or beside it with the other sign of the longitude")
		case s.Code == "lost-minus-latitude":
			say("/position/latitude", "the position lies outside the "+p.ground()+
				", but inside it or beside it with the other sign of the latitude")
		default:
			say("/position", "the position lies outside the "+p.ground()+", but inside it or beside it with both signs turned")
		}
	},
}

var minutesAsDecimals = &Rule{
	Kind: notice.Kind{
		Code: "minutes-as-decimals", Severity: notice.Error, Group: "position", Spec: "5.3",
		Title:  "degrees and minutes were written as a decimal number",
		Why:    "52.3045 can be 52 degrees 30.45 minutes: kilometres away from 52.3045 degrees",
		Help:   "Look at the receiver's setting. Write the minutes as such, 52° 30.45', and let the tool convert.",
		Source: "our proposal",
		Before: `"latitude": 52.3045`, After: `"latitude": 52.5075, "verbatim": "52° 30.45' N …"`,
	},
	// When: As in `axes-swapped`, with decimals read as minutes, or as minutes and seconds, as the slip that counts.
	// At `/position`.
	Check: func(c *Case, say Say) {
		p := c.placed()
		if p.blind() {
			c.NotChecked()
			return
		}
		switch s := p.slip("minutes-as-decimals", "seconds-as-decimals"); {
		case s == nil || p.onNull():
		case s.Code == "minutes-as-decimals":
			say("/position", "the position lies outside the "+p.ground()+
				", but inside it or beside it when the decimals are read as minutes")
		default:
			say("/position", "the position lies outside the "+p.ground()+
				", but inside it or beside it when the decimals are read as minutes and seconds")
		}
	},
}

var outsidePermission = &Rule{
	Kind: notice.Kind{
		Code: "outside-permission", Severity: notice.Error, Group: "position", Spec: "5.3",
		Title:  "the spot lies outside the permission",
		Why:    "wrong field, wrong permission, or ground on which there was no leave to detect",
		Help:   "Look at the position first, then at the permission and its outline. If it is right, speak with the landowner.",
		Source: "common practice, no source",
		Before: `a position 60 m beyond the edge of "area" with "uncertainty": 5`,
		After:  `the same find with the permission it belongs to`,
	},
	// When: The position has longitude and latitude, neither is 0 nor are both the same, and `generalised` does not
	// name `/position`. The radius of the spot is `/position/uncertainty` if it is above zero, else the usual one
	// (`metres`) of `/position/method` in the list `position-method` (schema/vocabulary), else that of `gnss-unknown`.
	// A spot lies inside an area, or outside it, where its point does and the edge is further away than the radius;
	// else it cannot be told. The notice is drawn where the spot lies inside one of the `excluded` areas of the
	// permission; or outside its `area` and there is no slip as in `axes-swapped`; or outside that area or, for want of
	// one, outside the box of the jurisdiction, and the slip that counts is eastings and northings in the place of
	// degrees. Else not checked where the find has no permission, or one without `area`. At `/position`.
	Check: func(c *Case, say Say) {
		p := c.placed()
		switch {
		case p.impossible || p.onNull():
		case p.excluded == coordinate.Inside:
			say("/position", "the spot lies in a piece of the land on which nothing may be dug, by more than its own uncertainty")
		case p.byCountry && p.slip("projected-as-degrees") != nil:
			say("/position", "the spot lies outside the country that is stated; "+p.slips[0].Message)
		case p.unbounded:
			c.NotChecked()
		case p.verdict != coordinate.Outside:
		case len(p.slips) == 0:
			say("/position", fmt.Sprintf("the spot lies outside the land of its permission by more than its own uncertainty of %s m%s", figure(p.radius), assumed(p)))
		case p.slip("projected-as-degrees") != nil:
			say("/position", "the spot lies outside the land of its permission; "+p.slips[0].Message)
		}
	},
}

func assumed(p *placement) string {
	if p.stated {
		return ""
	}
	return ", which is taken from the method because none is given"
}

var permissionEdge = &Rule{
	Kind: notice.Kind{
		Code: "permission-edge", Severity: notice.Warning, Group: "position", Spec: "5.3",
		Title:  "it cannot be told whether the spot lies on allowed ground",
		Why:    "the circle of its uncertainty reaches across the edge of the permission, or into a piece that is left out",
		Help:   "If you know on which side it was, say so in the notes and accept this notice; else keep away from the edge by twice the uncertainty.",
		Source: "our proposal",
		Before: `a position 3 m inside the edge of "area" with "uncertainty": 5`,
		After:  `the same position, averaged, with "uncertainty": 2`,
	},
	// When: As in `outside-permission`, the spot does not lie inside an `excluded` area, `/position/uncertainty` is
	// given and above zero, and of an `excluded` area or of the `area` it cannot be told whether the spot lies inside
	// or outside. Else not checked where the find has no permission, or one without `area`, or where it cannot be told
	// and the radius is not that of `/position/uncertainty`. At `/position`.
	Check: func(c *Case, say Say) {
		p := c.placed()
		switch {
		case p.impossible || p.excluded == coordinate.Inside || p.onNull():
		case p.excluded == coordinate.CannotTell && p.stated:
			say("/position", fmt.Sprintf("the circle of %s m reaches into or out of a piece of the land on which nothing may be dug", figure(p.radius)))
		case p.unbounded || !p.stated && (p.verdict == coordinate.CannotTell || p.excluded == coordinate.CannotTell):
			c.NotChecked()
		case p.verdict == coordinate.CannotTell:
			say("/position", fmt.Sprintf("the circle of %s m reaches across the edge of the permission", figure(p.radius)))
		}
	},
}

// degreeMetres is the length of a degree of latitude in metres, near enough for a rule of thumb:
// the quarter of a meridian is 10,000 km.
const degreeMetres = 10_000_000.0 / 90

// rounding returns half the diagonal in metres of the cell of the last decimal at a latitude.
func rounding(decimals int, latitude float64) float64 {
	side := degreeMetres * math.Pow10(-decimals)
	return math.Hypot(side, side*math.Cos(latitude*math.Pi/180)) / 2
}

// decimalsOf counts the decimals of a number as it is written.
func decimalsOf(n find.Number) int {
	v, d := int64(n.Decimal()), 9
	for d > 0 && v%10 == 0 {
		v, d = v/10, d-1
	}
	return d
}

func decimalsText(n int) string {
	switch n {
	case 0:
		return "no decimals"
	case 1:
		return "one decimal"
	}
	return fmt.Sprintf("%d decimals", n)
}

var uncertaintyTooSmall = &Rule{
	Kind: notice.Kind{
		Code: "uncertainty-too-small", Severity: notice.Warning, Group: "position", Spec: "5.3",
		Title:  "the uncertainty is smaller than the method or the figures allow",
		Why:    "whoever plans a dig or judges an edge relies on the figure",
		Help:   "Give the figure the device showed, or the usual one of the method; phones hold about 5 m under open sky.",
		Source: "Georeferencing Best Practices (2020), doi 10.15468/doc-gg7h-s853; least figures: our proposal, see the list position-method",
		Before: `"method": {"code": "phone"}, "uncertainty": 0.1`, After: `"method": {"code": "phone"}, "uncertainty": 5`,
	},
	// When: The position has longitude, latitude and `uncertainty`, and `generalised` does not name `/position`. It has a
	// `method` to which the list `position-method` (schema/vocabulary) gives a `least` radius that is larger than
	// `uncertainty`, and no `verbatim` beside the methods `dms-seconds` and `grid-reference`. Or it has no
	// `verbatim`, neither number is 0 nor are both the same, and half the diagonal of the cell of the last decimal
	// is more than twice `uncertainty`: D is the larger number of decimals of the two (zeros at the end do not
	// count), the side of the cell 10,000,000 m / 90 times 10 to the power of -D, the other side that times the
	// cosine of the latitude. At `/position/uncertainty`.
	Check: func(c *Case, say Say) {
		p := c.Find.Position
		point, ok := pointOf(p)
		if !ok || !p.Uncertainty.Known() || c.Find.Generalised["/position"] != "" {
			return
		}
		if _, least := radiusOfMethod(p.Method); p.Method != nil && p.Uncertainty.Float() < least &&
			(p.Verbatim == "" || !textTells(p)) {
			say("/position/uncertainty", fmt.Sprintf("it is given as %s m, but this method does not do better than %s m",
				p.Uncertainty, figure(least)))
			return
		}
		if p.Verbatim != "" || onNull(point) {
			return
		}
		decimals := max(decimalsOf(p.Longitude), decimalsOf(p.Latitude))
		if r := rounding(decimals, point.Latitude); r > 2*p.Uncertainty.Float() {
			say("/position/uncertainty", fmt.Sprintf("with %s a spot is known to about %s m, not to %s m",
				decimalsText(decimals), figure(math.Ceil(r)), p.Uncertainty))
		}
	},
}

// textTells reports whether the radius follows from how the text is written.
func textTells(p *find.Position) bool { return p.Method.Is("dms-seconds", "grid-reference") }

var datumUnknown = &Rule{
	Kind: notice.Kind{
		Code: "datum-unknown", Severity: notice.Warning, Group: "position", Spec: "5.3",
		Title:  "the system of the position as written is not known, or was not heeded",
		Why:    "taken for WGS 84, a position in an older national system is off by 50 to 150 metres, all finds the same way",
		Help:   "Give the system by its EPSG number and convert again: 27700 is the British grid, 4277 its degrees, 4326 is WGS 84.",
		Source: "the shifts between the systems of the EPSG dataset; about 100 m in Britain: from memory",
		Before: `"verbatim": "52.5068, -1.2225", "referenceSystem": "old map"`,
		After:  `"verbatim": "52.5068, -1.2225", "referenceSystem": "EPSG:4277"`,
	},
	// When: For the position and each of `otherPositions`: `referenceSystem` is given and is no system that is known,
	// by its EPSG number, its full name or a short one in common use (BNG, RD, LV95, UTM 32N; letters and digits count,
	// capitals do not). Known are in degrees 4326 (WGS 84), 4258, 4277, 4300, 4289, 4313, 4314 and 4150; and projected
	// 27700, 29903, 2157, 28992, 31370, 3812, 3006, 3067, 2154, 31466 to 31469, 2056, 2180, 2176 to 2179, 3035, 5514,
	// 25828 to 25838, 32601 to 32660 and 32701 to 32760. Or it is one of degrees other than WGS 84, there is a
	// `verbatim`, longitude and latitude lie less than 1 m from what the text says if it is taken as WGS 84, and more
	// than 20 m from what it says in its system. Distances are taken on a plane, with 10,000,000 m / 90 a degree and
	// the longitude times the cosine of the mean latitude. At its `/referenceSystem`.
	Check: func(c *Case, say Say) {
		datumOf(c.Find.Position, "/position", say)
		for i := range c.Find.OtherPositions {
			datumOf(&c.Find.OtherPositions[i], fmt.Sprintf("/otherPositions/%d", i), say)
		}
	},
}

// datumOf looks at the system of one position.
func datumOf(p *find.Position, pointer string, say Say) {
	if p == nil || p.ReferenceSystem == "" {
		return
	}
	switch system, ok := coordinate.SystemByName(p.ReferenceSystem); {
	case !ok:
		say(pointer+"/referenceSystem", "this system is not one that the tool knows, so that the position cannot be judged")
	case datumIgnored(p, system):
		say(pointer+"/referenceSystem", "the degrees were copied as they stand, although they are in another system than WGS 84")
	}
}

// datumIgnored tells that degrees of a national system stand in the record as if they were of WGS 84.
func datumIgnored(p *find.Position, system *coordinate.System) bool {
	point, ok := pointOf(p)
	if !ok || p.Verbatim == "" || !system.Geographic() || strings.HasSuffix(system.Code, ":4326") {
		return false
	}
	raw, err := readPosition(p.Verbatim, coordinate.Options{})
	right, err2 := readPosition(p.Verbatim, coordinate.Options{System: p.ReferenceSystem})
	if err != nil || err2 != nil || raw.Absent != "" {
		return false
	}
	return apart(raw.Point, point) < 1 && apart(right.Point, point) > 20
}

// apart returns the metres between two points that are near each other; far apart it is a rough
// figure.
func apart(a, b coordinate.Point) float64 {
	dy := (a.Latitude - b.Latitude) * degreeMetres
	dx := math.Remainder(a.Longitude-b.Longitude, 360) * degreeMetres * math.Cos((a.Latitude+b.Latitude)/2*math.Pi/180)
	return math.Hypot(dx, dy)
}
