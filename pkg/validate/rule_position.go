package validate

import (
	"fmt"
	"math"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var positionRules = []*Rule{nullIsland, axesSwapped, signLost, minutesAsDecimals, outsidePermission, permissionEdge,
	uncertaintyTooSmall,
	datumUnknown, positionsIdentical, photoAfterOuting, positionsDisagree}

var nullIsland = &Rule{
	Kind: kinds.NullIsland,
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
	Kind: kinds.AxesSwapped,
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
	Kind: kinds.SignLost,
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
	Kind: kinds.MinutesAsDecimals,
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
	Kind: kinds.OutsidePermission,
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
	Kind: kinds.PermissionEdge,
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
	Kind: kinds.UncertaintyTooSmall,
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
	Kind: kinds.DatumUnknown,
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
