package share

import (
	"context"
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
