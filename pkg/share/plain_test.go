package share

import (
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// What of a text goes to those who see places by cells: its clauses of known words, and every measure. Common practice,
// no source; the names are of nobody.
func TestPlainWords(t *testing.T) {
	source := &find.Report{Language: "en", People: []find.Person{{ID: "person-1", Name: "Al Silver"}},
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Hanger"}}}}
	for text, want := range cases.Table[map[string]string](t, "PlainWords") {
		s := newSieve(source, nil)
		if got, left := s.sift(text); got != want || (left == nil) != (text == want) {
			t.Errorf("%q comes to %q, want %q", text, got, want)
		}
	}
	// Words of people who had not seen the code: what tells a place, a person, where a thing is kept or what it is worth,
	// by the stretches that tell; and honest ones, which go whole.
	all := cases.Table[[]string](t, "PlantedForAll")
	for text, tells := range cases.Table[map[string][]string](t, "Planted") {
		for _, forAll := range []bool{false, slices.Contains(all, text)} {
			s := newSieve(source, nil)
			s.worth = forAll
			got, _ := s.sift(text)
			if slices.ContainsFunc(tells, func(part string) bool { return strings.Contains(got, part) }) {
				t.Errorf("%q comes to %q (a recorder's: %v)", text, got, forAll)
			}
		}
	}
	for _, text := range append(cases.Table[[]string](t, "Honest"), all...) {
		for _, forAll := range []bool{false, true} {
			s := newSieve(source, nil)
			s.worth = forAll
			if got, _ := s.sift(text); (got == text) == slices.Contains(all, text) {
				t.Errorf("%q comes to %q (a recorder's: %v)", text, got, forAll)
			}
		}
	}
	for text, whole := range map[string]bool{"8 in at the ford": false, "20 cm in the clay": false, "about 8 in": true} {
		if readWhole("finds.depth.verbatim", &find.Quantity{Verbatim: text}) != whole {
			t.Errorf("%q is read whole: %v", text, !whole)
		}
	}
	passed := newSieve(source, (&Policy{}).Pass("from the pond"))
	if got, left := passed.sift("worn, from the pond"); got != "worn, from the pond" || left != nil {
		t.Errorf("what the owner passed comes to %q", got)
	}
	passed.prose = true
	for _, text := range []string{"top end", "hinten links", "en haut à gauche", "boven rechts"} {
		if got, _ := passed.sift(text); got != "" {
			t.Errorf("%q comes to %q", text, got)
		}
	}
	passed.worth = true
	for text, want := range cases.Table[map[string]string](t, "PlainWords2") {
		if got, _ := passed.sift(text); got != want {
			t.Errorf("%q comes to %q for a partner", text, got)
		}
	}
	for _, tag := range []string{"en", "de", "fr", "nl", "da", "sv", "nb", "pl"} {
		if tongue := plainWords().tongues[tag]; tongue == nil || len(tongue.words) < 1700 ||
			slices.Contains(tongue.endings, "") {
			t.Errorf("%s has not its words", tag)
		}
	}
}

// A cell that slipped by one column tells no place: of short words only those of a measure that its reader takes whole,
// and of a measure only one that a thing can have. The figures are of no real place.
func TestFiguresInShortCells(t *testing.T) {
	figures := []string{"51.126 1.423", "440850 134800", "441 187", "51 7 33 1 25 22", "51.1261", "440850", "0151 23",
		"07700 900", "14:30", "9-5-26", "4085/1348", "N51 W1"}
	for _, a := range []Audience{Expert, Club} {
		for _, text := range figures {
			measure := func() *find.Quantity { return &find.Quantity{Unit: "cm", Verbatim: text} }
			f := find.Find{ID: "urn:uuid:1e0b7f3a-52d1-4c8e-9a67-3f2d90c1b5e4", Number: "1",
				ObjectClass: &find.Term{Code: "buckle", Verbatim: text}, Depth: &find.Depth{Quantity: *measure()},
				Weight: &find.Quantity{Unit: "g", Verbatim: text}, Count: measure(), Dimensions: &find.Dimensions{Width: measure()},
				Materials: []find.Material{{Term: find.Term{Verbatim: text}}},
				Condition: &find.Condition{State: &find.Term{Verbatim: text}}, Dating: &find.Dating{Verbatim: text}, Type: text}
			c, err := Copy(t.Context(), &find.Report{ID: "urn:uuid:7d4c1b90-8a3e-4f52-b6d1-0c9e8f7a6b51", Language: "en",
				Finds: []*find.Find{&f}},
				Options{Audience: a})
			if err != nil {
				t.Fatal(err)
			}
			for cell := range find.Flat(c.Report.Finds[0]) {
				if cell.Text == text {
					t.Errorf("%s gets %q in %s", a, text, cell.Pointer)
				}
			}
		}
	}
	honest := find.Find{ID: "urn:uuid:1e0b7f3a-52d1-4c8e-9a67-3f2d90c1b5e4", Number: "1",
		Depth: &find.Depth{Quantity: find.Quantity{
			Min: find.Float(20), Max: find.Float(25), Unit: "cm", Verbatim: "20-25"}},
		Weight: &find.Quantity{Min: find.Float(14.25), Max: find.Float(14.25),
			Unit: "g", Verbatim: "14.25"}, Dating: &find.Dating{Earliest: find.Float(43), Latest: find.Float(410),
			Verbatim: "43-410"}}
	c, err := Copy(t.Context(), &find.Report{ID: "urn:uuid:7d4c1b90-8a3e-4f52-b6d1-0c9e8f7a6b51", Language: "en",
		Finds: []*find.Find{&honest}},
		Options{Audience: Expert})
	if err != nil {
		t.Fatal(err)
	}
	if f := c.Report.Finds[0]; f.Depth.Verbatim != "20-25" || f.Weight.Verbatim != "14.25" ||
		f.Dating.Verbatim != "43-410" {
		t.Errorf("the words of measures come to %q, %q and %q", f.Depth.Verbatim, f.Weight.Verbatim, f.Dating.Verbatim)
	}
}
