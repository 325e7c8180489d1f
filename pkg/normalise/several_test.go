package normalise

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/vocabulary"
)

func TestSeveralFactsInOneCell(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		In     find.Find
		Depth  string
		Place  string
		Metal  string
		Count  string
		Notice bool
	}](t, "SeveralFactsInOneCell") {
		t.Run(name, func(t *testing.T) {
			f := c.In
			words := [3]string{f.Name, f.Notes, f.Description}
			list := Find(&f, nil, Options{Table: true})
			said := false
			for _, n := range list {
				said = said || n.Kind == &kinds.FactsTakenOver
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
			if d := cmp.Diff([]any{c.Depth, c.Place, c.Metal, c.Count, c.Notice},
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
			said = said || n.Kind == &kinds.FactsTakenOver
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

// A number before things in the plural is a count, in a table; one that belongs to the name is not.
// Common practice, no source.
func TestCountBeforeTheName(t *testing.T) {
	for name, want := range map[string]string{"3 musketkogels": "3", "2x knoop": "2x", "3 x musket ball": "3 x",
		"4 Musketenkugeln": "4", "12 knapper": "12", "2 knappar": "2", "5 musket balls": "5",
		"2 pence": "", "6 pence piece": "", "2 hole button": "", "4 hole buttons": "", "3 ring binders": "", "1 buckles": "",
		"6 mm balls": "", "2 loop buckle": "", "20 Pfennig": "", "10 öre": "",
		"3/4 buckles": "", "007 buckles": "", "1720 tokens": "", "3": "", "3 glass": "", "2 kreuzer 1705 stars": ""} {
		f := &find.Find{Name: name}
		Find(f, nil, Options{Table: true})
		got := ""
		if f.Count != nil {
			got = f.Count.Verbatim
		}
		if got != want || f.Name != name {
			t.Errorf("%q: count %q, want %q", name, got, want)
		}
		g := &find.Find{Name: "3 musket balls"}
		Find(g, nil, Options{})
		if g.Count != nil {
			t.Error("a count is made of the name of a record that is no row of a table")
		}
	}
}

// TestQuickLooksMissNothing holds the quick looks at a text to the readings that they save: what is
// read is never held to be nothing. Each text is three of these pieces, in all orders.
func TestQuickLooksMissNothing(t *testing.T) {
	pieces := strings.Split("|a|of|8|1/2|½|half|ten|foot|ft|in|inches|\"|'|cm|"+
		"8..9 cm|(8 g|g|gr|grains|oz|troy|carat|dram|dozen|surface|lead|Lead?|copper-alloy|gilt|bronze|Münze|silver plated|bone|bones|probably|row|the", "|")
	materials := vocabulary.Get("material")
	read, passed := 0, 0
	for _, first := range pieces {
		for _, second := range pieces {
			for _, third := range pieces {
				for _, sign := range []string{" ", ""} {
					s := strings.TrimSpace(first + sign + second + sign + third)
					if !quantity.MayState(s) {
						passed++
						if r, err := quantity.NormaliseLength(s, quantity.Options{}); err == nil && r.Said != quantity.NoUnit {
							t.Fatalf("%q is a length", s)
						}
						if r, err := quantity.NormaliseMass(s, quantity.Options{}); err == nil && r.Said != quantity.NoUnit {
							t.Fatalf("%q is a weight", s)
						}
					}
					if _, ok := materials.Match(s); ok {
						if read++; !materials.MayName(s) || !materials.MayName(s+" 22 g") {
							t.Fatalf("%q is a material", s)
						}
					}
				}
			}
		}
	}
	if read < 1000 || passed < 1000 {
		t.Fatalf("%d readings, %d texts passed over", read, passed)
	}
}

func BenchmarkFind(b *testing.B) {
	layout := &find.Layout{Columns: []find.LayoutColumn{{Column: 1, Pointers: []string{"/depth"},
		Hints: find.Hints{Unit: "in"}}}}
	b.ReportAllocs()
	for range b.N {
		f := &find.Find{Number: "7", Name: "button", Found: &find.Found{Verbatim: "25/12/2025"},
			Depth:     &find.Depth{Quantity: find.Quantity{Verbatim: "7-9"}},
			Position:  &find.Position{Verbatim: "SP 5270 9011"},
			Materials: []find.Material{{Term: find.Term{Verbatim: "green metal"}}}, Count: &find.Quantity{Verbatim: "1"}}
		Find(f, layout, Options{Order: edtf.DayMonthYear, Table: true})
	}
}
