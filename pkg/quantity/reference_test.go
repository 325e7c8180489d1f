package quantity

import (
	"encoding/csv"
	"errors"
	"math/big"
	"os"
	"strings"
	"testing"
)

// rows reads a table of testdata/reference as maps by column name.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, column := range all[0] {
			m[column] = row[i]
		}
		out = append(out, m)
	}
	return out
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
	table := rows(t, "lengths.csv")
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
	table := rows(t, "masses.csv")
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

// TestSpellings reads one measure in its many spellings; the value is worked out here from the inch of 25.4 mm
// (agreement of 1959) or is metric. The wordings are common practice, no source.
func TestSpellings(t *testing.T) {
	fractions := map[string][2]int64{"⅐": {1, 7}, "⅑": {1, 9}, "⅒": {1, 10}, "⅓": {1, 3}, "⅔": {2, 3}, "⅕": {1, 5},
		"⅖": {2, 5}, "⅗": {3, 5}, "⅘": {4, 5}, "⅙": {1, 6}, "⅚": {5, 6},
		"⅛": {1, 8}, "⅜": {3, 8}, "⅝": {5, 8}, "⅞": {7, 8}, "¼": {1, 4}, "½": {1, 2}, "¾": {3, 4}, "¹⁄₃": {1, 3},
		"²⁄₃": {2, 3}, "³⁄₈": {3, 8}, "¹¹⁄₁₆": {11, 16}, "5/16": {5, 16}, "5⁄6": {5, 6},
		"three and three quarters": {15, 4}, "8 & ¾": {35, 4}, "8 and 3/4": {35, 4}, "eight and an eighth": {65, 8},
		"two and two thirds": {8, 3}, "two and a third": {7, 3}, "8 6/8": {35, 4}, "8 3/10": {83, 10},
		"8 5/12": {101, 12}, "8 1/6": {49, 6}, "8-½": {17, 2}, "8\u00a0½": {17, 2}, "８ ½": {17, 2}, "8\u2009½": {17, 2},
		"8\u202f½": {17, 2}, "8\u200b½": {17, 2}}
	for text, f := range fractions {
		r, err := NormaliseLength(text+" in", Options{})
		if err != nil {
			t.Error(err)
			continue
		}
		want := new(big.Rat).Mul(big.NewRat(f[0], f[1]), big.NewRat(254, 100))
		got := big.NewRat(int64(r.Min.Value), one)
		diff := new(big.Rat).Sub(want, got)
		if !r.Single() || diff.Abs(diff).Cmp(big.NewRat(1, 2*one)) > 0 {
			t.Errorf("%s in is %v, want %s cm", text, r.Quantity, want.FloatString(10))
		}
	}
	for text, want := range map[string]string{
		"hundred mm": "10 cm (said mm; step 0.1)", "two hundred mm": "20 cm (said mm; step 0.1)",
		"hundert mm": "10 cm (said mm; step 0.1)", "one hundred and five mm": "10.5 cm (said mm)",
		"one hundred twenty five mm": "12.5 cm (said mm)", "cent vingt mm": "12 cm (said mm; step 0.1)",
		"cent vingt-cinq mm": "12.5 cm (said mm)", "quatre-vingts mm": "8 cm (said mm; step 0.1)",
		"quatre-vingt-dix mm": "9 cm (said mm; step 0.1)", "soixante-quinze mm": "7.5 cm (said mm)",
		"vingt et un mm": "2.1 cm (said mm)", "dix-sept mm": "1.7 cm (said mm)", "ÅTTA cm": "8 cm", "zéro cm": "0 cm",
		"over 8 and under 10 in":  "20.32..25.4 cm (said in; step 2.54)",
		"over 8, less than 10 in": "20.32..25.4 cm (said in; step 2.54)", ">8 <10 in": "20.32..25.4 cm (said in; step 2.54)",
		"8 in (about 20 cm)": "20.32 cm (said in; step 2.54)", "8-10 in (20-25 cm)": "20.32..25.4 cm (said in; step 2.54)",
		"8 in = 20 cm": "20.32 cm (said in; step 2.54)", "8 in / 9 in": "20.32..22.86 cm (said in; step 2.54)",
		"8 (in)": "20.32 cm (said in; step 2.54)", "8-9 (in)": "20.32..22.86 cm (said in; step 2.54)",
		"8 in (?)": "~20.32 cm (said in; step 2.54)", "8 in (ca.)": "~20.32 cm (said in; step 2.54)",
		"8 in (deep)":   "20.32 cm (said in; step 2.54)",
		"8 in (inches)": "20.32 cm (said in; step 2.54)", "1 yd 2 ft": "152.4 cm (said ft; step 30.48)", "1 m 20": "120 cm",
		"0 - 1/2 in": "0..1.27 cm (said in; step 2.54)", "1 km 200 m": "120000 cm (said m; step 100)",
		"5 or more or less cm": "", "1⁄2 in": "1.27 cm (said in; step 1.27)",
		"surface to 4 in": "0..10.16 cm (said in; step 2.54)", "plus or minus 8 in": "~20.32 cm (said in; step 2.54)",
		"8 in more or less":    "~20.32 cm (said in; step 2.54)",
		"8 plus or minus 1 in": "17.78..22.86 cm (best 20.32; said in; step 2.54)",
		"≥8 in":                ">=20.32 cm (said in; step 2.54)", "⩽8 in": "<=20.32 cm (said in; step 2.54)",
		"≃8 in": "~20.32 cm (said in; step 2.54)", "8 ″": "20.32 cm (said in; step 2.54)",
		"8‟": "20.32 cm (said in; step 2.54)",
		"1´": "30.48 cm (said ft; step 30.48)", "⌀ 8 mm": "0.8 cm (said mm)",
		"8 − 9 in": "20.32..22.86 cm (said in; step 2.54)", "[8 in]": "20.32 cm (said in; step 2.54)",
	} {
		r, err := NormaliseLength(text, Options{})
		if want == "" {
			if err == nil {
				t.Errorf("%q is read as %v", text, r.Quantity)
			}
		} else if err != nil || r.Quantity.String() != want {
			t.Errorf("%q is %v, %v; want %s", text, r.Quantity, err, want)
		}
	}
	// With a unit from the column.
	for text, want := range map[string]string{
		"8 (20 cm)": "20.32 cm (said in; step 2.54)", "8-10 (20-25 cm)": "20.32..25.4 cm (said in; step 2.54)",
		"8 or 9": "20.32..22.86 cm (said in; step 2.54)", "8 ± 1": "17.78..22.86 cm (best 20.32; said in; step 2.54)",
		"in 8": "20.32 cm (said in; step 2.54)",
	} {
		if r, err := NormaliseLength(text, Options{Default: IN}); err != nil || r.Quantity.String() != want {
			t.Errorf("%q is %v, %v; want %s", text, r.Quantity, err, want)
		}
	}
	if r, err := NormaliseLength("0 (surface)", Options{Default: CM}); err != nil || r.Basis != BasisSurface {
		t.Errorf("0 (surface): %+v, %v", r, err)
	}
	if r, err := NormaliseMass("5 gr (g)", Options{}); err != nil || r.Quantity.String() != "5 g" {
		t.Errorf("5 gr (g): %v, %v", r.Quantity, err)
	}
}

// TestRefusals: each is refused under its code, for a reason a person can see.
func TestRefusals(t *testing.T) {
	for text, code := range map[string]string{
		"⁵/₄ in": CodeNotUnderstood, "over 8 and 10 in": CodeNotUnderstood, "8 in or 25 cm": CodeEcho,
		"8 in = 30 cm": CodeEcho, "8 in / 1 ft": CodeTwoMeasures, "8 in (spoil)": CodeNotUnderstood,
		"8 in (20 cm": CodeNotUnderstood,
		"8 in =":      CodeNotUnderstood, "1 m 200 cm": CodeUnitOrder, "1 ft 15 in": CodeUnitOrder, "8 - 1/2 in": CodeRange,
		"4 - ½ in": CodeRange, "9999999999 km": CodeTooLarge, "8 - 2 ft 3 in": CodeRange, "between 8": CodeNotUnderstood,
		"8 5/7 in": CodeFractionAmbiguous, "1/0 in": CodeFractionAmbiguous, "8.5 1/2 in": CodeNotUnderstood,
		"over 8 in under": CodeNotUnderstood, "8 x 9 in": CodeTwoMeasures, "several": CodeVague,
		"2024-09": CodeSpreadsheetDate,
		"Sep-24":  CodeSpreadsheetDate, "8\ufffd in": CodeMojibake, "eleven": CodeUnitMissing, "topsoil": CodeLayer,
		"deep": CodeVague, "1234567890123456 mm": CodeNumberTooLong, "1.200.5 mm": CodeNotUnderstood, "8 gr": CodeUnitKind,
		"g 8 in":  CodeUnitKind,
		"cm 8 in": CodeUnitOrder, "2024-9": CodeSpreadsheetDate, "at least": CodeNotUnderstood,
		"8 in ± 1-2": CodeNotUnderstood, "hm": CodeNotUnderstood, "2 hm": CodeUnitUnknown,
		"90 degrees": CodeUnitUnknown,
	} {
		_, err := NormaliseLength(text, Options{})
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q is read", text)
		} else if e.Code != code {
			t.Errorf("%q: %s (%s), want %s", text, e.Code, e.Message, code)
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
