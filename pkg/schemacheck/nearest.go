package schemacheck

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
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
		d := vocabulary.EditDistance(strings.ToLower(s), strings.ToLower(c))
		if d < least && d < min(len([]rune(s)), len([]rune(c))) {
			best, least = c, d
		}
	}
	return best
}

func absInt(i int) int { return max(i, -i) }

func sortUnknown(list []Unknown) {
	slices.SortFunc(list, func(a, b Unknown) int {
		if c := notice.ComparePointers(a.Pointer, b.Pointer); c != 0 {
			return c
		}
		return strings.Compare(a.Pointer, b.Pointer)
	})
}
