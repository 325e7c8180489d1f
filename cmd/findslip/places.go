package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A placeWatch gathers where finds lie while they are checked, for the plan of a page. A nil
// placeWatch gathers nothing, so that no place can come into a report unasked.
type placeWatch struct {
	byPeriod bool
	finds    []placedFind
	areas    []placedArea
	names    map[string]string // of fields by the id of the permission
	language string
	table    []render.Row
}

type placedFind struct {
	label, group, field       string
	longitude, latitude, near float64 // degrees, degrees, metres
}

type placedArea struct {
	label    string
	field    string // id of the permission
	excluded bool
	ring     [][2]float64 // longitude, latitude
}

// watchPlaces returns what gathers places, or nil if none may be shown.
func (f *checkFlags) watchPlaces() (*placeWatch, error) {
	if f.group != "material" && f.group != "period" {
		return nil, fmt.Errorf("--plan-by %q is not material or period", f.group)
	}
	switch {
	case !f.places:
		return nil, nil
	case f.report != "html":
		return nil, errors.New("--with-places draws a plan, and only --report html has one")
	}
	return &placeWatch{byPeriod: f.group == "period", names: map[string]string{}, language: f.language}, nil
}

// watcher returns what is shown each find.
func (w *placeWatch) watcher() func(*find.Entry) error {
	if w == nil {
		return nil
	}
	return func(e *find.Entry) error {
		if e.Find != nil {
			w.add(e)
		}
		return nil
	}
}

func (w *placeWatch) add(e *find.Entry) {
	f := e.Find
	row := render.Row{File: e.Origin.File, Find: e.Label(), Name: f.Name, Material: material(f), Period: period(f)}
	if f.Dating != nil {
		row.Dated = cmp.Or(f.Dating.Verbatim, f.Dating.Date)
	}
	w.table = append(w.table, row)
	p := f.Position
	if p == nil || !p.Longitude.Known() || !p.Latitude.Known() {
		return
	}
	group := w.family(f)
	if w.byPeriod {
		group = row.Period
	}
	w.finds = append(w.finds, placedFind{label: row.Find, group: group, field: fieldOf(f), longitude: p.Longitude.Float(),
		latitude: p.Latitude.Float(), near: p.Uncertainty.Float()})
}

// material names the main material as the finder would.
func material(f *find.Find) string {
	if len(f.Materials) == 0 {
		return ""
	}
	return f.Materials[0].Text()
}

// family is the group of the main material, so that a plan has few signs.
func (w *placeWatch) family(f *find.Find) string {
	if len(f.Materials) == 0 {
		return ""
	}
	concept, ok := vocabulary.Get("material").Concept(f.Materials[0].Code)
	if !ok {
		return ""
	}
	if main, ok := vocabulary.Get("material").Concept(concept.Group); ok {
		concept = main
	}
	return cmp.Or(concept.Label(w.language), concept.Label("en"))
}

// fieldOf is the permission that a find was made under, else the name of its place.
func fieldOf(f *find.Find) string {
	if f.Permission == "" && f.Place != nil {
		return f.Place.Name
	}
	return f.Permission
}

func period(f *find.Find) string {
	if f.Dating == nil || f.Dating.Period == nil {
		return ""
	}
	return f.Dating.Period.Label
}

// land gathers the outlines of the permissions of a report.
func (w *placeWatch) land(r *find.Report) {
	if w == nil || r == nil {
		return
	}
	for i := range r.Permissions {
		p := &r.Permissions[i]
		label := p.ID
		if p.Place != nil {
			label = cmp.Or(p.Place.Name, p.ID)
		}
		w.names[p.ID] = label
		w.outline(label, p.ID, p.Area, false)
		for j := range p.Excluded {
			w.outline(label+", left out", p.ID, &p.Excluded[j], true)
		}
	}
}

func (w *placeWatch) outline(label, field string, a *find.Area, excluded bool) {
	if a == nil {
		return
	}
	polygons, err := a.Polygons()
	if err != nil {
		return // a notice has told of it
	}
	for _, rings := range polygons {
		for i, ring := range rings {
			out := placedArea{label: label, field: field, excluded: excluded || i > 0}
			for _, raw := range ring {
				var at []float64
				if json.Unmarshal(raw, &at) == nil && len(at) >= 2 {
					out.ring = append(out.ring, [2]float64{at[0], at[1]})
				}
			}
			if len(out.ring) > 2 {
				w.areas = append(w.areas, out)
			}
		}
	}
}

// metresOfDegree is the length of a degree of latitude on a sphere of the mean radius of the Earth,
// 6371008.8 m (IUGG); a plan of some fields needs no better.
const metresOfDegree = 6371008.8 * math.Pi / 180

// maxPlan is how far from the middle, in metres, a find may lie to be drawn. A slip of a digit puts
// one into the sea, and all others would shrink to a dot.
const maxPlan = 50000

// draw gives the document its plan: metres east and north of one point, by an equirectangular
// projection that is true to scale along the parallel through the middle of the finds.
func (w *placeWatch) draw(doc *render.Document) {
	if w == nil {
		return
	}
	doc.Table = w.table
	doc.Plan = &render.Plan{By: "material", Unplaced: len(w.table) - len(w.finds)}
	if w.byPeriod {
		doc.Plan.By = "period"
	}
	if len(w.finds) == 0 {
		return
	}
	longitude := median(w.finds, func(f placedFind) float64 { return f.longitude })
	latitude := median(w.finds, func(f placedFind) float64 { return f.latitude })
	parallel := metresOfDegree * math.Cos(latitude*math.Pi/180)
	local := func(east, north float64) (x, y float64) {
		return math.Remainder(east-longitude, 360) * parallel, (north - latitude) * metresOfDegree
	}
	for _, f := range w.finds {
		x, y := local(f.longitude, f.latitude)
		if math.Hypot(x, y) > maxPlan {
			doc.Plan.Far++
			continue
		}
		doc.Plan.Points = append(doc.Plan.Points,
			render.PlanPoint{Label: f.label, X: x, Y: y, Radius: min(f.near, maxPlan), Group: f.group,
				Field: cmp.Or(w.names[f.field], f.field)})
	}
	for _, a := range w.areas {
		far := false
		ring := make([][2]float64, len(a.ring))
		for i, at := range a.ring {
			x, y := local(at[0], at[1])
			far = far || !(math.Hypot(x, y) <= maxPlan)
			ring[i] = [2]float64{x, y}
		}
		if !far {
			doc.Plan.Areas = append(doc.Plan.Areas,
				render.PlanArea{Label: a.label, Field: cmp.Or(w.names[a.field], a.field), Excluded: a.excluded, Ring: ring})
		}
	}
}

func median(finds []placedFind, of func(placedFind) float64) float64 {
	values := make([]float64, len(finds))
	for i, f := range finds {
		values[i] = of(f)
	}
	slices.Sort(values)
	return values[len(values)/2]
}
