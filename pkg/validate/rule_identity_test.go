package validate

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestNumberRepeatedWithoutIDs: rows of a sheet have no id yet when they are read, and two bags
// with one number are told apart all the same.
func TestNumberRepeatedWithoutIDs(t *testing.T) {
	log, said := &Roll{}, 0
	for i, number := range []string{"7", "007", "7a", " 7 "} {
		c := &Case{Find: &find.Find{Number: number, Finder: "person-1"}, Report: &find.Report{}}
		log.add(c, lineOf(c), Ref{Index: i})
	}
	numberRepeated.Log(&Case{}, log, func(Ref, string, string) { said++ })
	if said != 2 {
		t.Errorf("%d of the numbers were told to be repeated, want 2", said)
	}
}

// TestTwinSumSeesEveryMember changes one member at a time.
func TestTwinSumSeesEveryMember(t *testing.T) {
	sumOfFind := func(f *find.Find) uint64 { return twinSum(f) }
	plain := sumOfFind(&find.Find{ID: "x"})
	if plain != sumOfFind(&find.Find{ID: "x"}) {
		t.Error("equal finds have different sums")
	}
	yes, no := true, false
	for name, f := range map[string]*find.Find{
		"empty depth":    {ID: "x", Depth: &find.Depth{}},
		"replaces":       {ID: "x", Replaces: []string{"y"}},
		"absent":         {ID: "x", Absent: map[string]string{"/depth": "not-measured"}},
		"extensions":     {ID: "x", Extensions: []byte(`{"club":1}`)},
		"human remains":  {ID: "x", HumanRemains: &yes},
		"none of them":   {ID: "x", HumanRemains: &no},
		"kept of a lot":  {ID: "x", Lot: &find.Lot{Kept: find.Int(0)}},
		"unknown member": {ID: "x", Unknown: []byte(`{"colour":"green"}`)},
	} {
		if sumOfFind(f) == plain {
			t.Errorf("%s: the sum did not change", name)
		}
	}
}
