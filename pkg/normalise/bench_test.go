package normalise

import (
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

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
