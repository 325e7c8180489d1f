package phrase

import (
	"slices"
	"testing"

	_ "github.com/findslip/findslip/pkg/testkit/heavy" // the seed of what is drawn
	"pgregory.net/rapid"
)

// TestPhrases: whole words, whatever the case, the longest phrase first.
func TestPhrases(t *testing.T) {
	s := New()
	s.Add(1, "shell")
	s.Add(2, "Shell Button", "mother of pearl")
	s.Add(3, "ÅR")
	for text, want := range map[string][]int{
		"shell": {1}, "Shell, button": {2}, "shells": nil, "seashell": nil, "a SHELL and a shell-button": {1, 2},
		"mother-of-pearl": {2},
		"år":              {3}, "mother of": nil, "": nil, "shell shell": {1, 1},
	} {
		var got []int
		s.Scan(text, func(tag, _ int) bool { got = append(got, tag); return true })
		if !slices.Equal(got, want) {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
}

// TestPhrasesFindWhatTheyHold: each phrase is found in any text that has it between other words.
func TestPhrasesFindWhatTheyHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-zåäöéß]{1,12}`)
		phrase := word.Draw(t, "first") + " " + word.Draw(t, "second")
		before, after := rapid.StringMatching(`[A-Z0-9 .,-]{0,20} `).Draw(t, "before"),
			rapid.StringMatching(`[ .,/][A-Z0-9 ]{0,20}`).Draw(t, "after")
		s := New()
		s.Add(7, phrase)
		if !s.Has(before + "| " + phrase + after) {
			t.Errorf("%q is not found in %q", phrase, before+"| "+phrase+after)
		}
	})
}
