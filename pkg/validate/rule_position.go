package validate

import (
	"fmt"
	"math"
	"slices"
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

// onNull reports whether null-island has spoken of the point.
func (p *placement) onNull() bool { return onNull(p.point) }

func onNull(p coordinate.Point) bool {
	return p.Longitude == 0 || p.Latitude == 0 || p.Longitude == p.Latitude
}

var axesSwapped = &Rule{
	Kind: kinds.AxesSwapped,
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
	Check: func(c *Case, say Say) {
		p := c.placed()
		switch {
		case p.impossible || p.onNull():
		case p.excluded == coordinate.Inside:
			say("/position", "the spot lies in a piece of the land on which nothing may be dug, by more than its own "+
				"uncertainty")
		case p.byCountry && p.slip("projected-as-degrees") != nil:
			say("/position", "the spot lies outside the country that is stated; "+p.slips[0].Message)
		case p.unbounded:
			c.NotChecked()
		case p.verdict != coordinate.Outside:
		case len(p.slips) == 0:
			say("/position",
				fmt.Sprintf("the spot lies outside the land of its permission by more than its own uncertainty of %s m%s",
					figure(p.radius), assumed(p)))
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
	Check: func(c *Case, say Say) {
		p := c.placed()
		switch {
		case p.impossible || p.excluded == coordinate.Inside || p.onNull():
		case p.excluded == coordinate.CannotTell && p.stated:
			say("/position",
				fmt.Sprintf("the circle of %s m reaches into or out of a piece of the land on which nothing may be dug",
					figure(p.radius)))
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
		say(pointer+"/referenceSystem",
			"the degrees were copied as they stand, although they are in another system than WGS 84")
	}
}

// datumIgnored reports whether degrees of a national system stand in the record as if they were of WGS 84.
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

var positionsIdentical = &Rule{
	Kind: kinds.PositionsIdentical,
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, spot := range log.same(spotKey) {
			spot = slices.DeleteFunc(spot, func(i int) bool { return log.line(i).flags&ownsSpot == 0 })
			if n := c.Settings.SameSpotFinds; len(spot) >= max(n, 1) {
				say(log.ref(spot[max(n, 1)-1]), "/position",
					fmt.Sprintf("%d finds that are not lots stand at exactly this point", len(spot)))
			}
		}
	},
}

// claimsSpot reports that the position claims to be that of one object and that nothing in the record
// explains why another find should have the same.
func claimsSpot(f *find.Find) bool {
	p := f.Position
	if _, ok := pointOf(p); !ok || f.Kind == "lot" || f.PartOf != "" || f.Generalised["/position"] != "" ||
		p.UncertaintyBasis.Is("square", "generalised") || p.Method.Is("grid-reference", "field-centroid", "told",
		"dms-seconds") {
		return false
	}
	for i := range f.Associated {
		if f.Associated[i].Relation.Is("same-hole", "touching", "joins", "same-object", "duplicate-of") {
			return false
		}
	}
	return true
}

// firstPicture returns when the first of the pictures of a find was taken, as they say themselves.
func firstPicture(c *Case) (first moment, ok bool) {
	for i := range c.Find.Media {
		stated := c.Find.Media[i].TakenAt
		if stated == "" {
			stated, _ = takenAt(c, c.Find.Media[i].File)
		}
		m, known := momentOf(stated)
		if known && (!ok || m.day.Compare(first.day) < 0 || m.day == first.day && m.minute < first.minute) {
			first, ok = m, true
		}
	}
	return first, ok
}

var photoAfterOuting = &Rule{
	Kind: kinds.PhotoAfterOuting,
	Check: func(c *Case, say Say) {
		p := c.Find.Position
		if p == nil || !p.Method.Is("photo") {
			return
		}
		taken, ok := momentOf(p.TakenAt)
		at := "/position/takenAt"
		if p.TakenAt == "" {
			taken, ok = firstPicture(c)
			at = "/position"
			if where := c.placed(); !where.impossible && !where.unbounded && where.verdict == coordinate.Inside {
				ok = false // on the land of its permission: the picture that it is of need not be among those listed
			}
		}
		if !ok || c.Outing == nil {
			c.NotChecked()
			return
		}
		day, ok := momentOf(c.Outing.Date)
		if !ok {
			c.NotChecked()
			return
		}
		minutes := daysBetween(day.day, taken.day) * 24 * 60
		end, okEnd := clockOf(c.Outing.End)
		start, okStart := clockOf(c.Outing.Start)
		switch {
		case !okEnd || taken.minute < 0 || !sameZone(taken, end) && taken.zone == utc:
			// Only the days can be compared; a clock set to UTC can be a day off.
			late := minutes > 24*60 || minutes == 24*60 && taken.zone != utc
			if late {
				say(at, "the picture was taken after the day of the outing")
			} else {
				c.NotChecked()
			}
		default:
			over := end.minute
			if okStart && over < start.minute {
				over += 24 * 60 // past midnight
			}
			if minutes+taken.minute > over+c.Settings.PhotoSlack {
				say(at, "the picture was taken after the outing had ended")
			}
		}
	},
}

var positionsDisagree = &Rule{
	Kind: kinds.PositionsDisagree,
	Check: func(c *Case, say Say) {
		f := c.Find
		main, ok := pointOf(f.Position)
		if !ok || len(f.OtherPositions) == 0 || f.Generalised["/position"] != "" {
			return
		}
		radius, _ := radiusOf(f.Position)
		for i := range f.OtherPositions {
			p := &f.OtherPositions[i]
			point, ok := pointOf(p)
			other, _ := radiusOf(p)
			if !ok && p.Verbatim != "" {
				r, err := readPosition(p.Verbatim, coordinate.Options{System: p.ReferenceSystem, Language: c.Report.Language})
				if ok = err == nil && r.Absent == ""; ok {
					point = r.Point
					if !p.Uncertainty.Known() {
						other = r.Uncertainty
					}
				}
			}
			if !ok {
				c.NotChecked()
				continue
			}
			if d := apart(main, point); d > radius+other+1 {
				say(fmt.Sprintf("/otherPositions/%d", i),
					fmt.Sprintf("this lies about %s m from the main position; together they allow %s m", figure(d),
						figure(radius+other)))
			}
		}
	},
}
