package repair

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate"
)

// place proposes the other readings of a position that lies far from its permission. Where the
// permission has no area, the other finds of the log decide at its end.
func (p *proposer) place(s *sighting, f *find.Find) {
	before := ""
	if path, err := slotOf[find.Find]("/position/verbatim"); err == nil {
		before = path.get(f)
	}
	if before == "" {
		return
	}
	pos := f.Position
	spot := spot{sighting: s, before: before, verbatim: pos.Verbatim,
		point: coordinate.Point{Latitude: math.NaN(), Longitude: math.NaN()}}
	if pointText(pos) != "" {
		spot.point = coordinate.Point{Latitude: pos.Latitude.Float(), Longitude: pos.Longitude.Float()}
	} else {
		spot.unread = true // eastings and northings in columns of degrees, perhaps
	}
	if f.Found != nil {
		spot.day = f.Found.Date
	}
	if spot.land = f.Permission; spot.land == "" {
		spot.land = f.Outing
	}
	permission := p.report.Permission(f.Permission)
	if permission == nil || permission.Area == nil {
		spot.jurisdiction = jurisdictionOf(permission, f)
		p.log.spots = append(p.log.spots, spot)
		return
	}
	if area, ok := areaOf(permission.Area); ok {
		p.slip(spot, area, "so read it lies on the land of its permission or beside it")
	}
}

// spot is a position with what is needed to speak of it later.
type spot struct {
	*sighting
	before, verbatim, day string
	land                  string // permission, else outing
	jurisdiction          string // where the permission has no area
	country               bool   // asked by a whole country, in which much lies by chance
	unread                bool   // nothing but the words is known
	point                 coordinate.Point
}

// jurisdictionOf returns the code of the country or part of one in which a find was made, as far as it is stated.
func jurisdictionOf(p *find.Permission, f *find.Find) string {
	if p != nil && p.Jurisdiction != "" {
		return p.Jurisdiction
	}
	if p != nil && p.Place != nil && p.Place.Country != "" {
		return p.Place.Country
	}
	if f.Place != nil {
		return f.Place.Country
	}
	return ""
}

// abroad proposes slips for positions outside the country in which they should lie, where no permission has an
// area; what the log itself has shown goes first.
func (p *proposer) abroad() {
	for _, s := range p.log.spots {
		if area, ok := validate.CountryArea(s.jurisdiction); ok {
			s.country = true
			p.slip(s, area, "so read it lies in "+s.jurisdiction+", the country or part of it that is stated")
		}
	}
}

// slip proposes what would bring a spot into an area.
func (p *proposer) slip(s spot, area coordinate.Area, evidence string) {
	var list []candidate
	for _, x := range coordinate.Suspect(s.point, area, s.verbatim) {
		if s.country && len(list) > 0 && list[0].rule != slipRule(x.Code) {
			break
		}
		rule := slipRule(x.Code)
		if s.unread {
			rule = "position-not-read"
		}
		list = append(list, candidate{x.Point.String(), rule, x.Message})
	}
	for _, d := range p.propose(s.sighting, "/position/verbatim", s.before, evidence, list...) {
		if s.day != "" {
			d.slip = s.day + " " + d.Rule
		}
	}
}

// slipRule is the notice that a slip is given under.
func slipRule(code string) string {
	switch code {
	case "swapped-axes":
		return "axes-swapped"
	case "lost-minus-longitude", "lost-minus-latitude", "lost-minus-both":
		return "sign-lost"
	case "minutes-as-decimals", "seconds-as-decimals":
		return "minutes-as-decimals"
	}
	return "outside-permission"
}

// wholeDays adds how many finds of a day have one slip: a whole day of it is strong evidence.
func (p *proposer) wholeDays() {
	days := map[string]map[int]bool{}
	for _, d := range p.drafts {
		if d.slip != "" {
			if days[d.slip] == nil {
				days[d.slip] = map[int]bool{}
			}
			days[d.slip][d.index] = true
		}
	}
	for _, d := range p.drafts {
		if n := len(days[d.slip]); n > 1 {
			d.Evidence += fmt.Sprintf("; %d finds of that day have the same slip", n)
		}
	}
}

const (
	fewestSpots = 5   // positions that say where a log lies
	logReach    = 0.2 // degrees from its middle within which a log without areas lies
)

// strays proposes slips for positions that lie far from nearly all others of a log that has no
// areas.
func (p *proposer) strays() {
	spots := slices.DeleteFunc(slices.Clone(p.log.spots), func(s spot) bool { return s.unread })
	if len(spots) < fewestSpots {
		return
	}
	middle := coordinate.Point{Longitude: median(spots, func(s spot) float64 { return s.point.Longitude }),
		Latitude: median(spots, func(s spot) float64 { return s.point.Latitude })}
	near := func(s spot) bool {
		return math.Abs(s.point.Longitude-middle.Longitude) < logReach &&
			math.Abs(s.point.Latitude-middle.Latitude) < logReach
	}
	n := 0
	for _, s := range spots {
		if near(s) {
			n++
		}
	}
	if n < fewestSpots || n*3 < len(spots)*2 {
		return
	}
	w, e, b, t := middle.Longitude-logReach, middle.Longitude+logReach, middle.Latitude-logReach, middle.Latitude+logReach
	area, err := coordinate.NewArea([][][]float64{{{w, b}, {e, b}, {e, t}, {w, t}, {w, b}}})
	if err != nil {
		return
	}
	for _, s := range spots {
		if !near(s) {
			p.slip(s, area, fmt.Sprintf("so read it lies with %d other finds of the log", n))
		}
	}
}

func median(spots []spot, of func(spot) float64) float64 {
	values := make([]float64, len(spots))
	for i, s := range spots {
		values[i] = of(s)
	}
	slices.Sort(values)
	return values[len(values)/2]
}

func areaOf(a *find.Area) (coordinate.Area, bool) {
	if a.Type == "MultiPolygon" {
		var c [][][][]float64
		if json.Unmarshal(a.Coordinates, &c) != nil {
			return coordinate.Area{}, false
		}
		area, err := coordinate.NewMultiArea(c)
		return area, err == nil
	}
	var c [][][]float64
	if json.Unmarshal(a.Coordinates, &c) != nil {
		return coordinate.Area{}, false
	}
	area, err := coordinate.NewArea(c)
	return area, err == nil
}

const (
	clusterReach = 0.02 // degrees within which the finds of one piece of land lie, generously
	clusterNear  = 0.01 // degrees round a cluster within which a mended position must fall
)

// minutes proposes minutes read as decimals for positions that lie too near for the eye of strays: beside
// the cluster that most finds of the same land make, where both figures read as minutes fall into it.
// Without land, all finds of the log are asked.
func (p *proposer) minutes() {
	lands := map[string][]spot{}
	var order []string
	for _, s := range p.log.spots {
		if s.unread {
			continue
		}
		if lands[s.land] == nil {
			order = append(order, s.land)
		}
		lands[s.land] = append(lands[s.land], s)
	}
	for _, land := range order {
		spots := lands[land]
		middle := coordinate.Point{Longitude: median(spots, func(s spot) float64 { return s.point.Longitude }),
			Latitude: median(spots, func(s spot) float64 { return s.point.Latitude })}
		apart := func(s spot) float64 {
			return max(math.Abs(s.point.Longitude-middle.Longitude), math.Abs(s.point.Latitude-middle.Latitude))
		}
		w, e, b, t := middle.Longitude, middle.Longitude, middle.Latitude, middle.Latitude
		n := 0
		for _, s := range spots {
			if apart(s) <= clusterReach {
				n++
				w, e, b, t = min(w, s.point.Longitude), max(e, s.point.Longitude), min(b, s.point.Latitude),
					max(t, s.point.Latitude)
			}
		}
		if n < fewestSpots || n*3 < len(spots)*2 {
			continue
		}
		w, e, b, t = w-clusterNear, e+clusterNear, b-clusterNear, t+clusterNear
		area, err := coordinate.NewArea([][][]float64{{{w, b}, {e, b}, {e, t}, {w, t}, {w, b}}})
		if err != nil {
			continue
		}
		for _, s := range spots {
			if apart(s) <= clusterReach {
				continue
			}
			var list []candidate
			for _, x := range coordinate.Suspect(s.point, area, "") {
				if rule := slipRule(x.Code); rule == "minutes-as-decimals" && (x.Point.Longitude < 0) == (s.point.Longitude < 0) {
					list = append(list, candidate{x.Point.String(), rule, x.Message})
				}
			}
			for _, d := range p.propose(s.sighting, "/position/verbatim", s.before,
				fmt.Sprintf("so read it lies among %d other finds of the same land", n), list...) {
				if s.day != "" {
					d.slip = s.day + " " + d.Rule
				}
			}
		}
	}
}
