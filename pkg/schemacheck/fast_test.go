package schemacheck

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// corpus returns finds and headers of the shipped reports, valid and invalid.
func corpus(t testing.TB) map[string][]any {
	t.Helper()
	out := map[string][]any{}
	reports, err := cases.Reports(os.DirFS("../.."))
	if err != nil {
		t.Fatal(err)
	}
	for _, raw := range reports {
		var doc map[string]any
		if err := json.Unmarshal(raw, &doc); err != nil {
			t.Fatal(err)
		}
		finds, _ := doc["finds"].([]any)
		out["find"] = append(out["find"], finds...)
		delete(doc, "finds")
		out["report"] = append(out["report"], doc)
	}
	if len(out["find"]) < 200 {
		t.Fatalf("only %d finds", len(out["find"]))
	}
	return out
}

// oddities are values to put in the place of others.
var oddities = []any{nil, true, "", "x", "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11", "2026-02-30", "../x", -1.0,
	0.0, 0.5, 1e300, 181.0, []any{}, []any{nil}, map[string]any{}, map[string]any{"verbatim": "x"},
	map[string]any{"code": "X"}}

// mutate changes one place of a copy of a value.
func mutate(r *rand.Rand, v any) any {
	switch v := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		out := map[string]any{}
		for k, m := range v {
			out[k] = m
		}
		if len(keys) == 0 || r.IntN(12) == 0 {
			out[[]string{"odd", "verbatim", "code", "min", "unit", "latitude"}[r.IntN(6)]] = oddities[r.IntN(len(oddities))]
			return out
		}
		k := keys[r.IntN(len(keys))]
		switch r.IntN(8) {
		case 0:
			delete(out, k)
		case 1:
			out[k] = oddities[r.IntN(len(oddities))]
		default:
			out[k] = mutate(r, v[k])
		}
		return out
	case []any:
		if len(v) == 0 || r.IntN(6) == 0 {
			return append(slices.Clone(v), oddities[r.IntN(len(oddities))])
		}
		out := slices.Clone(v)
		i := r.IntN(len(v))
		out[i] = mutate(r, v[i])
		return out
	}
	return oddities[r.IntN(len(oddities))]
}

// What the quick program says yes to, the schema engine accepts; and it says yes to most of what is
// valid, else it would be of no use.
func TestQuickYesIsTrue(t *testing.T) {
	s, err := New()
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 2))
	for name, values := range corpus(t) {
		e := s.byName[name]
		valid, quick, refuted := 0, 0, 0
		for i := range heavy.Some(2_000, 12_000) {
			v := values[i%len(values)]
			for range r.IntN(3) {
				v = mutate(r, v)
			}
			failed, err := validateSafely(compiledOf(t, e), v)
			if err != nil {
				t.Fatal(err)
			}
			said := sayQuickly(t, e, v)
			if failed == nil {
				valid++
				if said == yea {
					quick++
				}
			}
			if said == yea && failed != nil {
				b, _ := json.Marshal(v)
				t.Fatalf("%s: the quick program says yes to what the engine refuses: %v\n%s", name, failed, b)
			}
			if said == nay && failed == nil {
				refuted++
			}
		}
		t.Logf("%s: %d valid, %d of them quickly, %d wrongly refused", name, valid, quick, refuted)
		if quick*100 < valid*95 {
			t.Errorf("%s: only %d of %d valid values are said yes to", name, quick, valid)
		}
	}
}

// sayQuickly asks the quick program about a value; a text that the tape does not take is a maybe.
func sayQuickly(t *testing.T, e *engine, v any) ternary {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	r := new(fastRun)
	if !r.own.Parse(raw) {
		return maybe
	}
	r.t = &r.own
	return r.judge(e.fast, 0)
}

// Both ways give the same notices.
func TestSlowAndQuickAgree(t *testing.T) {
	shared, err := New()
	if err != nil {
		t.Fatal(err)
	}
	slow := &Schemas{slow: true, byName: shared.byName}
	r := rand.New(rand.NewPCG(3, 4))
	for name, values := range corpus(t) {
		for i := range 1500 {
			v := values[i%len(values)]
			if i%3 > 0 {
				v = mutate(r, v)
			}
			raw, err := json.Marshal(v)
			if err != nil {
				t.Fatal(err)
			}
			a, b := shared.Notices(raw, name), slow.Notices(raw, name)
			if len(a) != len(b) {
				t.Fatalf("%s: %d notices quickly, %d slowly: %v\n%s", name, len(a), len(b), b, raw)
			}
		}
	}
}
