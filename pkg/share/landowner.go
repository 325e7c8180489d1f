package share

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
)

// landownerData is what the page for a landowner shows, in its language.
type landownerData struct {
	*pageWords
	Lang, Tool, Day, Title string
	Policy                 string
	Finders                []string // with the contact of those who agreed
	Fields                 []landField
	Cautions               []caution
	Open                   []string // what is still to be done
	LeftOut                []string
	Finds                  int
	All                    []string // number and name of each find, for the second copy
}

// landField is one permission.
type landField struct {
	Name, Terms, Until string
	Summary            string
	Days               []landDay
	Plan               template.HTML
	NoPlace            int // finds that the plan cannot show
	Rings              bool
}

// Says are the columns of a field that hold something: Wide counts them, Rest those behind the first.
func (f landField) Says() (out struct {
	Where, Now bool
	Wide, Rest int
}) {
	out.Wide, out.Rest = 3, 2
	add := func(column *bool, holds bool) {
		if holds && !*column {
			*column, out.Wide, out.Rest = true, out.Wide+1, out.Rest+1
		}
	}
	for _, d := range f.Days {
		for _, x := range d.Finds {
			add(&out.Where, x.Where != "")
			add(&out.Now, x.Left != "" || len(x.Now) > 0 || x.Back)
		}
	}
	return out
}

// landDay is one day on one field.
type landDay struct {
	Day     string // ISO 8601; empty: not known
	Shown   string // as people write it
	Finds   []landFind
	Rubbish []string
	Nothing bool // somebody was out and found nothing
}

// read reports whether a day was read as one, and not only kept as it was written.
func (d landDay) read() bool { return len(d.Day) >= 4 && strings.Trim(d.Day[:4], "0123456789") == "" }

// landFind is one find. What is not known is not shown.
type landFind struct {
	Number, Name string
	About        string // material, size, age
	Where        string
	Left         string
	Now          []string
	Taken, Back  bool // it left the field; it may come back
	Pictures     []expertPicture
	Careful      bool
}

func landownerPage(r *find.Report, o SheetOptions) landownerData {
	w := pageWordsOf(cmp.Or(o.Language, r.Language))
	w.foreign = o.Language != "" && find.FoldName(o.Language) != find.FoldName(r.Language)
	page := landownerData{pageWords: w, Lang: w.language, Policy: pagePolicy, Tool: o.Tool, Day: w.date(o.Day),
		Title:    r.Title,
		Cautions: cautionsIn(o.Notices, w.language), Finds: len(r.Finds)}
	for _, f := range r.Finds { // whoever stands in the field knows a thing by its name, not by its number
		for i := range page.Cautions {
			if c := &page.Cautions[i]; f.Name != "" && c.Where == f.Number {
				c.Where += " " + f.Name
			}
		}
	}
	page.Finders = findersOf(r)
	for i := range r.Permissions {
		page.Fields = append(page.Fields, fieldOf(r, i, w, o))
	}
	for _, f := range r.Finds {
		page.All = append(page.All, strings.TrimSpace(f.Number+" "+cmp.Or(f.Name, w.term("object-class", f.ObjectClass),
			w.T("noName"))))
		page.Open = append(page.Open, openOf(f, w)...)
	}
	for _, l := range o.LeftOut {
		name := l.Find
		if strings.ContainsAny(name, "0123456789") {
			name = w.T("number") + " " + name
		}
		page.LeftOut = append(page.LeftOut, joined(name, w.date(l.Day),
			cmp.Or(w.T("why-"+l.Why), w.T("why-told before"))))
	}
	return page
}

// findersOf are the people who found what is on the page, with the contacts that the copy shows.
func findersOf(r *find.Report) (out []string) {
	for i := range r.People {
		p := &r.People[i]
		found := slices.ContainsFunc(r.Finds, func(f *find.Find) bool { return f.Finder == p.ID })
		for k := range r.Outings {
			found = found || slices.Contains(r.Outings[k].People, p.ID)
		}
		if name := cmp.Or(p.Name, p.Handle); found && name != "" {
			out = append(out, joined(name, p.Contact))
		}
	}
	return out
}

// fieldOf gathers what was found on one piece of land, by day.
func fieldOf(r *find.Report, at int, w *pageWords, o SheetOptions) landField {
	p := &r.Permissions[at]
	field := landField{Name: fieldName(p, at), Terms: p.Terms}
	if p.ValidTo != "" {
		field.Until = w.T("until") + " " + w.date(p.ValidTo)
	}
	days := map[string]*landDay{}
	day := func(date string) *landDay {
		if days[date] == nil {
			days[date] = &landDay{Day: date}
		}
		return days[date]
	}
	var finds []*find.Find
	for _, f := range r.Finds {
		if f.Permission != p.ID {
			continue
		}
		finds = append(finds, f)
		date := ""
		if f.Found != nil {
			date = cmp.Or(f.Found.Date, f.Found.Verbatim)
		}
		day(date).Finds = append(day(date).Finds, landFindOf(r, f, w, o))
	}
	for j := range r.Outings {
		if out := &r.Outings[j]; out.Permission == p.ID {
			d := day(out.Date)
			if out.Rubbish != "" {
				d.Rubbish = append(d.Rubbish, out.Rubbish)
			}
			d.Nothing = d.Nothing || out.NothingFound != nil && *out.NothingFound
		}
	}
	for _, d := range days {
		d.Shown = w.date(d.Day)
		field.Days = append(field.Days, *d)
	}
	slices.SortFunc(field.Days, func(a, b landDay) int {
		known := func(d landDay) int { // what was not read as a day comes behind the days, and no day last
			if d.Day == "" {
				return 2
			}
			if d.read() {
				return 0
			}
			return 1
		}
		return cmp.Or(cmp.Compare(known(a), known(b)), cmp.Compare(a.Day, b.Day))
	})
	field.Summary = w.summary(field.Days)
	plan, hidden := planOf(p, finds, w)
	if field.NoPlace = hidden; plan != nil {
		field.Plan = plan.SVG(w.language)
		field.Rings = slices.ContainsFunc(plan.Points, func(p render.PlanPoint) bool { return p.Radius > 0 })
	}
	return field
}

// summary counts what a landowner asks first. How many left the field is said where each find tells.
func (w *pageWords) summary(days []landDay) string {
	finds, left, told, read := 0, 0, 0, 0
	for _, d := range days {
		if d.read() {
			read++
		}
		for _, f := range d.Finds {
			if finds++; f.Taken {
				left++
			}
			if f.Taken || f.Left != "" {
				told++
			}
		}
	}
	text := w.Many("records", finds)
	if read > 0 {
		text += " " + w.Many("days", read)
	}
	if finds > 0 && told == finds {
		text += fmt.Sprintf("; %s: %d", w.T("left"), left)
	}
	return text
}

func fieldName(p *find.Permission, i int) string {
	if p.Place != nil && p.Place.Name != "" {
		return p.Place.Name
	}
	return fmt.Sprintf("%d", i+1)
}

func landFindOf(r *find.Report, f *find.Find, w *pageWords, o SheetOptions) landFind {
	out := landFind{Number: f.Number, Name: cmp.Or(f.Name, w.term("object-class", f.ObjectClass), w.T("noName"))}
	switch n := w.howMany(f); { // a lot may bear its number in its name: buttons, 8 of
	case strings.ContainsFunc(n, unicode.IsLetter):
		out.Name += " (" + n + ")"
	case n != "" && !strings.Contains(" "+out.Name+" ", " "+n+" "):
		out.Name += " × " + n
	}
	out.About, out.Where = w.aboutOf(f), w.whereOf(f)
	switch d := f.Disposition; {
	case f.Lifted == "none" || d.Is("left-in-place", "reburied"):
		out.Left = w.T("stayed")
	case f.Lifted == "part":
		out.Left, out.Taken = w.T("part"), true
	case f.Lifted == "all" || d != nil && d.Code != "unknown" && d.Code != "":
		out.Taken = true
	}
	out.Back = f.Disposition.Is("finder-for-landowner", "partner", "lent-for-identification", "lodged-with-recorder")
	if text := w.term("disposition", f.Disposition); text != "" && (out.Left == "" || f.Disposition.Verbatim != "") {
		out.Now = append(out.Now, text)
	}
	if k := r.Person(f.Keeper); k != nil && cmp.Or(k.Name, k.Handle) != "" {
		out.Now = append(out.Now, w.T("keptBy")+" "+cmp.Or(k.Name, k.Handle))
	}
	if text := w.sharesOf(r, f); text != "" {
		out.Now = append(out.Now, w.T("share")+" "+text)
	}
	out.Careful = handsOff(f, nil)
	for i := range f.Media {
		m := &f.Media[i]
		if address := inline(o.Pictures[m.File]); address != "" && len(out.Pictures) < 2 {
			out.Pictures = append(out.Pictures, expertPicture{View: w.term("photo-view", m.View), Caption: m.Caption,
				Address: address})
		}
	}
	return out
}

// aboutOf says what a find is made of, how large and how old it is, and how deep it lay.
func (w *pageWords) aboutOf(f *find.Find) string {
	var parts []string
	for i := range f.Materials {
		parts = append(parts, w.term("material", &f.Materials[i].Term))
	}
	if d := f.Dimensions; d != nil {
		var sizes []string
		for _, q := range []*find.Quantity{d.Length, d.Width, d.Height, d.Thickness, d.Diameter} {
			text := w.shown(q, quantity.MM)
			if number, ok := strings.CutSuffix(text, " mm"); ok {
				sizes = append(sizes, number)
			} else if text != "" { // as it was written
				parts = append(parts, text)
			}
		}
		if len(sizes) > 0 {
			parts = append(parts, strings.Join(sizes, " × ")+" mm")
		}
	}
	weight := w.shown(f.Weight, quantity.G)
	if f.Weight != nil && !f.Weight.HasValue() && weight != "" { // a bare number says not what it is of
		weight = w.T("weight") + " " + weight
	}
	parts = append(parts, weight)
	if d := f.Depth; d != nil {
		if text := cmp.Or(AsWritten(&d.Quantity), w.shown(&d.Quantity, quantity.CM)); text != "" {
			parts = append(parts, w.T("depthWord")+" "+text)
		}
	}
	if d := f.Dating; d != nil {
		period := ""
		if d.Period != nil {
			period = d.Period.Label
		}
		parts = append(parts, cmp.Or(d.Verbatim, period, w.years(d.Date)))
	}
	return joined(parts...)
}

// whereOf is the grid reference as it was written, else latitude and longitude.
func (w *pageWords) whereOf(f *find.Find) string {
	p := f.Position
	switch {
	case p == nil:
		return ""
	case p.Verbatim == "" && (!p.Latitude.Known() || !p.Longitude.Known()):
		return ""
	}
	text := p.Verbatim
	if text == "" {
		figure := func(n find.Number) string {
			return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.5f", n.Float()), "0"), ".")
		}
		text = figure(p.Latitude) + ", " + figure(p.Longitude)
	}
	if p.Uncertainty.Known() {
		text += fmt.Sprintf(" (± %.0f m)", math.Ceil(p.Uncertainty.Float()))
	}
	return text
}

// sharesOf says to whom a find belongs, with the shares.
func (w *pageWords) sharesOf(r *find.Report, f *find.Find) string {
	var parts []string
	for i := range f.Owners {
		o := &f.Owners[i]
		text := w.T("owner-" + o.Code)
		if p := r.Person(o.Person); p != nil {
			text = cmp.Or(p.Name, p.Handle, text)
		}
		if text == "" && o.Code != "unknown" {
			text = o.Code
		}
		if o.Share.Known() && text != "" {
			text += " " + o.Share.String() + " %"
		}
		parts = append(parts, text)
	}
	return joined(parts...)
}

// openOf says what is still to be done about a find: whom it was told, or is to be, and what to beware of.
func openOf(f *find.Find, w *pageWords) (out []string) {
	name := strings.TrimSpace(f.Number + " " + f.Name)
	for i := range f.Notified {
		n := &f.Notified[i]
		if n.Status.Is("closed", "returned") {
			continue
		}
		text := w.T("told")
		if n.Status.Is("not-sent") {
			text = w.T("toBeTold")
		}
		text += " " + cmp.Or(n.To, w.T("somebody"))
		parts := []string{text, w.date(n.On)}
		if n.CaseNumber != "" {
			parts = append(parts, w.T("case")+" "+n.CaseNumber)
		}
		if n.Deadline != "" {
			parts = append(parts, w.T("due")+" "+w.date(n.Deadline))
		}
		out = append(out, name+": "+joined(append(parts, w.term("notification-status", n.Status))...))
	}
	for i := range f.Hazards {
		if h := &f.Hazards[i]; !h.Is("none-seen", "unknown") {
			out = append(out, name+": "+w.T("hazard")+": "+w.term("hazard", h))
		}
	}
	return out
}

// planOf draws the finds on a piece of land in metres around the first of them, on a flat map that
// is good enough for a field.
func planOf(p *find.Permission, finds []*find.Find, w *pageWords) (plan *render.Plan, hidden int) {
	plan = &render.Plan{Signs: append(Families(w.language), "")}
	var lat0, lon0 float64
	begun := false
	place := func(lat, lon float64) (x, y float64) {
		if !begun {
			lat0, lon0, begun = lat, lon, true
		}
		here := coordinate.Point{Latitude: lat0, Longitude: lon0}
		x = coordinate.Distance(here, coordinate.Point{Latitude: lat0, Longitude: lon})
		y = coordinate.Distance(here, coordinate.Point{Latitude: lat, Longitude: lon0})
		return math.Copysign(x, lon-lon0), math.Copysign(y, lat-lat0)
	}
	for _, f := range finds {
		if f.Position == nil || !f.Position.Latitude.Known() || !f.Position.Longitude.Known() {
			hidden++
			continue
		}
		x, y := place(f.Position.Latitude.Float(), f.Position.Longitude.Float())
		plan.Points = append(plan.Points, render.PlanPoint{Label: cmp.Or(f.Number, f.Name), X: x, Y: y,
			Radius: f.Position.Uncertainty.Float(), Group: Family(f, w.language)})
	}
	if p.Area != nil {
		polygons, err := p.Area.Polygons()
		if err != nil {
			return plan, hidden // what is wrong with the area is told when the report is checked
		}
		for _, rings := range polygons {
			for _, ring := range rings {
				plan.Areas = append(plan.Areas, render.PlanArea{Label: fieldName(p, 0), Ring: flatRing(ring, place)})
			}
		}
	}
	if len(plan.Points)+len(plan.Areas) == 0 {
		return nil, hidden
	}
	return plan, hidden
}

func flatRing(ring find.Ring, place func(lat, lon float64) (x, y float64)) (out [][2]float64) {
	for _, v := range ring {
		var c []float64
		if json.Unmarshal(v, &c) != nil || len(c) < 2 || math.Abs(c[1]) > 90 || math.Abs(c[0]) > 180 {
			continue
		}
		x, y := place(c[1], c[0])
		out = append(out, [2]float64{x, y})
	}
	return out
}

// land settles which permissions a landowner may see.
func (c *copier) land() error {
	c.own = map[string]bool{}
	if c.o.Audience != Landowner {
		return nil
	}
	ids := c.o.Permissions
	if len(ids) == 0 {
		if len(c.head.Permissions) != 1 {
			return fmt.Errorf("a landowner sees own land only: name the permissions of the land, by id or by the name of the "+
				"land as the report has it (--permission); %s", c.permissions())
		}
		ids = []string{c.head.Permissions[0].ID}
	}
	for _, id := range ids {
		if c.head.Permission(id) != nil {
			c.own[id] = true
			continue
		}
		found := false
		for i := range c.head.Permissions {
			p := &c.head.Permissions[i]
			if p.Place == nil || p.Place.Name == "" || find.FoldName(p.Place.Name) != find.FoldName(id) {
				continue
			}
			if p.ID == "" || found {
				return fmt.Errorf("more than one permission is for land named %q: name them by id; %s", id, c.permissions())
			}
			c.own[p.ID], found = true, true
		}
		if !found {
			return fmt.Errorf("there is no permission %q in the report, by id or by the name of the land; %s", id,
				c.permissions())
		}
	}
	return nil
}

// permissions says which there are, by id alone.
func (c *copier) permissions() string {
	const most = 8
	var ids []string
	for i := range c.head.Permissions {
		if i == most {
			ids = append(ids, fmt.Sprintf("and %d more", len(c.head.Permissions)-most))
			break
		}
		ids = append(ids, c.head.Permissions[i].ID)
	}
	if len(ids) == 0 {
		return "it has none: a permission ties finds to land, in a column Permission or Field"
	}
	return "it has " + strings.Join(ids, ", ")
}

// LandNames are the names of the land of a report by the ids of its permissions. Where several have one name, who found
// something there stands behind it, so that nobody takes one for the other.
func LandNames(r *find.Report) map[string]string {
	out, times, finders := map[string]string{}, map[string]int{}, map[string][]string{}
	for i := range r.Permissions {
		if p := &r.Permissions[i]; p.Place != nil && p.Place.Name != "" {
			out[p.ID] = p.Place.Name
			times[find.FoldName(p.Place.Name)]++
		}
	}
	for _, f := range r.Finds {
		if who := r.Person(f.Finder); who != nil && times[find.FoldName(out[f.Permission])] > 1 {
			if name := cmp.Or(who.Name, who.Handle); !slices.Contains(finders[f.Permission], name) {
				finders[f.Permission] = append(finders[f.Permission], name)
			}
		}
	}
	for id, names := range finders {
		out[id] += " (" + strings.Join(names, ", ") + ")"
	}
	return out
}

// twoPlaces names the land of a landowner whose finds lie in several places, a kilometre or more of nothing between
// them: two fields of one name would be one permission, and each owner would read what lies on the other's.
func (c *copier) twoPlaces(chosen []int32) {
	const cell = 1000 / 111_195.0 // degrees of latitude in a kilometre
	at := map[string]map[[2]int]bool{}
	for _, i := range chosen {
		f := &c.finds[i]
		if !f.placed || !c.own[f.permission] {
			continue
		}
		if at[f.permission] == nil {
			at[f.permission] = map[[2]int]bool{}
		}
		lon, lat := f.point[0], f.point[1]
		wide := cell / max(math.Cos(math.Round(lat)*math.Pi/180), 0.01)
		at[f.permission][[2]int{int(math.Floor(lon / wide)), int(math.Floor(lat / cell))}] = true
	}
	names := LandNames(c.head)
	for i := range c.head.Permissions {
		id := c.head.Permissions[i].ID
		if cells := at[id]; len(cells) > 0 && !inOnePlace(cells) {
			c.out.Apart = append(c.out.Apart, cmp.Or(names[id], id))
		}
	}
}

// inOnePlace reports whether one can go from each of some cells to each other over neighbours.
func inOnePlace(cells map[[2]int]bool) bool {
	var open [][2]int
	for start := range cells {
		open = append(open, start)
		break
	}
	seen := map[[2]int]bool{open[0]: true}
	for len(open) > 0 {
		from := open[len(open)-1]
		open = open[:len(open)-1]
		for n := range 9 {
			if to := [2]int{from[0] + n%3 - 1, from[1] + n/3 - 1}; cells[to] && !seen[to] {
				seen[to] = true
				open = append(open, to)
			}
		}
	}
	return len(seen) == len(cells)
}
