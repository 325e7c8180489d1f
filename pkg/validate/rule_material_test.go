package validate

import (
	"math"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// TestBallDiameter: a sphere of pure lead, density 11.34 g/cm³ (the usual handbook figure, from
// memory), is 5.52 mm times the cube root of its weight in grams across; d³ = 6m/πρ.
func TestBallDiameter(t *testing.T) {
	lead := theTables().density["lead"]
	if lead.Low != 11.34 || lead.High != 11.34 {
		t.Fatalf("density of lead is %v", lead)
	}
	for _, c := range []struct{ grams, mm float64 }{
		{1, 5.52}, {8, 11.04}, {27, 16.57}, {1000, 55.22},
		{453.59237 / 12, 18.53}, // twelve balls to the pound: a 12-bore is 0.729 in by definition (from memory)
		{453.59237 / 20, 15.63}, // a 20-bore is 0.615 in (from memory)
	} {
		if got := ballDiameter(c.grams, lead.High); math.Abs(got-c.mm) > 0.03 {
			t.Errorf("%v g: %.3f mm, want %v", c.grams, got, c.mm)
		}
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

// TestThings: the longest words of a name count, and words that turn it into another thing take it out.
func TestThings(t *testing.T) {
	for name, want := range map[string]string{"Musket ball, fired": "musket ball", "coin weight": "another thing",
		"25 øre 1921": "25 øre", "halfpenny, George III?": "halfpenny",
		"denarius (forgery)": "", "toy ploughshare": "", "button": "button", "something flat": "",
		"muskötkulor": "musket ball"} {
		got := ""
		if row, _ := caseNamed("en", name).thing(); row != nil {
			got = row.Name
		}
		if got != want {
			t.Errorf("%q is %q, want %q", name, got, want)
		}
	}
}

// TestCountInWords: a number of things, not of their parts, nor what is stamped on a coin.
func TestCountInWords(t *testing.T) {
	for name, want := range map[string]int{"3 musket balls": 3, "two buttons": 2, "drie stuks bij elkaar": 3, "25 øre": 0,
		"5 fenigów": 0, "three ringer, minie": 0, "2 piece button": 0,
		"two buckles and three buttons": 0, "musket ball .69": 0, "button, 2 holes": 0, "zwei Knöpfe": 2,
		"three together": 3} {
		if got, _ := countInWords(name, true); got != want {
			t.Errorf("%q speaks of %d, want %d", name, got, want)
		}
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
