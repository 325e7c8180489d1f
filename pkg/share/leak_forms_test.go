package share

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestFixedOfRuns: to look for ids, sums and stamps run by run finds what a look at the whole text does.
func TestFixedOfRuns(t *testing.T) {
	part := rapid.SampledFrom([]string{"7701c14b-cbc2-5456-878a-cd1eefc581df", "2026-04-12", "2026-04-12T10:11:12+01:00", "2026-04/2026-05",
		"person-0123456789ab", "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef", "_", "-", "a", "7", "/", ".", " ", "\n",
		"ø", "\"", "urn:uuid:", "\xff"})
	rapid.Check(t, func(t *rapid.T) {
		var text string
		for _, p := range rapid.SliceOfN(part, 0, 12).Draw(t, "parts") {
			text += p
		}
		var whole [][2]int
		for _, m := range stamped().FindAllStringIndex(text, -1) {
			whole = append(whole, [2]int{m[0], m[1]})
		}
		ids, sums, stamps := fixedOf(text)
		all := slices.Concat(ids, sums, stamps)
		slices.SortFunc(all, func(a, b [2]int) int { return a[0] - b[0] })
		if !slices.Equal(all, whole) {
			t.Fatalf("%q: %v, want %v", text, all, whole)
		}
	})
}
