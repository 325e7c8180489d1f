package season

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// Charts are drawn for the width of a telephone, on which a unit is about a pixel.
const (
	chartWidth = 360.0
	letter     = 7.8 // usual width of a letter of 13 units
	mostBars   = 12
)

// chart is a drawing with its words for those who do not see it.
type chart struct {
	strings.Builder
	id string
}

// begin opens a drawing; the description says in words what is drawn.
func begin(id, title, description string, height float64) *chart {
	c := &chart{id: id}
	fmt.Fprintf(c, `<svg class="chart" viewBox="0 0 %.0f %.0f" role="img" aria-labelledby="%s-t %s-d" font-size="13">`+
		`<title id="%s-t">%s</title><desc id="%s-d">%s</desc>`,
		chartWidth, height, id, id, id, escape(title), id, escape(description))
	return c
}

func (c *chart) end() template.HTML {
	c.WriteString(`</svg>`)
	return template.HTML(c.String()) // built of numbers and escaped text only
}

func (c *chart) text(x, y float64, anchor, text string) {
	fmt.Fprintf(c, `<text x="%.1f" y="%.1f" text-anchor="%s" fill="currentColor">%s</text>`, x, y, anchor, escape(text))
}

func (c *chart) line(kind string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(c, `<line class="%s" x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/>`, kind, x1, y1, x2, y2)
}

func escape(text string) string { return template.HTMLEscapeString(render.Clean(text)) }

// whose begins the words of a dot with its find; to show, it has none.
func whose(find string) string {
	if find == "" {
		return ""
	}
	return escape(find) + ": "
}

// cut shortens a text to what a width has room for.
func cut(text string, width float64) string {
	r := []rune(text)
	if most := int(width/letter + 0.01); len(r) > most && most > 1 {
		return string(r[:most-1]) + "…"
	}
	return text
}

// monthBars draws a figure of each month.
func (p *page) monthBars(id, title string, value func(Month) float64) template.HTML {
	const height, top, bottom = 166.0, 40.0, 34.0
	most, said := 0.0, []string{}
	for _, m := range p.Months {
		most = max(most, value(m))
		said = append(said, m.Month+": "+p.words.comma(plain(value(m))))
	}
	if most == 0 {
		return ""
	}
	c := begin(id, title, strings.Join(said, "; "), height)
	c.text(0, 13, "start", title)
	step := chartWidth / float64(len(p.Months))
	every := int(math.Ceil(32 / step))
	names := strings.Fields(p.words.say("months"))
	c.line("axis", 0, height-bottom, chartWidth, height-bottom)
	for i, m := range p.Months {
		v := value(m)
		x, h := float64(i)*step, v/most*(height-top-bottom)
		fmt.Fprintf(c, `<rect class="bar" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, x+step*0.14, height-bottom-h,
			step*0.72, h)
		if v > 0 && every == 1 {
			c.text(x+step/2, height-bottom-h-4, "middle", p.words.comma(plain(v)))
		}
		month := int(m.Month[5]-'0')*10 + int(m.Month[6]-'0')
		if i%every == 0 {
			name := names[month-1]
			if len(m.Month) > 7 { // a quarter
				name += "–" + names[month+1]
			}
			c.text(x+step/2, height-bottom+15, "middle", cut(name, max(step, 32)))
		}
		if i == 0 || month == 1 {
			c.text(x+step/2, height-bottom+30, "middle", m.Month[:4])
		}
	}
	return c.end()
}

// countBars draws how many finds have something in common, with those beyond a dozen in one bar. Lines
// of the plough are drawn above the bars that they are given by.
func (p *page) countBars(id, title string, list []Count, plough ...int) template.HTML {
	shown := list
	if len(list) > mostBars {
		rest := Count{Name: p.words.say("others")}
		for _, c := range list[mostBars-1:] {
			rest.Finds += c.Finds
		}
		shown = append(append([]Count{}, list[:mostBars-1]...), rest)
	}
	most, said, name := 1, []string{}, 40.0
	for _, c := range shown {
		most = max(most, c.Finds)
		said = append(said, fmt.Sprintf("%s: %d", p.named(c.Name), c.Finds))
		name = max(name, float64(len([]rune(p.named(c.Name))))*letter+8)
	}
	const row, number = 24.0, 36.0
	name = min(name, 0.6*chartWidth)
	c := begin(id, title, strings.Join(said, "; "), row*float64(len(shown))+4)
	for i, one := range shown {
		y := row * float64(i)
		c.text(name-8, y+17, "end", cut(p.named(one.Name), name-8))
		width := float64(one.Finds) / float64(most) * (chartWidth - name - number)
		kind := "bar"
		if one.Name == "" {
			kind = "bar unsaid"
		}
		if tallies := tallyWidth(most); tallies <= chartWidth-name-number {
			width = tallyWidth(one.Finds)
			c.tally(kind, name, y+4, one.Finds)
		} else {
			fmt.Fprintf(c, `<rect class="%s" x="%.1f" y="%.1f" width="%.1f" height="16"/>`, kind, name, y+4, width)
		}
		c.text(name+width+6, y+17, "start", fmt.Sprint(one.Finds))
	}
	for _, i := range plough {
		c.line("plough", 0, row*float64(min(i, len(shown)))+1, chartWidth, row*float64(min(i, len(shown)))+1)
	}
	return c.end()
}

// Strokes of a tally, four upright and the fifth across them.
const stroke, hand = 5.5, 27.0

func tallyWidth(n int) float64 { return float64(n/5)*hand + float64(n%5)*stroke }

// tally draws a count as it is kept in a notebook.
func (c *chart) tally(kind string, x, y float64, n int) {
	fmt.Fprintf(c, `<path class="%s tally" d="`, kind)
	for i := range n {
		at := x + float64(i/5)*hand + 2
		if i%5 == 4 {
			fmt.Fprintf(c, "M%.1f %.1fl20 -12", at-3, y+14)
		} else {
			fmt.Fprintf(c, "M%.1f %.1fv16", at+float64(i%5)*stroke, y)
		}
	}
	c.WriteString(`"/>`)
}

// axis is a depth axis in the unit of the logs: cm a step, and the length of the whole.
func (p *page) axis(deepest float64) (step, whole float64) {
	unit := 1.0
	if p.Unit == "in" {
		unit = 2.54
	}
	for _, n := range []float64{1, 2, 4, 5, 10, 20, 50, 100, 200, 500, 1000} {
		step = n * unit
		if deepest/step <= 8 {
			break
		}
	}
	return step, step * math.Max(1, math.Ceil(deepest/step-tolerance))
}

// depthPlot draws depths downwards, a column for each group of materials, and the depth of ploughing.
func (p *page) depthPlot() template.HTML {
	groups := p.Depth.Groups
	if len(groups) == 0 {
		return ""
	}
	if len(groups) > 8 {
		groups = groups[:8]
	}
	deepest, said := 0.0, []string{}
	for _, g := range groups {
		deepest = max(deepest, g.Deepest)
		for _, d := range g.Depths {
			deepest = max(deepest, d.Max)
		}
		said = append(said, fmt.Sprintf("%s: %d %s, %s %s", p.named(g.Material), len(g.Depths), p.words.say("number"),
			p.words.say("median"), p.length(g.Median)))
	}
	for _, l := range p.Depth.Plough {
		deepest = max(deepest, l.Depth)
		said = append(said, p.words.say("ploughLine")+" "+l.Field+": "+p.length(l.Depth))
	}
	step, whole := p.axis(deepest)
	const top, room, left = 26.0, 240.0, 44.0
	scale := room / whole
	c := begin("depth", p.words.say("depthTitle"), strings.Join(said, "; "), top+room+14+20*float64(len(groups)))
	for d := 0.0; d <= whole+tolerance; d += step {
		c.line("grid", left, top+d*scale, chartWidth, top+d*scale)
		c.text(left-6, top+d*scale+4, "end", p.shortLength(d))
	}
	c.text(left-6, 12, "end", p.Unit)
	width := (chartWidth - left) / float64(len(groups))
	for i, g := range groups {
		x := left + width*(float64(i)+0.5)
		name := string(rune('A' + i))
		c.text(x, 16, "middle", name)
		for j, d := range g.Depths {
			at := x + spreadOut(j, len(g.Depths))*width*0.36
			if d.Max-d.Min > tolerance {
				c.line("reach", at, top+d.Min*scale, at, top+d.Max*scale)
			}
			fmt.Fprintf(c, `<circle class="dot" cx="%.1f" cy="%.1f" r="4"><title>%s%s</title></circle>`, at, top+d.Mid*scale,
				whose(d.Find), escape(p.length(d.Mid)))
		}
		c.line("median", x-width*0.3, top+g.Median*scale, x+width*0.3, top+g.Median*scale)
		c.text(left, top+room+24+20*float64(i), "start", cut(fmt.Sprintf("%s  %s (%d)", name, p.named(g.Material),
			len(g.Depths)), chartWidth-left))
	}
	for i, l := range p.Depth.Plough {
		c.line("plough", left, top+l.Depth*scale, chartWidth, top+l.Depth*scale)
		if i < 6 {
			c.text(chartWidth, top+l.Depth*scale-4, "end", cut(p.words.say("ploughLine")+" "+l.Field, 200))
		}
	}
	return c.end()
}

// spreadOut lays dots of one column side by side, between -1 and 1, in an order that keeps neighbours apart.
func spreadOut(i, n int) float64 {
	if n == 1 {
		return 0
	}
	const golden = 0.6180339887 // the golden section spreads any number of dots evenly
	_, part := math.Modf(float64(i) * golden)
	return 2*part - 1
}

// guessPlot draws the guess to the right and what was measured downwards.
func (p *page) guessPlot(id string, g Guess) template.HTML {
	deepest := 0.0
	for _, pair := range g.Points {
		deepest = max(deepest, pair.Guess, pair.Measured)
	}
	step, whole := p.axis(deepest)
	const top, left, room = 40.0, 60.0, 280.0
	scale := room / whole
	c := begin(id, p.detector(g)+": "+p.words.say("guessTitle"), p.guessWords(g), top+room+14)
	c.text(left+room/2, 13, "middle", p.words.say("guessed"))
	c.text(left-6, 13, "end", p.Unit)
	fmt.Fprintf(c, `<text transform="translate(14 %.1f) rotate(-90)" text-anchor="middle" fill="currentColor">%s</text>`,
		top+room/2, escape(p.words.say("measured")))
	for d := 0.0; d <= whole+tolerance; d += step {
		c.line("grid", left, top+d*scale, left+room, top+d*scale)
		c.line("grid", left+d*scale, top, left+d*scale, top+room)
		c.text(left-6, top+d*scale+4, "end", p.shortLength(d))
		c.text(left+d*scale, top-6, "middle", p.shortLength(d))
	}
	c.line("plough", left, top, left+room, top+room)
	for _, pair := range g.Points {
		fmt.Fprintf(c, `<circle class="dot" cx="%.1f" cy="%.1f" r="5"><title>%s%s, %s</title></circle>`,
			left+pair.Guess*scale,
			top+pair.Measured*scale, whose(pair.Find), escape(p.words.say("guessed")+" "+p.length(pair.Guess)),
			escape(p.words.say("measured")+" "+p.length(pair.Measured)))
	}
	return c.end()
}

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
			p.dot(middle, f, "", share.Family(f.Find, w.Language))
		}
		for i, r := range reports {
			for j := range r.Permissions {
				if w.fields[itoa(i)+"/"+r.Permissions[j].ID] == name {
					Outline(p.Plan, middle, render.PlanArea{Label: name}, r.Permissions[j].Area, 2*farthest)
				}
			}
		}
		w.plans = append(w.plans, p)
	}
	plans := make([]*render.Plan, len(w.plans))
	for i := range w.plans {
		plans[i] = w.plans[i].Plan
	}
	oneMeaning(plans, w.Language)
	slices.SortFunc(w.plans, func(a, b plan) int {
		return cmp.Or(cmp.Compare(len(b.Points), len(a.Points)), cmp.Compare(a.field, b.field))
	})
}

// oneMeaning gives a group the same sign on every plan; a family of materials has its own wherever it is drawn.
func oneMeaning(plans []*render.Plan, language string) {
	all := &render.Plan{}
	for _, p := range plans {
		all.Points = append(all.Points, p.Points...)
	}
	signs := all.Groups()
	if len(plans) > 0 && plans[0].By == "material" {
		known := share.Families(language)
		signs = append(known, slices.DeleteFunc(signs, func(g string) bool { return slices.Contains(known, g) })...)
	}
	for _, p := range plans {
		p.Signs = signs
	}
}

// dot draws a find, if it is not too far away; row is the id of its row in the page.
func (p *plan) dot(middle coordinate.Point, f one, row, group string) {
	x, y := Flat(middle, f.Position.Latitude.Float(), f.Position.Longitude.Float())
	if !(math.Hypot(x, y) <= farthest) {
		p.Far++
		return
	}
	p.Points = append(p.Points, render.PlanPoint{Label: label(f.Find), Row: row, X: x, Y: y,
		Radius: min(f.Position.Uncertainty.Float(), farthest), Group: group})
}

// Outline adds the outline of a field to a plan; one that goes farther from the middle than so many metres is left out.
func Outline(p *render.Plan, middle coordinate.Point, like render.PlanArea, a *find.Area, farthest float64) {
	if a == nil {
		return
	}
	polygons, err := a.Polygons()
	if err != nil {
		return // what is wrong with it is told when the log is checked
	}
	for _, rings := range polygons {
		for i, ring := range rings {
			out := render.PlanArea{Label: like.Label, Field: like.Field, Excluded: like.Excluded || i > 0}
			for _, v := range ring {
				var c []float64
				if json.Unmarshal(v, &c) != nil || len(c) < 2 {
					continue
				}
				x, y := Flat(middle, c[1], c[0])
				if !(math.Hypot(x, y) <= farthest) {
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
// 6371008.8 m (IUGG); a plan of some fields needs no better.
const metresOfDegree = 6371008.8 * math.Pi / 180

// Flat lays a place on a flat map about a point, in metres east and north.
func Flat(middle coordinate.Point, latitude, longitude float64) (x, y float64) {
	return math.Remainder(longitude-middle.Longitude, 360) * metresOfDegree * math.Cos(middle.Latitude*math.Pi/180),
		(latitude - middle.Latitude) * metresOfDegree
}
