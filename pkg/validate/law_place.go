package validate

import (
	"slices"

	"github.com/findslip/findslip/pkg/internal/memo"
)

// placeLaw is what the table of law holds for one place, sorted out for the rules that every find is
// asked by.
type placeLaw struct {
	place        string
	known        bool      // there is a row beyond what holds anywhere
	sameFind     *lawRow   // under which finds are looked at together
	coins        *lawRow   // of old coins together
	prehistoric  *lawRow   // of prehistoric metal
	metal        []*lawRow // under which one object may be treasure for its metal
	significance []*lawRow // or for what it means
	report       []heldRow // duties to report
}

// heldRow is a row that holds in a place, or may hold.
type heldRow struct {
	*lawRow
	holds answer
}

// of returns the law of a place.
func (t *lawTable) of(place string) *placeLaw {
	if t.places == nil {
		return t.sortedOut(place)
	}
	return t.places.Of(memo.Key[struct{}]{Text: place})
}

func (t *lawTable) sortedOut(place string) *placeLaw {
	p := &placeLaw{place: place, known: t.known(place), sameFind: t.row("treasure-same-find", place), coins: t.row("treasure-coins", place),
		prehistoric: t.row("treasure-prehistoric", place)}
	reaching := func(rule string) []*lawRow {
		return slices.DeleteFunc(slices.Clone(t.rules[rule]), func(r *lawRow) bool { return !t.reaches(r, place) })
	}
	p.metal, p.significance = reaching("treasure-metal"), reaching("treasure-significance")
	for _, r := range reaching("report") {
		p.report = append(p.report, heldRow{r, t.holds(r, place)})
	}
	return p
}
