package render

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
)

// A Plan is a drawing of the finds to scale. It holds places, so it is made only for those who may
// see them. Coordinates are metres east and north of any one point.
type Plan struct {
	Points []PlanPoint
	Areas  []PlanArea
}

// PlanPoint is one find.
type PlanPoint struct {
	Label  string
	X, Y   float64 // metres east and north
	Radius float64 // uncertainty in metres; 0: not known
	Group  string  // material or period
}

// PlanArea is the outline of a piece of land.
type PlanArea struct {
	Label string
	Ring  [][2]float64 // metres east and north
}

const (
	planWidth  = 900.0
	planMargin = 40.0
)

// svg draws the plan, or nothing if there is none.
func (p *Plan) svg() template.HTML {
	if p == nil || len(p.Points) == 0 {
		return ""
	}
	minX, minY, maxX, maxY := p.bounds()
	scale := (planWidth - 2*planMargin) / math.Max(maxX-minX, (maxY-minY)*0.75)
	height := (maxY-minY)*scale + 2*planMargin + 60
	x := func(v float64) float64 { return planMargin + (v-minX)*scale }
	y := func(v float64) float64 { return planMargin + (maxY-v)*scale }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %.0f %.0f" role="img" aria-label="Plan of the finds" xmlns="http://www.w3.org/2000/svg" font-family="Georgia, serif" font-size="14">`, planWidth, height)
	for _, a := range p.Areas {
		b.WriteString(`<polygon fill="#f4f0e4" stroke="#8a8069" stroke-dasharray="6 3" points="`)
		for _, c := range a.Ring {
			fmt.Fprintf(&b, "%.1f,%.1f ", x(c[0]), y(c[1]))
		}
		fmt.Fprintf(&b, `"><title>%s</title></polygon>`, template.HTMLEscapeString(Clean(a.Label)))
	}
	groups := p.groups()
	for _, q := range p.Points {
		if q.Radius > 0 {
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="%.1f" fill="none" stroke="#999" stroke-width="0.7"/>`, x(q.X), y(q.Y), q.Radius*scale)
		}
	}
	for _, q := range p.Points {
		b.WriteString(symbol(slices.Index(groups, q.Group), x(q.X), y(q.Y)))
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f">%s</text>`, x(q.X)+8, y(q.Y)-5, template.HTMLEscapeString(Clean(q.Label)))
	}
	b.WriteString(legend(groups, height))
	b.WriteString(scaleBar(scale, height))
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // built of numbers and escaped text only
}

func (p *Plan) bounds() (minX, minY, maxX, maxY float64) {
	minX, minY, maxX, maxY = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	grow := func(x, y, r float64) {
		minX, maxX = math.Min(minX, x-r), math.Max(maxX, x+r)
		minY, maxY = math.Min(minY, y-r), math.Max(maxY, y+r)
	}
	for _, q := range p.Points {
		grow(q.X, q.Y, math.Max(q.Radius, 1))
	}
	for _, a := range p.Areas {
		for _, c := range a.Ring {
			grow(c[0], c[1], 0)
		}
	}
	return minX, minY, math.Max(maxX, minX+1), math.Max(maxY, minY+1)
}

// groups returns the names of the groups, in order.
func (p *Plan) groups() []string {
	var out []string
	for _, q := range p.Points {
		if !slices.Contains(out, q.Group) {
			out = append(out, q.Group)
		}
	}
	slices.Sort(out)
	return out
}

// symbol draws one of six shapes, each with a colour of its own; after six they begin again with an
// open shape, so that colour is never alone.
func symbol(group int, x, y float64) string {
	colours := []string{"#1b6ca8", "#a8431b", "#3f7d20", "#6b3fa0", "#8a6d00", "#444444"}
	c := colours[group%len(colours)]
	fill := c
	if group >= len(colours) {
		fill = "#fff"
	}
	style := fmt.Sprintf(`fill="%s" stroke="%s" stroke-width="1.5"`, fill, c)
	switch group % 6 {
	case 0:
		return fmt.Sprintf(`<circle cx="%.1f" cy="%.1f" r="5" %s/>`, x, y, style)
	case 1:
		return fmt.Sprintf(`<rect x="%.1f" y="%.1f" width="9" height="9" %s/>`, x-4.5, y-4.5, style)
	case 2:
		return fmt.Sprintf(`<polygon points="%.1f,%.1f %.1f,%.1f %.1f,%.1f" %s/>`, x, y-6, x+5.5, y+4.5, x-5.5, y+4.5, style)
	case 3:
		return fmt.Sprintf(`<polygon points="%.1f,%.1f %.1f,%.1f %.1f,%.1f %.1f,%.1f" %s/>`, x, y-6, x+6, y, x, y+6, x-6, y, style)
	case 4:
		return fmt.Sprintf(`<polygon points="%.1f,%.1f %.1f,%.1f %.1f,%.1f" %s/>`, x, y+6, x+5.5, y-4.5, x-5.5, y-4.5, style)
	}
	return fmt.Sprintf(`<rect x="%.1f" y="%.1f" width="12" height="6" %s/>`, x-6, y-3, style)
}

func legend(groups []string, height float64) string {
	var b strings.Builder
	x := planMargin
	for i, g := range groups {
		if g == "" {
			g = "not known"
		}
		b.WriteString(symbol(i, x, height-20))
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f">%s</text>`, x+12, height-15, template.HTMLEscapeString(Clean(g)))
		if x += 30 + 7.5*float64(len([]rune(g))); x > planWidth-300 {
			break
		}
	}
	return b.String()
}

// scaleBar draws a bar of a round length, and the arrow to the north.
func scaleBar(scale, height float64) string {
	metres := math.Pow(10, math.Floor(math.Log10(150/scale)))
	for _, f := range []float64{5, 2} {
		if metres*f*scale <= 200 {
			metres *= f
			break
		}
	}
	length := metres * scale
	x := planWidth - planMargin - length
	return fmt.Sprintf(`<path d="M%.1f %.1f v8 h%.1f v-8" fill="none" stroke="#000"/><text x="%.1f" y="%.1f" text-anchor="middle">%g m</text>`+
		`<path d="M%.1f 50 v-36 l-6 10 m6 -10 l6 10" fill="none" stroke="#000" stroke-width="1.5"/><text x="%.1f" y="66" text-anchor="middle">N</text>`,
		x, height-28, length, x+length/2, height-34, metres, planWidth-24, planWidth-24)
}
