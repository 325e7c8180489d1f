package validate

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
)

// Distances are those of the ellipsoid to a hundredth, far from Greenwich too, and the grid loses no neighbour.
func TestNeighbours(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		centre := coordinate.Point{Longitude: r.Float64()*358 - 179, Latitude: r.Float64()*160 - 80}
		log := &Roll{blocks: [][]line{nil}, n: 40}
		for range log.n {
			x, y := centre.Longitude+(r.Float64()-0.5)*0.0004, centre.Latitude+(r.Float64()-0.5)*0.0004
			log.blocks[0] = append(log.blocks[0], line{x: int32(x * 1e7), y: int32(y * 1e7)})
		}
		near := newNeighbours(log, 10, func(*line) bool { return true })
		for i := range log.n {
			seen := near.of(i)
			for j := range log.n {
				p, q := log.line(i), log.line(j)
				d := coordinate.Distance(coordinate.Point{Longitude: float64(p.x) / 1e7, Latitude: float64(p.y) / 1e7},
					coordinate.Point{Longitude: float64(q.x) / 1e7, Latitude: float64(q.y) / 1e7})
				if got := slices.Contains(seen, j); d < 9.9 && !got || d > 10.1 && got {
					t.Fatalf("%.2f m apart at %v: seen within 10 m %v", d, centre, got)
				}
			}
		}
	}
}

// A day comes back from its number.
func TestDayOf(t *testing.T) {
	for n := -1_000_000; n < 1_000_000; n += 37 {
		if d := dayOf(n); !d.IsValid() || dayNumber(d) != n {
			t.Fatalf("%d is %v, which is %d", n, d, dayNumber(d))
		}
	}
}
