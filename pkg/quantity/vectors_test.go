package quantity

import (
	"errors"
	"math/big"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// One phrase means one thing in every language, with the language stated and without: testdata/vectors/phrases.json.
func TestPhrasesMeanTheSame(t *testing.T) {
	rows := cases.Vectors[map[string]string](t, "phrases")
	for _, row := range rows {
		if row["kind"] != "" {
			continue // pkg/normalise reads these
		}
		for _, tag := range lexicon.Tags() {
			if row[tag] == "" {
				t.Errorf("%q has no words in %s", row["phrase"], tag)
				continue
			}
			for _, l := range [...]*lexicon.Language{lexicon.ByTag(tag), nil} {
				r, err := NormaliseLength(row[tag]+" 20 cm", Options{Language: l})
				if err != nil {
					t.Errorf("%s: %v", tag, err)
					continue
				}
				var said []string
				if !r.Max.Known {
					said = append(said, "at least")
				}
				if !r.Min.Known {
					said = append(said, "at most")
				}
				if r.Approximate {
					said = append(said, "about")
				}
				if got := strings.Join(said, ", "); got != row["means"] {
					t.Errorf("%s: %q is %q, not %q", tag, row[tag], got, row["means"])
				}
			}
		}
	}
}

// exact checks d against a decimal of the table: equal to nine places, half to
// even, with the scale that leads from the table's unit to d's.
func exact(t *testing.T, id, what string, got Bound, want string, scale int64) {
	t.Helper()
	if want == "" {
		if got.Known {
			t.Errorf("%s: %s is %v, want it open", id, what, got.Value)
		}
		return
	}
	r, ok := new(big.Rat).SetString(want)
	if !ok {
		t.Fatalf("%s: %q is not a number", id, want)
	}
	r.Mul(r, big.NewRat(one, scale))
	// got is within half a billionth of the table's figure, or, where the
	// table is cut to 15 figures, within one.
	diff := new(big.Rat).Sub(r, new(big.Rat).SetInt64(int64(got.Value)))
	if !got.Known || diff.Abs(diff).Cmp(big.NewRat(1, 2)) > 0 {
		t.Errorf("%s: %s is %v, want %s / %d", id, what, got.Value, want, scale)
	}
}

// TestReferenceLengths reads every row of lengths.csv (sources in its column
// source: the agreement of 1959, NIST SP 811, UCUM, 31 U.S.C. 5112; checked
// with GNU Units).
func TestReferenceLengths(t *testing.T) {
	table := cases.Reference(t, "lengths.csv")
	if len(table) != 52 {
		t.Fatalf("%d rows, want 52", len(table))
	}
	for _, row := range table {
		id := row["id"]
		for _, into := range []struct {
			unit  Unit
			scale int64
		}{{CM, 10}, {MM, 1}} {
			r, err := NormaliseLength(row["input"], Options{Into: into.unit})
			if err != nil {
				t.Errorf("%s: %v", id, err)
				continue
			}
			exact(t, id, "min", r.Min, row["mm_low"], into.scale)
			exact(t, id, "max", r.Max, row["mm_high"], into.scale)
			if r.Approximate != (row["bound"] == "approximate") {
				t.Errorf("%s: approximate is %v", id, r.Approximate)
			}
		}
	}
}

// TestReferenceMasses reads every row of masses.csv (NIST Handbook 44, SP 811,
// UCUM; Coinage Act 1870). A column of grains stands behind the rows with gr.
func TestReferenceMasses(t *testing.T) {
	table := cases.Reference(t, "masses.csv")
	if len(table) != 49 {
		t.Fatalf("%d rows, want 49", len(table))
	}
	for _, row := range table {
		id, input := row["id"], row["input"]
		if row["kind"] == "rounded published" {
			// The input is a label: "1 oz (avoirdupois), 7-figure". The printed
			// figure must be ours, rounded to the digits printed.
			input, _, _ = strings.Cut(input, ", ")
		}
		r, err := NormaliseMass(input, Options{})
		if strings.HasSuffix(input, " gr") && !strings.Contains(input, "dwt") {
			checkCode(t, id, err, CodeUnitAmbiguous)
			r, err = NormaliseMass(input, Options{Default: GR})
		}
		if err != nil {
			t.Errorf("%s: %v", id, err)
			continue
		}
		exact(t, id, "min", r.Min, row["grams"], 1)
		exact(t, id, "max", r.Max, row["grams"], 1)
		if printed := row["published_grams"]; printed != "" && row["kind"] != "published pair" {
			d, err := ParseDecimal(printed)
			if err != nil {
				// More than nine places: the grams column is checked above.
				continue
			}
			half := Decimal(one)
			for range d.places() {
				half /= 10
			}
			if diff := max(r.Min.Value-d, d-r.Min.Value); 2*diff > half+1 {
				t.Errorf("%s: %v, printed as %s", id, r.Min.Value, printed)
			}
		}
		if row["kind"] == "published pair" {
			// The Act of 1870 is older than today's pound; the README of the
			// table allows 0.000021 g.
			d, err := ParseDecimal(row["published_grams"])
			if err != nil {
				t.Fatal(err)
			}
			if diff := max(r.Min.Value-d, d-r.Min.Value); diff > 21_000 {
				t.Errorf("%s: %v g, the Act has %v g", id, r.Min.Value, d)
			}
		}
	}
}

func checkCode(t *testing.T, id string, err error, code string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Errorf("%s: read, want %s", id, code)
		return
	}
	if e.Code != code {
		t.Errorf("%s: %v, code %s, want %s", id, e, e.Code, code)
	}
	for _, text := range []string{e.Message, e.Help} {
		if text == "" || strings.HasSuffix(text, ".") {
			t.Errorf("%s: message %q", id, text)
		}
	}
}

// TestSmallThings that show a value or a unit.
func TestSmallThings(t *testing.T) {
	if Length.String() != "length" || Mass.String() != "mass" || None.String() != "none" ||
		Dimension(9).String() != "none" {
		t.Error("names of dimensions")
	}
	if d, _ := ParseDecimal("21.59"); d.Float() != 21.59 {
		t.Errorf("21.59 is %v", d.Float())
	}
	if (Quantity{Unit: CM, Max: Bound{Whole(8), true}}).Show(CM) != "8 cm or less" {
		t.Error("a bound without a step is shown as it is")
	}
	if v := surveyFoot.String(); v != "" || surveyFoot.Dimension() != None {
		t.Errorf("a unit that cannot be stated is written %q", v)
	}
}
