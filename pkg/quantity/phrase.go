package quantity

import "github.com/findslip/findslip/pkg/lexicon"

// The reasons that Reading.Absent gives; they are absence reasons of the format.
const (
	NotNoted      = "not-noted"
	NotMeasured   = "not-measured"
	NotKnown      = "not-known"
	Illegible     = "illegible"
	NotApplicable = "not-applicable"
)

// BasisSurface is the Reading.Basis of a find that lay on the surface.
const BasisSurface = "surface"

// phrase reads a text that states no number: an absence, or the surface.
//
// Grammar: surface-only.
func phrase(s string, d Dimension, into Unit) (Reading, bool) {
	switch means, ok := lexicon.Phrase(s, "measure"); {
	case !ok || means == lexicon.Surface && d != Length:
	case means == lexicon.Surface:
		q := Quantity{Unit: into, Min: Bound{0, true}, Max: Bound{0, true}}
		return Reading{Quantity: q, Basis: BasisSurface}, true
	default:
		return Reading{Absent: means}, true
	}
	return Reading{}, false
}
