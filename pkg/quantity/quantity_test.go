package quantity

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestParseDecimal(t *testing.T) {
	good := map[string]Decimal{
		"0": 0, "8": 8 * one, "8.5": 8_500_000_000, "0.000000001": 1, "-3.25": -3_250_000_000, "007": 7 * one,
		"9223372036.854775807": math.MaxInt64, "20.50": 20_500_000_000,
	}
	for text, want := range good {
		if got, err := ParseDecimal(text); err != nil || got != want {
			t.Errorf("ParseDecimal(%q) = %d, %v; want %d", text, got, err, want)
		}
	}
	for _, text := range []string{"", "-", ".", ".5", "5.", "1.0000000001", "9223372036.854775808", "9223372037", "1e3",
		"+1", " 1", "1 ", "1,5", "0x1", "1_0", "NaN", "１"} {
		if got, err := ParseDecimal(text); err == nil {
			t.Errorf("ParseDecimal(%q) = %v, want an error", text, got)
		}
	}
}

func TestDecimalJSON(t *testing.T) {
	var d Decimal
	if err := d.UnmarshalJSON([]byte("21.59")); err != nil || d != 21_590_000_000 {
		t.Errorf("UnmarshalJSON: %d, %v", d, err)
	}
	if b, err := d.MarshalJSON(); err != nil || string(b) != "21.59" {
		t.Errorf("MarshalJSON: %s, %v", b, err)
	}
	if err := d.UnmarshalJSON([]byte(`"21.59"`)); err == nil {
		t.Error("UnmarshalJSON reads a text as a number")
	}
	if got := Whole(math.MaxInt64); got != 9_223_372_036*one {
		t.Errorf("Whole of a large number is %v", got)
	}
}

func TestUnits(t *testing.T) {
	for u := MM; u < listedCount; u++ {
		if got, err := ParseUnit(u.String()); err != nil || got != u {
			t.Errorf("ParseUnit(%q) = %v, %v", u, got, err)
		}
	}
	for _, code := range []string{"", "IN", "inch", " in", "in.", "km"} {
		if got, err := ParseUnit(code); err == nil {
			t.Errorf("ParseUnit(%q) = %v, want an error", code, got)
		}
	}
	if u := Unit(200); u.String() != "" || u.Dimension() != None {
		t.Errorf("a unit outside the list is %q", u)
	}
}

// TestStoredFactors compares every factor with the exact figure of NIST SP 811
// App. B.8 and Handbook 44 App. C, in cm and g.
func TestStoredFactors(t *testing.T) {
	want := map[Unit]string{
		MM: "0.1", CM: "1", M: "100", IN: "2.54", FT: "30.48", YD: "91.44",
		MG: "0.001", G: "1", KG: "1000", GR: "0.06479891", OZ: "28.349523125", OZT: "31.1034768", DWT: "1.55517384",
		LB: "453.59237",
	}
	for u := MM; u < listedCount; u++ {
		into := CM
		if u.Dimension() == Mass {
			into = G
		}
		q := Quantity{Unit: u, Min: Bound{one, true}}.In(into)
		if got := q.Min.Value.String(); got != want[u] {
			t.Errorf("1 %v is %s %v, want %s", u, got, into, want[u])
		}
	}
}

// TestOtherUnits compares the units beyond the list with NIST SP 811 App. B.8 and Handbook 44 App. C; the line of
// 1/12 in and of 1/40 in are common practice of the button trade.
func TestOtherUnits(t *testing.T) {
	want := cases.Table[map[string]string](t, "OtherUnits")
	got := map[string]string{}
	for _, u := range OtherUnits() {
		got[u.Name] = u.Size()
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestIn(t *testing.T) {
	q := Quantity{Unit: CM, Said: IN, Min: Bound{Whole(20), true}, Max: Bound{Whole(20), true}}
	if got := q.In(G); !got.IsZero() {
		t.Errorf("centimetres in grams: %v", got)
	}
	if got := q.In(NoUnit); !got.IsZero() {
		t.Errorf("centimetres in no unit: %v", got)
	}
	// 20 cm / 2.54 = 7.874015748 03...
	if got := q.In(IN).Min.Value.String(); got != "7.874015748" {
		t.Errorf("20 cm is %s in", got)
	}
	big := Quantity{Unit: M, Min: Bound{Whole(9_000_000_000), true}}
	if got := big.In(MM); !got.IsZero() {
		t.Errorf("too large for mm: %v", got)
	}
}

// TestInto reads into each unit of the dimension.
func TestInto(t *testing.T) {
	want := map[Unit]string{MM: "304.8", CM: "30.48", M: "0.3048", IN: "12", FT: "1", YD: "0.333333333"}
	for u, value := range want {
		r, err := NormaliseLength("1 ft", Options{Into: u})
		if err != nil || r.Unit != u || r.Min.Value.String() != value {
			t.Errorf("a foot in %v is %v, %v; want %s", u, r.Quantity, err, value)
		}
	}
	// 1 kg / 0.06479891 g = 15432.358352941431...
	if r, err := NormaliseMass("1 kg", Options{Into: GR}); err != nil || r.Min.Value.String() != "15432.358352941" {
		t.Errorf("a kilogram in grains is %v, %v", r.Quantity, err)
	}
	if r, err := NormaliseLength("1 ft", Options{Into: KG}); err != nil || r.Unit != CM {
		t.Errorf("a unit of another dimension: %v, %v", r.Quantity, err)
	}
}

func TestShow(t *testing.T) {
	for _, c := range cases.Table[[]struct{ Text, CM, In string }](t, "Show") {
		r, err := NormaliseLength(c.Text, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if cm, in := r.Show(CM), r.Show(IN); cm != c.CM || in != c.In {
			t.Errorf("%q shows as %q and %q, want %q and %q", c.Text, cm, in, c.CM, c.In)
		}
	}
}

func TestUnitOfHeading(t *testing.T) {
	cases := map[string]Unit{
		"Depth (in)": IN, "Depth [cm]": CM, "depth_in": IN, "weight g": G, "Tiefe (cm)": CM, "Depth (inches)": IN,
		"Depth in inches": IN, "Gewicht (g)": G, "Profondeur (cm)": CM,
		"Dybde [cm]": CM, "Djup (cm)": CM, "Diepte cm": CM, "Length (mm)": MM, "Weight [grains]": GR, "Weight (oz t)": OZT,
		"Weight (troy oz)": OZT, "DEPTH (IN)": IN, "depth.max [cm]": CM, `Depth (")`: IN,
		"Depth (in.)": IN, "size mm": MM, "Tiefe in cm": CM, "depth m": M, "Depth (ft)": FT,
	}
	for heading, want := range cases {
		if got, ok := UnitOfHeading(heading); !ok || got != want {
			t.Errorf("UnitOfHeading(%q) = %v, %v; want %v", heading, got, ok, want)
		}
	}
	for _, heading := range []string{"", "Depth", "Found in", "in", "cm", "Depth (in/cm)", "in/cm", "Weight (gr)",
		"Notes (see below)", "Depth (max)", "Date (m)onth", "Ring (gold)", "Programme", "a()", ")(", "Distance (km)",
		"Weight (ct)", "Weight (dr)", "Size (lines)"} {
		if got, ok := UnitOfHeading(heading); ok {
			t.Errorf("UnitOfHeading(%q) = %v, want none", heading, got)
		}
	}
}

// TestProposals: what is refused says what may be meant, in the order in which
// a person would look at it.
func TestProposals(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Text, Default string
		Want          []string
	}](t, "Proposals") {
		unit, _ := ParseUnit(c.Default) // none where the row has none
		_, err := NormaliseLength(c.Text, Options{Default: unit})
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q is read", c.Text)
			continue
		}
		if diff := cmp.Diff(c.Want, e.Proposals); diff != "" {
			t.Errorf("%q (%s)\n%s", c.Text, e.Code, diff)
		}
		if !strings.Contains(e.Error(), c.Want[0]) || !strings.HasPrefix(e.Error(), "reading \"") {
			t.Errorf("%q: %v", c.Text, e)
		}
	}
	for text, want := range map[string][]string{
		"2 drams": {"2 dram avoirdupois", "2 dram apothecaries"}, "9ct": {"9 metric carat"}, "18 carat": {"18 metric carat"},
		"1 Pfund": {"500 g"}, "2 ons": {"200 g"},
	} {
		var e *Error
		if _, err := NormaliseMass(text, Options{}); !errors.As(err, &e) || cmp.Diff(want, e.Proposals) != "" {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
	_, err := NormaliseMass("22.5 gr", Options{})
	var e *Error
	if !errors.As(err, &e) || cmp.Diff([]string{"22.5 grain", "22.5 g"}, e.Proposals) != "" {
		t.Errorf("22.5 gr: %v", err)
	}
}

// TestNotes: what had to be assumed is reported, and what stands in the text is not.
func TestNotes(t *testing.T) {
	cases := map[string][]string{
		"8 in": nil, "7-9 in": nil, "8,5 in": {NoteDecimalComma}, "9-7 in": {NoteReversed}, "8in (20cm)": {NoteEcho},
		"2±3 cm": {NoteClamped}, "8 in?": {NoteQuery}, "1'-2\"": {NoteAlternatives},
		"1'3": {NoteUnitAssumed}, "8": {NoteUnitAssumed}, "2/4 in": {NoteAlternatives},
		"8,5": {NoteDecimalComma, NoteUnitAssumed},
	}
	for text, want := range cases {
		r, err := NormaliseLength(text, Options{Default: IN})
		if err != nil {
			t.Error(err)
			continue
		}
		var got []string
		for _, n := range r.Notes {
			got = append(got, n.Code)
			if n.Message == "" {
				t.Errorf("%q: note %s says nothing", text, n.Code)
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%q\n%s", text, diff)
		}
	}
	// The notes of one reading are not those of the next.
	a, _ := NormaliseLength("8", Options{Default: IN})
	a.Notes = append(a.Notes, Note{Code: "mine"})
	if b, _ := NormaliseLength("8", Options{Default: IN}); len(b.Notes) != 1 || b.Notes[0].Code != NoteUnitAssumed {
		t.Errorf("notes are shared: %v", b.Notes)
	}
}

func TestTooLong(t *testing.T) {
	for _, text := range []string{strings.Repeat("8 ", 200), strings.Repeat("1-", 40), strings.Repeat("ü", 120)} {
		_, err := NormaliseLength(text, Options{})
		var e *Error
		if !errors.As(err, &e) {
			t.Fatalf("%q is read", text)
		}
		if len(e.Error()) > 400 {
			t.Errorf("the message has %d bytes", len(e.Error()))
		}
	}
}

// TestNoAllocation: typical cells are read without memory of their own.
func TestNoAllocation(t *testing.T) {
	for _, text := range []string{"8 in", "20.5 cm", `7-9"`, "more than a foot", "8½″", "7"} {
		if n := testing.AllocsPerRun(100, func() {
			if _, err := NormaliseLength(text, Options{Default: IN}); err != nil {
				t.Fatal(err)
			}
		}); n != 0 {
			t.Errorf("%q: %v allocations", text, n)
		}
	}
}

// The properties of lengths, in property_test.go, hold for weights and counts as well.

// wideners put words around a measure that widen it or leave it alone.
var wideners = []string{"~%s", "about %s", "ca. %s", "environ %s", "over %s", "mindestens %s", "at least %s",
	"up to %s", "højst %s", "höchstens %s", "%s or more", "%s or less", "%s+", "%s?", "%s or so"}

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
