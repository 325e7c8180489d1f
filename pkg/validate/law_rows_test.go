package validate

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// untold are rows that are not told by themselves, and why.
var untold = map[string]string{
	"gb-treasure-acquirer":   "a duty that is not in force, of a person who is not the finder",
	"gb-treasure-not":        "an exemption: it silences the rows of treasure (TestExemptions)",
	"gb-treasure-church":     "an exemption (TestExemptions)",
	"gb-treasure-deadline":   "it is the source of the time limits (TestDeadlinesAreListedByDay)",
	"gb-nir-treasure-first":  "it says which of two rules speaks (TestDeadlinesAreListedByDay)",
	"valletta":               "it binds states, not finders",
	"us-arrowheads":          "an exemption from penalties, not from the rule",
	"nl-weapons-bones":       "what to do with weapons and bones is told by the rules of danger",
	"lead":                   "lead-handled has its own words",
	"gb-firearms":            "asked of cartridges that were posted (testdata/codes/live-cartridge-posted.json)",
	"radium-any":             "told in every country: TestRadium",
	"gb-sct-sepulchre":       "the first row of the place is told, gb-sct-human-remains",
	"us-human-remains":       "the first row of the place is told, us-nagpra",
	"gb-treasure-associated": "asked of companions (testdata/codes/treasure-together.json)",
}

// Every row of the table of law is drawn by a log that meets its conditions, in its place, on a day on which it is in
// force; those that are not told say why.
func TestEveryRowOfLawIsDrawn(t *testing.T) {
	rows := theTables().law.Rows
	for i := range rows {
		r := &rows[i]
		if untold[r.ID] != "" || r.Topic == "ordnance" && !r.IsLaw() {
			continue // what is known of a number from memory alone is not told: law.TestCalls
		}
		for _, place := range r.Jurisdictions {
			t.Run(r.ID+"/"+place, func(t *testing.T) {
				want, told := r.Rule, []string(nil)
				if r.Topic == "ordnance" || r.Asks == "human-remains" {
					want = r.Written(rowDay)
				}
				said := judgeRow(t, r, placeFor(place))
				for _, message := range said {
					if strings.Contains(message, want) {
						return
					}
					told = append(told, message)
				}
				t.Errorf("not told; want %q in\n%s", want, strings.Join(told, "\n"))
			})
		}
	}
	for id := range untold {
		if !slices.ContainsFunc(rows, func(r law.Row) bool { return r.ID == id }) {
			t.Errorf("%s is no row", id)
		}
	}
}

var rowDay = edtf.Day{Year: 2026, Month: 12, Day: 1}

// placeFor is a place where a row holds: groups have members, and anywhere is where no table has a row.
func placeFor(place string) string {
	switch place {
	case "EU":
		return "PT"
	case "ZZ":
		return "IS"
	case "DE", "CA", "AU":
		return place // the fallback of parts without a row
	}
	return place
}

// judgeRow makes a log that meets the conditions of a row and returns what is reported of it.
func judgeRow(t *testing.T, r *law.Row, place string) (messages []string) {
	t.Helper()
	found := "2026-11-11"
	if r.To != "" {
		found = r.To
	}
	f := &find.Find{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000001", Number: "1", Kind: "single", Name: "object",
		Permission: "permission-1", Found: &find.Found{Date: found},
		Dating:    &find.Dating{Date: "1401/1410", Event: &find.Term{Code: "made"}},
		Materials: []find.Material{{Term: find.Term{Code: "copper-alloy"}}}}
	p := find.Permission{ID: "permission-1", Jurisdiction: place, Place: &find.Place{Name: "Long Furlong"}}
	o := find.Outing{ID: "outing-1", Permission: "permission-1", Method: &find.Term{Code: "free-walk"}}
	settings := DefaultSettings()
	satisfy(t, &r.Applies, f, &p, &o, &settings)
	f.Outing = o.ID
	report := &find.Report{Findslip: "1.0", Permissions: []find.Permission{p}, Outings: []find.Outing{o}}
	if p.ID == "" {
		report.Permissions, report.Outings[0].Permission = nil, ""
		f.Place = &find.Place{Country: place}
	}
	v, err := New(Options{Level: NoLevel, AsOf: rowDay, Settings: &settings, Rules: "all"})
	if err != nil {
		t.Fatal(err)
	}
	report.Finds = []*find.Find{f}
	out := v.Stream(find.StreamOf(report))
	for e, err := range out.Entries {
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range e.Notices {
			messages = append(messages, n.Message)
		}
	}
	for _, n := range out.Notices {
		messages = append(messages, n.Message)
	}
	return messages
}

// satisfy fills in what meets the conditions of a row.
func satisfy(t *testing.T, a *law.Conditions, f *find.Find, p *find.Permission, o *find.Outing, s *Settings) {
	t.Helper()
	code := func(c string) *find.Term { return &find.Term{Code: c} }
	made := func(year int) {
		f.Dating = &find.Dating{Date: fmt.Sprint(year), Event: code("made")}
		f.Dating.Date = fmt.Sprintf("%04d", year)
	}
	metal := func(m string) { f.Materials = []find.Material{{Term: find.Term{Code: m}}} }
	if len(a.Class) > 0 {
		f.ObjectClass = code(a.Class[0])
	}
	if a.SameFindMin > 0 || a.Use == "as-money" || len(a.SameFind) > 0 {
		n := max(a.SameFindMin, 10)
		f.Kind, f.Lot = "lot", &find.Lot{Rule: code("same-hole")}
		f.Count = &find.Quantity{Min: find.Int(n), Max: find.Int(n)}
		if a.Period == "" {
			f.ObjectClass = code("coin-group")
		}
		if a.PreciousPercentMin > 0 {
			metal("silver")
		}
	}
	if a.PreciousPercentMin > 0 || a.PreciousMainly || a.AnyPrecious || a.Suspected != "" ||
		slices.Contains(a.Material, "precious") {
		metal("silver")
	}
	if a.Period == "prehistoric" {
		made(-800)
		f.Dating.Date = "-0800"
	}
	if a.AgeYearsMax > 0 {
		made(1990)
	}
	if a.HiddenOnPurpose {
		f.Notes = "from a hoard"
		made(1990)
	}
	if a.DepthMmOver > 0 {
		f.Depth = &find.Depth{Quantity: find.Quantity{Min: find.Int(45), Max: find.Int(45), Unit: "cm"}}
	}
	if a.Near != "" {
		f.Position = &find.Position{Longitude: find.Float(5.2013), Latitude: find.Float(52.1027), Uncertainty: find.Float(6)}
		area, err := coordinate.NewArea([][][]float64{{{5.1, 52}, {5.3, 52}, {5.3, 52.2}, {5.1, 52.2}, {5.1, 52}}})
		if err != nil {
			t.Fatal(err)
		}
		s.Protected = &Protected{Areas: []coordinate.Area{area}}
	}
	if len(a.Ground) > 0 {
		laws := theTables().law
		g := laws.Grounds[laws.Ground(a.Ground[0])]
		if len(g.Listed) > 0 {
			p.Place.Name = g.Listed[0]
		} else {
			p.LandUse = code(g.LandUse[0])
		}
	}
	for _, deed := range a.Activity {
		switch deed {
		case "cleaning":
			f.Cleaning = code("rinsed")
		case "disposing":
			f.Disposition = code("sold")
		case "exporting":
			f.Custody = []find.Custody{{Purpose: "sent abroad"}}
		case "not-detecting":
			o.Method = code("eyes-only")
		case "surface-collecting":
			continue
		}
	}
	if a.Culture != "" {
		f.Description = a.Culture
	}
	if a.Permission == "missing" {
		*p = find.Permission{}
		f.Permission = ""
	}
	if a.Flag != "" {
		f.Description = "of outstanding significance"
	}
	if a.Surface {
		f.Depth = &find.Depth{Quantity: find.Quantity{Min: find.Int(0), Max: find.Int(0), Unit: "cm"}}
	}
	for _, words := range a.Words {
		switch words {
		case "ordnance", "ammunition-live":
			f.Name = "hand grenade"
		case "human-remains":
			f.Name = "human skull"
		case "aircraft":
			f.Name = "aircraft wreckage"
		case "military":
			f.Name = "military buckle"
		}
	}
	for i := range a.AnyOf {
		satisfy(t, &a.AnyOf[i], f, p, o, s)
		break
	}
}

// What the law leaves out of treasure is not told of as treasure, nor is a single coin or token of money.
func TestExemptions(t *testing.T) {
	for name, change := range map[string]func(c *Case){
		"a stone":          func(c *Case) { c.Find.ObjectClass = &find.Term{Code: "natural"} },
		"from a wreck":     func(c *Case) { c.Find.Place = &find.Place{Name: "the wreck off the point"} },
		"a churchyard":     func(c *Case) { c.Find.Place = &find.Place{Name: "the churchyard"} },
		"one coin":         func(c *Case) { c.Find.ObjectClass = &find.Term{Code: "coin"} },
		"one token":        func(c *Case) { c.Find.ObjectClass = &find.Term{Code: "token"} },
		"a coin by name":   func(c *Case) { c.Find.ObjectClass, c.Find.Name = nil, "silver sixpence" },
		"Scottish finds":   func(c *Case) { c.Permission.Jurisdiction = "GB-SCT" },
		"found in the 90s": func(c *Case) { c.Find.Found.Date = "1996-05-05" },
	} {
		c := inEngland(plainFind())
		c.Find.Materials = []find.Material{{Term: find.Term{Code: "silver"}}}
		if treasureMayApply.Check(c, func(string, string) {}); c.facts.law == nil {
			t.Fatal("the law was not asked")
		}
		c = inEngland(plainFind())
		c.Find.Materials = []find.Material{{Term: find.Term{Code: "silver"}}}
		change(c)
		treasureMayApply.Check(c, func(_, message string) { t.Errorf("%s: %s", name, message) })
	}
}

// Old dials are told of in every country.
func TestRadium(t *testing.T) {
	c := inEngland(plainFind())
	c.Find.Name = "luminous watch"
	said := ""
	lawKeep.Check(c, func(_, message string) { said += message })
	if !strings.Contains(said, "radium") {
		t.Errorf("says %q", said)
	}
}
