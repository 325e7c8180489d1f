package validate

import (
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// radiusOfMethod returns the usual radius of a position method and the least that can be believed,
// in metres; zero where the list names none.
func radiusOfMethod(method *find.Term) (usual, least float64) {
	if method == nil {
		return 0, 0
	}
	if c, ok := vocabulary.Get("position-method").Concept(method.Code); ok && c.Method != nil {
		return c.Method.Metres, c.Method.Least
	}
	return 0, 0
}

// radiusUnknown is that of a receiver of which nothing is known, in metres.
func radiusUnknown() float64 {
	usual, _ := radiusOfMethod(&find.Term{Code: "gnss-unknown"})
	return usual
}

// rankOfBasis returns how good a way to know a depth is, 1 the best; zero where the list has no
// such way.
func rankOfBasis(basis *find.Term) int {
	if basis == nil {
		return 0
	}
	if c, ok := vocabulary.Get("depth-basis").Concept(basis.Code); ok {
		return c.Rank
	}
	return 0
}
