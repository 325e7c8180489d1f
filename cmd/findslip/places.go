package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
	year "github.com/findslip/findslip/pkg/season"
	"github.com/findslip/findslip/pkg/share"
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
	render.PlanArea
	outline *find.Area
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
	row := render.Row{File: e.Origin.File, Find: e.Label(), Name: f.Name, Period: period(f)}
	if len(f.Materials) > 0 {
		row.Material = f.Materials[0].Text()
	}
	if f.Dating != nil {
		row.Dated = cmp.Or(f.Dating.Verbatim, share.Years(f.Dating.Date, w.language))
	}
	w.table = append(w.table, row)
	p := f.Position
	if p == nil || !p.Longitude.Known() || !p.Latitude.Known() {
		return
	}
	group := share.Family(f, w.language)
	if w.byPeriod {
		group = row.Period
	}
	w.finds = append(w.finds, placedFind{label: row.Find, group: group, field: fieldOf(f), longitude: p.Longitude.Float(),
		latitude: p.Latitude.Float(), near: p.Uncertainty.Float()})
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
		w.areas = append(w.areas, placedArea{render.PlanArea{Label: label, Field: p.ID}, p.Area})
		for j := range p.Excluded {
			left := render.PlanArea{Label: label + ", left out", Field: p.ID, Excluded: true}
			w.areas = append(w.areas, placedArea{left, &p.Excluded[j]})
		}
	}
}

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
	middle := coordinate.Point{Longitude: median(w.finds, func(f placedFind) float64 { return f.longitude }),
		Latitude: median(w.finds, func(f placedFind) float64 { return f.latitude })}
	for _, f := range w.finds {
		x, y := year.Flat(middle, f.latitude, f.longitude)
		if math.Hypot(x, y) > maxPlan {
			doc.Plan.Far++
			continue
		}
		doc.Plan.Points = append(doc.Plan.Points,
			render.PlanPoint{Label: f.label, X: x, Y: y, Radius: min(f.near, maxPlan), Group: f.group,
				Field: cmp.Or(w.names[f.field], f.field)})
	}
	for _, a := range w.areas {
		a.Field = cmp.Or(w.names[a.Field], a.Field)
		year.Outline(doc.Plan, middle, a.PlanArea, a.outline, maxPlan)
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
