package validate

import (
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
)

// A site is the ground of one permission, made ready for asking what lies in it.
type site struct {
	area     coordinate.Area
	excluded coordinate.AreaSet
}

// sites are those of one run; each is made when a find first asks for it.
type sites map[*find.Permission]func() *site

func newSites(r *find.Report) sites {
	s := make(sites, len(r.Permissions))
	for i := range r.Permissions {
		p := &r.Permissions[i]
		s[p] = sync.OnceValue(func() *site { return newSite(p) })
	}
	return s
}

func (f *frame) siteOf(p *find.Permission) *site {
	if f != nil && f.sites[p] != nil {
		return f.sites[p]()
	}
	return newSite(p)
}

func newSite(p *find.Permission) *site {
	made := &site{area: areaOf(p.Area)}
	var excluded []coordinate.Area
	for i := range p.Excluded {
		if a := areaOf(&p.Excluded[i]); !a.IsZero() {
			excluded = append(excluded, a)
		}
	}
	made.excluded = coordinate.NewAreaSet(excluded)
	return made
}

// areaOf makes an area of GeoJSON coordinates. One that cannot be made is empty: nothing can be
// told of it.
func areaOf(a *find.Area) coordinate.Area {
	var made coordinate.Area
	switch {
	case a == nil:
	case a.Type == "Polygon":
		var c [][][]float64
		if json.Unmarshal(a.Coordinates, &c) == nil {
			made, _ = coordinate.NewArea(c)
		}
	case a.Type == "MultiPolygon":
		var c [][][][]float64
		if json.Unmarshal(a.Coordinates, &c) == nil {
			made, _ = coordinate.NewMultiArea(c)
		}
	}
	return made
}

// A placement is how the position of a find stands to the ground of its permission.
type placement struct {
	point      coordinate.Point
	radius     float64 // metres
	stated     bool    // whether the radius stands in the record, or is that of the method
	verdict    coordinate.Verdict
	excluded   coordinate.Verdict // Inside an excluded piece, Outside all, or CannotTell
	slips      []coordinate.Suspicion
	unbounded  bool // the permission has no area that can be asked
	byCountry  bool // the slips were looked for by the box of the jurisdiction instead
	impossible bool // no position, or one that was made coarser
}

// placed works out the placement of the find once, for all rules that ask.
func (c *Case) placed() *placement {
	p, _ := c.facts.placed.get(func() (placement, bool) { return place(c), true })
	return p
}

func place(c *Case) (p placement) {
	p.impossible = true
	f := c.Find
	point, ok := pointOf(f.Position)
	if !ok || f.Generalised["/position"] != "" {
		return p
	}
	p.impossible, p.point = false, point
	p.radius, p.stated = radiusOf(f.Position)
	p.excluded = coordinate.Outside
	if c.Permission == nil {
		p.unbounded = true
		p.askCountry(c)
		return p
	}
	s := c.run.siteOf(c.Permission)
	if p.unbounded = s.area.IsZero(); !p.unbounded {
		p.verdict = s.area.Contains(point, p.radius)
		if p.verdict == coordinate.Outside {
			p.slips = coordinate.Suspect(point, s.area, f.Position.Verbatim)
		}
	} else {
		p.askCountry(c)
	}
	for a := range s.excluded.Near(point, p.radius) {
		switch a.Contains(point, p.radius) {
		case coordinate.Inside:
			p.excluded = coordinate.Inside
			return p
		case coordinate.CannotTell:
			p.excluded = coordinate.CannotTell
		}
	}
	return p
}

// askCountry looks for slips by the box of the jurisdiction, where no outline of land is known.
func (p *placement) askCountry(c *Case) {
	var area coordinate.Area
	if area, p.byCountry = CountryArea(jurisdictionOf(c)); p.byCountry && area.Contains(p.point,
		p.radius) == coordinate.Outside {
		p.slips = coordinate.Suspect(p.point, area, c.Find.Position.Verbatim)
	}
}

// ground names what a slip was looked for by.
func (p *placement) ground() string {
	if p.byCountry {
		return "country that is stated"
	}
	return "permission"
}

// blind reports whether there is neither an outline nor a country to look for slips by.
func (p *placement) blind() bool { return p.unbounded && !p.byCountry && !p.impossible }

// slip returns the suspicion with one of the codes, or nil. Only the first that Suspect found
// counts, so that one fault is reported once.
func (p *placement) slip(codes ...string) *coordinate.Suspicion {
	if len(p.slips) == 0 {
		return nil
	}
	for _, code := range codes {
		if p.slips[0].Code == code {
			return &p.slips[0]
		}
	}
	return nil
}

// pointOf returns the point of a position, if it has one.
func pointOf(p *find.Position) (coordinate.Point, bool) {
	if p == nil || !p.Longitude.Known() || !p.Latitude.Known() {
		return coordinate.Point{}, false
	}
	point := coordinate.Point{Longitude: p.Longitude.Float(), Latitude: p.Latitude.Float()}
	return point, point.Valid()
}

// radiusOf returns the radius of a position in metres: the stated one, else that of its method,
// else that of a receiver of which nothing is known.
func radiusOf(p *find.Position) (metres float64, stated bool) {
	if p.Uncertainty.Known() && p.Uncertainty.Float() > 0 {
		return p.Uncertainty.Float(), true
	}
	if usual, _ := radiusOfMethod(p.Method); usual > 0 {
		return usual, false
	}
	return radiusUnknown(), false
}
