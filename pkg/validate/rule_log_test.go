package validate

import "testing"

// Whoever looks around is asked no more once it has seen enough, so that many finds close together cost
// no look at each of the others from each.
func TestAroundStops(t *testing.T) {
	s := &specks{}
	for i := range 1000 {
		s.list = append(s.list, speck{x: float64(i%5) * 0.5, y: float64(i%7) * 0.5})
	}
	s.index(10)
	all, some := 0, 0
	s.around(3, func(int) bool { all++; return true })
	s.around(3, func(int) bool { some++; return some < 4 })
	if all != 1000 || some != 4 {
		t.Errorf("of 1000 close together %d are seen, and of four wanted %d", all, some)
	}
}
