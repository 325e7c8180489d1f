package render

import (
	"slices"
	"strings"
)

// member names a member of a record as people read it.
func member(pointer string) string {
	return Clean(strings.Join(shortWay(strings.Split(strings.TrimPrefix(pointer, "/"), "/")), " "))
}

// shortWay leaves out the middle of a way that is far longer than any in a record.
func shortWay(steps []string) []string {
	const most, shown = 8, 3
	if len(steps) <= most {
		return steps
	}
	return append(slices.Clone(steps[:shown]), "…", steps[len(steps)-1])
}

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
