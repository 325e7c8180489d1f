package render

import (
	"slices"
	"strings"
)

// findWords is what a page calls a find: the number on the bag; the id of one without a number says
// nothing to people.
func findWords(label string) string {
	if strings.HasPrefix(label, "urn:") {
		return "without a number"
	}
	return Clean(label)
}

func sortedCodes(m map[string]int) []string {
	out := make([]string, 0, len(m))
	for code := range m {
		out = append(out, code)
	}
	slices.Sort(out)
	return out
}
