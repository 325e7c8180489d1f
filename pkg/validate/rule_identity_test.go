package validate

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestNumberRepeatedWithoutIDs: rows of a sheet have no id yet when they are read, and two bags
// with one number are told apart all the same.
func TestNumberRepeatedWithoutIDs(t *testing.T) {
	rule, said := numberRepeated.Across(), 0
	seen := newCensus()
	for i, number := range []string{"7", "007", "7a", " 7 "} {
		c := &Case{Find: &find.Find{Number: number, Finder: "person-1"}, Report: &find.Report{}, census: seen}
		rule.Find(c, Ref{Index: i}, func(pointer, message string) { said++ })
	}
	if said != 2 {
		t.Errorf("%d of the numbers were told to be repeated, want 2", said)
	}
}

// TestFoldNumberIsThatOfFind holds the quick way to the full one.
func TestFoldNumberIsThatOfFind(t *testing.T) {
	for _, s := range []string{"7", "007", "10", "100", "a-12", "A-12", "12/3", "12/03", "0", "00", " 7", "７", "1 2", "", "9é", "a0", "a00", "1a01"} {
		if got, want := foldNumber(s), find.FoldNumber(s); got != want {
			t.Errorf("foldNumber(%q) = %q, want %q", s, got, want)
		}
	}
}

// TestDigestSeesEveryMember changes one member at a time.
func TestDigestSeesEveryMember(t *testing.T) {
	digestOf := func(f *find.Find) uint64 { return (&Case{Find: f}).digest() }
	plain := digestOf(&find.Find{ID: "x"})
	if plain != digestOf(&find.Find{ID: "x"}) {
		t.Error("equal finds have different digests")
	}
	yes, no := true, false
	for name, f := range map[string]*find.Find{
		"number":         {ID: "x", Number: "7"},
		"empty depth":    {ID: "x", Depth: &find.Depth{}},
		"replaces":       {ID: "x", Replaces: []string{"y"}},
		"absent":         {ID: "x", Absent: map[string]string{"/depth": "not-measured"}},
		"extensions":     {ID: "x", Extensions: []byte(`{"club":1}`)},
		"human remains":  {ID: "x", HumanRemains: &yes},
		"none of them":   {ID: "x", HumanRemains: &no},
		"kept of a lot":  {ID: "x", Lot: &find.Lot{Kept: find.Int(0)}},
		"unknown member": {ID: "x", Unknown: []byte(`{"colour":"green"}`)},
	} {
		if digestOf(f) == plain {
			t.Errorf("%s: the digest did not change", name)
		}
	}
}
