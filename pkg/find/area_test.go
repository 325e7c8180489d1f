package find

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// RFC 7946 section 3.1.6: the exterior ring runs against the clock, interior rings with it.
func TestWound(t *testing.T) {
	for name, c := range map[string]struct{ kind, in, out string }{
		"right already": {"Polygon", `[[[0,0],[1,0],[1,1],[0,0]]]`, `[[[0,0],[1,0],[1,1],[0,0]]]`},
		"outer turned":  {"Polygon", `[[[0,0],[1,1],[1,0],[0,0]]]`, `[[[0,0],[1,0],[1,1],[0,0]]]`},
		"hole turned": {"Polygon", `[[[0,0],[9,0],[9,9],[0,0]],[[2,1],[3,1],[3,2],[2,1]]]`,
			`[[[0,0],[9,0],[9,9],[0,0]],[[2,1],[3,2],[3,1],[2,1]]]`},
		"second of many": {"MultiPolygon", `[[[[0,0],[1,0],[1,1],[0,0]]],[[[0,0],[1,1],[1,0],[0,0]]]]`,
			`[[[[0,0],[1,0],[1,1],[0,0]]],[[[0,0],[1,0],[1,1],[0,0]]]]`},
		"digits and third": {"Polygon", `[[[0,0,1],[1.10,1.0],[1,0],[0,0,1]]]`, `[[[0,0,1],[1,0],[1.10,1.0],[0,0,1]]]`},
		"no size":          {"Polygon", `[[[0,0],[0,0],[0,0],[0,0]]]`, `[[[0,0],[0,0],[0,0],[0,0]]]`},
		"no polygon":       {"Point", `[0,0]`, `[0,0]`},
	} {
		t.Run(name, func(t *testing.T) {
			in := &Area{Type: c.kind, Coordinates: []byte(c.in)}
			got := in.Wound()
			if got.Type != c.kind || string(got.Coordinates) != c.out {
				t.Errorf("%s %s", got.Type, got.Coordinates)
			}
			if string(in.Coordinates) != c.in {
				t.Error("the area itself was turned")
			}
			if again := got.Wound(); again != got {
				t.Error("wound twice is not wound once")
			}
			if !SameArea(in, got) {
				t.Error("the areas are not the same")
			}
		})
	}
	if SameArea(&Area{Type: "Polygon", Coordinates: []byte(`[[[0,0],[1,0],[1,1],[0,0]]]`)}, nil) || !SameArea(nil, nil) {
		t.Error("an area is the same as none")
	}
}

func TestUnknownNamesObjects(t *testing.T) {
	f := &Find{Unknown: []byte(`{"a":1}`), Position: &Position{Unknown: []byte(`{"b":1}`),
		Method: &Term{Unknown: []byte(`{"c":1}`)}},
		Materials: []Material{{}, {Term: Term{Unknown: []byte(`{"d":1}`)}}},
		Depth:     &Depth{Quantity: Quantity{Unknown: []byte(`{}`)}}}
	got := slices.Sorted(Unknown(f))
	if d := cmp.Diff([]string{"", "materials.2", "position", "position.method"}, got); d != "" {
		t.Error(d)
	}
}
