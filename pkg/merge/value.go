package merge

import (
	"math"
	"reflect"

	"github.com/go-json-experiment/json"
)

// oneValue is the option that all the others say in other words: "25.3.2026" and "25 Mar 2026", 15 cm and 6 in, a
// square and a smaller one within it. The finest is taken; -1 where they contradict each other.
func oneValue(member string, options []option) int {
	for i := range options {
		fits := true
		for k := range options {
			fits = fits && (k == i || asFine(member, options[i], options[k]))
		}
		if fits {
			return i
		}
	}
	return -1
}

// asFine reports whether a value is another in other words, or lies within what a coarser one may be.
func asFine(member string, one, than option) bool {
	var a, b map[string]any
	if json.Unmarshal(one.value, &a) != nil || json.Unmarshal(than.value, &b) != nil ||
		len(one.coarse)+len(than.coarse) > 0 {
		return false
	}
	both := func(name string) (x, y float64) {
		x, is := a[name].(float64)
		y, are := b[name].(float64)
		if delete(a, name); !is || !are {
			x, y = math.NaN(), math.NaN() // is within nothing
		}
		delete(b, name)
		return x, y
	}
	delete(a, "verbatim")
	delete(b, "verbatim")
	if len(a) > 0 && reflect.DeepEqual(a, b) {
		return true
	}
	if member == "position" {
		basis, _ := a["uncertaintyBasis"].(map[string]any)
		north, other := both("latitude")
		east, west := both("longitude")
		fine, coarse := both("uncertainty")
		const metres = 111_195 // a degree of latitude; half a metre below is for rounding
		apart := metres * math.Hypot(north-other, (east-west)*math.Cos(north*math.Pi/180))
		return basis["code"] == "square" && fine <= coarse && apart <= coarse-fine+0.5 && reflect.DeepEqual(a, b)
	}
	x, y := both("min")
	most, more := both("max")
	fine, coarse := both("resolution")
	delete(a, "said")
	delete(b, "said")
	return x == most && y == more && fine <= coarse && math.Abs(x-y) <= coarse/2 && reflect.DeepEqual(a, b)
}
