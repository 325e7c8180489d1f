package validate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var farRules = []*Rule{positionFar, filledDown, enteredTwice}

var positionFar = &Rule{
	Kind: kinds.PositionFar,
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, sheet := range log.sheets() {
			pairs := slices.DeleteFunc(sheet, func(i int) bool { return log.line(i).flags&inPair == 0 })
			north := slices.DeleteFunc(slices.Clone(pairs), func(i int) bool { return log.line(i).flags&northFirst == 0 })
			if len(pairs) < 5 || 5*len(north) > len(pairs) && 5*(len(pairs)-len(north)) > len(pairs) {
				continue
			}
			for _, i := range pairs {
				if (log.line(i).flags&northFirst != 0) == (2*len(north) < len(pairs)) {
					ref := log.ref(i)
					say(ref, axisPointer(ref, 'x'),
						"its two figures stand the other way round than in the other rows; it was read with them exchanged")
				}
			}
		}
		for _, sort := range [...]flag{hasSpot, onPlane} {
			all := newKin(log, sort)
			for i := range log.n {
				if log.line(i).flags&(sort|isRetracted|misplaced) != sort {
					continue
				}
				if words, axis := all.far(i); words != "" {
					ref := log.ref(i)
					say(ref, axisPointer(ref, axis), words)
				}
			}
		}
	},
}

// kin are the finds of a log with an exact position, by ground and by day.
type kin struct {
	log      *Roll
	plane    bool // eastings and northings of a grid that is not known
	all      group
	byGround map[uint32]*group
	byDay    map[int32]*group
	known    map[kinKey]knownHome // homes of large groups
}

// group is finds that may belong together. Of many, an even choice will do.
type group struct {
	count, met int
	finds      []int
}

const enoughKin = 500

// meet counts a find, or, when all were counted, takes it if it is of the choice.
func (g *group) meet(i int, counting bool) {
	if counting {
		g.count++
		return
	}
	if g.met%max(1, g.count/enoughKin) == 0 {
		g.finds = append(g.finds, i)
	}
	g.met++
}

func meetIn[K comparable](groups map[K]*group, key K, i int, counting bool) {
	if groups[key] == nil {
		groups[key] = new(group)
	}
	groups[key].meet(i, counting)
}

// kinKey names a group of finds: all of them, those of a ground or those of a day.
type kinKey struct {
	sort byte
	of   int64
}

type knownHome struct {
	home
	ok bool
}

func newKin(log *Roll, sort flag) *kin {
	k := &kin{log: log, plane: sort == onPlane, byGround: map[uint32]*group{}, byDay: map[int32]*group{},
		known: map[kinKey]knownHome{}}
	for _, counting := range [...]bool{true, false} {
		for i := range log.n {
			l := log.line(i)
			if l.flags&(sort|isRetracted) != sort {
				continue
			}
			k.all.meet(i, counting)
			if l.ground() != 0 {
				meetIn(k.byGround, l.ground(), i, counting)
			}
			if l.day != noDay {
				meetIn(k.byDay, l.day, i, counting)
			}
		}
	}
	return k
}

// ground is the land of a find, by permission and place name; 0: not said.
func (l *line) ground() uint32 { return uint32(l.permission)<<16 | uint32(l.name) }

// home is where finds lie that belong together: their middle, and how far from it three in four of them are.
type home struct {
	x, y  float64
	plane bool // in metres, not in degrees
	reach float64
	finds []int
}

// homeOf returns where some finds lie, but for one of them; false where they do not lie together. In a large group one
// find makes no difference, so that it is asked once.
func (k *kin) homeOf(key kinKey, g *group, but int) (home, bool) {
	const large = 30
	switch {
	case g == nil:
		return home{}, false
	case g.count < large:
		return k.workOut(g.finds, but)
	}
	if _, known := k.known[key]; !known {
		h, ok := k.workOut(g.finds, -1)
		k.known[key] = knownHome{h, ok}
	}
	return k.known[key].home, k.known[key].ok
}

func (k *kin) workOut(finds []int, but int) (h home, ok bool) {
	var xs, ys []float64
	for _, i := range finds {
		if i != but {
			x, y := k.log.line(i).place2()
			xs, ys, h.finds = append(xs, x), append(ys, y), append(h.finds, i)
		}
	}
	if h.plane = k.plane; len(xs) < 3 {
		return h, false
	}
	slices.Sort(xs)
	slices.Sort(ys)
	h.x, h.y = xs[len(xs)/2], ys[len(ys)/2]
	away := make([]float64, len(h.finds))
	for n, i := range h.finds {
		away[n] = h.distance(k.log.line(i))
	}
	slices.Sort(away)
	h.reach = away[len(away)*3/4]
	return h, h.reach <= 20_000
}

// distance is how far a find lies from the middle, in metres; offset the same by axis.
func (h *home) distance(l *line) float64 {
	east, north := h.offset(l.place2())
	return math.Hypot(east, north)
}

func (h *home) offset(x, y float64) (east, north float64) {
	if h.plane {
		return x - h.x, y - h.y
	}
	return math.Remainder(x-h.x, 360) * degreeMetres * math.Cos(h.y*math.Pi/180), (y - h.y) * degreeMetres
}

// far says how the i-th find lies away from the others, and which axis seems to be at fault (x, y, or zero for both);
// empty: it does not.
func (k *kin) far(i int) (words string, axis byte) {
	l := k.log.line(i)
	h, ok := home{}, false
	own := k.byGround[l.ground()]
	whose := "the other finds of this field"
	if h, ok = k.homeOf(kinKey{'g', int64(l.ground())}, own, i); !ok || len(h.finds) < 3 {
		if whose = "the other finds of this day"; l.day != noDay {
			h, ok = k.homeOf(kinKey{'d', int64(l.day)}, k.byDay[l.day], i)
		}
	}
	least := 400.0
	if !ok {
		whose, least = "all the others", 2000
		h, ok = k.homeOf(kinKey{}, &k.all, i)
	}
	if !ok {
		return "", 0
	}
	away := h.distance(l)
	room := max(least, 3*h.reach) + float64(l.radius)
	if away <= room {
		return "", 0
	}
	for _, j := range h.finds { // a field may have two ends
		if k.apart(l, k.log.line(j)) <= room {
			return "", 0
		}
	}
	x, y := l.place2()
	east, north := h.offset(x, y)
	words = fmt.Sprintf("it lies %s from %s", bearing(east, north), whose)
	switch { // one axis at home, the other not
	case math.Abs(north) <= room+0.06*math.Abs(east):
		axis = 'x'
	case math.Abs(east) <= room+0.06*math.Abs(north):
		axis = 'y'
	}
	if slip, of := h.slip(x, y, room); slip != "" {
		return words + "; " + slip, cmp.Or(of, axis)
	}
	if whose == "all the others" && (away < 50_000 || away < 1_000_000 && l.ground() != 0) {
		return "", 0
	}
	return words, axis
}

// apart is the distance between two finds of the same sort.
func (k *kin) apart(a, b *line) float64 {
	if k.plane {
		return math.Hypot(float64(a.x)-float64(b.x), float64(a.y)-float64(b.y))
	}
	return a.metres(b)
}

// place2 returns where a find lies: longitude and latitude, or easting and northing.
func (l *line) place2() (x, y float64) {
	if l.flags&onPlane != 0 {
		return float64(l.x), float64(l.y)
	}
	return float64(l.x) / 1e7, float64(l.y) / 1e7
}

// axisPointer is where a sheet with a column for each axis has the one at fault, else the position.
func axisPointer(ref Ref, axis byte) string {
	pointer := map[byte]string{'x': "/position/longitude", 'y': "/position/latitude"}[axis]
	if layout := ref.Origin.Layout; layout == nil || pointer == "" || !slices.ContainsFunc(layout.Columns,
		func(c find.LayoutColumn) bool { return slices.Contains(c.Pointers, pointer) }) {
		return "/position"
	}
	return pointer
}

// slip says what would bring a spot home: to within some metres of the middle. Empty: nothing that we know.
func (h *home) slip(x, y, room float64) (words string, axis byte) {
	near := func(x, y float64) bool {
		east, north := h.offset(x, y)
		return (h.plane || math.Abs(y) <= 90) && math.Hypot(east, north) <= room
	}
	switch {
	case near(y, x):
		return "with the two figures exchanged it lies among them", 0
	case h.plane:
	case near(-x, y):
		return "with the other sign of the longitude (a lost minus, or E for W) it lies among them", 'x'
	case near(x, -y):
		return "with the other sign of the latitude (a lost minus, or N for S) it lies among them", 'y'
	case near(-x, -y):
		return "with both signs turned it lies among them", 0
	}
	east, north := h.offset(x, y)
	if zones := math.Round((x - h.x) / 6); !h.plane && zones != 0 && math.Abs(x-h.x-6*zones) < 0.3 &&
		math.Abs(north) < max(room, 30_000) {
		return "as if it were written in another zone of the grid", 0
	}
	for _, size := range [...]float64{100_000, 500_000} {
		e, n := math.Round(east/size), math.Round(north/size)
		bent := 0.03*math.Hypot(east, north) + room // a grid is a little turned and stretched
		if (e != 0 || n != 0) && math.Abs(e) <= 9 && math.Abs(n) <= 9 && math.Hypot(east-e*size, north-n*size) < min(bent,
			0.1*size) {
			return "a whole square of the grid away: look at the letters, or at the first figure", 0
		}
	}
	const changed = "as if two figures next to each other had changed places"
	for _, axis := range [...]struct {
		name       byte
		from, home float64
		other      float64
	}{{'x', x, h.x, north}, {'y', y, h.y, east}} {
		if math.Abs(axis.other) > room {
			continue
		}
		leeway := room
		if !h.plane {
			leeway /= degreeMetres
		}
		if figuresChanged(axis.from, axis.home, leeway) {
			return changed, axis.name
		} else if wrong := math.Round(axis.from - axis.home); !h.plane && wrong != 0 &&
			math.Abs(axis.from-axis.home-wrong) <= leeway &&
			(math.Abs(wrong) < 10 || math.Mod(wrong, 10) == 0) {
			return "as if one figure of the degrees were another", axis.name
		}
	}
	along, across := east, north
	if math.Abs(north) > math.Abs(east) {
		along, across = north, east
	}
	if digit := oneFigure(math.Abs(along)); !h.plane && digit <= room/2 && math.Abs(across) <= room &&
		!swapped(math.Abs(along), digit) {
		return "as if one figure were another", 0
	}
	if !h.plane && swapped(math.Abs(along), room) && math.Abs(across) <= max(room, 0.03*math.Abs(along)) {
		return changed, 0
	}
	return "", 0
}

// figuresChanged reports whether a number comes to within a leeway of another if two neighbouring figures of it change
// places.
func figuresChanged(from, home, leeway float64) bool {
	figures := []byte(strconv.FormatFloat(math.Abs(from), 'f', 6, 64))
	for i := 0; i+1 < len(figures); i++ {
		j := i + 1
		if figures[j] == '.' {
			j++
		}
		if figures[i] == '.' || figures[i] == figures[j] {
			continue
		}
		figures[i], figures[j] = figures[j], figures[i]
		n, err := strconv.ParseFloat(string(figures), 64)
		figures[i], figures[j] = figures[j], figures[i]
		if err == nil && math.Abs(n-math.Abs(home)) <= leeway && math.Abs(from-home) > leeway {
			return true
		}
	}
	return false
}

// swapped reports whether a distance is what two neighbouring figures make that change places: 9, 18 ... 81 times a
// power of ten, within what the home leaves open.
func swapped(d, room float64) bool {
	for step := 9.0; step*0.9 <= d+room; step *= 10 {
		if n := math.Round(d / step); n >= 1 && n <= 8 && math.Abs(d-n*step) <= room && room < step/2 {
			return true
		}
	}
	return false
}

// oneFigure returns how far a distance is from what one other figure makes: one to nine times a power of ten.
func oneFigure(d float64) float64 {
	step := math.Pow10(int(math.Floor(math.Log10(max(d, 1)))))
	return min(math.Abs(d-math.Round(d/step)*step), math.Abs(d-10*step))
}

// bearing writes a distance with its direction.
func bearing(east, north float64) string {
	names := [...]string{"east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east"}
	at := int(math.Round(math.Atan2(north, east)/(math.Pi/4))+8) % 8
	d := math.Hypot(east, north)
	if d < 1000 {
		return fmt.Sprintf("%s m %s", distance(d), names[at])
	}
	return fmt.Sprintf("%s km %s", figure(math.Round(d/100)/10), names[at])
}

var filledDown = &Rule{
	Kind: kinds.FilledDown,
	Log: func(c *Case, log *Roll, say SayOf) {
		told := map[int]bool{} // of positions, the last finds of runs: both axes may rise
		east := func(l *line) (float64, bool) { return float64(l.x), l.flags&hasSpot != 0 }
		north := func(l *line) (float64, bool) { return float64(l.y), l.flags&hasSpot != 0 }
		for _, s := range [...]struct {
			pointer string
			least   int
			value   func(l *line) (float64, bool)
			step    func(float64) bool
			other   func(l *line) (float64, bool)
		}{
			{"/position", 5, east, moves, north},
			{"/position", 5, north, moves, east},
			{"/depth", 5, func(l *line) (float64, bool) { return float64(l.depth), l.depth > 0 },
				func(d float64) bool { return d != 0 }, nil},
			{"/weight", 4, weightOfAll, func(d float64) bool { return math.Abs(d) > 1e-3 }, nil},
			{"/found/date", 5, func(l *line) (float64, bool) { return float64(l.day), l.day != noDay },
				func(d float64) bool { return d == 1 }, nil},
		} {
			slack := 0.0
			if s.other != nil {
				slack = roundingStep
			}
			log.runs(s.value, s.step, slack, func(from, to int) {
				least := s.least
				if s.other != nil {
					a, _ := s.value(log.line(from))
					b, _ := s.value(log.line(from + 1))
					switch large := math.Abs(a-b) >= 300; { // 0.00003 degree, some 3 m
					case told[to], !large && !log.even(s.other, from, to):
						return
					case large && !log.even(s.other, from, to):
						least++
					case large && log.ref(to).Origin.Row > 0:
						least--
					}
				}
				if n := to - from + 1; n >= least {
					told[to] = told[to] || s.other != nil
					say(log.ref(to), s.pointer,
						fmt.Sprintf("from number %s to number %s, %d finds, it changes by the same step each time, as a series that "+
							"was pulled down", log.label(from), log.label(to), n))
				}
			})
		}
		log.runs(weightOfAll, func(d float64) bool { return d == 0 }, 0, func(from, to int) {
			l := log.line(to)
			grams, _ := weightOfAll(l)
			names := map[uint32]bool{}
			for i := from; i <= to; i++ {
				names[log.line(i).words] = true
			}
			if step := float64(l.heavy-l.light) / 2 * float64(l.count); len(names) >= 4 && grams >= 10*step-1e-6 &&
				math.Mod(grams, 5) > 1e-3 {
				say(log.ref(to), "/weight",
					fmt.Sprintf("the same weight, %s g, for different things, from number %s to number %s: copied?",
						figure(grams), log.label(from), log.label(to)))
			}
		})
	},
}

// weightOfAll is the weight of all objects of a find, as it was stated.
func weightOfAll(l *line) (float64, bool) {
	return math.Round(float64(l.light+l.heavy)/2*float64(l.count)*1000) / 1000, l.light >= 0
}

// roundingStep is by how much steps of a coordinate may differ that are one and the same, in units of 1e-7 degree.
const roundingStep = 2

// moves reports whether a step of a coordinate is more than rounding.
func moves(d float64) bool { return math.Abs(d) >= 50 } // 0.000005 degree, some half a metre

// even reports whether a figure of finds that follow each other stays, or changes by the same step.
func (r *Roll) even(value func(l *line) (float64, bool), from, to int) bool {
	first, _ := value(r.line(from))
	last, step := first, math.NaN()
	for i := from + 1; i <= to; i++ {
		v, _ := value(r.line(i))
		if d := v - last; i > from+1 && math.Abs(d-step) > max(0.01*math.Abs(step), roundingStep) {
			return false
		}
		last, step = v, v-last
	}
	return true
}

// runs calls visit with the first and the last find of each run of even steps, which may differ by some slack.
func (r *Roll) runs(value func(l *line) (float64, bool), wanted func(step float64) bool, slack float64,
	visit func(from, to int)) {
	from, last, step := 0, math.NaN(), math.NaN()
	for i := 0; i <= r.n; i++ {
		v, ok := math.NaN(), false
		if i < r.n {
			v, ok = value(r.line(i))
		}
		d := v - last
		if ok && math.Abs(d-step) <= max(slack, 0.01*math.Abs(step)) && wanted(step) {
			last = v
			continue
		}
		if i-1 > from && wanted(step) {
			visit(from, i-1)
		}
		if !ok {
			v = math.NaN()
		}
		from, last, step = max(i-1, 0), v, d
	}
}

var enteredTwice = &Rule{
	Kind: kinds.EnteredTwice,
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, group := range log.same(func(l *line) uint64 { return l.twin }) {
			first := log.line(group[0])
			spot, deep := first.flags&hasSpot != 0, first.depth >= 0
			if first.day == noDay || !(spot || deep) {
				continue
			}
			sure := first.heavy >= 0 || spot && deep && first.flags&noted != 0
			for _, i := range group[1:] {
				l := log.line(i)
				if l.id != first.id && (sure || l.flags&first.flags&clocked != 0) {
					say(log.ref(i), "/number",
						log.words(group[0], i, "/number")+" once more: it says the same in everything but the number")
				}
			}
		}
	},
}
