package normalise

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
)

func TestSeveralFactsInOneCell(t *testing.T) {
	for name, c := range map[string]struct {
		in     find.Find
		depth  string
		place  string
		metal  string
		count  string
		notice bool
	}{
		"three in the notes": {find.Find{Name: "nail", Notes: "SP 5270 9011, 20cm, iron"}, "20cm", "SP 5270 9011",
			"iron", "", true},
		"one alone is only words": {find.Find{Name: "nail", Notes: "near the gate, iron"}, "", "", "", "", false},
		"what is given stays": {find.Find{Name: "nail", Notes: "20 cm, iron",
			Materials: []find.Material{{Term: find.Term{Code: "lead"}}}}, "20 cm", "", "lead", "", true},
		"sizes are not depths":     {find.Find{Name: "ring, 20 mm, silver"}, "", "", "", "", false},
		"inches and a weight":      {find.Find{Name: `musket ball, 7", lead 22g`}, `7"`, "", "lead", "", true},
		"inches without a blank":   {find.Find{Name: "button", Notes: "8in, lead"}, "8in", "", "lead", "", true},
		"a metal and its weight":   {find.Find{Name: "button", Notes: "lead 22g"}, "", "", "lead", "", true},
		"a depth in words":         {find.Find{Name: "button", Notes: `7" down, lead 22g`}, `7" down`, "", "lead", "", true},
		"a name is no fact":        {find.Find{Name: "lead weight"}, "", "", "", "", false},
		"a length alone":           {find.Find{Name: "button", Notes: "8in"}, "", "", "", "", false},
		"three of a kind":          {find.Find{Name: "3 x musket ball"}, "", "", "", "3 x", true},
		"a name that only has 3 x": {find.Find{Name: "3 x"}, "", "", "", "", false},
		"a year is no count":       {find.Find{Name: "1793 x token"}, "", "", "", "", false},
	} {
		t.Run(name, func(t *testing.T) {
			f := c.in
			words := [3]string{f.Name, f.Notes, f.Description}
			list := Find(&f, nil, Options{Table: true})
			said := false
			for _, n := range list {
				said = said || n.Kind == factsTaken
			}
			var depth, place, metal, count string
			if f.Depth != nil {
				depth = f.Depth.Verbatim
			}
			if f.Position != nil {
				place = f.Position.Verbatim
			}
			if len(f.Materials) > 0 {
				metal = f.Materials[0].Code
			}
			if f.Count != nil {
				count = f.Count.Verbatim
			}
			if d := cmp.Diff([]any{c.depth, c.place, c.metal, c.count, c.notice},
				[]any{depth, place, metal, count, said}); d != "" {
				t.Error(d)
			}
			if words != [3]string{f.Name, f.Notes, f.Description} {
				t.Error("the words were changed")
			}
		})
	}
}

func TestPlaceThatIsAPosition(t *testing.T) {
	for text, moved := range map[string]bool{"SP 5271 9010": true, "52.5066 N 1.2245 W": true, "52.5066, -1.2245": true,
		"Long Furlong": false,
		"by the hedge": false, "field 12": false, "452705, 290115": false, "OS 144": false, "plot 3": false, "12": false} {
		f := &find.Find{Name: "button", Place: &find.Place{Name: text}}
		list := Find(f, nil, Options{Table: true})
		said := false
		for _, n := range list {
			said = said || n.Kind == factsTaken
		}
		if got := f.Position != nil && f.Position.Latitude.Known(); got != moved || said != moved ||
			(f.Place == nil) != moved {
			t.Errorf("%q: position %+v, place %+v, said %v", text, f.Position, f.Place, said)
		}
		if moved && f.Position.Verbatim == "" && text != f.Position.Latitude.String()+", "+f.Position.Longitude.String() {
			t.Errorf("%q: the words are lost", text)
		}
	}
	f := &find.Find{Place: &find.Place{Name: "SP 5271 9010", Parish: "Thornmere"},
		Position: &find.Position{Verbatim: "SP 5272 9010"}}
	if Find(f, nil, Options{Table: true}); f.Place == nil || f.Place.Name != "SP 5271 9010" {
		t.Error("a place is moved though there is a position")
	}
}
