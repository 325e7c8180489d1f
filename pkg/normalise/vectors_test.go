package normalise

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	jsonv2 "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// vector is one line of testdata/vectors: an input, what the cell leaves open, and what is made of it.
type vector struct {
	ID, Kind, Input, Default, Order, Serial, System, Today, Language string
	Pivot                                                            int
	Expect                                                           map[string]any
}

func vectors(t testing.TB, name string) []vector {
	t.Helper()
	all := cases.Vectors[struct {
		ID, Kind, Input, Default, Order, System, Today, Language string
		Stated                                                   bool
		Serial                                                   any
		Pivot                                                    int
		Expect                                                   map[string]any
	}](t, name)
	out := make([]vector, len(all))
	for i, v := range all {
		if !v.Stated {
			v.Language = ""
		}
		out[i] = vector{ID: v.ID, Kind: v.Kind, Input: v.Input, Default: v.Default, Order: v.Order, System: v.System,
			Today: v.Today, Language: v.Language, Pivot: v.Pivot, Expect: v.Expect}
		if text, ok := v.Serial.(string); ok {
			out[i].Serial = text
		} else if n, ok := v.Serial.(float64); ok && n > 0 {
			out[i].Serial = map[float64]string{1900: "1900", 1904: "1904"}[n]
		}
	}
	return out
}

func (v vector) options(t testing.TB) Options {
	t.Helper()
	var o Options
	var err error
	if v.Default != "" {
		if o.Unit, err = quantity.ParseUnit(v.Default); err != nil {
			t.Fatalf("%s: %v", v.ID, err)
		}
	}
	if o.Order, err = edtf.ParseOrder(v.Order); err != nil {
		t.Fatalf("%s: %v", v.ID, err)
	}
	if o.Serial, err = edtf.ParseEpoch(v.Serial); err != nil {
		t.Fatalf("%s: %v", v.ID, err)
	}
	o.Pivot, o.System, o.Language = v.Pivot, v.System, v.Language
	if d, err := edtf.Parse(v.Today); err == nil {
		o.AsOf, _, _, _ = d.Span()
	}
	return o
}

// read makes a reading and gives it back as decoded JSON, which is what others see.
func (v vector) read(t testing.TB) map[string]any {
	t.Helper()
	read, err := Reader(v.Kind, v.options(t))
	if err != nil {
		t.Fatalf("%s: %v", v.ID, err)
	}
	raw, err := json.Marshal(jsonOf(t, read(v.Input)))
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	delete(got, "input")
	delete(got, "notices")
	delete(got, "label")
	return got
}

func jsonOf(t testing.TB, r Reading) any {
	t.Helper()
	raw, err := jsonv2.Marshal(r, jsontext.AllowInvalidUTF8(true))
	if err != nil {
		t.Fatal(err)
	}
	return json.RawMessage(raw)
}

// The vectors speak of the members of the format; a refusal is compared as such, because the codes
// of the value packages are finer than those of notices.
func TestVectorsThroughTheReader(t *testing.T) {
	codes := map[string]bool{}
	for _, k := range Kinds() {
		codes[k.Code] = true
	}
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"material"} {
		for _, v := range vectors(t, name) {
			got := v.read(t)
			if e, ok := got["error"].(map[string]any); ok {
				if v.Expect["error"] == nil {
					t.Errorf("%s %q: refused: %v", v.ID, v.Input, e)
				}
				if code, _ := e["code"].(string); !codes[code] || e["message"] == "" {
					t.Errorf("%s %q: the refusal has no notice: %v", v.ID, v.Input, e)
				}
				continue
			}
			want := map[string]any{}
			for k, x := range v.Expect {
				want[k] = x
			}
			if label, ok := want["period"].(string); ok {
				want["period"] = map[string]any{"label": label}
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("%s %q: %s", v.ID, v.Input, d)
			}
		}
	}
}

func TestPositionVectorsThroughTheReader(t *testing.T) {
	n := 0
	for _, v := range vectors(t, "position") {
		got := v.read(t)
		if (got["error"] != nil) != (v.Expect["error"] != nil) || got["absent"] != v.Expect["absent"] {
			t.Errorf("%s %q: %v, want %v", v.ID, v.Input, got, v.Expect)
			continue
		}
		if v.Expect["latitude"] == nil {
			continue
		}
		n++
		tolerance, _ := v.Expect["tolerance_m"].(float64)
		a := coordinate.Point{Latitude: got["latitude"].(float64), Longitude: got["longitude"].(float64)}
		b := coordinate.Point{Latitude: v.Expect["latitude"].(float64), Longitude: v.Expect["longitude"].(float64)}
		if d := coordinate.Distance(a, b); d > math.Max(tolerance, 0.02) {
			t.Errorf("%s: %.3f m away, %g m are allowed", v.ID, d, tolerance)
		}
	}
	if n < 100 {
		t.Errorf("only %d positions", n)
	}
}

// Every code that a value package gives has a kind of notice, and every note that stands for an
// assumption is reported.
func TestEveryReadingCodeHasAKind(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position"} {
		for _, v := range vectors(t, name) {
			if code, ok := v.Expect["error"].(string); ok {
				seen[code] = true
			}
		}
	}
	if len(seen) < 40 {
		t.Errorf("only %d codes", len(seen))
	}
	for code := range special {
		if !seen[code] && !slices.Contains([]string{"date-future"}, code) {
			t.Errorf("no vector draws the code %s", code)
		}
	}
}
