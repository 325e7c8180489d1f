package main

import (
	"path/filepath"
	"testing"
)

// TestEveryRequirementHasVectors holds the suite to SPEC.md: each requirement has a vector that meets
// it and one that tempts to break it, or testdata/suite/gaps.json says why not.
func TestEveryRequirementHasVectors(t *testing.T) {
	root := filepath.Join("..", "..")
	text, err := specification(root)
	if err != nil {
		t.Fatal(err)
	}
	x, err := newIndex(root, text)
	if err != nil {
		t.Fatal(err)
	}
	if len(x.requirements) < 100 {
		t.Fatalf("%d requirements found in SPEC.md", len(x.requirements))
	}
	for _, wrong := range x.faults() {
		t.Error(wrong)
	}
}

// TestIndexSeesGaps shows that the index does not pass over what is missing.
func TestIndexSeesGaps(t *testing.T) {
	const must = "A reader MUST"
	x := &index{
		requirements: []requirement{{"1-1", must}, {"1-2", must}, {"1-3", must}, {"1-4", must}, {"1-5", "A reader SHOULD"}},
		pass:         map[string][]string{"1-1": {"a"}, "1-2": {"a"}, "9-9": {"a"}}, fail: map[string][]string{"1-1": {"b"}},
		gaps: map[string]gap{"1-1": {Lacks: "fail", Reason: "not needed any more"}, "1-3": {Lacks: "both"},
			"8-8": {Lacks: "both", Reason: "x"}},
	}
	want := []string{
		`1-1 lacks "", and gaps.json says "fail"`, `1-2 lacks "fail", and gaps.json says ""`,
		`1-3 has no reason in gaps.json`,
		`1-4 lacks "both", and gaps.json says ""`, `8-8 is no requirement, and gaps.json names it`,
		`9-9 is no requirement, and a vector serves it`,
	}
	got := x.faults()
	if len(got) != len(want) {
		t.Fatalf("%d faults, want %d: %q", len(got), len(want), got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%q, want %q", got[i], want[i])
		}
	}
}
