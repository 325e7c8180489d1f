package share

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
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
	point coordinate.Point
	of    secret
}

// spot notes a position of the source in every form in which its figures are looked up.
func (s *secrets) spot(at coordinate.Point, member string) {
	x := s.of("position", member)
	s.points = append(s.points, place{at, x})
	for _, text := range cellCodes(at) {
		if code := s.of("grid-reference", member); !s.places || !s.shows(text) {
			code.code = true
			s.put(text, code)
		}
	}
	if s.places {
		return // its neighbours lie on the same lines: both figures together tell
	}
	for i, v := range [2]float64{math.Abs(at.Latitude), math.Abs(at.Longitude)} {
		text := strconv.FormatFloat(v, 'f', -1, 64)
		if s.allowed(text) || s.allowed("-"+text) {
			continue
		}
		if s.audience == Landowner { // the next field shares the first decimals: there only the whole figure tells
			if len(text) >= 6 {
				s.note(hash('c', text), x)
			}
			continue
		}
		s.decimals(text, v, x)
		if i == 0 && v >= 10 {
			s.note(hash('m', strconv.FormatInt(int64(v*1000), 10)), x)
			s.note(hash('m', strconv.FormatInt(int64(math.Round(v*1000)), 10)), x)
		}
	}
}

// note keeps the first find that a figure is of.
func (s *secrets) note(figure uint64, x secret) {
	if _, known := s.figures[figure]; !known {
		s.figures[figure] = x
	}
}

// decimals notes a figure cut and rounded after four decimals, digits that no centre of a cell has,
// and its first digits without the point.
func (s *secrets) decimals(text string, v float64, x secret) {
	whole, decimals, ok := strings.Cut(text, ".")
	if !ok || len(decimals) < 4 {
		return
	}
	s.note(hash('c', whole+"."+decimals[:4]), x)
	if rounded := strconv.FormatFloat(v, 'f', 4, 64); !strings.HasSuffix(rounded, "0") {
		s.note(hash('c', rounded), x)
	}
	if digits := whole + decimals; len(digits) >= 7 && digits[0] != '0' {
		s.note(hash('p', digits[:min(len(digits), max(7, len(whole)+5))]), x)
	}
}

// figure is the position that a figure is of.
func (s *secrets) figure(sort byte, text string) (secret, bool) {
	x, ok := s.figures[hash(sort, text)]
	return x, ok
}

// digits finds those of positions in decimal degrees, whole and cut, with a point or a comma
// or neither, alone or in pairs, and in degrees with minutes.
func (s *secrets) digits(text string, add func(kind, member string, at, to int)) {
	numbers := numbersOf(text)
	if s.audience == Landowner {
		for _, n := range numbers {
			if x, ok := s.figure('c', n.text()); ok {
				s.tell(x, n.at, n.to, add)
			}
		}
		return
	}
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
				if x, ok := s.figure('c', n.whole[cut:]+"."+n.decimals[:4]); ok {
					s.tell(x, n.at, n.to, add)
					break
				}
			}
		}
		if len(n.decimals) >= 3 && len(n.whole) <= 3 && !s.many() && !s.allowed(n.text()) && !s.allowed("-"+n.text()) {
			if x, ok := s.figure('m', strings.TrimLeft(n.whole, "0")+n.decimals[:3]); ok {
				s.tell(x, n.at, n.to, add) // five figures that are those of a latitude
			}
		}
	}
	s.pairs(numbers, add)
}

// packedFigure finds a figure of which the point was left out.
func (s *secrets) packedFigure(text string, n numeral, add func(kind, member string, at, to int)) {
	if len(n.whole) < 7 || n.at > 0 && hexLetter(text[n.at-1]) || n.to < len(text) && hexLetter(text[n.to]) {
		return // within a sum or an id
	}
	for size := 7; size <= min(8, len(n.whole)); size++ {
		if x, ok := s.figure('p', n.whole[:size]); ok {
			s.tell(x, n.at, n.to, add)
			return
		}
	}
}

func hexLetter(c byte) bool { return c >= 'a' && c <= 'f' || c >= 'A' && c <= 'F' || c == '-' }

// pairs compares two figures that stand together with the positions: two of degrees with two
// decimals or more, and two of metres with the positions in every grid that has them, whole or without what
// the letters of a reference stand for.
func (s *secrets) pairs(numbers []numeral, add func(kind, member string, at, to int)) {
	var degree, metre numeral
	for _, n := range numbers {
		if s.stopped() {
			return
		}
		size := len(n.whole)
		if n.decimals == "" && size >= 4 && size <= 16 {
			if half := size / 2; size >= 8 && size%2 == 0 {
				s.metrePair(n.whole[:half], n.whole[half:], n.at, n.to, add)
			}
			if gap := n.at - metre.to; metre.to > 0 && (gap <= 8 || gap < pairGap && size > 4) {
				s.metrePair(metre.whole, n.whole, metre.at, n.to, add)
			}
			metre = n
		}
		if (len(n.decimals) >= 3 || len(n.decimals) == 2 && !s.many()) && size <= 3 {
			if degree.to > 0 && n.at-degree.to < pairGap && !(s.allowed(degree.signed()) && s.allowed(n.signed())) {
				s.degreePair(degree, n, add)
			}
			degree = n
		}
	}
}

// many reports whether a source has so many places that two figures stand for one of them by chance: then only
// finer figures are compared. What words may tell is withheld by its form before.
func (s *secrets) many() bool { return len(s.points) > 2000 }

// pairGap is how far, in bytes, two figures of one position may stand apart: two cells of a table
// with what is around them.
const pairGap = 60

func abs(v int64) int64 { return max(v, -v) }

// spotSide is what counts as one spot, in degrees, when figures are compared.
const spotSide = 0.0005

func (s *secrets) degreePair(a, b numeral, add func(kind, member string, at, to int)) {
	x, y := a.value(), b.value()
	if x > 180 || y > 180 {
		return
	}
	slack := math.Pow10(-min(len(a.decimals), len(b.decimals))) + spotSide
	for _, p := range [4][2]float64{{x, y}, {y, x}, {-x, y}, {-y, x}} {
		for _, spot := range within2(s.points, p[0]-slack, p[0]+slack) {
			if math.Abs(math.Abs(spot.point.Longitude)-p[1]) < slack && !s.own(p, spot.point) {
				s.tell(spot.of, a.at, b.to, add)
				return
			}
		}
	}
}

// own reports whether a spot that the copy shows lies as near to two figures, a latitude and the size of a longitude,
// as one that it keeps back.
func (s *secrets) own(p [2]float64, secret coordinate.Point) bool {
	if !s.places {
		return false
	}
	at := coordinate.Point{Latitude: p[0], Longitude: math.Copysign(p[1], secret.Longitude)}
	_, shown := nearest(s.shownAt, at, math.Nextafter(coordinate.Distance(at, secret), math.Inf(1)))
	return shown
}

// within2 are the places between two latitudes.
func within2(list []place, from, to float64) []place {
	at := func(v float64) int {
		i, _ := slices.BinarySearchFunc(list, v, func(p place, v float64) int { return cmp.Compare(p.point.Latitude, v) })
		return i
	}
	return list[at(from):at(to)]
}

// gridded is a position in the metres of one grid.
type gridded struct {
	east, north int32
	of          int32 // of secrets.points
}

// bucket is the square of a kilometre within its square of 100 km.
func (g gridded) bucket() int { return int(g.east/1000%100)*100 + int(g.north/1000%100) }

// griddedOf gives one position of each spot in metres of every grid that has it, by buckets.
func griddedOf(points []place) (grids []gridded) {
	var last coordinate.Point
	for i, p := range points {
		if i > 0 && math.Abs(p.point.Latitude-last.Latitude) < spotSide/2 &&
			math.Abs(p.point.Longitude-last.Longitude) < spotSide/2 {
			continue
		}
		last = p.point
		for sys := range coordinate.Systems() {
			if sys.Geographic() || !sys.Extent.Contains(p.point, 1) {
				continue // nobody writes a place in the grid of another country
			}
			x, y, err := sys.FromWGS84(p.point)
			if err == nil && x >= 1000 && y >= 1000 && x < math.MaxInt32 && y < math.MaxInt32 {
				grids = append(grids, gridded{int32(x), int32(y), int32(i)})
			}
		}
	}
	slices.SortFunc(grids, func(a, b gridded) int { return cmp.Compare(a.bucket(), b.bucket()) })
	return grids
}

// metrePair compares two whole figures that stand together with eastings and northings, in either order: of
// four figures or five those of a reference that has lost its letters, of more those of the whole grid.
func (s *secrets) metrePair(a, b string, at, to int, add func(kind, member string, at, to int)) {
	short := len(a) <= 5 && len(b) <= 5
	if len(a) > 8 || len(b) > 8 || short && len(a) != len(b) {
		return
	}
	x, xerr := strconv.ParseInt(a, 10, 64)
	y, yerr := strconv.ParseInt(b, 10, 64)
	if xerr != nil || yerr != nil {
		return
	}
	near, unit := int64(500), int64(1)
	if short {
		if near = 50; len(a) == 4 {
			unit = 10
		}
	}
	if s.many() {
		if near /= 10; unit > 1 {
			return
		}
	}
	x, y = x*unit+unit/2, y*unit+unit/2 // the middle of the square
	for _, p := range [2][2]int64{{x, y}, {y, x}} {
		g, far := gridAt(s.grids, p[0], p[1], near, short)
		if _, shown := gridAt(s.shownGrids, p[0], p[1], near, short); far <= near && far < shown {
			of := s.points[g.of].of
			add("grid-reference", s.memberOf(of), at, to)
			return
		}
	}
}

// gridAt finds the position nearest to some metres, of the whole grid or of its square of 100 km, and how far it is
// along the longer axis: more than near where there is none.
func gridAt(grids []gridded, east, north, near int64, short bool) (best gridded, far int64) {
	far = near + 1
	for i := int64(-1); i <= 1; i++ {
		for j := int64(-1); j <= 1; j++ {
			want := int((east/1000+i+100)%100)*100 + int((north/1000+j+100)%100)
			at, _ := slices.BinarySearchFunc(grids, want, func(g gridded, v int) int { return cmp.Compare(g.bucket(), v) })
			for ; at < len(grids) && grids[at].bucket() == want; at++ {
				g := grids[at]
				e, n := int64(g.east), int64(g.north)
				if short {
					e, n = e%100_000, n%100_000
				}
				if d := max(abs(e-east), abs(n-north)); d < far {
					best, far = g, d
				}
			}
		}
	}
	return best, far
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
