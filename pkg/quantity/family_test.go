package quantity

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// The properties of lengths, in property_test.go, hold for weights and counts as well.

func count(s string, o Options) (Reading, error) { return NormaliseCount(s, o) }

var drawMassUnit = rapid.SampledFrom([]string{"g", "mg", "kg", "grain", "oz", "ozt", "dwt", "lb", "Gramm", "grammes",
	"gram", "ounces", "Unzen", "scruples", "metric carats", "stone", "dram avoirdupois", "lb t"})

// drawMass gives a weight without bound, as people write it, as number and unit.
func drawMass(t *rapid.T) (number, unit string) {
	number = fmt.Sprint(rapid.IntRange(1, 60).Draw(t, "n"))
	switch rapid.IntRange(0, 3).Draw(t, "form") {
	case 0:
		number += fmt.Sprintf(".%d", rapid.IntRange(1, 99).Draw(t, "hundredths"))
	case 1:
		number += "½"
	case 2:
		number += " 3/4"
	}
	return number, drawMassUnit.Draw(t, "unit")
}

// wideners put words around a measure that widen it or leave it alone.
var wideners = []string{"~%s", "about %s", "ca. %s", "environ %s", "over %s", "mindestens %s", "at least %s",
	"up to %s", "højst %s", "höchstens %s", "%s or more", "%s or less", "%s+", "%s?", "%s or so"}

func TestWiderWeightIsNeverNarrower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number, unit := drawMass(t)
		read := func(s string) Quantity {
			r, err := NormaliseMass(s, Options{})
			if err != nil {
				t.Fatal(err)
			}
			return r.Quantity
		}
		one := read(number + " " + unit)
		if again := read(one.String()); again != one {
			t.Fatalf("%v reads as %v", one, again)
		}
		if parsed, err := Parse(one.String()); err != nil || parsed != one {
			t.Fatalf("Parse(%q) = %v, %v", one, parsed, err)
		}
		for _, w := range append(wideners, "%s ± 2 "+unit, "%s to 70 "+unit, "between %s and 70 "+unit) {
			text := fmt.Sprintf(w, number+" "+unit)
			if q := read(text); !holds(q, one) || q.Approximate && w == "over %s" {
				t.Fatalf("%q is %v and does not hold %v", text, q, one)
			}
		}
	})
}

func TestWiderCountIsNeverNarrower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 500).Draw(t, "n")
		read := func(s string) Quantity {
			r, err := NormaliseCount(s, Options{})
			if err != nil {
				t.Fatal(err)
			}
			return r.Quantity
		}
		text := fmt.Sprint(n) + rapid.SampledFrom([]string{"", " pcs", " Stück", " stuks", " stk.", " pièces", " st",
			" x"}).Draw(t, "pieces")
		one := read(text)
		if want := Whole(int64(n)); !one.Single() || one.Min.Value != want {
			t.Fatalf("%q is %v", text, one)
		}
		if again := read(one.String()); again != one {
			t.Fatalf("%v reads as %v", one, again)
		}
		for _, w := range append(wideners, "%s to 600", "between %s and 600", "%s ± 1") {
			if q := read(fmt.Sprintf(w, fmt.Sprint(n))); !holds(q, one) {
				t.Fatalf("%q is %v and does not hold %v", fmt.Sprintf(w, fmt.Sprint(n)), q, one)
			}
		}
	})
}

func FuzzNormaliseMass(f *testing.F) {
	for _, s := range []string{"6.25 g", "1/2 oz", "3 dwt 12 gr", "22.5 gr", "1 oz (28 g)", "1 oz (31.1 g)", "9ct", "3 ct",
		"1 dr ap (apothecaries dram)", "1 lb t", "2 stone 3 lb",
		"half an ounce", "anderthalb Unzen", "<1 g", "12±0,5 g", "1,3 gr", "5 gr (grain)", "1 scruple", "mehr als 100 g",
		"\xffg", "1 metric carat (0.2 g)"} {
		f.Add(s)
	}
	for _, v := range readVectors(f) {
		f.Add(v.Input)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, o := range []Options{{}, {Into: MG, Default: GR}, {Default: G}} {
			if r, err := NormaliseMass(s, o); err == nil {
				checkReading(t, s, r, o, NormaliseMass)
			} else {
				checkProposals(t, s, err, o, NormaliseMass)
			}
		}
	})
}

func FuzzNormaliseCount(f *testing.F) {
	for _, s := range []string{"3", "3 x", "ca. 12", "a dozen", "one or two", "10+", "several", "2½ dozen", "a pair",
		"1 of 3", "half a dozen", "mehrere", "een paar", "×4", "no. 5"} {
		f.Add(s)
	}
	for _, v := range readVectors(f) {
		f.Add(v.Input)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := NormaliseCount(s, Options{})
		if err != nil {
			checkProposals(t, s, err, Options{}, count)
			return
		}
		checkReading(t, s, r, Options{}, count)
		for _, b := range [...]Bound{r.Min, r.Max} {
			if b.Value%one != 0 {
				t.Fatalf("%q: %v is no whole number", s, b.Value)
			}
		}
	})
}
