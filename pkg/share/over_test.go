package share

import (
	"context"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestOver: what stands over finds holds for them: the name of a file or a sheet, a title, a row between them, a
// sentence below them. The wordings were written by eyes that had not seen the code; common practice, no source.
func TestOver(t *testing.T) {
	for _, c := range []struct {
		name, file, sheet string
		title             string
		notes             []string
		shown             []string // of the finds 1 to 6, in rows 2 to 4 and 6 to 8
	}{
		{name: "nothing", shown: []string{"1", "2", "3", "4", "5", "6"}},
		{name: "a note of a place", notes: []string{"row 5: Top Field"}, shown: []string{"1", "2", "3", "4", "5", "6"}},
		{name: "no find", notes: []string{"row 9: human bone in the ditch, police told"},
			shown: []string{"1", "2", "3", "4", "5", "6"}},
		{name: "section", notes: []string{"row 5: Do not publish"}, shown: []string{"1", "2", "3"}},
		{name: "section of the dead", notes: []string{"row 5: Grave finds"}, shown: []string{"1", "2", "3"}},
		{name: "section of treasure", notes: []string{"row 5: Danefæ"}, shown: []string{"1", "2", "3"}},
		{name: "section that ends", notes: []string{"row 1: Schatzfunde", "row 5: Top Field"},
			shown: []string{"4", "5", "6"}},
		{name: "title", notes: []string{"row 0: Finds of 2025 - not for publication before 2030"}},
		{name: "below", notes: []string{"row 9: All under embargo until 2030 please"}},
		{name: "numbers", notes: []string{"Read me, row 1: No 3 and 5 are under embargo until 2030"},
			shown: []string{"1", "2", "4", "6"}},
		{name: "other sheet", sheet: "2026", notes: []string{"2025, row 9: Geheim"}, shown: []string{}},
		{name: "sheet", sheet: "Ne pas diffuser"},
		{name: "file", file: "embargo until 2030.csv"},
		{name: "a title of two sentences", title: "Finds of 2025. Do not publish"},
		{name: "a sheet with a dot", sheet: "No. 3 do not publish"},
		{name: "a title with a stroke", title: "Do not publish / spring"},
		{name: "a harmless file", file: "finds 2026.csv", shown: []string{"1", "2", "3", "4", "5", "6"}},
	} {
		head := &find.Report{Title: c.title, Notes: c.notes}
		source := Source{Head: head, Finds: InMemory(), File: c.file}
		for i, number := range []string{"1", "2", "3", "4", "5", "6"} {
			row := i + 2 + i/3
			f := &find.Find{Number: number, Name: "button", Materials: []find.Material{{Term: find.Term{Code: "brass"}}},
				Source: &find.Source{Sheet: c.sheet, Row: find.Int(row)}}
			if err := source.Finds.Put(i, f); err != nil {
				t.Fatal(err)
			}
		}
		p := &copier{ctx: context.Background(), source: source, head: head, o: Options{Audience: Public, Day: "2026-07-01"}}
		if err := p.facts(); err != nil {
			t.Fatal(err)
		}
		var shown []string
		for i := range p.finds {
			if p.finds[i].why == "" {
				shown = append(shown, p.finds[i].number)
			}
		}
		if !slices.Equal(shown, c.shown) {
			t.Errorf("%s: the public is shown %v, want %v", c.name, shown, c.shown)
		}
	}
}
