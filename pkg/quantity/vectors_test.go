package quantity

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// A vector is one line of testdata/vectors/quantity-*.json. The figures were
// worked out with exact fractions outside this package, from the factors of
// the 1959 agreement; each vector names its source.
type vector struct {
	ID, Kind, Input, Default, Language, Why, Source string
	Stated                                          bool // the language is stated, and not only that of the words
	Expect                                          expectation
}

type expectation struct {
	Min         json.Number `json:"min,omitempty"`
	Max         json.Number `json:"max,omitempty"`
	Best        json.Number `json:"best,omitempty"`
	Unit        string      `json:"unit,omitempty"`
	Said        string      `json:"said,omitempty"`
	Resolution  json.Number `json:"resolution,omitempty"`
	Approximate bool        `json:"approximate,omitempty"`
	Basis       string      `json:"basis,omitempty"`
	Absent      string      `json:"absent,omitempty"`
	Error       string      `json:"error,omitempty"`
}

func readVectors(t testing.TB) []vector {
	t.Helper()
	var all []vector
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count"} {
		some := cases.Vectors[vector](t, name)
		all = append(all, some...)
	}
	return all
}

func (v vector) read(stated bool) (Reading, error) {
	o := Options{}
	if stated {
		o.Language = lexicon.ByTag(v.Language)
	}
	for _, u := range Units() {
		if u.String() == v.Default {
			o.Default = u
		}
	}
	switch v.Kind {
	case "length":
		return NormaliseLength(v.Input, o)
	case "weight":
		return NormaliseMass(v.Input, o)
	}
	return NormaliseCount(v.Input, o)
}

func number(b Bound) json.Number {
	if !b.Known {
		return ""
	}
	return json.Number(b.Value.String())
}

func TestVectors(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range readVectors(t) {
		if seen[v.ID] || v.Why == "" || v.Source == "" {
			t.Errorf("%s: the id is given twice, or why or source is missing", v.ID)
		}
		seen[v.ID] = true
		t.Run(v.ID, func(t *testing.T) {
			r, err := v.read(v.Stated)
			got := expectation{
				Min: number(r.Min), Max: number(r.Max), Best: number(r.Best), Unit: r.Unit.String(), Said: r.Said.String(),
				Resolution: number(r.Resolution), Approximate: r.Approximate, Basis: r.Basis, Absent: r.Absent,
			}
			var e *Error
			if errors.As(err, &e) {
				got = expectation{Error: e.Code}
			}
			// A stated language changes nothing where the vector does not say so.
			if again, bad := v.read(true); again.Quantity != r.Quantity || again.Absent != r.Absent ||
				(bad == nil) != (err == nil) {
				t.Errorf("%q in %q: %v, %v; %v, %v without", v.Input, v.Language, again.Quantity, bad, r.Quantity, err)
			}
			if diff := cmp.Diff(v.Expect, got); diff != "" {
				t.Errorf("%q (%s; %v)\n%s", v.Input, v.Why, err, diff)
			}
		})
	}
}

// TestEveryCodeHasAVector: each code of an Error is drawn by a vector, but for
// too-long, whose text no table should carry.
func TestEveryCodeHasAVector(t *testing.T) {
	drawn := map[string]bool{CodeTooLong: true}
	for _, v := range readVectors(t) {
		drawn[v.Expect.Error] = true
	}
	for code := range usual {
		if !drawn[code] {
			t.Errorf("no vector draws %s", code)
		}
	}
}

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
