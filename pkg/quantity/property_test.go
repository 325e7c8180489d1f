package quantity

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/testkit/cases"
	_ "github.com/findslip/findslip/pkg/testkit/heavy" // the seed of what is drawn
)

var drawDecimal = rapid.Custom(func(t *rapid.T) Decimal {
	places := rapid.IntRange(0, 9).Draw(t, "places")
	d := Decimal(rapid.Int64Range(0, 9_000_000_000_000_000_000).Draw(t, "billionths"))
	for range 9 - places {
		d /= 10
	}
	for range 9 - places {
		d *= 10
	}
	return d
})

func drawBound(t *rapid.T, name string) Bound {
	if rapid.Bool().Draw(t, name+" known") {
		return Bound{drawDecimal.Draw(t, name), true}
	}
	return Bound{}
}

// drawQuantity gives any Quantity that parse must read.
var drawQuantity = rapid.Custom(func(t *rapid.T) Quantity {
	unit := Unit(rapid.IntRange(0, int(listedCount)-1).Draw(t, "unit"))
	q := Quantity{Unit: unit, Approximate: rapid.Bool().Draw(t, "approximate")}
	q.Min, q.Max, q.Resolution = drawBound(t, "min"), drawBound(t, "max"), drawBound(t, "step")
	if q.Min.Known && q.Max.Known && q.Min.Value > q.Max.Value {
		q.Min, q.Max = q.Max, q.Min
	}
	if q.Min.Known && q.Max.Known && rapid.Bool().Draw(t, "best") {
		q.Best = Bound{q.Min.Value + (q.Max.Value-q.Min.Value)/2, true}
	}
	if said := Unit(rapid.IntRange(0, int(listedCount)-1).Draw(t, "said")); said.Dimension() == unit.Dimension() {
		q.Said = said
	}
	return q
})

func TestParseOfString(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuantity.Draw(t, "quantity")
		text := q.String()
		if got, ok := parse(text); !ok || got != q {
			t.Fatalf("parse(%q) = %+v, %t; want %+v", text, got, ok, q)
		}
	})
}

// TestDecimalThereAndBack: what String writes ParseDecimal reads.
func TestDecimalThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Decimal(rapid.Int64Range(-9_223_372_036_854_775_807, 9_223_372_036_854_775_807).Draw(t, "d"))
		got, err := ParseDecimal(d.String())
		if err != nil || got != d {
			t.Fatalf("ParseDecimal(%q) = %v, %v", d.String(), got, err)
		}
	})
}

// drawText gives a measure as people write it, in pieces.
var drawNumber = rapid.Custom(func(t *rapid.T) string {
	n := rapid.IntRange(1, 60).Draw(t, "n")
	switch rapid.IntRange(0, 5).Draw(t, "form") {
	case 0:
		return fmt.Sprintf("%d.%d", n, rapid.IntRange(1, 9).Draw(t, "tenth"))
	case 1:
		return fmt.Sprintf("%d½", n)
	case 2:
		return fmt.Sprintf("%d %d/4", n, rapid.SampledFrom([]int{1, 3}).Draw(t, "quarter"))
	case 3:
		return fmt.Sprintf("%d-1/2", n)
	case 4:
		return rapid.SampledFrom([]string{"two", "zehn", "vijf", "onze", "tolv", "twenty-five", "åtta"}).Draw(t, "word")
	}
	return fmt.Sprint(n)
})

var drawUnitText = rapid.SampledFrom([]string{"in", `"`, "cm", "mm", "inches", "ft", "Zoll", "cm.", "duim", "pouces",
	"tommer", "tum", "″", "''"})

func read(t *rapid.T, s string) Reading {
	t.Helper()
	r, err := NormaliseLength(s, Options{})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

// holds reports whether the interval of a holds that of b.
func holds(a, b Quantity) bool {
	return (!a.Min.Known || b.Min.Known && a.Min.Value <= b.Min.Value) &&
		(!a.Max.Known || b.Max.Known && a.Max.Value >= b.Max.Value)
}

// TestWiderTextIsNeverNarrower: words that widen a measure widen its interval,
// or leave it alone.
func TestWiderTextIsNeverNarrower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number, other, unit := drawNumber.Draw(t, "number"), drawNumber.Draw(t, "other"), drawUnitText.Draw(t, "unit")
		plain := number + " " + unit
		one, two := read(t, plain).Quantity, read(t, other+" "+unit).Quantity
		if !one.Single() {
			t.Fatalf("%q is %v, want one value", plain, one)
		}
		wider := []string{
			"~" + plain, "about " + plain, "over " + plain, "under " + plain, "at least " + plain, "up to " + plain,
			"mehr als " + plain, "nearly " + plain,
			plain + " or more", plain + "+", number + " ± 2 " + unit, number + " to " + other + " " + unit,
			"between " + other + " and " + plain, other + " or " + plain,
		}
		for _, text := range wider {
			if q := read(t, text).Quantity; !holds(q, one) {
				t.Fatalf("%q is %v and does not hold %v", text, q, one)
			}
		}
		ranged := read(t, number+" to "+other+" "+unit).Quantity
		if !holds(ranged, two) || ranged.Resolution.Value < max(one.Resolution.Value, two.Resolution.Value) {
			t.Fatalf("%v does not hold %v, or is finer", ranged, two)
		}
		for _, text := range []string{"over ", "at least ", "under ", "about "} {
			if q := read(t, text+number+" to "+other+" "+unit).Quantity; !holds(q, ranged) {
				t.Fatalf("%s: %v does not hold %v", text, q, ranged)
			}
		}
	})
}

// TestInIsExact: a conversion and its reverse meet within the ninth place of
// the coarser of the two units.
func TestInIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := Unit(rapid.IntRange(int(MM), int(listedCount)-1).Draw(t, "from"))
		into := Unit(rapid.IntRange(int(MM), int(listedCount)-1).Draw(t, "into"))
		d := Decimal(rapid.Int64Range(0, 1_000_000_000_000).Draw(t, "value"))
		q := Quantity{Unit: from, Min: Bound{d, true}, Max: Bound{d, true}}
		got := q.In(into)
		if from.Dimension() != into.Dimension() {
			if !got.IsZero() {
				t.Fatalf("%v in %v is %v", q, into, got)
			}
			return
		}
		if got.IsZero() {
			return // too large for the unit
		}
		back := got.In(from)
		slack := Decimal(units[into].size/units[from].size) + 1
		if diff := max(back.Min.Value-d, d-back.Min.Value); back.IsZero() || diff > slack {
			t.Fatalf("%v in %v is %v and back %v", q, into, got, back)
		}
	})
}

// FuzzNormalise reads each text as a length, a weight and a count.
func FuzzNormalise(f *testing.F) {
	for _, s := range []string{
		`8½"`, "7-9 in", "8 1/2 in", "20±2 cm", "over a foot", "8in (20cm)", "1'2\"", "zwischen 7 und 9 cm", "2024-09-08",
		"8Â½\"", "1,200 mm", "6/8\"",
		"８ｉｎ", "un pied et demi", "en og en halv tomme", "..", "17.78..22.86 cm (said in; step 2.54)", "~>=2 cm", "³⁄₈ in",
		"8'-9'", "\xff8in", "0'8½\"",
		"6.25 g", "1/2 oz", "3 dwt 12 gr", "22.5 gr", "1 oz (28 g)", "1 oz (31.1 g)", "9ct", "3 ct",
		"1 dr ap (apothecaries dram)", "1 lb t", "2 stone 3 lb", "half an ounce", "anderthalb Unzen", "<1 g", "12±0,5 g",
		"1,3 gr", "5 gr (grain)", "1 scruple", "mehr als 100 g", "\xffg", "1 metric carat (0.2 g)",
		"3", "3 x", "ca. 12", "a dozen", "one or two", "10+", "several", "2½ dozen", "a pair", "1 of 3", "half a dozen",
		"mehrere", "een paar", "×4", "no. 5",
	} {
		f.Add(s)
	}
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count"} {
		for _, v := range cases.Seeds(cases.Vectors[struct{ Input string }](f, name)) {
			f.Add(v.Input)
		}
	}
	f.Fuzz(func(t *testing.T, s string) {
		check := func(read func(string, Options) (Reading, error), options ...Options) (r Reading) {
			for _, o := range options {
				var err error
				if r, err = read(s, o); err == nil {
					checkReading(t, s, r, o, read)
				} else {
					checkProposals(t, s, err, o, read)
				}
			}
			return r
		}
		check(NormaliseLength, Options{}, Options{Into: MM, Default: IN})
		check(NormaliseMass, Options{}, Options{Into: MG, Default: GR}, Options{Default: G})
		n := check(NormaliseCount, Options{})
		if n.Min.Value%one != 0 || n.Max.Value%one != 0 {
			t.Fatalf("%q: %v is no whole number", s, n)
		}
		UnitOfHeading(s)
	})
}

func checkReading(t *testing.T, s string, r Reading, o Options, again func(string, Options) (Reading, error)) {
	t.Helper()
	if r.Absent != "" {
		if !r.Quantity.IsZero() {
			t.Fatalf("%q: absent, and %v", s, r.Quantity)
		}
		return
	}
	q := r.Quantity
	if !q.Min.Known && !q.Max.Known {
		t.Fatalf("%q: neither end is known", s)
	}
	if q.Min.Value < 0 || q.Max.Value < 0 || q.Min.Known && q.Max.Known && q.Min.Value > q.Max.Value {
		t.Fatalf("%q: %v", s, q)
	}
	if got, err := again(q.String(), o); err != nil || got.Quantity != q {
		t.Fatalf("%q: %q reads as %q, %v", s, q, got.Quantity, err)
	}
	q.Show(o.Into)
}

func checkProposals(t *testing.T, s string, err error, o Options, read func(string, Options) (Reading, error)) {
	t.Helper()
	e, ok := err.(*Error)
	if !ok {
		t.Fatalf("%q: error of type %T", s, err)
	}
	if usual[e.Code][0] == "" || e.Message == "" || e.Help == "" {
		t.Fatalf("%q: code %q has no words", s, e.Code)
	}
	if e.At < 0 || e.At+len(e.Part) > len(e.Input) || e.Input[e.At:e.At+len(e.Part)] != e.Part {
		t.Fatalf("%q: %q is not at %d", s, e.Part, e.At)
	}
	for _, text := range e.Proposals {
		if e.Code != CodeUnitMissing {
			o.Default = max(o.Default, IN) // the proposal may have no unit, as the cell had none
		}
		_, err := read(text, o)
		if err != nil && e.Code != CodeUnitMissing && o.Default == IN {
			o.Default = G
			_, err = read(text, o)
		}
		if err != nil {
			t.Fatalf("%q proposes %q: %v", s, text, err)
		}
	}
}
