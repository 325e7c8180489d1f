package season

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// Where is where the finds of a log lie: a plan of each field with its finds, and what a stranger would be told of
// the place. It holds exact places and is for the finder alone.
type Where struct {
	Fields   []WhereField `json:"fields"`
	Unplaced int          `json:"unplaced"` // finds without a position
	Circles  []Stranger   `json:"circles"`

	language, by string
}

// WhereField is one field.
type WhereField struct {
	ID      string          `json:"id,omitempty"` // local id of its permission; empty: none
	Name    string          `json:"name"`
	SVG     template.HTML   `json:"svg"`
	View    render.PlanView `json:"view"`
	Middle  [2]float64      `json:"middle"` // longitude and latitude of the point that metres are counted from
	Outline bool            `json:"outline"`
	Rows    []WhereRow      `json:"-"` // they stand on the page

	plan *render.Plan
}

// Many reports whether a field has so many finds that their table is only opened on demand.
func (f WhereField) Many() bool { return len(f.Rows) > 60 }

// Aged reports whether the age of a find is known.
func (f WhereField) Aged() bool {
	return slices.ContainsFunc(f.Rows, func(r WhereRow) bool { return r.Age != "" })
}

// Rings reports whether it is known of a find how far its spot may be off, so that a ring is drawn.
func (out *Where) Rings() bool {
	return slices.ContainsFunc(out.Fields, func(f WhereField) bool { return ringed(f.plan) })
}

func ringed(p *render.Plan) bool {
	return slices.ContainsFunc(p.Points, func(at render.PlanPoint) bool { return at.Radius > 0 })
}

// WhereRow is one find.
type WhereRow struct {
	ID, Find, Name, Material, Age, Depth, Day, Group string
}

// Stranger is what a stranger is told of some finds: a circle, and the cell of the grid that it is about.
type Stranger struct {
	Kilometres float64 `json:"kilometres"`
	Finds      int     `json:"finds"`

	circle share.Circle
	inside [][2]float64 // the fields, in degrees
}

// WhereOf lays the finds of a report out by fields. The circles are those of a copy for the public.
func WhereOf(r *find.Report, circles []share.Circle, by, language string) *Where {
	w := &work{Season: &Season{Language: cmp.Or(language, "en")}, options: Options{Places: true}, words: wordsOf(language)}
	w.gather([]*find.Report{r})
	w.unit()
	out := &Where{Fields: []WhereField{}, Circles: []Stranger{}, language: w.Language, by: cmp.Or(by, "material")}
	fields := map[string]int{}
	finds := [][]one{}
	for _, f := range w.finds {
		if !f.Position.Located() {
			out.Unplaced++
			continue
		}
		key := f.Permission + "\x00" + f.field
		if _, ok := fields[key]; !ok {
			fields[key] = len(finds)
			finds = append(finds, nil)
			out.Fields = append(out.Fields, WhereField{ID: f.Permission, Name: cmp.Or(f.field, w.words.say("notSaid"))})
		}
		finds[fields[key]] = append(finds[fields[key]], f)
	}
	for i := range out.Fields {
		out.lay(w, r, &out.Fields[i], finds[i], i)
	}
	plans := make([]*render.Plan, len(out.Fields))
	for i := range out.Fields {
		plans[i] = out.Fields[i].plan
	}
	oneMeaning(plans, out.language)
	for i := range out.Fields {
		out.Fields[i].View, out.Fields[i].SVG = plans[i].View(), plans[i].SVG(out.language)
	}
	slices.SortStableFunc(out.Fields, func(a, b WhereField) int { return cmp.Compare(len(b.Rows), len(a.Rows)) })
	out.strangers(circles)
	return out
}

// lay lays out one field.
func (out *Where) lay(w *work, r *find.Report, field *WhereField, finds []one, n int) {
	middle := middleOf(finds)
	field.Middle = [2]float64{middle.Longitude, middle.Latitude}
	p := plan{field.Name, &render.Plan{By: out.by}}
	if permission := r.Permission(field.ID); permission != nil {
		Outline(p.Plan, middle, render.PlanArea{Label: field.Name}, permission.Area, 2*farthest)
		field.Outline = permission.Area != nil
	}
	for j, f := range finds {
		row := w.whereRow(f, out.by)
		row.ID = "row-" + itoa(n) + "-" + itoa(j)
		field.Rows = append(field.Rows, row)
		p.dot(middle, f, row.ID, row.Group)
	}
	field.plan = p.Plan
}

func (w *work) whereRow(f one, by string) WhereRow {
	row := WhereRow{Find: label(f.Find), Name: render.Clean(f.Name), Material: w.material(f.Find), Day: dayOf(f.Find)}
	row.Age = w.toldAge(f.Find)
	if d := f.Find.Depth; d != nil {
		row.Depth = share.AsWritten(&d.Quantity)
	}
	switch by {
	case "period":
		row.Group, _, _ = w.age(f.Find)
	case "depth":
		row.Group = w.depthBand(f.Find)
	default:
		row.Group = share.Family(f.Find, w.Language)
	}
	return row
}

// depthBand is a depth in bands of 10 cm or 4 inches.
func (w *work) depthBand(f *find.Find) string {
	if f.Depth == nil {
		return ""
	}
	s, ok := closed(&f.Depth.Quantity)
	if !ok {
		return ""
	}
	step, unit := 10.0, 1.0
	if w.Unit == "in" {
		step, unit = 4, 2.54
	}
	low := math.Floor(s.mid/unit/step+tolerance) * step
	return fmt.Sprintf("%02.0f–%02.0f %s", low, low+step, w.Unit)
}

// strangers puts each field into the circle that it lies in.
func (out *Where) strangers(circles []share.Circle) {
	for _, c := range circles {
		s := Stranger{Kilometres: math.Round(c.Radius/100) / 10, Finds: c.Finds, circle: c}
		for _, f := range out.Fields {
			at := coordinate.Point{Latitude: f.Middle[1], Longitude: f.Middle[0]}
			if coordinate.Distance(at, c.Centre) <= c.Radius {
				s.inside = append(s.inside, f.Middle)
			}
		}
		out.Circles = append(out.Circles, s)
	}
}

//go:embed where.html.tmpl
var whereText string

var whereTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("where").Funcs(template.FuncMap{"look": render.Look}).Parse(whereText))
})

// HTML writes a page with the plans; a sign leads to the row of its find.
func (out *Where) HTML(w io.Writer) error {
	return whereTemplate().Execute(w, &wherePage{out, wordsOf(out.language)})
}

type wherePage struct {
	*Where
	words words
}

func (p *wherePage) Language() string { return p.language }

func (p *wherePage) Say(key string, pairs ...string) string { return p.words.say(key, pairs...) }

// Drawing is the plan of a field with links to its rows.
func (p *wherePage) Drawing(f WhereField) template.HTML { return f.plan.Linked(p.language) }

// Legend are the signs of a field.
func (p *wherePage) Legend(f WhereField) []render.PlanSign { return f.plan.Legend() }

// StrangerWords say what a stranger is told.
func (p *wherePage) StrangerWords(s Stranger) string {
	return p.Say("stranger", "n", itoa(s.Finds), "km", p.words.comma(plain(s.Kilometres)))
}

// StrangerDrawing draws the circle, the cell of the grid, and a dot for each field.
func (p *wherePage) StrangerDrawing(s Stranger) template.HTML {
	const size, middle, radius = 200.0, 100.0, 92.0
	scale := radius / s.circle.Radius // units a metre
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart stranger" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">`, size, size,
		escape(p.StrangerWords(s)))
	fmt.Fprintf(&b, `<circle class="ring" cx="%.0f" cy="%.0f" r="%.0f"/>`, middle, middle, radius)
	if step, err := strconv.ParseFloat(strings.TrimPrefix(s.circle.Grid, "grid-"), 64); err == nil {
		x, y := Flat(s.circle.Centre, s.circle.Centre.Latitude+step/2, s.circle.Centre.Longitude+step/2)
		fmt.Fprintf(&b, `<rect class="cell" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, middle-x*scale, middle-y*scale,
			2*x*scale, 2*y*scale)
	}
	for _, at := range s.inside {
		x, y := Flat(s.circle.Centre, at[1], at[0])
		fmt.Fprintf(&b, `<circle class="dot" cx="%.1f" cy="%.1f" r="4"/>`, middle+x*scale, middle-y*scale)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // built of numbers and escaped text only
}
