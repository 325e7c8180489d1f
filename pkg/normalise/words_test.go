package normalise_test

import (
	"math"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// wordRow is a row of testdata/vectors/words.json: texts of one kind and language that are read alike.
type wordRow struct {
	Kind     string         `json:"kind"`
	Language string         `json:"language"`
	By       string         `json:"by"`
	Expect   map[string]any `json:"expect"`
	Inputs   []string       `json:"inputs"`
}

func wordRows(t *testing.T) []wordRow {
	t.Helper()
	rows := cases.Vectors[wordRow](t, "words")
	return rows
}

// Every word of the lexica stands in a text that is read as it was when the file was made by .ci/peer/vectors.py. The
// lengths, weights and days ("both") were read alike by a second reader, which is made of the grammar; and a third of
// all vectors are refused.
func TestWordVectors(t *testing.T) {
	texts, refused := 0, 0
	for _, row := range wordRows(t) {
		o := normalise.Options{Language: row.Language}
		if row.Language == "mul" {
			o.Language = ""
		}
		read, err := normalise.Reader(row.Kind, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, input := range row.Inputs {
			texts++
			if row.Expect["error"] != nil {
				refused++
			}
			if got := expectation(t, read(input), input); !sameValue(got, row.Expect) {
				t.Errorf("%s %s %q: %v, want %v", row.Kind, row.Language, input, got, row.Expect)
			}
		}
	}
	if texts < 5000 || refused*10 < texts*3 {
		t.Errorf("%d texts, %d of them refused", texts, refused)
	}
}

// expectation is a reading without what is only told; a period that is the whole text is "=".
func expectation(t *testing.T, r normalise.Reading, input string) map[string]any {
	t.Helper()
	r.Notices = nil
	raw, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var out map[string]any
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	for _, name := range [...]string{"input", "referenceSystem", "corrections", "uncertaintyBasis"} {
		delete(out, name)
	}
	if e, ok := out["error"].(map[string]any); ok {
		out["error"] = e["code"]
	}
	if p, ok := out["period"].(map[string]any); ok {
		if out["period"] = p["label"]; p["label"] == input {
			out["period"] = "="
		}
	}
	return out
}

func sameValue(a, b map[string]any) bool {
	if len(a) != len(b) {
		return false
	}
	for k, v := range a {
		x, isNumber := v.(float64)
		y, both := b[k].(float64)
		if isNumber && both {
			if math.Abs(x-y) > 1e-9*math.Max(1, math.Abs(x)) {
				return false
			}
		} else if v != b[k] {
			return false
		}
	}
	return true
}

// Phrases of testdata/vectors/phrases.json that hold a whole text mean the same in every language.
func TestWholePhrasesMeanTheSame(t *testing.T) {
	rows := cases.Vectors[map[string]string](t, "phrases")
	seen := 0
	for _, row := range rows {
		if row["kind"] == "" {
			continue // pkg/quantity reads these
		}
		for _, tag := range lexicon.Tags() {
			if row[tag] == "" && row["why"] != "" {
				continue
			}
			read, err := normalise.Reader(row["kind"], normalise.Options{Language: tag})
			if err != nil {
				t.Fatal(err)
			}
			r := read(row[tag])
			got := r.Date
			if row["kind"] == "length" {
				got = r.Min.String() + "-" + r.Max.String()
			}
			if seen++; row[tag] == "" || got != row["means"] {
				t.Errorf("%s: %q is %q, not %q", tag, row[tag], got, row["means"])
			}
		}
	}
	if seen < 90 {
		t.Errorf("%d phrases", seen)
	}
}

// A vector has an id of its own, a reason and a source, and reads the same with the language of its words stated. The
// suite puts every vector to the program.
func TestStatedLanguageChangesNothing(t *testing.T) {
	seen, refused, all := map[string]bool{}, 0, 0
	for _, v := range cases.Vectors[struct {
		Inputs []string
		Expect map[string]any
	}](t, "words") {
		if all += len(v.Inputs); v.Expect["error"] != nil {
			refused += len(v.Inputs)
		}
	}
	defer func() {
		if 3*refused < all {
			t.Errorf("of %d texts of vectors %d are refused, and a third should be", all, refused)
		}
	}()
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position", "material"} {
		for _, v := range cases.Vectors[struct {
			ID, Kind, Input, Default, Order, Serial, Today, System, Language, Why, Source string
			Class, Since                                                                  string
			Pivot                                                                         int
			Stated                                                                        bool
			Expect                                                                        map[string]any
		}](t, name) {
			if v.ID == "" || seen[v.ID] || v.Why == "" || v.Source == "" || v.Since == "" ||
				lexicon.ByTag(v.Language) == nil && v.Language != "mul" {
				t.Errorf("%s of %s: an id of its own, a language, a version, a reason and a source are needed", v.ID, name)
			}
			class := "read"
			if v.Expect["error"] != nil {
				class = "refused"
				refused++
			} else if v.Expect["absent"] != nil {
				class = "absent"
			}
			if all++; v.Class != class {
				t.Errorf("%s %q is %s and not %s", v.ID, v.Input, class, v.Class)
			}
			seen[v.ID] = true
			o := normalise.Options{Pivot: v.Pivot, System: v.System}
			o.Unit, _ = quantity.ParseUnit(v.Default)
			o.Order, _ = edtf.ParseOrder(v.Order)
			o.Serial, _ = edtf.ParseEpoch(v.Serial)
			o.AsOf, _ = edtf.ParseDay(v.Today)
			var read [2]map[string]any
			for i, language := range [...]string{"", strings.TrimPrefix(v.Language, "mul")} {
				o.Language = language
				reader, err := normalise.Reader(v.Kind, o)
				if err != nil {
					t.Fatal(err)
				}
				read[i] = expectation(t, reader(v.Input), v.Input)
			}
			if !v.Stated && !sameValue(read[0], read[1]) {
				t.Errorf("%s %q: %v, and %v where %s is stated", v.ID, v.Input, read[0], read[1], v.Language)
			}
		}
	}
}
