package merge

import (
	"maps"
	"math"
	"reflect"

	"github.com/go-json-experiment/json"
)

// oneValue is the option that all the others say in other words: "25.3.2026" and "25 Mar 2026", 15 cm and 6 in, a
// square and a smaller one within it. The finest is taken; -1 where they contradict each other.
func oneValue(member string, options []option) int {
	var all []map[string]any
	for _, o := range options {
		var v map[string]any
		if json.Unmarshal(o.value, &v) != nil || v == nil || len(o.coarse) > 0 {
			return -1
		}
		delete(v, "verbatim")
		all = append(all, v)
	}
	for i, a := range all {
		fits := len(a) > 0
		for k, b := range all {
			fits = fits && (k == i || reflect.DeepEqual(a, b) || finerMeasure(a, b) ||
				member == "position" && withinSquare(a, b))
		}
		if fits {
			return i
		}
	}
	return -1
}

// number takes a number out of a value; below zero where there is none.
func number(v map[string]any, name string) float64 {
	n, is := v[name].(float64)
	if delete(v, name); !is {
		return -1
	}
	return n
}

// finerMeasure reports whether a measure lies within what a coarser one may be.
func finerMeasure(a, b map[string]any) bool {
	a, b = maps.Clone(a), maps.Clone(b)
	x, y, r, s := number(a, "min"), number(b, "min"), number(a, "resolution"), number(b, "resolution")
	one := x == number(a, "max") && y == number(b, "max") && min(x, y, r, s) >= 0
	delete(a, "said")
	delete(b, "said")
	return one && r <= s && math.Abs(x-y) <= s/2 && reflect.DeepEqual(a, b)
}

// withinSquare reports whether a square of a grid lies within another. Half a metre is left for rounding.
func withinSquare(a, b map[string]any) bool {
	a, b = maps.Clone(a), maps.Clone(b)
	const metres = 111_195 // a degree of latitude
	basis, _ := a["uncertaintyBasis"].(map[string]any)
	lat, is := a["latitude"].(float64)
	other, are := b["latitude"].(float64)
	east, _ := a["longitude"].(float64)
	west, _ := b["longitude"].(float64)
	for _, v := range []map[string]any{a, b} {
		delete(v, "latitude")
		delete(v, "longitude")
	}
	u, w := number(a, "uncertainty"), number(b, "uncertainty")
	apart := math.Hypot((lat-other)*metres, (east-west)*metres*math.Cos(lat*math.Pi/180))
	return is && are && basis["code"] == "square" && u >= 0 && u <= w && apart <= w-u+0.5 && reflect.DeepEqual(a, b)
}
