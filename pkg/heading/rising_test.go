package heading

import (
	"fmt"
	"testing"
)

// TestNumbersThatLookLikeSquares: numbers of a museum that run on are numbers, though each could be a grid reference.
func TestNumbersThatLookLikeSquares(t *testing.T) {
	var samples []string
	for i := range 60 {
		samples = append(samples, fmt.Sprintf("M%06d", i))
	}
	if look := Look(samples, 0); look.Fits("number") <= 0 {
		t.Errorf("%+v", look)
	}
}
