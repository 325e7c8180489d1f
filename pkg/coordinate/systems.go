package coordinate

import (
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/schema"
)

// systems is every system, in the order of schema/data/systems.json: WGS 84 first, named ones before the zones.
var systems = sync.OnceValue(readSystems)

var byNumber = sync.OnceValue(func() map[int]*System {
	numbers := map[int]*System{}
	for _, s := range systems() {
		n, _ := epsgNumber(s.Code)
		numbers[n] = s
	}
	return numbers
})

var byAlias = sync.OnceValue(func() map[string]*System {
	names := map[string]*System{}
	for _, s := range systems() {
		for _, a := range s.Aliases {
			names[a] = s
		}
		names[foldName(s.Name)] = s
	}
	return names
})

// systemRow is a row of schema/data/systems.json. One with zones stands for each of these zones of UTM, or of a grid
// built like it: # is the number of the zone, which is added to the code.
type systemRow struct {
	Code, Name, Datum, Ellipsoid, Shift string
	Zones                               [2]int
	Projection                          Projection
	Extent                              [4]float64 // south, west, north, east
	NorthingFirst, XIsNorthing          bool
	Aliases                             []string
}

func readSystems() []*System {
	var table struct {
		Shifts []Shift
		Rows   []systemRow
	}
	raw, err := schema.Data.ReadFile("data/systems.json")
	if err == nil {
		err = json.Unmarshal(raw, &table, json.MatchCaseInsensitiveNames(true))
	}
	if err != nil {
		panic(err) // the file is part of the program, and the tests read it
	}
	shifts := map[string]Shift{"": {Source: "WGS 84 is the reference itself"}}
	for _, s := range table.Shifts {
		shifts[s.Code] = s
	}
	var list []*System
	for _, row := range table.Rows {
		for zone := row.Zones[0]; zone <= row.Zones[1]; zone++ {
			list = append(list, row.system(zone, shifts).ready())
		}
	}
	return list
}

// system makes the system of a row; the zone is 0 for a row without zones.
func (row systemRow) system(zone int, shifts map[string]Shift) *System {
	x := row.Extent
	s := &System{Code: row.Code, Name: row.Name, Aliases: row.Aliases, Datum: row.Datum, Projection: row.Projection,
		Shift: shifts[row.Shift], Extent: Extent{x[0], x[1], x[2], x[3]}, NorthingFirst: row.NorthingFirst,
		XIsNorthing: row.XIsNorthing}
	for _, l := range ellipsoids {
		if l.Name == row.Ellipsoid {
			s.Ellipsoid = l
		}
	}
	if s.Projection.Method == "" {
		s.Projection.Method = Geographic
	}
	if zone == 0 {
		return s
	}
	number, _ := epsgNumber(row.Code)
	z := strconv.Itoa(zone)
	s.Code, s.Name = "EPSG:"+strconv.Itoa(number+zone), strings.ReplaceAll(s.Name, "#", z)
	s.Projection.LongitudeOfOrigin = meridianOf(zone)
	s.Extent.West, s.Extent.East = meridianOf(zone)-3, meridianOf(zone)+3
	s.Aliases = slices.Clone(s.Aliases)
	for i, a := range s.Aliases {
		s.Aliases[i] = strings.ReplaceAll(a, "#", z)
	}
	return s
}

// meridianOf is the central meridian of a UTM zone, in degrees.
func meridianOf(zone int) float64 { return float64(6*zone - 183) }
