package render

import (
	"html/template"
	"math"
	"slices"
)

// A Plan is a drawing of the finds to scale. It holds places, so it is made only for those who may
// see them. Coordinates are metres east and north of any one point.
type Plan struct {
	Points   []PlanPoint
	Areas    []PlanArea
	By       string // what the signs stand for: material or period; empty: not said
	Unplaced int    // finds without a position
	Far      int    // finds so far away that they are not drawn

	Signs []string // groups in the order of their signs, where the plan is one of several
}

// PlanPoint is one find.
type PlanPoint struct {
	Label  string
	Row    string  // id of its row in the page; empty: none
	X, Y   float64 // metres east and north
	Radius float64 // uncertainty in metres; 0: not known
	Group  string  // material or period; empty: not known
	Field  string  // the piece of land, for a panel of its own; empty: not said
}

// PlanArea is the outline of a piece of land.
type PlanArea struct {
	Label    string
	Field    string       // as in PlanPoint
	Excluded bool         // drawn as a piece that is left out of the land around it
	Ring     [][2]float64 // metres east and north
}

// A PlanPanel is the plan of one field.
type PlanPanel struct {
	Name    string
	Drawing template.HTML
}

// A PlanSign is a sign of the legend.
type PlanSign struct {
	Sign template.HTML
	Name string
}

// mostPanels is how many fields have a panel of their own.
const mostPanels = 24

// panels draws each field by itself, those with most finds first: finds of fields that lie apart would be specks
// on one plan. It also returns how many finds lie so far from the others of their field that they are not drawn.
func (p *Plan) panels(s *speech) (out []PlanPanel, far int) {
	if p == nil || len(p.Points) == 0 {
		return nil, 0
	}
	fields := map[string]*Plan{}
	var names []string
	for _, q := range p.Points {
		if fields[q.Field] == nil {
			fields[q.Field] = &Plan{By: p.By, Signs: p.Groups()}
			names = append(names, q.Field)
		}
		fields[q.Field].Points = append(fields[q.Field].Points, q)
	}
	for _, a := range p.Areas {
		if f := fields[a.Field]; f != nil {
			f.Areas = append(f.Areas, a)
		}
	}
	slices.SortStableFunc(names, func(a, b string) int { return len(fields[b].Points) - len(fields[a].Points) })
	for _, name := range names[:min(len(names), mostPanels)] {
		f := fields[name]
		far += f.leaveStrays()
		title := s.many("finds", len(f.Points))
		if name != "" {
			title = Clean(name) + ", " + title
		}
		out = append(out, PlanPanel{title, f.draw(drawing{links: true, north: s.text("north"), unknown: s.text("notKnown")})})
	}
	return out, far
}

// mostField is how wide a field is taken to be, in metres; a find farther than that from the middle, and ten times as
// far as most, is told by its figures and not drawn, for it would make a speck of the others.
const mostField = 3000

// leaveStrays takes out points far from the others and returns how many.
func (p *Plan) leaveStrays() int {
	median := func(value func(q *PlanPoint) float64) float64 {
		all := make([]float64, len(p.Points))
		for i := range p.Points {
			all[i] = value(&p.Points[i])
		}
		slices.Sort(all)
		return all[len(all)/2]
	}
	x, y := median(func(q *PlanPoint) float64 { return q.X }), median(func(q *PlanPoint) float64 { return q.Y })
	off := func(q *PlanPoint) float64 { return math.Hypot(q.X-x, q.Y-y) }
	room, before := max(mostField, 10*median(off)), len(p.Points)
	p.Points = slices.DeleteFunc(p.Points, func(q PlanPoint) bool { return off(&q) > room })
	return before - len(p.Points)
}

// Legend returns the signs of the plan with what they stand for.
func (p *Plan) Legend() (out []PlanSign) {
	for i, g := range p.Groups() {
		if g != "" && p.shows(g) {
			out = append(out, PlanSign{template.HTML(`<svg viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">` +
				symbol(i, 8, 8) + `</svg>`), g})
		}
	}
	return out
}

// caption says what the plan shows and what it does not.
func (p *Plan) caption(s *speech, far int) string {
	if len(p.Points) == 0 {
		return s.text("planEmpty")
	}
	text := s.text("planCaption")
	if p.Unplaced > 0 {
		text += " " + s.many("planUnplaced", p.Unplaced)
	}
	if far += p.Far; far > 0 {
		text += " " + s.many("planFar", far)
	}
	return text
}
