package law

import (
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/schema"
)

// box is the outline of a country, or of a part of one, as a box in degrees.
type box struct {
	Code   string  `json:"code"`
	South  float64 `json:"south"`
	West   float64 `json:"west"`
	North  float64 `json:"north"`
	East   float64 `json:"east"`
	Source string  `json:"source"`
}

// boxes returns the outlines by code, made once; a test rules out that they cannot be read.
var boxes = sync.OnceValue(func() map[string]coordinate.Area {
	rows, _ := schema.Rows[box]("countries")
	areas := make(map[string]coordinate.Area, len(rows))
	for _, r := range rows {
		area, err := coordinate.NewArea([][][]float64{{{r.West, r.South}, {r.East, r.South}, {r.East, r.North},
			{r.West, r.North}, {r.West, r.South}}})
		if err == nil {
			areas[r.Code] = area
		}
	}
	return areas
})

// Area returns the box around a jurisdiction, an ISO 3166-1 or 3166-2 code: of the part where the table has it, else of
// the country. It holds more than the land, so it can tell that a place is not there, and never that it is.
func Area(jurisdiction string) (coordinate.Area, bool) {
	if area, ok := boxes()[jurisdiction]; ok {
		return area, true
	}
	country, _, _ := strings.Cut(jurisdiction, "-")
	area, ok := boxes()[country]
	return area, ok
}
