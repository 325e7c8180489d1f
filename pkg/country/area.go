package country

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

// outline is a box that can be asked.
type outline struct {
	box  box
	code string
	area coordinate.Area
}

// boxesInOrder returns the outlines in the order of the table, made once; a test rules out that they cannot be read.
var boxesInOrder = sync.OnceValue(func() (out []outline) {
	rows, _ := schema.Rows[box]("countries")
	for _, r := range rows {
		area, err := coordinate.NewArea([][][]float64{{{r.West, r.South}, {r.East, r.South}, {r.East, r.North},
			{r.West, r.North}, {r.West, r.South}}})
		if err == nil {
			out = append(out, outline{r, r.Code, area})
		}
	}
	return out
})

// boxes returns them by code.
var boxes = sync.OnceValue(func() map[string]coordinate.Area {
	areas := map[string]coordinate.Area{}
	for _, b := range boxesInOrder() {
		areas[b.code] = b.area
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
