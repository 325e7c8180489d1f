package season

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
)

// plan is the plan of one field.
type plan struct {
	field string
	*render.Plan
}

// farthest is how far from the middle of a field, in metres, a find may lie to be drawn: a slip of a digit puts one
// into the sea, and all others would shrink to a dot.
const farthest = 5000

// draw makes a plan of each field with finds that have a position, by the groups of their materials.
func (w *work) draw(reports []*find.Report) {
	byField := map[string][]one{}
	for _, f := range w.finds {
		if f.Position.Located() {
			byField[f.field] = append(byField[f.field], f)
		}
	}
	for name, finds := range byField {
		middle := middleOf(finds)
		p := plan{name, &render.Plan{By: "material"}}
		for _, f := range finds {
			x, y := flat(middle, f.Position.Latitude.Float(), f.Position.Longitude.Float())
			if !(math.Hypot(x, y) <= farthest) {
				p.Far++
				continue
			}
			p.Points = append(p.Points, render.PlanPoint{Label: label(f.Find), X: x, Y: y,
				Radius: min(f.Position.Uncertainty.Float(), farthest), Group: w.family(f.Find)})
		}
		for i, r := range reports {
			for j := range r.Permissions {
				if w.fields[string(rune('0'+i))+"/"+r.Permissions[j].ID] == name {
					p.outline(middle, name, r.Permissions[j].Area)
				}
			}
		}
		w.plans = append(w.plans, p)
	}
	plans := make([]*render.Plan, len(w.plans))
	for i := range w.plans {
		plans[i] = w.plans[i].Plan
	}
	oneMeaning(plans)
	slices.SortFunc(w.plans, func(a, b plan) int {
		return cmp.Or(cmp.Compare(len(b.Points), len(a.Points)), cmp.Compare(a.field, b.field))
	})
}

// oneMeaning gives a group the same sign on every plan.
func oneMeaning(plans []*render.Plan) {
	all := &render.Plan{}
	for _, p := range plans {
		all.Points = append(all.Points, p.Points...)
	}
	for _, p := range plans {
		p.Signs = all.Groups()
	}
}

// outline adds the outline of a field.
func (p *plan) outline(middle coordinate.Point, name string, a *find.Area) {
	if a == nil {
		return
	}
	polygons, err := a.Polygons()
	if err != nil {
		return // what is wrong with it is told when the log is checked
	}
	for _, rings := range polygons {
		for i, ring := range rings {
			out := render.PlanArea{Label: name, Excluded: i > 0}
			for _, v := range ring {
				var c []float64
				if json.Unmarshal(v, &c) != nil || len(c) < 2 {
					continue
				}
				x, y := flat(middle, c[1], c[0])
				if !(math.Hypot(x, y) <= 2*farthest) {
					return
				}
				out.Ring = append(out.Ring, [2]float64{x, y})
			}
			if len(out.Ring) > 2 {
				p.Areas = append(p.Areas, out)
			}
		}
	}
}

// middleOf is the median of the places, which no slip of a digit moves far.
func middleOf(finds []one) coordinate.Point {
	var lat, lon []float64
	for _, f := range finds {
		lat, lon = append(lat, f.Position.Latitude.Float()), append(lon, f.Position.Longitude.Float())
	}
	slices.Sort(lat)
	slices.Sort(lon)
	return coordinate.Point{Latitude: lat[len(lat)/2], Longitude: lon[len(lon)/2]}
}

// metresOfDegree is the length of a degree of latitude on a sphere of the mean radius of the Earth,
// 6371008.8 m (IUGG); a plan of a field needs no better.
const metresOfDegree = 6371008.8 * math.Pi / 180

// flat lays a place on a flat map about a point, in metres east and north.
func flat(middle coordinate.Point, latitude, longitude float64) (x, y float64) {
	return math.Remainder(longitude-middle.Longitude, 360) * metresOfDegree * math.Cos(middle.Latitude*math.Pi/180),
		(latitude - middle.Latitude) * metresOfDegree
}
