package coordinate

import (
	"math"
	"slices"
)

// box is a rectangle in degrees.
type box struct{ west, south, east, north float64 }

var nowhere = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

func (b box) with(o box) box {
	return box{min(b.west, o.west), min(b.south, o.south), max(b.east, o.east), max(b.north, o.north)}
}

// boxOf covers points of a line.
func boxOf(line ring) box {
	b := nowhere
	for _, p := range line {
		b = b.with(box{p.Longitude, p.Latitude, p.Longitude, p.Latitude})
	}
	return b
}

// slack is what boxes are made larger by where they are compared, in degrees (a micrometre), so that no rounding keeps
// out what belongs in.
const slack = 1e-11

// apart returns how many degrees of longitude and of latitude lie between a point and a box at the least,
// whatever turns about the Earth either was given.
func (b box) apart(p Point) (x, y float64) {
	turn := p.Longitude - (b.west+b.east)/2
	turn -= 360 * math.Round(turn/360)
	x = math.Abs(turn) - (b.east-b.west)/2
	return max(0, x-slack), max(0, b.south-p.Latitude-slack, p.Latitude-b.north-slack)
}

// fan is how many boxes of one level of a tree the next level covers with one.
const fan = 16

// tree is a tree over boxes of which neighbours in the list lie near each other. The first level is the list.
type tree [][]box

func newTree(list []box) tree {
	t := tree{list}
	for len(list) > 1 {
		above := make([]box, (len(list)+fan-1)/fan)
		for i := range above {
			above[i] = nowhere
			for _, b := range list[i*fan : min((i+1)*fan, len(list))] {
				above[i] = above[i].with(b)
			}
		}
		list, t = above, append(t, above)
	}
	return t
}

// visit goes down to the boxes of the list that enter lets pass, and those above them.
func (t tree) visit(enter func(box) bool, found func(i int)) {
	if len(t[0]) > 0 {
		t.down(len(t)-1, 0, enter, found)
	}
}

func (t tree) down(level, i int, enter func(box) bool, found func(i int)) {
	switch {
	case !enter(t[level][i]):
	case level == 0:
		found(i)
	default:
		for j := i * fan; j < min((i+1)*fan, len(t[level-1])); j++ {
			t.down(level-1, j, enter, found)
		}
	}
}

// closest goes down to the boxes of the list, the nearer ones first, as long as they can lie nearer than what was
// found.
func (t tree) closest(f *frame, bound func(box) float64, found func(i int)) {
	if len(t[0]) > 0 {
		t.nearer(len(t)-1, 0, f, bound, found)
	}
}

func (t tree) nearer(level, i int, f *frame, bound func(box) float64, found func(i int)) {
	if level == 0 {
		found(i)
		return
	}
	var order [fan]struct {
		at    int
		bound float64
	}
	n := 0
	for j := i * fan; j < min((i+1)*fan, len(t[level-1])); j++ {
		d := bound(t[level-1][j])
		k := n
		for ; k > 0 && order[k-1].bound > d; k-- {
			order[k] = order[k-1]
		}
		order[k].at, order[k].bound = j, d
		n++
	}
	for _, next := range order[:n] {
		if next.bound > f.best {
			return
		}
		t.nearer(level-1, next.at, f, bound, found)
	}
}

// tiled returns the order of boxes in which neighbours lie near each other: strips by longitude, each by latitude
// (sort-tile-recursive packing of R-trees).
func tiled(list []box) []int {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	by := func(of func(box) float64) func(a, b int) int {
		return func(a, b int) int {
			switch x, y := of(list[a]), of(list[b]); {
			case x < y:
				return -1
			case x > y:
				return 1
			}
			return a - b
		}
	}
	slices.SortFunc(order, by(func(b box) float64 { return b.west + b.east }))
	strip := fan * int(math.Ceil(math.Sqrt(float64(len(list))/fan)))
	for at := 0; at < len(order); at += strip {
		slices.SortFunc(order[at:min(at+strip, len(order))], by(func(b box) float64 { return b.south + b.north }))
	}
	return order
}

const (
	fewSides = 64 // below which a look at every side is quicker
	group    = 16 // sides of a ring that have one box
)

// areaIndex finds the sides of an area that matter for a point. It answers as a look at every side does.
type areaIndex struct {
	runs []stretch
	tree tree // over the runs
}

// stretch is some sides of a ring that follow each other.
type stretch struct {
	line     ring
	polygon  int
	number   int // of the first side of the ring, counted over the area
	from, to int
}

// newAreaIndex returns nil where there are few sides.
func newAreaIndex(polygons [][]ring) *areaIndex {
	var runs []stretch
	var list []box
	number := 0
	for i, polygon := range polygons {
		for _, r := range polygon {
			for at := 0; at < len(r)-1; at += group {
				to := min(at+group, len(r)-1)
				runs, list = append(runs, stretch{r, i, number, at, to}), append(list, boxOf(r[at:to+1]))
			}
			number += len(r) - 1
		}
	}
	if number < fewSides {
		return nil
	}
	x := &areaIndex{runs: make([]stretch, len(runs))}
	boxes := make([]box, len(runs))
	for to, from := range tiled(list) {
		x.runs[to], boxes[to] = runs[from], list[from]
	}
	x.tree = newTree(boxes)
	return x
}

// nearest is Area.nearest.
func (x *areaIndex) nearest(p Point) (inside bool, metres float64, nearest Point) {
	f := newFrame(p)
	x.tree.closest(&f, func(b box) float64 {
		dx, dy := b.apart(p)
		return dx*f.sx*dx*f.sx + dy*f.sy*dy*f.sy
	}, func(i int) {
		r := &x.runs[i]
		f.sides(r.line, r.line.base(p), r.from, r.to, r.number)
	})
	within := map[int]bool{} // by polygon: a ray eastwards from p crosses an odd number of its sides
	x.tree.visit(func(b box) bool { return b.south <= p.Latitude && p.Latitude <= b.north }, func(i int) {
		if r := &x.runs[i]; r.line.crossed(p, r.line.base(p), r.from, r.to) {
			within[r.polygon] = !within[r.polygon]
		}
	})
	for _, odd := range within {
		inside = inside || odd
	}
	return inside, math.Sqrt(f.best), f.nearest
}

// crossed reports whether a ray eastwards from p crosses an odd number of some sides.
func (r ring) crossed(p Point, base float64, from, to int) (odd bool) {
	y0 := r[from].Latitude - p.Latitude
	for i := from + 1; i <= to; i++ {
		y1 := r[i].Latitude - p.Latitude
		if (y0 > 0) != (y1 > 0) {
			x0, x1 := base+(r[i-1].Longitude-r[0].Longitude), base+(r[i].Longitude-r[0].Longitude)
			if x0-y0*(x1-x0)/(y1-y0) > 0 {
				odd = !odd
			}
		}
		y0 = y1
	}
	return odd
}
