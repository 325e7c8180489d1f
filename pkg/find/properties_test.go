package find

import (
	"encoding/json"
	"math/rand/v2"
	"testing"
	"unsafe"
)

func propertiesBothWays(t *testing.T, f *Find) {
	t.Helper()
	for _, placed := range []bool{false, true} {
		want, wantErr := appendCells([]byte("{"), f, placed)
		got, err := AppendProperties([]byte("{"), f, placed)
		if (err == nil) != (wantErr == nil) || err == nil && string(got) != string(want) {
			t.Fatalf("other properties than cell by cell (%v, %v):\n%s\n%s", err, wantErr, got, want)
		}
	}
}

// The properties are those that the cells make, for every find of the vectors and for many that were changed.
func TestProperties(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(9, 10))
	quick := 0
	for i := range 15_000 {
		v := finds[i%len(finds)]
		if i >= len(finds) {
			for range 1 + r.IntN(2) {
				v = changeOne(r, v)
			}
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var f Find
		DecodeFind(raw, &f)
		odd := oddTexts[r.IntN(len(oddTexts))]
		switch i % 7 {
		case 1:
			f.Name = odd
		case 2:
			f.Absent = map[string]string{odd: "x", "/depth": odd, "/materials/0": ""}
		case 3:
			f.Columns = map[string]string{odd: odd, "": odd, "x": ""}
		case 4:
			f.Materials = []Material{{Term: Term{Verbatim: odd + f.Name}}, {}, {Part: odd}}
		case 5:
			f.Replaces = []string{"", odd}
		}
		propertiesBothWays(t, &f)
		w := propertyWriter{}
		if i < len(finds) && w.members(propertyPlan(), unsafe.Pointer(&f), nil) {
			quick++
		}
	}
	if quick*100 < len(finds)*90 {
		t.Errorf("only %d of %d finds of the vectors are written quickly", quick, len(finds))
	}
}

func FuzzProperties(f *testing.F) {
	for i, v := range theFinds(f) {
		if i%40 == 0 {
			raw, _ := json.Marshal(v)
			f.Add(raw)
		}
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		var found Find
		DecodeFind(raw, &found)
		propertiesBothWays(t, &found)
	})
}

// An area that is none, but for members that are not known, is written too.
func TestPropertiesOfOddArea(t *testing.T) {
	for _, a := range []*Area{{}, {Unknown: []byte(`{"verbatim":"x"}`)}, {Type: "Polygon"}} {
		propertiesBothWays(t, &Find{Position: &Position{Area: a}})
	}
}
