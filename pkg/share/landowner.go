package share

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
)

type landownerData struct {
	Tool, Day, Title string
	Fields           []landField
	Cautions         []caution
	Finds            int
}

// landField is one permission.
type landField struct {
	Name, Terms string
	Summary     string // how many of what
	Days        []landDay
	Plan        *render.Plan
	NoPlace     int // finds that the plan cannot show
}

// landDay is one day on one field.
type landDay struct {
	Day     string // ISO 8601; empty: not known
	Shown   string // as people write it
	Finds   []landFind
	Rubbish []string
	Nothing bool // somebody was out and found nothing
}

type landFind struct {
	Number, Name, Material string
	Left                   string // whether it left the field
	Now                    string // where it is
	Open                   []string
	Cautions               []caution
}

func landownerPage(r *find.Report, o SheetOptions) landownerData {
	page := landownerData{Tool: o.Tool, Day: dayWords(o.Day), Title: r.Title, Cautions: cautionsOf(o.Notices, ""),
		Finds: len(r.Finds)}
	for i := range r.Permissions {
		p := &r.Permissions[i]
		field := landField{Name: fieldName(p, i), Terms: p.Terms}
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
				if date = f.Found.Date; date == "" {
					date = f.Found.Verbatim
				}
			}
			d := day(date)
			d.Finds = append(d.Finds, landFindOf(r, f, o))
			if f.Lot != nil && f.Lot.Discarded.Known() && f.Lot.Discarded.Int() > 0 {
				d.Rubbish = append(d.Rubbish, fmt.Sprintf("%s discarded of find %s", f.Lot.Discarded, findLabel(f)))
			}
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
			d.Shown = dayWords(d.Day)
			field.Days = append(field.Days, *d)
		}
		slices.SortFunc(field.Days, func(a, b landDay) int {
			if (a.Day == "") != (b.Day == "") {
				return cmp.Compare(b.Day, a.Day) // a day that is not known comes last
			}
			return cmp.Compare(a.Day, b.Day)
		})
		field.Summary = summaryOf(field.Days)
		field.Plan, field.NoPlace = planOf(p, finds)
		page.Fields = append(page.Fields, field)
	}
	return page
}

// summaryOf counts what a landowner asks first.
func summaryOf(days []landDay) string {
	records, left, stayed, unsaid, open, cautions, rubbish := 0, 0, 0, 0, 0, 0, 0
	for _, d := range days {
		if len(d.Rubbish) > 0 {
			rubbish++
		}
		for _, f := range d.Finds {
			records++
			switch f.Left {
			case "no":
				stayed++
			case "not said":
				unsaid++
			default:
				left++
			}
			open += len(f.Open)
			cautions += len(f.Cautions)
		}
	}
	parts := []string{many(records, "record") + " on " + many(len(days), "day"), fmt.Sprintf("left the field: %d", left)}
	for _, p := range []struct {
		n    int
		text string
	}{{stayed, "stayed on it"}, {unsaid, "not said"}, {open, "open matters"}, {cautions, "cautions"},
		{rubbish, "days on which rubbish was taken away"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%s: %d", p.text, p.n))
		}
	}
	return strings.Join(parts, "; ")
}

func many(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// dayWords writes a day or month as people do: 12 April 2026. Anything else stays as it is.
func dayWords(day string) string {
	if t, err := time.Parse(time.DateOnly, day); err == nil {
		return t.Format("2 January 2006")
	}
	if t, err := time.Parse("2006-01", day); err == nil {
		return t.Format("January 2006")
	}
	return day
}

func fieldName(p *find.Permission, i int) string {
	if p.Place != nil && p.Place.Name != "" {
		return p.Place.Name
	}
	return fmt.Sprintf("Field %d", i+1)
}

func landFindOf(r *find.Report, f *find.Find, o SheetOptions) landFind {
	out := landFind{Number: f.Number, Name: f.Name, Cautions: cautionsOf(o.Notices, findLabel(f))}
	if out.Name == "" {
		out.Name = words("object-class", f.ObjectClass)
	}
	if n := howMany(f); n != "" {
		out.Name += " × " + n
	}
	var made []string
	for i := range f.Materials {
		made = append(made, words("material", &f.Materials[i].Term))
	}
	out.Material = strings.Join(made, ", ")
	switch d := f.Disposition; {
	case f.Lifted == "none" || d.Is("left-in-place", "reburied"):
		out.Left = "no"
	case f.Lifted == "part":
		out.Left = "in part; the rest is in the ground"
	case f.Lifted == "all" || d != nil && d.Code != "unknown" && d.Code != "":
		out.Left = "yes"
	default:
		out.Left = "not said"
	}
	if d := f.Disposition; d != nil {
		out.Now = cmp.Or(d.Verbatim, d.Label, label("disposition", d.Code))
	}
	if k := r.Person(f.Keeper); k != nil {
		out.Now = strings.TrimPrefix(out.Now+", kept by "+personName(k), ", ")
	}
	if out.Now == "" {
		out.Now = "not said"
	}
	for i := range f.Notified {
		if text := openMatter(&f.Notified[i]); text != "" {
			out.Open = append(out.Open, text)
		}
	}
	for i := range f.Hazards {
		if h := &f.Hazards[i]; !h.Is("none-seen", "unknown") {
			out.Open = append(out.Open, "hazard: "+words("hazard", h))
		}
	}
	return out
}

func personName(p *find.Person) string {
	return cmp.Or(p.Name, p.Handle, p.ID)
}

// openMatter says a notification that is not closed, empty for one that is.
func openMatter(n *find.Notified) string {
	if n.Status.Is("closed", "returned") {
		return ""
	}
	text := "told to " + cmp.Or(n.To, "somebody not named")
	if n.Status.Is("not-sent") {
		text = "to be told to " + cmp.Or(n.To, "somebody not named")
	}
	for _, part := range [][2]string{{" on ", n.On}, {", case ", n.CaseNumber}, {", due ", n.Deadline},
		{", ", words("notification-status", n.Status)}} {
		if part[1] != "" {
			text += part[0] + part[1]
		}
	}
	return text
}

// planOf draws the finds on a piece of land in metres around the first of them, on a flat map that
// is good enough for a field.
func planOf(p *find.Permission, finds []*find.Find) (plan *render.Plan, hidden int) {
	plan = &render.Plan{}
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
		group := "material not said"
		if len(f.Materials) > 0 {
			if group = label("material", f.Materials[0].Code); group == "" {
				group = f.Materials[0].Verbatim
			}
		}
		plan.Points = append(plan.Points, render.PlanPoint{Label: cmp.Or(f.Number, "no number"), X: x, Y: y,
			Radius: f.Position.Uncertainty.Float(), Group: group})
	}
	if len(plan.Points) == 0 {
		return nil, hidden
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
