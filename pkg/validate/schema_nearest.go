package validate

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

const nearEnough = 2 // edits between a name and the one it is misspelt for

// nearestName returns the candidate that is at most two edits from s, without regard to case, or empty
// text. Of equally near ones the first wins. Very short names are near to everything: the distance
// must also be smaller than both names are long.
func nearestName(s string, candidates []string) string {
	best, least := "", nearEnough+1
	for _, c := range candidates {
		if absInt(len(c)-len(s)) > nearEnough*4 {
			continue
		}
		d := editDistance(strings.ToLower(s), strings.ToLower(c))
		if d < least && d < min(len([]rune(s)), len([]rune(c))) {
			best, least = c, d
		}
	}
	return best
}

func absInt(i int) int { return max(i, -i) }

// editDistance is the number of letters to put in, take out, exchange or swap with their neighbour
// (Damerau and Levenshtein, in the form that edits no part twice).
func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	before := make([]int, len(y)+1)
	last := make([]int, len(y)+1)
	row := make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}

func sortUnknown(list []Unknown) {
	slices.SortFunc(list, func(a, b Unknown) int {
		if c := notice.ComparePointers(a.Pointer, b.Pointer); c != 0 {
			return c
		}
		return strings.Compare(a.Pointer, b.Pointer)
	})
}
