package validate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
)

// Whoever looks around is asked no more once it has seen enough, so that many finds close together cost
// no look at each of the others from each.
func TestAroundStops(t *testing.T) {
	s := &specks{}
	for i := range 1000 {
		s.list = append(s.list, speck{x: float64(i%5) * 0.5 / degreeMetres, y: float64(i%7) * 0.5 / degreeMetres, across: degreeMetres})
	}
	s.index(10)
	all, some := 0, 0
	s.around(3, func(int) bool { all++; return true })
	s.around(3, func(int) bool { some++; return some < 4 })
	if all != 1000 || some != 4 {
		t.Errorf("of 1000 close together %d are seen, and of four wanted %d", all, some)
	}
}

// Distances are those of the ellipsoid to a hundredth, far from Greenwich too, and the grid loses no neighbour.
func TestSpecksApart(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		centre := coordinate.Point{Longitude: r.Float64()*358 - 179, Latitude: r.Float64()*160 - 80}
		s := &specks{}
		for range 40 {
			p := coordinate.Point{Longitude: centre.Longitude + (r.Float64()-0.5)*0.0004, Latitude: centre.Latitude + (r.Float64()-0.5)*0.0004}
			s.list = append(s.list, speck{x: p.Longitude, y: p.Latitude, across: degreeMetres * math.Cos(p.Latitude*math.Pi/180)})
		}
		s.index(10)
		for i := range s.list {
			seen := map[int]bool{}
			s.around(i, func(j int) bool { seen[j] = true; return true })
			for j := range s.list {
				p, q := &s.list[i], &s.list[j]
				d := coordinate.Distance(coordinate.Point{Longitude: p.x, Latitude: p.y}, coordinate.Point{Longitude: q.x, Latitude: q.y})
				if d < 9.9 && !seen[j] || d > 10.1 && seen[j] {
					t.Fatalf("%.2f m apart at longitude %.0f, latitude %.0f: seen within 10 m %v", d, p.x, p.y, seen[j])
				}
			}
		}
	}
}
