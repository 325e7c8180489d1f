package coordinate

import (
	"math"
)

// The notes and messages about degrees.
const (
	noteOrder     = "read as latitude first, then longitude, because nothing says which is which"
	helpDegrees   = "write latitude and longitude, for instance as decimal degrees with a comma and a blank between"
	lackLatitude  = "latitude lies between 90 south and 90 north"
	lackLongitude = "longitude lies between 180 west and 180 east"
)

// quickDegrees reads the commonest text, two plain decimal numbers with a comma or a blank between, without taking it
// apart; anything out of the ordinary it leaves to the long way.
func quickDegrees(s string, o Options) (Reading, bool) {
	if o.System != "" && o.System != systems()[0].Code || len(s) > 48 {
		return Reading{}, false
	}
	lat, n := scanSigned(s)
	if n == 0 || n >= len(s) || lat.decimals == 0 {
		return Reading{}, false
	}
	i := n
	if s[i] == ',' {
		i++
	} else if s[i] != ' ' {
		return Reading{}, false
	}
	if i < len(s) && s[i] == ' ' {
		i++
	}
	lon, n := scanSigned(s[i:])
	if n == 0 || i+n != len(s) || lon.decimals == 0 || lat.value > 90 || lon.value > 180 {
		return Reading{}, false
	}
	w := writing{o: o}
	w.notes = []Note{{"order-assumed", noteOrder}}
	return w.degreesReading(lat.signed(), lon.signed(), lat.step(), lon.step(), NotationDecimalDegrees), true
}

// degreesReading makes a reading of degrees that are in range.
func (w *writing) degreesReading(lat, lon, latStep, lonStep float64, notation string) Reading {
	s := w.datum()
	p := Point{Longitude: lon, Latitude: lat}
	if s.shift != nil {
		if q, err := s.ToWGS84(lon, lat); err == nil {
			p = q
		}
		if !s.Extent.Contains(p, 0) {
			w.note("outside-area", "the place lies outside the area of use of the system that was named")
		}
	}
	r := Reading{Point: p.Round(), Basis: BasisComputed, System: s.Code, Notation: notation}
	if latStep < 0.9e-7 || lonStep < 0.9e-7 {
		w.note("decimals-beyond-use", "more decimals were given than a centimetre needs")
	}
	if notation == NotationDecimalDegrees && (latStep > 1.5*lonStep || lonStep > 1.5*latStep) && math.Max(latStep,
		lonStep) > 2e-6 {
		w.note("decimals-differ", "one of the two has fewer decimals, and the coarser one counts; a spreadsheet may have "+
			"dropped a zero at the end")
	}
	w.budget(&r, "rounding", cellHalfDiagonal(lat, latStep, lonStep), s)
	r.Notes = w.notes
	return r
}

// datum is the geographic system of degrees: the one named, the one of the same datum as a grid that was named, the
// one asked for, or WGS 84.
func (w *writing) datum() *System {
	s := w.system
	if s == nil && w.stated != nil && w.stated.Geographic() {
		s = w.stated
	}
	if s == nil {
		return systems()[0]
	}
	if s.Geographic() {
		return s
	}
	for _, g := range systems() {
		if g.Geographic() && g.Datum == s.Datum {
			return g
		}
	}
	if s.Shift.Code == "EPSG:1149" {
		return byNumber()[4258]
	}
	return systems()[0]
}

// readDegrees reads latitude and longitude from tokens.
//
// Grammar: degree-pair.
func readDegrees(w *writing, text string, ts []token) (Reading, *Error) {
	var g angles
	if err := g.gather(text, ts, w.o.Language); err != nil {
		return Reading{}, err
	}
	if g.n == 1 {
		if err := g.halve(text); err != nil {
			return Reading{}, err
		}
	}
	if g.n == 3 && g.list[2].n == 1 && g.list[2].letter == 0 && g.list[0].parts[0].decimals > 0 &&
		g.list[1].parts[0].decimals > 0 {
		w.note("height-ignored", "a third number was taken for a height and is not kept")
		g.n = 2
	}
	switch {
	case g.n < 2:
		return Reading{}, fault(text, "position-incomplete",
			"a position needs a latitude and a longitude, and only one of them is here", helpDegrees)
	case g.n > 2:
		return Reading{}, fault(text, "unread", "there are more numbers here than a latitude and a longitude need",
			helpDegrees)
	}
	return w.pair(text, &g.list[0], &g.list[1], true)
}

// halve parts one run of two, four or six numbers into latitude and longitude.
func (g *angles) halve(s string) *Error {
	a := g.list[0]
	if a.n%2 != 0 || a.marked() {
		return nil
	}
	half := a.n / 2
	for i := 0; i < a.n; i++ {
		if i != half-1 && i != a.n-1 && a.parts[i].decimals > 0 {
			return nil
		}
	}
	if a.n == 2 && a.parts[0].decimals == 0 && a.parts[1].decimals > 0 && a.parts[1].value < 60 {
		return fault(s, "position-incomplete",
			"this may be one angle in degrees and minutes, or two in whole and decimal degrees",
			"put a comma and a blank between latitude and longitude, or a degree sign after the degrees")
	}
	first, second := a, a
	first.n, second.n = half, half
	copy(second.parts[:], a.parts[half:a.n])
	second.sign = 0
	if a.closed { // the letter stood at the end
		first.letter = 0
	} else {
		second.letter = 0
	}
	second.axis = tNumber
	g.list[0], g.list[1], g.n = first, second, 2
	return nil
}

// pair makes a reading of two angles; ordered tells that the order decides where nothing else does.
func (w *writing) pair(text string, a, b *angle, ordered bool) (Reading, *Error) {
	va, sa, err := a.value(text)
	if err != nil {
		return Reading{}, err
	}
	vb, sb, err := b.value(text)
	if err != nil {
		return Reading{}, err
	}
	if a.isLatitude() && b.isLatitude() || a.isLongitude() && b.isLongitude() ||
		a.axis == tLatitude && (a.letter == 'E' || a.letter == 'W') || a.axis == tLongitude &&
		(a.letter == 'N' || a.letter == 'S') ||
		b.axis == tLatitude && (b.letter == 'E' || b.letter == 'W') || b.axis == tLongitude &&
		(b.letter == 'N' || b.letter == 'S') {
		return Reading{}, fault(text, "axis-clash", "the letters or labels do not name one latitude and one longitude",
			"give one of N or S with the latitude, and one of E or W with the longitude")
	}
	if a.isLongitude() || b.isLatitude() {
		a, b, va, vb, sa, sb = b, a, vb, va, sb, sa
	} else if ordered && !a.isLatitude() && !b.isLongitude() {
		w.note("order-assumed", noteOrder)
		if math.Abs(va) > 90 && math.Abs(va) <= 180 && math.Abs(vb) <= 90 {
			return Reading{}, fault(text, "axis-swapped", "the first number is too large for a latitude, which is read first",
				"if longitude was written first, put latitude first or mark them with N, S, E and W",
				Point{Longitude: va, Latitude: vb}.String())
		}
	}
	if err := checkRange(text, va, vb, a.from, b.from); err != nil {
		return Reading{}, err
	}
	notation := NotationDecimalDegrees
	switch n := max(a.n, b.n); {
	case n == 3 || n == 1 && max(a.parts[0].whole, b.parts[0].whole) >= 6:
		notation = NotationDMS
	case n == 2 || n == 1 && max(a.parts[0].whole, b.parts[0].whole) >= 4:
		notation = NotationDegreesMinutes
	}
	return w.degreesReading(va, vb, sa, sb, notation), nil
}

// checkRange refuses what lies outside the globe.
func checkRange(text string, lat, lon float64, latAt, lonAt int) *Error {
	const help = "look at the digits and the decimal point again"
	if !(math.Abs(lat) <= 90) {
		return faultAt(text, latAt, len(text), "latitude-range", lackLatitude, help)
	}
	if !(math.Abs(lon) <= 180) {
		return faultAt(text, lonAt, len(text), "longitude-range", lackLongitude, help)
	}
	return nil
}
