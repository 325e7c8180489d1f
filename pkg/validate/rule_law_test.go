package validate

import (
	"math"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// TestOlderThan: the Treasure Act 1996 section 1 asks for an age of 300 years when found; a dating
// that reaches over the limit cannot be told.
func TestOlderThan(t *testing.T) {
	for _, c := range []struct {
		date, event, found string
		want               law.Answer
	}{
		{"1726", "made", "2026-04-11", law.Yes}, {"1727", "made", "2026-04-11", law.No},
		{"1690/1790", "made", "2026-04-11", law.CannotTell},
		{"../1700", "made", "2026-04-11", law.Yes}, {"1800/..", "made", "2026-04-11", law.No},
		{"1700/..", "made", "2026-04-11", law.CannotTell},
		{"1601/1700", "lost", "2026-04-11", law.Yes}, {"1801/1900", "lost", "2026-04-11", law.CannotTell},
		{"-0199", "", "2026-04-11", law.Yes},
		{"1700", "made", "1999", law.No}, {"1699", "made", "1999", law.Yes}, {"", "", "2026-04-11", law.CannotTell},
		{"1600", "made", "", law.CannotTell},
	} {
		f := &find.Find{Dating: &find.Dating{Date: c.date}, Found: &find.Found{Date: c.found}}
		if c.event != "" {
			f.Dating.Event = &find.Term{Code: c.event}
		}
		if got := olderThan(&Case{Find: f}, 300); got != c.want {
			t.Errorf("%s %s found %s: %d, want %d", c.event, c.date, c.found, got, c.want)
		}
	}
	if olderThan(&Case{Find: &find.Find{Found: &find.Found{Date: "2026"}}}, 300) != law.CannotTell {
		t.Error("an object without dating has an age")
	}
}

// TestPrecious: a tenth of the weight; plating is far less, and a small part cannot be told.
func TestPrecious(t *testing.T) {
	m := func(code, certainty, part string) find.Material {
		return find.Material{Term: find.Term{Code: code, Certainty: certainty}, Part: part}
	}
	for name, c := range map[string]struct {
		materials []find.Material
		want      law.Answer
	}{
		"silver":                {[]find.Material{m("silver", "", "")}, law.Yes},
		"gold perhaps":          {[]find.Material{m("gold", "possible", "")}, law.CannotTell},
		"bronze":                {[]find.Material{m("bronze", "", "")}, law.No},
		"billon":                {[]find.Material{m("billon", "", "")}, law.CannotTell},
		"bronze with gold foil": {[]find.Material{m("bronze", "", ""), m("gold", "", "foil")}, law.CannotTell},
		"argued against":        {[]find.Material{m("bronze", "", ""), m("gold", "unlikely", "")}, law.No},
		"unknown":               {[]find.Material{m("metal-unknown", "", "")}, law.CannotTell},
		"nothing":               {nil, law.CannotTell},
	} {
		if got := precious(&find.Find{Materials: c.materials}); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}

func inEngland(c *Case) *Case {
	c.Permission = &find.Permission{ID: "permission-1", Jurisdiction: "GB-ENG"}
	return c
}

// TestTreasureCannotTell: what is missing is counted as not checked, neither passed nor alarmed.
func TestTreasureCannotTell(t *testing.T) {
	for name, change := range map[string]func(f *find.Find){
		"no dating":   func(f *find.Find) { f.Dating = nil },
		"no material": func(f *find.Find) { f.Materials = nil },
		"metal not known, age about": func(f *find.Find) {
			f.Materials[0].Code = "metal-unknown"
		},
	} {
		c := inEngland(plainFind())
		c.Find.Materials = []find.Material{{Term: find.Term{Code: "silver"}}}
		change(c.Find)
		c.said = &said{}
		treasureMayApply.Check(c, func(_, message string) { t.Errorf("%s: says %q", name, message) })
		if missing := len(c.said.notChecked); missing != 1 {
			t.Errorf("%s: counted %d times as not checked, want 1", name, missing)
		}
	}
}

// TestTreasureTimeLimit: Treasure Act 1996 section 8: fourteen days from the day after the find.
func TestTreasureTimeLimit(t *testing.T) {
	c := inEngland(plainFind())
	c.Find.Materials = []find.Material{{Term: find.Term{Code: "silver"}}}
	said := ""
	treasureMayApply.Check(c, func(_, message string) { said = message })
	for _, want := range []string{"2026-04-25", "Treasure Act 1996", "coroner", "This may apply"} {
		if !strings.Contains(said, want) {
			t.Errorf("the caution does not say %q: %s", want, said)
		}
	}
}

// TestWordsOfTheLawPromiseNothing: no rule calls anything legal or safe; advice goes to whom to ask.
func TestWordsOfTheLawPromiseNothing(t *testing.T) {
	for _, r := range Catalogue() {
		for _, text := range []string{r.Title, r.Why, r.Help} {
			for _, word := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r < 'a' || r > 'z' }) {
				if word == "legal" || word == "lawful" || word == "safe" {
					t.Errorf("%s says %q: %s", r.Code, word, text)
				}
			}
		}
	}
}

// TestGroupsFollowLinks: finds belong together by links in either direction and by one exact position.
func TestGroupsFollowLinks(t *testing.T) {
	log := &Roll{}
	hole := &find.Term{Code: "same-hole"}
	for i, f := range []*find.Find{
		{ID: "a", Number: "1"},
		{ID: "b", Number: "2", Associated: []find.Association{{Find: "a", Relation: hole}}},
		{ID: "c", Number: "3", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}},
		{ID: "d", Number: "4", Associated: []find.Association{{Find: "b", Relation: &find.Term{Code: "touching"}},
			{Find: "nowhere", Relation: hole}}},
		{ID: "e", Number: "5", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}},
		{ID: "f", Number: "6", Associated: []find.Association{{Find: "a", Relation: &find.Term{Code: "near"}}}},
		{ID: "g", Number: "7", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)},
			Generalised: map[string]string{"/position": "grid-0.1"}},
	} {
		c := inEngland(&Case{Find: f, Report: &find.Report{}})
		log.add(c, lineOf(c), Ref{Index: i, Label: f.Number})
	}
	var got []string
	for _, finds := range log.treasureGroups() {
		got = append(got, treasureGroup{log, finds}.labels(0))
	}
	if want := "numbers 1, 2, 4|numbers 3, 5"; strings.Join(got, "|") != want {
		t.Errorf("groups are %q, want %q", strings.Join(got, "|"), want)
	}
}

func mm(v float64) *find.Quantity {
	return &find.Quantity{Min: find.Float(v), Max: find.Float(v), Unit: "mm", Resolution: find.Float(0.1)}
}

// TestBox: the box never holds less than the object, whatever sizes are known.
func TestBox(t *testing.T) {
	ball, coin, bell := &find.Term{Code: "ball"}, &find.Term{Code: "coin"}, &find.Term{Code: "bell"}
	for name, c := range map[string]struct {
		class *find.Term
		sizes find.Dimensions
		cm3   float64 // 0: not known
	}{
		"ball":                     {ball, find.Dimensions{Diameter: mm(9.9)}, 1},
		"rod by its diameter":      {nil, find.Dimensions{Diameter: mm(9.9)}, 0},
		"coin":                     {coin, find.Dimensions{Diameter: mm(19.9), Thickness: mm(0.9)}, 0.4},
		"wall of a bell":           {bell, find.Dimensions{Diameter: mm(19.9), Thickness: mm(0.9)}, 8},
		"length alone":             {nil, find.Dimensions{Length: mm(9.9)}, 1},
		"length and width":         {nil, find.Dimensions{Length: mm(19.9), Width: mm(9.9)}, 2},
		"three sides":              {nil, find.Dimensions{Length: mm(19.9), Width: mm(9.9), Height: mm(4.9)}, 1},
		"thickness of bent sheet":  {nil, find.Dimensions{Length: mm(19.9), Width: mm(9.9), Thickness: mm(0.9)}, 2},
		"nothing":                  {nil, find.Dimensions{}, 0},
		"more than, with no limit": {ball, find.Dimensions{Diameter: &find.Quantity{Min: find.Float(9), Unit: "mm"}}, 0},
	} {
		got, ok := box(&find.Find{ObjectClass: c.class, Dimensions: &c.sizes}, theTables())
		if ok != (c.cm3 != 0) || ok && math.Abs(got-c.cm3) > 0.01 {
			t.Errorf("%s: %v, %v, want %v", name, got, ok, c.cm3)
		}
	}
}

// TestUnwornCoinsFit: every coin of the reference table, as issued, is within the row of its name.
func TestUnwornCoinsFit(t *testing.T) {
	fits := 0
	for _, r := range cases.Reference(t, "coins.csv") {
		k := caseNamed("en", r["denomination"])
		row, _ := k.thing()
		if mass := number(t, r["mass_g"]).Float(); row != nil && mass > 0 {
			fits++
			if mass < row.Least || mass > row.Most {
				t.Errorf("%s weighs %v g, a %s %v to %v g", r["id"], mass, row.Name, row.Least, row.Most)
			}
		}
	}
	if fits < 10 {
		t.Errorf("only %d coins of the reference have a row", fits)
	}
}

// plainFind is a find that is complete and has nothing wrong with it.
func plainFind() *Case {
	c := caseNamed("en", "crotal bell with the loop complete")
	f := c.Find
	f.Number, f.Kind, f.Finder, f.Permission = "12", "single", "person-1", "permission-1"
	f.Found = &find.Found{Date: "2026-04-11"}
	f.Place = &find.Place{Name: "Long Furlong", Parish: "Thornmere", Country: "GB"}
	f.Position = &find.Position{Longitude: find.Float(-1.2243), Latitude: find.Float(52.5072), Uncertainty: find.Int(5)}
	f.ObjectClass = &find.Term{Code: "bell"}
	f.Description = "cast in one piece, sunburst on the lower half, maker's letters on both sides"
	f.Notes = "the iron pea is still inside and rattles; soil kept"
	f.Materials = []find.Material{{Term: find.Term{Code: "copper-alloy"}}, {Term: find.Term{Code: "iron"}, Part: "pea"}}
	f.Magnetic = &find.Term{Code: "weak"}
	f.Weight = &find.Quantity{Min: find.Float(31), Max: find.Float(31), Unit: "g", Resolution: find.Float(0.1)}
	f.Dimensions = &find.Dimensions{Diameter: mm(34), Height: mm(38)}
	f.Condition = &find.Condition{Completeness: &find.Term{Code: "complete"}}
	f.Marks = []find.Mark{{Text: "R W"}}
	f.Dating = &find.Dating{Date: "1690/1790", Event: &find.Term{Code: "made"}, Certainty: "probable"}
	f.Identification = &find.Identification{Certainty: "probable", Basis: &find.Term{Code: "type"}}
	yes := true
	f.Media = []find.Media{{File: "12-front.jpg", View: &find.Term{Code: "front"}, Scale: &yes},
		{File: "12-back.jpg", View: &find.Term{Code: "back"}}}
	f.Cleaning = &find.Term{Code: "rinsed"}
	f.Disposition = &find.Term{Code: "finder-for-landowner"}
	f.Sensitivity = "coarse"
	return c
}

// TestNothingWrongCostsLittle: the rules of one find take little memory where nothing is wrong, and
// most of them none.
func TestNothingWrongCostsLittle(t *testing.T) {
	c := plainFind()
	theTables()
	for _, rules := range [][]*Rule{materialRules, thingRules, conditionRules, datingRules, identificationRules,
		mediaRules, safetyRules, lawRules, sharingRules} {
		for _, r := range rules {
			if r.Check == nil {
				continue
			}
			said := 0
			say := func(pointer, message string) { said++ }
			n := testing.AllocsPerRun(20, func() {
				c.facts = facts{}
				r.Check(c, say)
			})
			if said > 0 {
				t.Errorf("%s speaks of a find with nothing wrong", r.Code)
			}
			if n > 1 {
				t.Errorf("%s takes memory %v times", r.Code, n)
			}
		}
	}
}
