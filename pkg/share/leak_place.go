package share

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
)

// How close, in metres, a spelling must lie to a position of the source to be its leak: within the
// smallest cell that the public may know; for a landowner, whose own field lies beside the next
// one, on the spot.
const (
	nearPublic = 2500
	nearOwner  = 100
)

// place is a position of the source.
type place struct {
	point  coordinate.Point
	member string
}

func appendPlace(list []place, member string, p *find.Position) []place {
	if p == nil || !p.Latitude.Known() || !p.Longitude.Known() {
		return list
	}
	return append(list, place{coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}, member})
}

// figures are the figures of positions as they may stand in a text.
type figures struct {
	cut     map[string]string    // figures with four decimals, cut and rounded, or whole for a landowner: to member
	packed  map[string]string    // the first digits without their point: to member
	coarse  [2]map[int64][]int32 // latitudes and longitudes in thousandths of a degree, cut and rounded: to spots
	spots   []string             // members of what lies within a thousandth of a degree
	angles  []angle              // sorted by value
	whole   bool                 // only whole figures tell
	seen    map[[2]int64]bool
	allowed map[string]bool
}

type angle struct {
	value  float64
	member string
}

// figuresOf makes the tables in which the figures of a text are looked up.
func figuresOf(positions []place, allowed map[string]bool, a Audience) figures {
	f := figures{cut: map[string]string{}, packed: map[string]string{}, coarse: [2]map[int64][]int32{{}, {}},
		seen: map[[2]int64]bool{}, allowed: allowed, whole: a == Landowner}
	for _, p := range positions {
		lat, lon := math.Abs(p.point.Latitude), math.Abs(p.point.Longitude)
		spot := [2]int64{int64(lat * 1000), int64(lon * 1000)}
		fresh := !f.seen[spot]
		f.seen[spot] = true
		if fresh {
			f.spots = append(f.spots, p.member)
		}
		for i, v := range [2]float64{lat, lon} {
			text := strconv.FormatFloat(v, 'f', -1, 64)
			if f.whole {
				// The next field shares the first decimals: there only the whole figure tells.
				if len(text) >= 6 && !allowed[text] && !allowed["-"+text] {
					f.cut[text] = p.member
				}
				continue
			}
			if allowed[text] || allowed["-"+text] {
				continue
			}
			f.decimals(text, v, p.member)
			if fresh {
				f.angles = append(f.angles, angle{v, p.member})
				n := int32(len(f.spots) - 1)
				for _, milli := range []int64{int64(v * 1000), int64(math.Round(v * 1000))} {
					if list := f.coarse[i][milli]; len(list) == 0 || list[len(list)-1] != n {
						f.coarse[i][milli] = append(list, n)
					}
				}
			}
		}
	}
	slices.SortFunc(f.angles, func(a, b angle) int { return int(math.Copysign(1, a.value-b.value)) })
	return f
}

// decimals notes a figure cut and rounded after four decimals, digits that no centre of a cell has,
// and its first digits without the point.
func (f *figures) decimals(text string, v float64, member string) {
	whole, decimals, ok := strings.Cut(text, ".")
	if !ok || len(decimals) < 4 {
		return
	}
	f.cut[whole+"."+decimals[:4]] = member
	if rounded := strconv.FormatFloat(v, 'f', 4, 64); !strings.HasSuffix(rounded, "0") {
		f.cut[rounded] = member
	}
	if digits := whole + decimals; len(digits) >= 7 && digits[0] != '0' {
		f.packed[digits[:min(len(digits), max(7, len(whole)+5))]] = member
	}
}

// digits finds those of positions in decimal degrees, whole and cut, with a point or a comma
// or neither, alone or in pairs, and in degrees with minutes.
func (s *secrets) digits(text string, add func(kind, member string, at, to int)) {
	f := &s.figures
	numbers := numbersOf(text)
	if f.whole {
		for _, n := range numbers {
			if member, ok := f.cut[n.text()]; ok {
				add("position", member, n.at, n.to)
			}
		}
		return
	}
	var hits [2]map[int32]numeral // spots of which a latitude, and a longitude, was seen
	hits[0], hits[1] = map[int32]numeral{}, map[int32]numeral{}
	for _, n := range numbers {
		if s.stopped() {
			return
		}
		if n.decimals == "" {
			s.packedFigure(text, n, add)
			continue
		}
		if len(n.decimals) >= 4 {
			for cut := max(0, len(n.whole)-3); cut < len(n.whole); cut++ { // also within a longer figure
				if member, ok := f.cut[n.whole[cut:]+"."+n.decimals[:4]]; ok {
					add("position", member, n.at, n.to)
					break
				}
			}
		}
		if len(n.decimals) >= 3 && len(n.whole) <= 3 && !f.allowed[n.text()] && !f.allowed["-"+n.text()] {
			milli, _ := strconv.ParseInt(n.whole+n.decimals[:3], 10, 64)
			if list := f.coarse[0][milli]; len(n.whole) >= 2 && len(list) > 0 {
				add("position", f.spots[list[0]], n.at, n.to) // five figures that are those of a latitude
			}
			for i := range hits {
				for _, spot := range f.coarse[i][milli] {
					if _, seen := hits[i][spot]; !seen {
						hits[i][spot] = n
					}
				}
			}
		}
	}
	told := map[int]bool{}
	for spot := range f.spots {
		n, one := hits[0][int32(spot)]
		m, other := hits[1][int32(spot)]
		if first := min(n.at, m.at); one && other && m.at != n.at && !told[first] {
			told[first] = true
			add("position", f.spots[spot], first, min(n.to, m.to))
		}
	}
	s.pairs(numbers, add)
	s.marked(text, add)
}

// packedFigure finds a figure of which the point was left out.
func (s *secrets) packedFigure(text string, n numeral, add func(kind, member string, at, to int)) {
	if len(n.whole) < 7 || n.at > 0 && hexLetter(text[n.at-1]) || n.to < len(text) && hexLetter(text[n.to]) {
		return // within a sum or an id
	}
	for _, size := range []int{7, 8} {
		if len(n.whole) < size {
			return
		}
		if member, ok := s.figures.packed[n.whole[:size]]; ok {
			add("position", member, n.at, n.to)
			return
		}
	}
}

func hexLetter(c byte) bool { return c >= 'a' && c <= 'f' || c >= 'A' && c <= 'F' || c == '-' }

// pairs compares two figures that stand together with the positions: two of degrees with two
// decimals or more, and two of metres with the positions in every grid that has them.
func (s *secrets) pairs(numbers []numeral, add func(kind, member string, at, to int)) {
	var degree, metre, square numeral
	for _, n := range numbers {
		if s.stopped() {
			return
		}
		if size := len(n.whole); n.decimals == "" && size >= 4 && size <= 10 {
			if half := size / 2; size >= 8 && size%2 == 0 {
				s.squarePair(n.whole[:half], n.whole[half:], n.at, n.to, add)
			}
			if len(square.whole) == size && n.at-square.to <= 8 {
				s.squarePair(square.whole, n.whole, square.at, n.to, add)
			}
			square = n
		}
		switch {
		case len(n.decimals) >= 2 && len(n.whole) <= 3:
			if degree.to > 0 && n.at-degree.to < pairGap && !(s.allowed[degree.signed()] && s.allowed[n.signed()]) {
				s.degreePair(degree, n, add)
			}
			degree = n
		case len(n.whole) >= 5 && len(n.whole) <= 8:
			if metre.to > 0 && n.at-metre.to < pairGap {
				s.metrePair(metre, n, add)
			}
			metre = n
		}
	}
}

// squarePair compares the figures of a grid reference that has lost its letters with the metres of every grid
// within its square of 100 km, in either order. Four figures stand for 10 m, five for 1 m.
func (s *secrets) squarePair(a, b string, at, to int, add func(kind, member string, at, to int)) {
	if len(a) < 4 || len(a) > 5 {
		return
	}
	unit := int64(1)
	if len(a) == 4 {
		unit = 10
	}
	x, xerr := strconv.ParseInt(a, 10, 64)
	y, yerr := strconv.ParseInt(b, 10, 64)
	if xerr != nil || yerr != nil {
		return
	}
	const near = 50 // metres
	for _, g := range s.grids {
		east, north := g.east%100_000, g.north%100_000
		for _, p := range [2][2]int64{{x, y}, {y, x}} {
			if abs(p[0]*unit-east) <= near && abs(p[1]*unit-north) <= near {
				add("grid-reference", g.member, at, to)
				return
			}
		}
	}
}

func abs(v int64) int64 { return max(v, -v) }

// pairGap is how far, in bytes, two figures of one position may stand apart: two cells of a table
// with what is around them.
const pairGap = 60

func (s *secrets) degreePair(a, b numeral, add func(kind, member string, at, to int)) {
	x, y := a.value(), b.value()
	if x > 180 || y > 180 {
		return
	}
	step := math.Pow10(-min(len(a.decimals), len(b.decimals)))
	for _, p := range s.spots {
		lat, lon := math.Abs(p.point.Latitude), math.Abs(p.point.Longitude)
		slack := step + spotSide
		if math.Abs(lat-x) < slack && math.Abs(lon-y) < slack || math.Abs(lat-y) < slack && math.Abs(lon-x) < slack {
			add("position", p.member, a.at, b.to)
			return
		}
	}
}

// gridded is a position in the metres of one grid.
type gridded struct {
	east, north int64
	member      string
}

// griddedOf gives positions in metres of every grid that has them.
func griddedOf(spots []place) (out []gridded) {
	for _, p := range spots {
		for sys := range coordinate.Systems() {
			x, y, err := sys.FromWGS84(p.point)
			if err != nil || x < 1000 || y < 1000 {
				continue
			}
			out = append(out, gridded{int64(x), int64(y), p.member})
		}
	}
	slices.SortFunc(out, func(a, b gridded) int { return cmp.Compare(a.east, b.east) })
	return out
}

// metrePair compares two whole figures that stand together with eastings and northings, in either order.
func (s *secrets) metrePair(a, b numeral, add func(kind, member string, at, to int)) {
	const gap = 500
	x, xerr := strconv.ParseInt(a.whole, 10, 64)
	y, yerr := strconv.ParseInt(b.whole, 10, 64)
	if xerr != nil || yerr != nil {
		return
	}
	for _, pair := range [2][2]int64{{x, y}, {y, x}} {
		i, _ := slices.BinarySearchFunc(s.grids, pair[0]-gap, func(g gridded, v int64) int { return cmp.Compare(g.east, v) })
		for ; i < len(s.grids) && s.grids[i].east <= pair[0]+gap; i++ {
			if g := s.grids[i]; g.north >= pair[1]-gap && g.north <= pair[1]+gap {
				add("grid-reference", g.member, a.at, b.to)
				return
			}
		}
	}
}

// degreeMinute is an angle with marks: 52°30.5', 52°30'23".
var degreeMinute = later(`(\d{1,3})\s?[°º˚]\s?(\d{1,2})(?:[.,](\d+))?\s?['′’´]?(?:\s?(\d{1,2})(?:[.,](\d+))?\s?(?:["″”]|'')?)?`)

// marked compares angles with marks, also a single one, with those of the positions.
func (s *secrets) marked(text string, add func(kind, member string, at, to int)) {
	if !strings.ContainsAny(text, "°º˚") {
		return
	}
	for _, m := range degreeMinute().FindAllStringSubmatchIndex(text, -1) {
		part := func(i int) string {
			if m[2*i] < 0 {
				return ""
			}
			return text[m[2*i]:m[2*i+1]]
		}
		decimal := func(whole, decimals string) float64 {
			v, err := strconv.ParseFloat(whole+"."+decimals+"0", 64)
			if err != nil {
				return 0
			}
			return v
		}
		value, step := decimal(part(1), "")+decimal(part(2), part(3))/60, math.Pow10(-len(part(3)))/60
		if part(4) != "" {
			value, step = value+decimal(part(4), part(5))/3600, math.Pow10(-len(part(5)))/3600
		}
		if step > 0.1/60+1e-9 {
			continue // coarser than the smallest cell
		}
		slack := step + spotSide
		i, _ := slices.BinarySearchFunc(s.figures.angles, value-slack,
			func(a angle, v float64) int { return int(math.Copysign(1, a.value-v)) })
		if i < len(s.figures.angles) && s.figures.angles[i].value <= value+slack {
			add("position", s.figures.angles[i].member, m[0], m[1])
		}
	}
}

// numeral is a figure as it stands in a text.
type numeral struct {
	at, to          int
	minus           bool
	whole, decimals string
}

func (n numeral) text() string {
	if n.decimals == "" {
		return n.whole
	}
	return n.whole + "." + n.decimals
}

func (n numeral) signed() string {
	if n.minus {
		return "-" + n.text()
	}
	return n.text()
}

func (n numeral) value() float64 {
	v, err := strconv.ParseFloat(n.text(), 64)
	if err != nil {
		return math.Inf(1)
	}
	return v
}

// numbersOf returns the figures of a text. A comma before digits is read as a point where nothing
// but digits stands before it; a blank within the decimals is passed over.
func numbersOf(text string) []numeral {
	var out []numeral
	for i := 0; i < len(text); {
		if text[i] < '0' || text[i] > '9' {
			i++
			continue
		}
		n := numeral{at: i, minus: i > 0 && text[i-1] == '-'}
		for i < len(text) && text[i] >= '0' && text[i] <= '9' {
			i++
		}
		n.whole, n.to = text[n.at:i], i
		if i+1 < len(text) && (text[i] == '.' || text[i] == ',') {
			decimals, end := decimalsAt(text, i+1)
			if decimals != "" && !(text[i] == ',' && len(decimals) < 3) {
				n.decimals, n.to, i = decimals, end, end
			}
		}
		out = append(out, n)
	}
	return out
}

// decimalsAt reads digits, of which the first four may have single blanks between them.
func decimalsAt(text string, at int) (digits string, end int) {
	end = at
	for end < len(text) && text[end] >= '0' && text[end] <= '9' {
		end++
	}
	digits = text[at:end]
	for len(digits) < 4 && end+1 < len(text) && text[end] == ' ' && text[end+1] >= '0' && text[end+1] <= '9' &&
		digits != "" {
		from := end + 1
		end = from
		for end < len(text) && text[end] >= '0' && text[end] <= '9' {
			end++
		}
		if end < len(text) && (text[end] == '.' || text[end] == ',') {
			return digits, from - 1 // the next figure
		}
		digits += text[from:end]
	}
	return digits, end
}
