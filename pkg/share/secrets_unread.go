package share

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
)

// unread gathers what stands in members that could not be read, such as a list of people with a
// fault in it: the reader keeps them as they are, a copy drops them, and their names are as private
// as if they had been read.
func (s *secrets) unread(source *find.Report) {
	s.walkRaw("", source.Unknown)
	for i := range source.People {
		s.walkRaw(fmt.Sprintf("/people/%d", i), source.People[i].Unknown)
	}
	for i := range source.Permissions {
		s.walkRaw(fmt.Sprintf("/permissions/%d", i), source.Permissions[i].Unknown)
	}
	for i, f := range source.Finds {
		s.walkRaw(fmt.Sprintf("/finds/%d", i), f.Unknown)
	}
}

func (s *secrets) walkRaw(pointer string, raw []byte) {
	if len(raw) == 0 {
		return
	}
	var v any
	if json.Unmarshal(raw, &v) == nil {
		s.walk(pointer, "", v)
	}
}

// walk looks for the members that hold names, places, contacts and positions, at any depth.
func (s *secrets) walk(pointer, name string, v any) {
	hidesPlaces := s.audience == Public || s.audience == Expert
	switch v := v.(type) {
	case map[string]any:
		lat, isLat := v["latitude"].(float64)
		lon, isLon := v["longitude"].(float64)
		if p := (coordinate.Point{Latitude: lat, Longitude: lon}); isLat && isLon && hidesPlaces && p.Valid() {
			s.positions = append(s.positions, place{p, pointer})
		}
		if strings.HasPrefix(pointer, "/people") {
			text := func(key string) string { t, _ := v[key].(string); return t }
			s.person(pointer, &find.Person{Name: text("name"), Handle: text("handle"), Contact: text("contact")}, hidesPlaces)
		}
		for _, key := range slices.Sorted(maps.Keys(v)) {
			s.walk(pointer+"/"+key, key, v[key])
		}
	case []any:
		for i, item := range v {
			s.walk(fmt.Sprintf("%s/%d", pointer, i), name, item)
		}
	case string:
		switch name {
		case "storagePlace", "value", "contact":
			s.add(name, pointer, v)
		case "name", "parish", "verbatim", "documentNumber":
			if hidesPlaces && !strings.HasPrefix(pointer, "/people") && (name != "name" && name != "verbatim" || strings.Contains(pointer, "/place/") || strings.Contains(pointer, "/position/")) {
				s.add("place", pointer, v)
			}
		}
	}
}
