package validate

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// The census says of each find what a plain list of all finds before it says.
func TestCensus(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	c := newCensus()
	var before []*find.Find
	for i := range 20_000 {
		f := &find.Find{ID: fmt.Sprint("id ", r.IntN(15_000)), Number: fmt.Sprint(r.IntN(15_000)),
			Position: &find.Position{Longitude: find.Int(r.IntN(100)), Latitude: find.Int(r.IntN(80))}}
		if r.IntN(10) == 0 {
			f.ID, f.Number = "", ""
		}
		of := &Case{Find: f, Report: &find.Report{}}
		s := c.see(of, Ref{Index: i})
		if again := c.see(of, Ref{Index: i}); again != s || again.own.index != int32(i) {
			t.Fatalf("find %d is entered twice", i)
		}
		id, bag, crowd := -1, -1, 1
		for k, other := range before {
			if id < 0 && f.ID != "" && other.ID == f.ID {
				id = k
			}
			if bag < 0 && f.Number != "" && other.Number == f.Number {
				bag = k
			}
			if other.Position.Longitude == f.Position.Longitude && other.Position.Latitude == f.Position.Latitude {
				crowd++
			}
		}
		if i < 4000 || i%50 == 0 { // the list is long to go through
			if got := indexOf(s.sameID); got != id {
				t.Fatalf("find %d: the id was first that of %d, the census says %d", i, id, got)
			}
			if got := indexOf(s.sameBag); got != bag {
				t.Fatalf("find %d: the number was first that of %d, the census says %d", i, bag, got)
			}
			if got := c.crowd(s.own); got != crowd {
				t.Fatalf("find %d: %d finds at its spot, the census says %d", i, crowd, got)
			}
			if f.ID != "" && !c.hasID(sumOf(f.ID)) || c.hasID(sumOf("no such id")) {
				t.Fatalf("find %d: its id is not known, or one that is none", i)
			}
		}
		before = append(before, f)
	}
}

func indexOf(r *remembered) int {
	if r == nil {
		return -1
	}
	return int(r.index)
}
