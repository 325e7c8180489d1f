package find

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"testing"

	"github.com/findslip/findslip/internal/cases"
	"github.com/findslip/findslip/pkg/internal/tape"
)

// theFinds returns the finds of the shipped reports, valid and invalid, as values.
func theFinds(t testing.TB) []any {
	t.Helper()
	var out []any
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
		out = append(out, finds...)
	}
	if len(out) < 200 {
		t.Fatalf("only %d finds", len(out))
	}
	return out
}

// bothWays reads a text quickly and through DecodeFind, and tells whether it could be read quickly.
func bothWays(t *testing.T, raw []byte) bool {
	t.Helper()
	var p tape.Tape
	var quick, slow Find
	if !p.Parse(raw) || !quickFind(&p, 0, &quick, nil) {
		return false
	}
	DecodeFind(raw, &slow)
	if !reflect.DeepEqual(quick, slow) {
		t.Fatalf("read quickly it is another find:\n%+v\n%+v\n%s", quick, slow, raw)
	}
	return true
}

// What is read quickly is what DecodeFind reads, for every find of the vectors and for many that
// were changed at one place or two; and all but a few of the vectors can be read so.
func TestQuickFind(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(5, 6))
	quick := 0
	for i := range 20_000 {
		v := finds[i%len(finds)]
		changed := i >= len(finds)
		if changed {
			for range 1 + r.IntN(2) {
				v = changeOne(r, v)
			}
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if bothWays(t, raw) && !changed {
			quick++
		}
	}
	if quick*100 < len(finds)*90 {
		t.Errorf("only %d of %d finds of the vectors are read quickly", quick, len(finds))
	}
}

// oddValues take the place of others.
var oddValues = []any{nil, true, "", "x", "a\"b\\c\n\u00e9\u2028", -1.0, 0.5, 1e300, 123456789.123456789, []any{}, []any{nil}, []any{"x"},
	map[string]any{}, map[string]any{"verbatim": "x"}, map[string]any{"x": "y"}}

// changeOne changes one place of a copy of a value.
func changeOne(r *rand.Rand, v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		var names []string
		for k, m := range v {
			out[k] = m
			names = append(names, k)
		}
		slices.Sort(names)
		if len(names) == 0 || r.IntN(12) == 0 {
			out[[]string{"odd", "verbatim", "min", "extensions", "absent", "columns"}[r.IntN(6)]] = oddValues[r.IntN(len(oddValues))]
			return out
		}
		k := names[r.IntN(len(names))]
		if r.IntN(6) == 0 {
			out[k] = oddValues[r.IntN(len(oddValues))]
		} else {
			out[k] = changeOne(r, v[k])
		}
		return out
	case []any:
		out := slices.Clone(v)
		if len(v) > 0 && r.IntN(3) > 0 {
			i := r.IntN(len(v))
			out[i] = changeOne(r, v[i])
			return out
		}
		return append(out, oddValues[r.IntN(len(oddValues))])
	}
	return oddValues[r.IntN(len(oddValues))]
}

func FuzzQuickFind(f *testing.F) {
	for i, v := range theFinds(f) {
		if i%40 == 0 {
			raw, _ := json.Marshal(v)
			f.Add(raw)
		}
	}
	f.Add([]byte(` { "id" : "x" , "extensions" : { "a" : [ 1 , 2 ] } , "absent":{} } `))
	f.Fuzz(func(t *testing.T, raw []byte) { bothWays(t, raw) })
}

func BenchmarkQuickFind(b *testing.B) {
	report, err := os.ReadFile("../../testdata/valid/typical.findslip.json")
	if err != nil {
		b.Fatal(err)
	}
	var doc struct {
		Finds []json.RawMessage `json:"finds"`
	}
	if err := json.Unmarshal(report, &doc); err != nil {
		b.Fatal(err)
	}
	var text bytes.Buffer
	if err := json.Compact(&text, doc.Finds[0]); err != nil {
		b.Fatal(err)
	}
	b.Run("tape", func(b *testing.B) {
		b.SetBytes(int64(text.Len()))
		b.ReportAllocs()
		var p tape.Tape
		for range b.N {
			p.Parse(text.Bytes())
		}
	})
	b.Run("tape and find", func(b *testing.B) {
		b.ReportAllocs()
		var p tape.Tape
		for range b.N {
			if p.Parse(text.Bytes()) {
				quickFind(&p, 0, new(Find), nil)
			}
		}
	})
	b.Run("DecodeFind", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			DecodeFind(text.Bytes(), new(Find))
		}
	})
}
