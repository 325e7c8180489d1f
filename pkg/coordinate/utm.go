package coordinate

import (
	"math"
	"strconv"
)

// UTMZone tells the zone of UTM that a point is mapped in, with the exceptions for south-west Norway and Svalbard; ok
// is false beyond 84 north and 80 south, where UTM is not used.
func UTMZone(p Point) (zone int, ok bool) {
	if !p.Valid() || p.Latitude >= 84 || p.Latitude < -80 {
		return 0, false
	}
	zone = int(math.Floor((p.Longitude+180)/6)) + 1
	if zone > 60 {
		zone = 1
	}
	if p.Latitude >= 56 && p.Latitude < 64 && p.Longitude >= 3 && p.Longitude < 12 {
		return 32, true
	}
	if p.Latitude >= 72 && p.Longitude >= 0 && p.Longitude < 42 {
		switch {
		case p.Longitude < 9:
			return 31, true
		case p.Longitude < 21:
			return 33, true
		case p.Longitude < 33:
			return 35, true
		}
		return 37, true
	}
	return zone, true
}

// utmSystem finds the WGS 84 system of a zone.
func utmSystem(zone int, south bool) *System {
	if south {
		return byNumber()[32700+zone]
	}
	return byNumber()[32600+zone]
}

// band gives the latitudes between which a letter of MGRS lies: C to X without I and O, eight degrees each from 80
// south, and twelve for X.
func band(letter byte) (south, north float64, ok bool) {
	if letter < 'C' || letter > 'X' || letter == 'I' || letter == 'O' {
		return 0, 0, false
	}
	i := letterIndex(letter)
	if letter > 'O' {
		i--
	}
	south = float64(-80 + 8*(i-2))
	north = south + 8
	if letter == 'X' {
		north = 84
	}
	return south, north, true
}

// badZone refuses a zone that does not exist.
func badZone(s string, from, to, zone int, letter byte) *Error {
	if zone < 1 || zone > 60 {
		return faultAt(s, from, to, "zone-range", "the zones of UTM are numbered from 1 to 60",
			"look at the zone number again")
	}
	if letter == 'X' && (zone == 32 || zone == 34 || zone == 36) {
		return faultAt(s, from, to, "zone-band",
			"this zone does not exist in band X, where Svalbard has zones 31, 33, 35 and 37 only",
			"look at the zone number again")
	}
	return nil
}

// readMGRS reads a reference of the Military Grid Reference System.
//
// Grammar: mgrs.
func readMGRS(w *writing) (Reading, bool, *Error) {
	s := w.input
	if s == "" {
		return Reading{}, false, nil
	}
	q, ok := takeSquare(s)
	if !ok || q.nLetters != 3 {
		return Reading{}, false, nil
	}
	if q.zone < 0 {
		if c := q.letters[0]; c == 'A' || c == 'B' || c == 'Y' || c == 'Z' {
			return Reading{}, true, faultAt(s, 0, q.figuresAt, "polar-grid",
				"this is a reference of the polar grid, which is not read", "give latitude and longitude instead")
		}
		return Reading{}, false, nil
	}
	r, err := w.mgrs(&q)
	return r, true, err
}

func (w *writing) mgrs(q *square) (Reading, *Error) {
	s, letter := w.input, q.letters[0]
	if err := badZone(s, 0, q.zoneDigits, q.zone, letter); err != nil {
		return Reading{}, err
	}
	south, north, ok := band(letter)
	if !ok {
		return Reading{}, faultAt(s, 0, q.figuresAt, "zone-letter",
			"the letter after the zone number is not one of C to X without I and O", "look at the letter again")
	}
	e, n, side, err := q.figures(s)
	if err != nil {
		return Reading{}, err
	}
	col, row := letterIndex(q.letters[1]), letterIndex(q.letters[2])
	if q.letters[1] > 'O' {
		col--
	}
	if q.letters[2] > 'O' {
		row--
	}
	col -= (q.zone - 1) % 3 * 8
	const help = "look at the two letters after the zone again; older maps on other ellipsoids letter them differently"
	if q.letters[1] == 'I' || q.letters[1] == 'O' || q.letters[2] == 'I' || q.letters[2] == 'O' || col < 0 || col > 7 ||
		row > 19 {
		return Reading{}, faultAt(s, 0, q.figuresAt, "mgrs-letters", "these letters name no square in this zone", help)
	}
	if q.zone%2 == 0 {
		row = (row + 15) % 20
	}
	system := utmSystem(q.zone, south < 0)
	// Rows come again every 2000 km: the one nearest the middle of the band is meant.
	falseNorthing := system.Projection.FalseNorthing
	middle := (south+north)/2*111132.95*0.9996 + falseNorthing
	base := float64(row) * 1e5
	base += math.Round((middle-base-50000)/2e6) * 2e6
	corner := float64(col+1) * 1e5
	if !inBand(system, corner+e, base+n, side, south, north) && !inBand(system, corner, base, 1e5, south, north) {
		return Reading{}, faultAt(s, 0, q.figuresAt, "mgrs-letters",
			"the square of these letters does not lie in the band of the letter after the zone", help)
	}
	if system, ok = w.onDatum(system, q.zone); !ok {
		return Reading{}, fault(s, "system-mismatch", "the zone is not that of the system named beside it",
			"keep one of the two")
	}
	r, err := w.squareReading(system, corner+e, base+n, side, NotationMGRS)
	if err == nil {
		r.Notes = w.notes[:0:0] // squares reach a little over the edge of their zone; that is no fault
	}
	return r, err
}

// onDatum is the system of a zone on the datum that was named; ok is false where another system was named beside it.
func (w *writing) onDatum(s *System, zone int) (t *System, ok bool) {
	for _, named := range [...]*System{w.system, w.stated} {
		if named != nil && named.Projection == s.Projection && named.notation() == NotationUTM {
			return named, true
		}
	}
	switch {
	case w.system == nil || w.system == systems()[0]:
		return s, true
	case w.system.Code == "EPSG:4258":
		if e, found := byNumber()[25800+zone]; found && e.Projection == s.Projection {
			return e, true
		}
		return s, true
	}
	return s, false
}

// inBand reports whether a square touches a band of latitude.
func inBand(s *System, e, n, side, south, north float64) bool {
	p, err := s.ToWGS84(e+side/2, n+side/2)
	if err == nil && p.Latitude >= south && p.Latitude <= north {
		return true
	}
	for i := range 4 {
		p, err := s.ToWGS84(e+float64(i%2)*side, n+float64(i/2)*side)
		if err == nil && p.Latitude >= south-1e-6 && p.Latitude <= north+1e-6 {
			return true
		}
	}
	return false
}

// readUTM reads a zone with its letter, before or after easting and northing.
//
// Grammar: utm.
func readUTM(w *writing) (Reading, bool, *Error) {
	if !hasLetter(w.input) { // no letter, no zone
		return Reading{}, false, nil
	}
	text, bad := decimalCommas(w.input)
	if bad != nil {
		return Reading{}, false, nil
	}
	var t tokens
	if lex(text, &t) != nil {
		return Reading{}, false, nil
	}
	ts, words := t.slice(), false
	for len(ts) > 0 && ts[0].kind == tZone {
		ts, words = ts[1:], true
	}
	z, rest, ok, err := w.findZone(text, ts, words)
	if !ok {
		return Reading{}, err != nil, err
	}
	e, n, ok := takePair(rest, false)
	if !ok || e.number.value < 10000 && n.number.value < 10000 {
		return Reading{}, false, nil
	}
	if z < 0 {
		r, err := w.projected(text, e, n, w.system, NotationUTM)
		return r, true, err
	}
	s, err := w.utmZone(text, ts[z], ts[z+1], n.number.signed())
	if err != nil {
		return Reading{}, true, err
	}
	r, err := w.projected(text, e, n, s, NotationUTM)
	if err == nil && !ts[z+1].isHemisphere() {
		south, north, _ := band(ts[z+1].bandLetter(text))
		if r.Point.Latitude < south-0.01 || r.Point.Latitude > north+0.01 {
			return Reading{}, true, faultAt(text, ts[z].from, ts[z+1].to, "zone-band",
				"the northing does not lie in the band that the letter after the zone names",
				"look at the letter and at the northing again")
		}
	}
	return r, true, err
}

// findZone finds the tokens of the zone, at z, and what is left without them. z is -1 where the options state the zone.
func (w *writing) findZone(text string, ts []token, words bool) (z int, rest []token, ok bool, err *Error) {
	stated := w.stated != nil && w.stated.notation() == NotationUTM
	switch short := len(ts) > 0 && ts[0].kind == tNumber && ts[0].number.whole <= 2; {
	case isZone(ts):
		return 0, ts[2:], true, nil
	case len(ts) > 3 && isZone(ts[len(ts)-2:]):
		return len(ts) - 2, ts[:len(ts)-2], true, nil
	case !words:
		return 0, nil, false, nil
	case short && ts[0].number.decimals == 0:
		if w.stated != nil && w.stated.Code[len(w.stated.Code)-2:] == ts[0].number.text {
			w.system = w.stated
			return -1, ts[1:], true, nil
		}
		return 0, nil, false, faultAt(text, ts[0].from, ts[0].to, "zone-letter-missing",
			"the zone of UTM lacks its letter or the word north or south",
			"write for instance 30U, or 30 north")
	case stated && short:
		w.system = w.stated
		return -1, ts[1:], true, nil
	case stated:
		w.system = w.stated
		return -1, ts, true, nil
	}
	return 0, nil, false, fault(text, "zone-letter-missing", "the zone of UTM is missing",
		"write for instance 30U, or 30 north, before the numbers")
}

func hasLetter(s string) bool {
	for i := range len(s) {
		if isLetter(s[i]) {
			return true
		}
	}
	return false
}

// isZone reports whether two tokens are a zone number and a letter or the word north or south.
func isZone(ts []token) bool {
	return len(ts) >= 2 && ts[0].kind == tNumber && ts[0].number.decimals == 0 && ts[0].number.whole <= 2 &&
		(ts[1].single && ts[1].letter != 0 || ts[1].kind == tHemisphere && (ts[1].letter == 'N' || ts[1].letter == 'S'))
}

// isHemisphere reports whether the letter of a zone means north or south, not a band.
func (t *token) isHemisphere() bool {
	return t.kind == tHemisphere && (t.letter == 'N' || t.letter == 'S')
}

// bandLetter is the letter as it stands in the text: V is a band, though it is short for west in Danish and Swedish.
func (t *token) bandLetter(text string) byte {
	if c := text[t.from]; t.single && isLetter(c) {
		return c &^ 0x20
	}
	return t.letter
}

// utmZone finds the system of a zone. S may be the southern half of the Earth or the band from 32 to 40 north: where
// the northing fits both, nothing is guessed.
func (w *writing) utmZone(text string, z, l token, northing float64) (*System, *Error) {
	zone := int(z.number.value)
	if err := badZone(text, z.from, z.to, zone, l.letter); err != nil {
		return nil, err
	}
	south := false
	if l.isHemisphere() {
		south = l.letter == 'S'
		if south && l.single && text[l.from]|0x20 == 's' && northing > 3.5e6 && northing < 4.5e6 {
			at := text[:z.from] + strconv.Itoa(zone)
			return nil, faultAt(text, z.from, l.to, "zone-letter-ambiguous",
				"the letter S after the zone may be the band from 32 to 40 degrees north or the southern half of the Earth",
				"write north or south after the zone number", at+" north"+text[l.to:], at+" south"+text[l.to:])
		}
	} else {
		low, _, ok := band(l.bandLetter(text))
		if !ok {
			return nil, faultAt(text, z.from, l.to, "zone-letter",
				"the letter after the zone number is not one of C to X without I and O",
				"write N or S after the zone number, or the letter of its band")
		}
		south = low < 0
	}
	s, ok := w.onDatum(utmSystem(zone, south), zone)
	if !ok {
		return nil, faultAt(text, z.from, l.to, "system-mismatch", "the zone is not that of the system named beside it",
			"keep one of the two")
	}
	return s, nil
}
