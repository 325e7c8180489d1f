package share

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestOver: what stands over finds holds for them - the name of a file or a sheet, a title, a row between them, a
// sentence below them - and so does what the row of another find says of them.
func TestOver(t *testing.T) {
	for _, parts := range tableOf(t, "over") {
		head := &find.Report{}
		source := Source{Head: head, Finds: InMemory()}
		sheet, row1 := "", ""
		for _, part := range parts[1:] {
			switch where, text, _ := strings.Cut(part, "="); where {
			case "file":
				source.File = text
			case "sheet":
				sheet = text
			case "title":
				head.Title = text
			case "note":
				head.Notes = append(head.Notes, text)
			case "row":
				row1 = text
			}
		}
		for i, number := range []string{"1", "2", "3", "4", "5", "6"} {
			f := &find.Find{Number: number, Name: "button", Materials: []find.Material{{Term: find.Term{Code: "brass"}}},
				Description: row1, Source: &find.Source{Sheet: sheet, Row: find.Int(i + 2 + i/3)}}
			if row1 = ""; source.Finds.Put(i, f) != nil {
				t.Fatal("the shelf takes no find")
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
		if want := strings.TrimSuffix(parts[0], "none"); strings.Join(shown, " ") != want {
			t.Errorf("%s: the public is shown %v, want %q", parts[1:], shown, want)
		}
	}
}

// TestUnseen: what the source hides or strikes through goes to nobody but those that it is meant for, and its owner is
// asked.
func TestUnseen(t *testing.T) {
	source := Source{Head: &find.Report{ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}, Finds: InMemory(),
		Unseen: map[int]string{1: "hidden", 2: "hidden", 4: "hidden", 3: "struck through"},
		Columns: []find.LayoutColumn{{Heading: "Grams", Pointers: []string{"/weight"}, Unseen: true},
			{Heading: "Mood", Pointers: []string{"/columns/Mood"}, Unseen: true},
			{Heading: "Thing", Pointers: []string{"/name"}}}}
	for i, id := range []string{"1", "2", "3", "4", "5", "6"} {
		err := source.Finds.Put(i, &find.Find{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-00000000010" + id, Number: id,
			Name: "button", Materials: []find.Material{{Term: find.Term{Code: "brass"}}},
			Weight: &find.Quantity{Min: find.Float(3.1), Max: find.Float(3.1), Unit: "g"},
			Source: &find.Source{Sheet: "Finds", Row: find.Int(i + 2)}})
		if err != nil {
			t.Fatal(err)
		}
	}
	row5 := `row 5 of "Finds" is struck through: is it meant for others?`
	rows := `rows 3 to 4, 6 of "Finds" are hidden: are they meant for others?`
	for _, a := range []Audience{Public, Club, Recorder} {
		c, err := CopyTo(context.Background(), source, InMemory(), Options{Audience: a, Day: "2026-07-01"})
		if err != nil {
			t.Fatal(err)
		}
		want, shown := []string{`hidden columns are left out: "Grams"; are they meant for others?`, row5, rows, rows, rows}, 2
		if a != Public {
			want, shown = []string{`hidden columns count as shown: "Grams"; are they meant for others?`,
				row5 + " It stays in this copy", rows + " It stays in this copy"}, 6
		}
		got := c.Unseen
		for _, out := range c.Out {
			got = append(got, out.Why)
		}
		slices.Sort(got)
		f, err := c.At(0)
		if !slices.Equal(got, want) || c.Len() != shown || err != nil || f.Weight.HasValue() != (a != Public) {
			t.Errorf("%s: %d finds with the weight %v, the owner is asked %q", a, c.Len(), f.Weight, got)
		}
	}
}
