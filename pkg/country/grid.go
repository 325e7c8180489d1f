package country

import (
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/schema"
)

// grids is schema/data/grid-countries.json: countries by system, and by square of the lettered grids.
type grids struct {
	Squares map[string]map[string][]string `json:"squares"`
	Rows    []struct {
		In      []string `json:"in"`
		Systems []int    `json:"systems"`
	} `json:"rows"`

	systems map[string][]string
}

var theGrids = sync.OnceValue(func() *grids {
	table, _ := schema.Table[grids]("grid-countries")
	g := &table
	g.systems = map[string][]string{}
	for _, r := range g.Rows {
		for _, code := range r.Systems {
			g.systems["EPSG:"+strconv.Itoa(code)] = r.In
		}
	}
	return g
})

// lettered names the systems whose squares have letters.
var lettered = map[string]string{"EPSG:27700": "GB", "EPSG:29903": "IE", "EPSG:29902": "IE"}

// OfGrid returns the countries, or parts of them, that a grid reference or the figures of a system may lie in; none
// where a system tells nothing, as degrees and UTM do.
func OfGrid(system, written string) []string {
	g := theGrids()
	if grid := lettered[system]; grid != "" {
		letters := strings.ToUpper(strings.TrimSpace(written))
		size := 1
		if grid == "GB" {
			size = 2
		}
		if len(letters) >= size {
			if in := g.Squares[grid][letters[:size]]; in != nil {
				return in
			}
		}
	}
	return g.systems[system]
}

// holds reports whether a point lies within the box; one that crosses the meridian of 180 degrees begins in the
// east.
func (b *box) holds(p coordinate.Point) bool {
	if p.Latitude <= b.South || p.Latitude >= b.North {
		return false
	}
	if b.West > b.East {
		return p.Longitude > b.West || p.Longitude < b.East
	}
	return p.Longitude > b.West && p.Longitude < b.East
}

// OfPoint returns the countries, or the parts with laws of their own, whose boxes hold a point. Boxes overlap.
func OfPoint(p coordinate.Point) []string {
	var in []string
	all := boxesInOrder()
	for i := range all {
		if all[i].box.holds(p) {
			in = append(in, all[i].code)
		}
	}
	return slices.DeleteFunc(in, func(code string) bool { // beside a part of it
		return slices.ContainsFunc(in, func(part string) bool {
			return len(part) > len(code) && strings.HasPrefix(part, code)
		})
	})
}

// box is the outline of a country, or of a part of one, as a box in degrees.
type box struct {
	Code   string   `json:"code"`
	South  float64  `json:"south"`
	West   float64  `json:"west"`
	North  float64  `json:"north"`
	East   float64  `json:"east"`
	Source string   `json:"source"`
	Speaks []string `json:"speaks"`
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

// Speaks reports whether a language of reports is one of those of a country.
func Speaks(code, language string) bool {
	for _, b := range boxesInOrder() {
		if b.code == code {
			return slices.Contains(b.box.Speaks, language)
		}
	}
	return false
}

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
