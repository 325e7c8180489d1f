package coordinate

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// field is a made-up field of about 340 m by 440 m with a square pond in it.
var field = [][][]float64{
	{{-1.230, 52.500}, {-1.225, 52.500}, {-1.225, 52.504}, {-1.230, 52.504}, {-1.230, 52.500}},
	{{-1.228, 52.501}, {-1.227, 52.501}, {-1.227, 52.502}, {-1.228, 52.502}, {-1.228, 52.501}},
}

func mustArea(t testing.TB, c [][][]float64) Area {
	t.Helper()
	a, err := NewArea(c)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestAreaContains(t *testing.T) {
	a := mustArea(t, field)
	for _, c := range cases.Table[[]struct {
		Name   string
		P      Point
		Radius float64
		Want   Verdict
	}](t, "AreaContains") {
		if got := a.Contains(c.P, c.Radius); got != c.Want {
			t.Errorf("%s: %v, want %v", c.Name, got, c.Want)
		}
	}
	nan := math.NaN()
	if one, two := a.Contains(Point{-1.2265, 52.503}, nan), a.Contains(Point{nan, 52.503}, 1); one != CannotTell ||
		two != CannotTell {
		t.Errorf("without a radius %v, without a point %v", one, two)
	}
	if got := (Area{}).Contains(Point{}, 1); got != CannotTell {
		t.Errorf("an empty area says %v", got)
	}
	if d := (Area{}).Distance(Point{}); !math.IsNaN(d) {
		t.Errorf("an empty area is %v away", d)
	}
}

// The distance to an edge along a meridian or a parallel is that of the geodesic, which TestPeers holds to GeodSolve.
func TestAreaDistance(t *testing.T) {
	a := mustArea(t, field)
	for _, c := range cases.Table[[]struct {
		Name    string
		P, Edge Point
	}](t, "AreaDistance") {
		got, want := a.Distance(c.P), Distance(c.P, c.Edge)
		if math.Abs(got-want) > 0.002 {
			t.Errorf("%s: %.4f m, want %.4f", c.Name, got, want)
		}
	}
}

func TestAreaOfSeveral(t *testing.T) {
	box := func(w, s, e, n float64) [][][]float64 {
		return [][][]float64{{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}}}
	}
	a, err := NewMultiArea([][][][]float64{box(0, 0, 1, 1), box(0.5, 0.5, 2, 2), box(179, 10, 180, 11),
		box(-180, 10, -179, 11)})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cases.Table[[]struct {
		P    Point
		Want Verdict
	}](t, "AreaOfSeveral") {
		if got := a.Contains(c.P, 10); got != c.Want {
			t.Errorf("%v: %v, want %v", c.P, got, c.Want)
		}
	}
	across := mustArea(t, box(179, 10, 181, 11)) // runs on past the antimeridian
	for _, c := range []struct {
		p    Point
		want Verdict
	}{{Point{179.5, 10.5}, Inside}, {Point{-179.5, 10.5}, Inside}, {Point{-178.5, 10.5}, Outside},
		{Point{0, 10.5}, Outside}} {
		if got := across.Contains(c.p, 10); got != c.want {
			t.Errorf("across: %v: %v, want %v", c.p, got, c.want)
		}
	}
}

// What RFC 7946 section 3.1.6 asks of a ring, and what no area can be.
func TestNewAreaRefuses(t *testing.T) {
	for want, c := range map[string][][][]float64{
		"no ring":          {},
		"four points":      {{{0, 0}, {1, 0}, {0, 0}}},
		"not closed":       {{{0, 0}, {1, 0}, {1, 1}, {0, 1}}},
		"lacks":            {{{0, 0}, {1}, {1, 1}, {0, 0}}},
		"not a longitude":  {{{0, 0}, {1, 91}, {1, 1}, {0, 0}}},
		"no surface":       {{{0, 0}, {1, 1}, {2, 2}, {0, 0}}},
		"crosses itself":   {{{0, 0}, {1, 1}, {1, 0}, {0, 2}, {0, 0}}},
		"begins outside":   {{{0, 0}, {1, 0}, {1, 1}, {0, 0}}, {{5, 5}, {6, 5}, {6, 6}, {5, 5}}},
		"point 2 is not a": {{{0, 0}, {math.NaN(), 0}, {1, 1}, {0, 0}}},
	} {
		if _, err := NewArea(c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
	if _, err := NewMultiArea(nil); err == nil {
		t.Error("an area of nothing was made")
	}
}

// Each slip is made on purpose to a place inside the field, and has to be the only one that lands inside.
func TestSuspect(t *testing.T) {
	a := mustArea(t, field)
	inside := Point{-1.2265, 52.503}
	s, _ := SystemByCode("EPSG:27700")
	e, n, err := s.FromWGS84(inside)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name     string
		p        Point
		verbatim string
		want     string
	}{
		{"axes swapped", Point{52.503, -1.2265}, "", "swapped-axes"},
		{"minus lost", Point{1.2265, 52.503}, "", "lost-minus-longitude"},
		{"latitude with a minus", Point{-1.2265, -52.503}, "", "lost-minus-latitude"},
		{"both signs", Point{1.2265, -52.503}, "", "lost-minus-both"},
		{"minutes as decimals", Point{-1.1359, 52.3018}, "52.3018, -1.1359", "minutes-as-decimals"},
		{"minutes as decimals, minus lost", Point{1.1359, 52.3018}, "", "minutes-as-decimals"},
		{"minutes and seconds as decimals", Point{-1.13354, 52.30108}, "", "seconds-as-decimals"},
		{"metres in the columns of degrees", Point{math.Round(e), math.Round(n)}, "", "projected-as-degrees"},
		{"metres the other way round", Point{math.Round(n), math.Round(e)}, "", "projected-as-degrees"},
		{"metres in the text", Point{0, 0}, "E 452600 N 289750", "projected-as-degrees"},
		{"inside already", inside, "", ""},
		{"at the edge already", Point{-1.2249, 52.503}, "", ""},
		{"somewhere else", Point{-3, 55}, "", ""},
	} {
		got := Suspect(c.p, a, c.verbatim)
		codes := ""
		for _, g := range got {
			if codes == "" {
				codes = g.Code
			}
			if !near(g.Point, a) || g.Message == "" {
				t.Errorf("%s: %+v does not lie in the area", c.name, g)
			}
		}
		if codes != c.want || len(got) > 1 && outsideBy(got[1].Point, a) == 0 {
			t.Errorf("%s: %v, want %q", c.name, got, c.want)
		}
	}
	if got := Suspect(Point{52.503, -1.2265}, Area{}, ""); got != nil {
		t.Errorf("an empty area gives %v", got)
	}
}

// slow is the plain way to say what the index says: every ring, from its first point on, side by side; longitudes are
// added up on the way. It stands here as it was before there was an index.
func slow(a Area, p Point) (inside bool, metres float64) {
	meridian, prime := wgs84.radii(p.Latitude)
	sy, sx := meridian*radians, prime*radians*math.Max(math.Cos(p.Latitude*radians), 1e-9)
	best := math.Inf(1)
	for _, polygon := range a.polygons {
		within := false
		for _, r := range polygon {
			x0 := math.Remainder(r[0].Longitude-p.Longitude, 360)
			y0 := r[0].Latitude - p.Latitude
			for i := 1; i < len(r); i++ {
				x1 := x0 + r[i].Longitude - r[i-1].Longitude
				y1 := r[i].Latitude - p.Latitude
				if (y0 > 0) != (y1 > 0) && x0-y0*(x1-x0)/(y1-y0) > 0 {
					within = !within
				}
				dx, dy := (x1-x0)*sx, (y1-y0)*sy
				t := 0.0
				if l := dx*dx + dy*dy; l > 0 {
					t = min(1, max(0, -(x0*sx*dx+y0*sy*dy)/l))
				}
				x, y := (x0+t*(x1-x0))*sx, (y0+t*(y1-y0))*sy
				best = min(best, x*x+y*y)
				x0, y0 = x1, y1
			}
		}
		inside = inside || within
	}
	return inside, math.Sqrt(best)
}

// drawn makes an area of the given kind. Wild ones are made past NewArea, for rings that cross themselves are
// refused there and the index must not depend on that.
func drawn(t *testing.T, r *rand.Rand, kind int) Area {
	t.Helper()
	closed := func(x, y, wide, high float64, n int, turn float64) [][]float64 {
		line := make([][]float64, 0, n+1)
		for i := range n {
			at := turn + 2*math.Pi*float64(i)/float64(n)
			k := 1 + 0.2*math.Sin(5*at) + 0.02*math.Sin(float64(n)*at/9)
			line = append(line, []float64{x + wide*k*math.Cos(at), y + high*k*math.Sin(at)})
		}
		return append(line, line[0])
	}
	x, y := r.Float64()*360-180, r.Float64()*150-75
	if kind%2 == 0 {
		x = 180 - r.Float64() // across the antimeridian
	}
	size := math.Pow(10, r.Float64()*4-3)
	if kind%7 < 2 {
		size = math.Pow(10, r.Float64()*5-3) // up to more than half of the way round
	}
	high := min(size/2, (89-math.Abs(y))/1.3)
	var c [][][][]float64
	switch kind % 7 {
	case 0, 1: // one ring
		c = [][][][]float64{{closed(x, y, size, high, 70+r.IntN(900), r.Float64())}}
	case 2: // with holes
		polygon := [][][]float64{closed(x, y, size, high, 300, 0)}
		for i := range 60 {
			polygon = append(polygon, closed(x+size*0.5*math.Cos(float64(i)), y+high*0.5*math.Sin(float64(i)), size/40, high/40,
				4+r.IntN(90), 1))
		}
		c = [][][][]float64{polygon}
	case 3, 4: // several, some over each other
		for range 40 {
			c = append(c, [][][]float64{closed(x+size*r.Float64()*3, y+(high*r.Float64()-high/2)/2, size/2, high/2,
				4+r.IntN(100), r.Float64())})
		}
	case 5: // steps, so that many corners are level with each other
		var line [][]float64
		for i := range 100 {
			line = append(line, []float64{x + size*float64(i)/100, y + high*float64(i/10)/10},
				[]float64{x + size*float64(i+1)/100, y + high*float64(i/10)/10})
		}
		line = append(line, []float64{x + size, y - high/10}, []float64{x, y - high/10})
		c = [][][][]float64{{append(line, line[0])}}
	default: // scattered
		line := make(ring, 200)
		for i := range line {
			line[i] = Point{Longitude: x + size*r.Float64(), Latitude: y + high*r.Float64()}
		}
		a := Area{polygons: [][]ring{{append(line, line[0])}}}
		a.index = newAreaIndex(a.polygons)
		return a
	}
	a, err := NewMultiArea(c)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// askFor draws places that matter to an area: near and far, on its points, level with them, on its sides.
func askFor(r *rand.Rand, a Area, n int) []Point {
	var points []Point
	var all ring
	for _, polygon := range a.polygons {
		for _, line := range polygon {
			all = append(all, line...)
		}
	}
	b := boxOf(all)
	for range n {
		at, other := all[r.IntN(len(all))], all[r.IntN(len(all))]
		next := all[1+r.IntN(len(all)-1)]
		size := math.Pow(10, r.Float64()*8-8)
		points = append(points, at, Point{at.Longitude + size*(r.Float64()-0.5), at.Latitude + size*(r.Float64()-0.5)},
			Point{other.Longitude, at.Latitude},
			Point{(at.Longitude + next.Longitude) / 2, (at.Latitude + next.Latitude) / 2},
			Point{at.Longitude + 360*r.Float64(), at.Latitude},
			Point{b.west + (b.east-b.west)*(r.Float64()*1.2-0.1), b.south + (b.north-b.south)*(r.Float64()*1.2-0.1)},
			Point{r.Float64()*360 - 180, r.Float64()*180 - 90})
	}
	for i := range points {
		points[i].Longitude = math.Remainder(points[i].Longitude, 360)
		points[i].Latitude = max(-90, min(90, points[i].Latitude))
	}
	return points
}

// The index says the same as a look at every side: bit for bit as the loop that small areas have, and
// as the sums that were there before, but for their rounding.
func TestIndexSaysTheSame(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for kind := range 140 {
		a := drawn(t, r, kind)
		if a.index == nil {
			t.Fatalf("area %d has no index", kind)
		}
		plain := Area{polygons: a.polygons}
		for _, p := range askFor(r, a, 12) {
			in, metres, nearest := a.nearest(p)
			in2, metres2, nearest2 := a.plain(p)
			if metres != metres2 || nearest != nearest2 || in != in2 && metres > 1e-9 {
				t.Fatalf("area %d, %v: %v %v %v, one by one %v %v %v", kind, p, in, metres, nearest, in2, metres2, nearest2)
			}
			in3, metres3 := slow(a, p)
			if math.Abs(metres-metres3) > 1e-6+1e-9*metres || in != in3 && metres > 1e-6 {
				t.Fatalf("area %d, %v: %v %v, before %v %v", kind, p, in, metres, in3, metres3)
			}
			for _, radius := range []float64{0, 5, metres - 0.001, metres + 0.001, 1e5} {
				if got, want := a.Contains(p, radius), plain.Contains(p, radius); got != want {
					t.Fatalf("area %d, %v to %v m, %v m from the edge: %v, one by one %v", kind, p, radius, metres, got, want)
				}
			}
		}
	}
}

// What a set does not return says Outside, and what it returns is of the set.
func TestSetLeavesOutOnlyOutside(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var areas []Area
	for kind := range 300 {
		areas = append(areas, drawn(t, r, kind))
		b := boxOf(areas[kind].polygons[0][0])
		if box, err := NewArea([][][]float64{{{b.west, b.south}, {b.east, b.south}, {b.east, b.north}, {b.west, b.north},
			{b.west, b.south}}}); err == nil {
			areas = append(areas, box)
		}
	}
	set := NewAreaSet(areas)
	if set.Len() != len(areas) {
		t.Fatalf("%d of %d areas", set.Len(), len(areas))
	}
	left := 0
	for i := range areas[:heavy.Some(10, 60)] {
		for _, p := range askFor(r, areas[i], 1) {
			d := areas[i].Distance(p)
			for _, radius := range []float64{0, 30, d - 1e-4, d, d * 1.0001, 3e5, 2e7} {
				near := map[*ring]bool{}
				for a := range set.Near(p, radius) {
					near[&a.polygons[0][0]] = true
				}
				left += len(areas) - len(near)
				for _, a := range areas {
					if v := a.Contains(p, radius); v != Outside && !near[&a.polygons[0][0]] {
						t.Fatalf("%v to %v m is left out, and is %v", p, radius, v)
					}
				}
			}
		}
	}
	if left == 0 {
		t.Error("nothing is ever left out")
	}
}

func TestSetOfFew(t *testing.T) {
	for range (AreaSet{}).Near(Point{}, 5) {
		t.Error("an empty set has an area")
	}
	a := mustArea(t, field)
	set := NewAreaSet([]Area{a, {}, a})
	count := func(p Point, radius float64) (n int) {
		for range set.Near(p, radius) {
			n++
		}
		return n
	}
	for _, c := range []struct {
		p      Point
		radius float64
		want   int
	}{
		{Point{-1.2265, 52.503}, 5, 3}, {Point{-3, 52.503}, 5, 1}, // the empty one cannot tell
		{Point{math.NaN(), 1}, 5, 3}, {Point{-3, 52.503}, math.NaN(), 3}, {Point{-3, 52.503}, math.Inf(1), 3},
		{Point{-3, 52.503}, -1, 3},
		{Point{12, 90}, 4_300_000, 3}, {Point{12, 90}, 1000, 1}, // the pole is 4,177 km from the field
	} {
		if got := count(c.p, c.radius); got != c.want {
			t.Errorf("%v to %v m: %d areas, want %d", c.p, c.radius, got, c.want)
		}
	}
	for range set.Near(Point{-1.2265, 52.503}, 5) {
		break
	}
}

// A hole is looked for by the same index; many of them in a long outline are no trouble.
func TestManyHoles(t *testing.T) {
	var outer [][]float64
	for i := range 2000 {
		at := 2 * math.Pi * float64(i) / 2000
		outer = append(outer, []float64{math.Cos(at), math.Sin(at)})
	}
	polygon := [][][]float64{append(outer, outer[0])}
	for i := range 50 {
		for j := range 50 {
			x, y := float64(i)/50-0.5, float64(j)/50-0.5
			polygon = append(polygon, [][]float64{{x, y}, {x + 0.01, y}, {x + 0.01, y + 0.01}, {x, y + 0.01}, {x, y}})
		}
	}
	a := mustArea(t, polygon)
	for _, c := range []struct {
		p    Point
		want Verdict
	}{{Point{0.005, 0.005}, Outside}, {Point{0.015, 0.015}, Inside}, {Point{0.8, 0}, Inside}, {Point{1.1, 0}, Outside},
		{Point{0, 0.005}, CannotTell}} {
		if got := a.Contains(c.p, 5); got != c.want {
			t.Errorf("%v is %v, want %v", c.p, got, c.want)
		}
	}
	if _, err := NewArea(append(polygon, [][]float64{{5, 5}, {6, 5}, {6, 6}, {5, 5}})); err == nil {
		t.Error("a hole outside was taken")
	}
}

// Packing leaves no box out.
func TestTiled(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, n := range []int{0, 1, 15, 16, 17, 300} {
		list := make([]box, n)
		for i := range list {
			x, y := math.Round(r.Float64()*9), r.Float64()
			list[i] = box{x, y, x + 1, y + 1}
		}
		order := tiled(list)
		slices.Sort(order)
		for i := range order {
			if order[i] != i {
				t.Fatalf("%d boxes: %v", n, order)
			}
		}
		tree, found := newTree(list), 0
		tree.visit(func(box) bool { return true }, func(int) { found++ })
		if found != n {
			t.Errorf("%d of %d boxes", found, n)
		}
	}
}
