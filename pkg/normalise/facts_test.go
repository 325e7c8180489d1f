package normalise

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// TestQuickLooksMissNothing holds the quick looks at a text to the readings that they save: what is
// read is never held to be nothing. Each text is three of these pieces, in all orders.
func TestQuickLooksMissNothing(t *testing.T) {
	pieces := strings.Split("|a|of|8|1/2|½|half|ten|foot|ft|in|inches|\"|'|cm|"+
		"8..9 cm|(8 g|g|gr|grains|oz|troy|carat|dram|dozen|surface|lead|Lead?|copper-alloy|gilt|bronze|Münze|silver plated|bone|bones|probably|row|the", "|")
	materials := vocabulary.Get("material")
	read, passed := 0, 0
	for _, first := range pieces {
		for _, second := range pieces {
			for _, third := range pieces {
				for _, sign := range []string{" ", ""} {
					s := strings.TrimSpace(first + sign + second + sign + third)
					if !quantity.MayState(s) {
						passed++
						if r, err := quantity.NormaliseLength(s, quantity.Options{}); err == nil && r.Said != quantity.NoUnit {
							t.Fatalf("%q is a length", s)
						}
						if r, err := quantity.NormaliseMass(s, quantity.Options{}); err == nil && r.Said != quantity.NoUnit {
							t.Fatalf("%q is a weight", s)
						}
					}
					if _, ok := materials.Match(s); ok {
						if read++; !materials.MayName(s) || !materials.MayName(s+" 22 g") {
							t.Fatalf("%q is a material", s)
						}
					}
				}
			}
		}
	}
	if read < 1000 || passed < 1000 {
		t.Fatalf("%d readings, %d texts passed over", read, passed)
	}
}
