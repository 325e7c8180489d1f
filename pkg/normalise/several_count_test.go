package normalise

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

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
