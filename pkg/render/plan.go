package render

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
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

const (
	planWidth  = 440.0 // in units of the drawing; on a telephone a unit is a little less than a pixel
	planMargin = 40.0
	planLine   = 22.0 // height of a line of the legend
	planLetter = 8.0  // usual width of a letter
	planLabel  = 14   // letters of a label
	planLabels = 400  // finds beyond which none is labelled
	planBlank  = 1.0  // metres around a lone point
)

// drawing says what a plan is drawn with.
type drawing struct {
	links   bool // each sign leads to the row of its find in the page, and the page has the legend
	north   string
	unknown string
}

// draw draws the plan, or nothing if there is none.
func (p *Plan) draw(o drawing) template.HTML {
	if p == nil || len(p.Points) == 0 {
		return ""
	}
	v := p.View()
	scale := v.Scale
	groups := p.Groups()
	bottom := v.Height
	key, height := "", bottom+20
	if !o.links {
		var lines int
		key, lines = p.legend(o.unknown)
		height = bottom + 44 + planLine*float64(lines)
	}
	x := func(east float64) float64 { return (east - v.West) * scale }
	y := func(north float64) float64 { return (v.North - north) * scale }
	var b strings.Builder
	role := "img"
	if o.links {
		role = "group" // what is in an image is not reached by a keyboard
	}
	fmt.Fprintf(&b,
		`<svg class="plan" viewBox="0 0 %.0f %.0f" role="%s" aria-label="%s" xmlns="http://www.w3.org/2000/svg" `+
			`font-family="Georgia, serif" font-size="15">`, planWidth, height, role, template.HTMLEscapeString(o.north))
	b.WriteString(`<defs><pattern id="left-out" width="8" height="8" patternUnits="userSpaceOnUse" ` +
		`patternTransform="rotate(45)"><path d="M0 0v8" stroke="#8a8069" stroke-width="1.5"/></pattern></defs>`)
	b.WriteString(gridLines(v))
	for _, a := range p.Areas {
		look := `fill="#f4f0e4" fill-opacity="0.7" stroke="#8a8069" stroke-dasharray="6 3"`
		if a.Excluded {
			look = `fill="url(#left-out)" stroke="#8a8069"`
		}
		fmt.Fprintf(&b, `<polygon %s points="`, look)
		for _, c := range a.Ring {
			fmt.Fprintf(&b, "%.1f,%.1f ", x(c[0]), y(c[1]))
		}
		fmt.Fprintf(&b, `"><title>%s</title></polygon>`, template.HTMLEscapeString(Clean(a.Label)))
	}
	for _, q := range p.Points {
		if q.Radius > 0 {
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="%.1f" fill="none" stroke="#888" stroke-width="0.8"/>`, x(q.X),
				y(q.Y), q.Radius*scale)
		}
	}
	var room labelRoom
	room.box = append(room.box, [4]float64{planWidth - planMargin, 0, planWidth, 64}) // the arrow
	for _, q := range p.Points {
		room.box = append(room.box, [4]float64{x(q.X) - 6, y(q.Y) - 6, x(q.X) + 6, y(q.Y) + 6})
	}
	p.points(&b, o, groups, &room, x, y)
	b.WriteString(northArrow())
	b.WriteString(scaleBar(scale, bottom))
	if key != "" {
		fmt.Fprintf(&b, `<g transform="translate(0 %.1f)">%s</g>`, bottom+44, key)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // built of numbers and escaped text only
}

// points draws the finds, each with its title, and its number where there is room for it.
func (p *Plan) points(b *strings.Builder, o drawing, groups []string, room *labelRoom, x, y func(float64) float64) {
	there := map[[2]int]int{}
	for _, q := range p.Points {
		px, py := x(q.X), y(q.Y)
		spot := [2]int{int(px / 6), int(py / 6)}
		px += 9 * float64(min(there[spot], 3)) // signs of one spot stand side by side, none under another
		there[spot]++
		label := template.HTMLEscapeString(findWords(q.Label))
		if o.links && q.Row != "" {
			fmt.Fprintf(b, `<a href="#%s">`, q.Row)
		}
		fmt.Fprintf(b, `<g><title>%s, %s</title>%s`, label, template.HTMLEscapeString(Clean(cmp.Or(q.Group, o.unknown))),
			symbol(slices.Index(groups, q.Group), px, py))
		if at, ok := room.place(q.Label, px, py); ok {
			fmt.Fprintf(b, `<text x="%.1f" y="%.1f">%s</text>`, at[0], at[1], template.HTMLEscapeString(short(q.Label)))
		}
		b.WriteString(`</g>`)
		if o.links && q.Row != "" {
			b.WriteString(`</a>`)
		}
	}
}

// A PlanView says how the units of a drawing lie on the land.
type PlanView struct {
	Width, Height float64 // of the land that is drawn, without the legend, in units
	Scale         float64 // units a metre
	West, North   float64 // metres east and north at the left upper corner
}

// View returns how the units of the drawing lie on the land.
func (p *Plan) View() PlanView {
	minX, minY, maxX, maxY := p.bounds()
	// A tall strip of land is drawn no taller than a third above the width.
	scale := (planWidth - 2*planMargin) / math.Max(maxX-minX, (maxY-minY)*0.75)
	left := (planWidth - (maxX-minX)*scale) / 2
	return PlanView{planWidth, (maxY-minY)*scale + 2*planMargin, scale, minX - left/scale, maxY + planMargin/scale}
}

// gridLines draws lines as far apart as the bar of the scale is long.
func gridLines(v PlanView) string {
	step := roundMetres(v.Scale)
	var b strings.Builder
	b.WriteString(`<path stroke="#ddd6c6" stroke-width="0.7" fill="none" d="`)
	for east := math.Ceil(v.West/step) * step; (east-v.West)*v.Scale <= v.Width; east += step {
		fmt.Fprintf(&b, "M%.1f 0V%.1f", (east-v.West)*v.Scale, v.Height)
	}
	for north := math.Floor(v.North/step) * step; (v.North-north)*v.Scale <= v.Height; north -= step {
		fmt.Fprintf(&b, "M0 %.1fH%.1f", (v.North-north)*v.Scale, v.Width)
	}
	b.WriteString(`"/>`)
	return b.String()
}

// labelRoom keeps labels off signs and off each other.
type labelRoom struct{ box [][4]float64 }

// place finds room for a label beside a sign; without room it stays unwritten.
func (r *labelRoom) place(label string, x, y float64) ([2]float64, bool) {
	if len(r.box) > 2*planLabels || strings.HasPrefix(label, "urn:") {
		return [2]float64{}, false
	}
	width := planLetter * float64(len([]rune(short(label))))
	for _, at := range [][2]float64{{x + 8, y - 4}, {x + 8, y + 14}, {x - 8 - width, y - 4}, {x - 8 - width, y + 14},
		{x - width/2, y - 10}, {x - width/2, y + 20}} {
		box := [4]float64{at[0], at[1] - 12, at[0] + width, at[1] + 2}
		if box[0] < 2 || box[2] > planWidth-2 || box[1] < 2 {
			continue
		}
		if !slices.ContainsFunc(r.box, func(o [4]float64) bool {
			return box[0] < o[2] && o[0] < box[2] && box[1] < o[3] &&
				o[1] < box[3]
		}) {
			r.box = append(r.box, box)
			return at, true
		}
	}
	return [2]float64{}, false
}

// short is a label cut to what a plan has room for.
func short(label string) string {
	label = Clean(label)
	if r := []rune(label); len(r) > planLabel {
		return string(r[:planLabel-1]) + "…"
	}
	return label
}

func (p *Plan) bounds() (minX, minY, maxX, maxY float64) {
	minX, minY, maxX, maxY = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	grow := func(x, y, r float64) {
		minX, maxX = math.Min(minX, x-r), math.Max(maxX, x+r)
		minY, maxY = math.Min(minY, y-r), math.Max(maxY, y+r)
	}
	for _, q := range p.Points {
		grow(q.X, q.Y, math.Max(q.Radius, planBlank))
	}
	for _, a := range p.Areas {
		for _, c := range a.Ring {
			grow(c[0], c[1], 0)
		}
	}
	return minX, minY, math.Max(maxX, minX+1), math.Max(maxY, minY+1)
}

// Groups returns the names of the groups, in order, those that are not known last.
func (p *Plan) Groups() []string {
	if p.Signs != nil {
		return p.Signs
	}
	var out []string
	for _, q := range p.Points {
		if !slices.Contains(out, q.Group) {
			out = append(out, q.Group)
		}
	}
	slices.SortFunc(out, func(a, b string) int {
		if (a == "") != (b == "") {
			return strings.Compare(b, a)
		}
		return strings.Compare(a, b)
	})
	return out
}

// The shapes and colours of the plan. Six shapes, each filled, then open, then with a dot: colour is
// never alone, up to 18 groups; beyond, groups share signs and the list below the plan tells them apart.
var planColours = []string{"#1b6ca8", "#a8431b", "#3f7d20", "#6b3fa0", "#8a6d00", "#444444"}

func symbol(group int, x, y float64) string {
	c := planColours[group%len(planColours)]
	fill, dot := c, ""
	switch group / len(planColours) % 3 {
	case 1:
		fill = "#fff"
	case 2:
		fill, dot = "#fff", fmt.Sprintf(`<circle cx="%.1f" cy="%.1f" r="1.5" fill="%s"/>`, x, y, c)
	}
	style := fmt.Sprintf(`fill="%s" stroke="%s" stroke-width="1.5"`, fill, c)
	shape := ""
	switch group % len(planColours) {
	case 0:
		shape = fmt.Sprintf(`<circle cx="%.1f" cy="%.1f" r="5" %s/>`, x, y, style)
	case 1:
		shape = fmt.Sprintf(`<rect x="%.1f" y="%.1f" width="9" height="9" %s/>`, x-4.5, y-4.5, style)
	case 2:
		shape = fmt.Sprintf(`<polygon points="%.1f,%.1f %.1f,%.1f %.1f,%.1f" %s/>`, x, y-6, x+5.5, y+4.5, x-5.5, y+4.5, style)
	case 3:
		shape = fmt.Sprintf(`<polygon points="%.1f,%.1f %.1f,%.1f %.1f,%.1f %.1f,%.1f" %s/>`, x, y-6, x+6, y, x, y+6, x-6, y,
			style)
	case 4:
		shape = fmt.Sprintf(`<polygon points="%.1f,%.1f %.1f,%.1f %.1f,%.1f" %s/>`, x, y+6, x+5.5, y-4.5, x-5.5, y-4.5, style)
	case 5:
		shape = fmt.Sprintf(`<rect x="%.1f" y="%.1f" width="12" height="6" %s/>`, x-6, y-3, style)
	}
	return shape + dot
}

// shows reports whether a find of a group is on the plan.
func (p *Plan) shows(group string) bool {
	return slices.ContainsFunc(p.Points, func(q PlanPoint) bool { return q.Group == group })
}

// legend writes the signs with their groups, and the number of lines it takes.
func (p *Plan) legend(unknown string) (svg string, lines int) {
	var b strings.Builder
	x, line := planMargin, 0
	for i, g := range p.Groups() {
		if !p.shows(g) {
			continue
		}
		g = Clean(cmp.Or(g, unknown))
		width := 36 + 8*float64(len([]rune(g)))
		if x+width > planWidth-planMargin/2 && x > planMargin {
			x, line = planMargin, line+1
		}
		y := float64(line) * planLine
		b.WriteString(symbol(i, x, y))
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f">%s</text>`, x+12, y+5, template.HTMLEscapeString(g))
		x += width
	}
	return b.String(), line + 1
}

// roundMetres is a round length that is well seen.
func roundMetres(scale float64) float64 {
	metres := math.Pow(10, math.Floor(math.Log10(150/scale)))
	for _, f := range []float64{5, 2} {
		if metres*f*scale <= 200 {
			return metres * f
		}
	}
	return metres
}

// scaleBar draws a bar of a round length.
func scaleBar(scale, bottom float64) string {
	metres := roundMetres(scale)
	text := fmt.Sprintf("%g m", metres)
	if metres >= 1000 {
		text = fmt.Sprintf("%g km", metres/1000)
	}
	length := metres * scale
	x := planWidth - planMargin - length
	return fmt.Sprintf(`<path d="M%.1f %.1f v8 h%.1f v-8" fill="none" stroke="#000"/><text x="%.1f" y="%.1f" `+
		`text-anchor="middle">%s</text>`,
		x, bottom+8, length, x+length/2, bottom+4, text)
}

func northArrow() string {
	x := planWidth - 20
	return fmt.Sprintf(`<path d="M%.1f 44 v-34 l-6 10 m6 -10 l6 10" fill="none" stroke="#000" stroke-width="1.5"/><text `+
		`x="%.1f" y="60" text-anchor="middle">N</text>`, x, x)
}

// places names the first places of a group, each with what stands there, and counts the others. Where a value
// comes again and again, the commonest stand for all.
func (v *Verdict) places(g *notice.Group, with naming, most int) string {
	var parts []string
	for i := range g.Examples[:min(len(g.Examples), most)] {
		n := &g.Examples[i]
		named := naming{with.sheets, with.files && (i == 0 || n.File != g.Examples[i-1].File)}
		part := v.speech.place(n, named)
		if shown := shownAt(n); shown != "" {
			part += " " + quoted(shown)
		}
		parts = append(parts, part)
	}
	parts = cutRepeats(parts)
	text := strings.Join(parts, ", ")
	if left := g.Count - min(len(g.Examples), most); left > 0 && len(parts) > 0 {
		text += " " + v.speech.many("morePlaces", left)
		if len(g.Values) > most {
			text += " (" + commonest(g.Values, most) + ")"
		}
	}
	return text
}

// cutRepeats leaves out parts that say the same.
func cutRepeats(parts []string) (out []string) {
	said := map[string]bool{}
	for _, part := range parts {
		if !said[part] {
			said[part] = true
			out = append(out, part)
		}
	}
	return out
}

// shownAt is what stands at the place of a notice: the words of the cell, or of the heading that it is about.
func shownAt(n *notice.Notice) string {
	if n.Written == "" && n.Find == "" && n.Heading != "" {
		return n.Heading
	}
	return n.Written
}

// quoted puts a text as it was written between marks that it does not hold itself.
func quoted(text string) string {
	if strings.Contains(text, "\"") {
		return "“" + Clean(text) + "”"
	}
	return "\"" + Clean(text) + "\""
}

// commonest lists the commonest values of a group, and how often each comes.
func commonest(values []notice.Value, most int) string {
	var parts []string
	for i, value := range values {
		if i == most {
			return strings.Join(append(parts, "…"), ", ")
		}
		part := quoted(value.Text)
		if value.Count > 1 {
			part += " ×" + strconv.Itoa(value.Count)
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// naming is what the name of a place needs, so that it is the only one of its name.
type naming struct{ sheets, files bool }

// namingOf looks whether notices are about several sheets of a file, and about several files.
func namingOf(groups []*notice.Group) (with naming) {
	sheets, file := map[string]string{}, ""
	for i, g := range groups {
		with.files = with.files || i > 0 && g.File != file
		file = g.File
		for j := range g.Examples {
			sheet := g.Examples[j].Sheet
			if sheet == "" {
				continue
			}
			with.sheets = with.sheets || sheets[file] != "" && sheets[file] != sheet
			sheets[file] = sheet
		}
	}
	return with
}

// place names a place as the writer of the log knows it: the cell, the row, the line, or the find; where there are
// several files, with the name of its file.
func (s *speech) place(n *notice.Notice, with naming) string {
	place := s.placeInFile(n, with.sheets)
	switch file := Clean(baseName(n.File)); {
	case !with.files || file == "":
		return place
	case place == s.text("report"):
		return file
	default:
		return file + " " + place
	}
}

func (s *speech) placeInFile(n *notice.Notice, sheets bool) string {
	place := ""
	switch {
	case n.Cell != "":
		place = n.Cell
	case n.Row > 0:
		place = s.text("row", "row", strconv.Itoa(n.Row))
	}
	switch {
	case place != "" && sheets && n.Sheet != "":
		return Clean(n.Sheet) + "!" + place
	case place != "":
		return place
	case n.Find != "" && !strings.HasPrefix(n.Find, "urn:"):
		return s.text("find", "find", Clean(n.Find))
	case n.Line > 0:
		return s.text("line", "line", strconv.Itoa(n.Line))
	case n.Find != "":
		if rest, ok := strings.CutPrefix(n.Pointer, "/finds/"); ok {
			index, _, _ := strings.Cut(rest, "/")
			if i, err := strconv.Atoi(index); err == nil {
				return s.text("nth", "n", strconv.Itoa(i+1))
			}
		}
		return s.text("unnamed")
	case sheets && n.Sheet != "" && n.Pointer == "": // what is said of a whole sheet
		return quoted(Clean(n.Sheet))
	}
	return s.record(n)
}

// record names a record of the report that has no place of its own, and the report itself.
func (s *speech) record(n *notice.Notice) string {
	parts := strings.Split(strings.TrimPrefix(n.Pointer, "/"), "/")
	name := "record-" + parts[0]
	if len(parts) < 2 || s.text(name) == name {
		return s.text("report")
	}
	index, err := strconv.Atoi(parts[1])
	if err != nil {
		return s.text("report")
	}
	return s.text(name, "n", strconv.Itoa(index+1))
}

// since compares the report with an earlier one, in a sentence.
func (v *Verdict) since(d *Document, c *change) string {
	return v.speech.text("since", "name", Clean(d.Baseline.Name), "new", strconv.Itoa(c.newly), "same",
		strconv.Itoa(c.staying),
		"gone", strconv.Itoa(len(c.gone)))
}
