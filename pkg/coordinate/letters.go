package coordinate

import "math"

// square is a grid reference by letters taken apart: a zone, letters, and none to two runs of figures.
type square struct {
	zone       int // the number in front; -1 where none
	zoneDigits int
	letters    [3]byte // upper case
	nLetters   int
	runs       [2]decimal
	nRuns      int
	figuresAt  int // where the figures begin
}

// takeSquare reads text as zone, letters and figures, with blanks, dashes, commas or solidi between; ok is false where
// there is anything else in it. A decimal point is let through in figures of five and more.
func takeSquare(s string) (q square, ok bool) {
	q.zone = -1
	i := 0
	skip := func(separators bool) {
		for i < len(s) && (s[i] == ' ' || separators &&
			(s[i] == '-' || s[i] == ',' || s[i] == '/' || s[i] == ':' || s[i] == '.')) {
			i++
		}
	}
	skip(false)
	if i < len(s) && s[i]-'0' <= 9 {
		d, n := scanDecimal(s[i:])
		if d.decimals > 0 || n > 2 {
			return q, false
		}
		q.zone, q.zoneDigits = int(d.value), n
		i += n
	}
	for {
		skip(false)
		if i >= len(s) || s[i]|0x20 < 'a' || s[i]|0x20 > 'z' {
			break
		}
		if q.nLetters == len(q.letters) {
			return q, false
		}
		q.letters[q.nLetters] = s[i] &^ 0x20
		q.nLetters++
		i++
	}
	if q.nLetters == 0 {
		return q, false
	}
	skip(true)
	q.figuresAt = i
	for i < len(s) {
		d, n := scanDecimal(s[i:])
		if n == 0 || q.nRuns == len(q.runs) || d.decimals > 0 && d.whole < 5 {
			return q, false
		}
		q.runs[q.nRuns] = d
		q.nRuns++
		i += n
		skip(true)
	}
	return q, true
}

// figures works out the figures of a square whose letters name one of 100 km: the south-west corner within it and the
// side, in metres.
func (q *square) figures(s string) (east, north, side float64, err *Error) {
	const help = "give the same number of figures for the easting and for the northing, two to five each"
	switch q.nRuns {
	case 0:
		return 0, 0, 100000, nil
	case 1:
		d := q.runs[0]
		if d.decimals > 0 || d.whole%2 != 0 {
			return 0, 0, 0, faultAt(s, q.figuresAt, len(s), "grid-digits-odd",
				"this grid reference has an odd number of figures, and half are for the easting and half for the northing", help)
		}
		if d.whole > 10 {
			return 0, 0, 0, faultAt(s, q.figuresAt, len(s), "grid-digits-many", "this grid reference has more than ten figures",
				help)
		}
		half := d.whole / 2
		e, _ := scanDecimal(d.text[:half])
		n, _ := scanDecimal(d.text[half:])
		side = powers[5-half]
		return e.value * side, n.value * side, side, nil
	}
	e, n := q.runs[0], q.runs[1]
	if e.whole != n.whole || e.decimals != n.decimals {
		return 0, 0, 0, faultAt(s, q.figuresAt, len(s), "grid-digits-uneven",
			"easting and northing of this grid reference have different numbers of figures", help)
	}
	if e.whole > 5 || e.decimals > 3 {
		return 0, 0, 0, faultAt(s, q.figuresAt, len(s), "grid-digits-many",
			"this grid reference has more figures than a square of one metre needs", help)
	}
	side = powers[5-e.whole]
	return e.value * side, n.value * side, side * e.step(), nil
}

// letterIndex counts letters from A, leaving out I; -1 for I itself.
func letterIndex(c byte) int {
	switch {
	case c < 'I':
		return int(c - 'A')
	case c == 'I':
		return -1
	}
	return int(c-'A') - 1
}

// britishCorner gives the south-west corner of a square of the British National Grid in metres, or ok false. The first
// letter names a square of 500 km, the second one of 100 km in it, both by rows of five from the north-west; the grid
// is 700 km by 1300 km (OS guide v3.6, section 7.1).
func britishCorner(first, second byte) (e, n float64, ok bool) {
	a, b := letterIndex(first), letterIndex(second)
	if a < 0 || b < 0 || a > 24 || b > 24 {
		return 0, 0, false
	}
	col, row := (a%5-2)*5+b%5, (3-a/5)*5+4-b/5
	if col < 0 || col > 6 || row < 0 || row > 12 {
		return 0, 0, false
	}
	return float64(col) * 1e5, float64(row) * 1e5, true
}

// irishCorner gives the south-west corner of a square of the Irish Grid in metres.
func irishCorner(letter byte) (e, n float64, ok bool) {
	a := letterIndex(letter)
	if a < 0 || a > 24 {
		return 0, 0, false
	}
	return float64(a%5) * 1e5, float64(4-a/5) * 1e5, true
}

// readLetters reads references of the British and the Irish grid by letters.
//
// Grammar: letters.
func readLetters(w *writing) (Reading, bool, *Error) {
	c := byte(0)
	if w.input != "" {
		c = w.input[0]
	}
	if c|0x20 < 'a' || c|0x20 > 'z' {
		return Reading{}, false, nil
	}
	q, ok := takeSquare(w.input)
	if !ok || q.zone >= 0 || q.nLetters > 2 || q.nLetters == 1 && w.bare() && !w.lettered() {
		return Reading{}, false, nil
	}
	s, e0, n0, err := q.lettered(w)
	if err != nil {
		return Reading{}, true, err
	}
	if q.nRuns == 0 && w.system == nil && w.stated != s {
		return Reading{}, true, fault(w.input, "grid-digits-missing",
			"these letters alone would name a square of a hundred kilometres",
			"add the figures of the grid reference; six or more make a find spot")
	}
	e, n, side, err := q.figures(w.input)
	if err != nil {
		return Reading{}, true, err
	}
	r, err := w.squareReading(s, e0+e, n0+n, side, NotationGridLetters)
	return r, true, err
}

// lettered reports whether the system that is named or stated is one of the islands where letters name squares. Beside
// any other a letter names an axis: X 652 381 is half a position of Lambert 93.
func (w *writing) lettered() bool {
	x := firstSystem(w.system, w.stated).Extent
	return x == byNumber()[29903].Extent || x == byNumber()[27700].Extent
}

// lettered tells the system of a reference and the corner of its square of 100 km.
func (q *square) lettered(w *writing) (s *System, e, n float64, err *Error) {
	named := w.system
	ok := false
	if q.nLetters == 1 {
		s = byNumber()[29903]
		if e, n, ok = irishCorner(q.letters[0]); !ok {
			return s, 0, 0, faultAt(w.input, 0, q.figuresAt, "grid-letters", "the letter I is not used in the Irish Grid",
				"look at the letter again; J and O are its neighbours in looks")
		}
	} else {
		s = byNumber()[27700]
		if e, n, ok = britishCorner(q.letters[0], q.letters[1]); !ok {
			if q.letters[0] == 'I' && named == byNumber()[29903] || q.letters[0] == 'I' && q.letters[1] != 'I' {
				// the Irish Grid is at times written with an I for Ireland in front
				if ie, in, good := irishCorner(q.letters[1]); good && named == byNumber()[29903] {
					return named, ie, in, nil
				}
			}
			if q.letters[0] == 'I' || q.letters[1] == 'I' {
				return s, 0, 0, faultAt(w.input, 0, q.figuresAt, "grid-letters", "the letter I is not used in the National Grid",
					"look at the letters again")
			}
			return s, 0, 0, faultAt(w.input, 0, q.figuresAt, "grid-outside",
				"these letters name no square of the British National Grid",
				"look at the letters again; the first is H, N, O, S or T")
		}
	}
	if named != nil && named != s {
		return s, 0, 0, faultAt(w.input, 0, q.figuresAt, "system-mismatch",
			"the letters belong to another grid than the one named beside them", "keep one of the two")
	}
	return s, e, n, nil
}

// squareReading makes a reading of a square by its south-west corner and side in metres.
func (w *writing) squareReading(s *System, e, n, side float64, notation string) (Reading, *Error) {
	p, err := s.ToWGS84(e+side/2, n+side/2)
	if err != nil {
		return Reading{}, fault(w.input, "outside-system", "the square lies outside its grid",
			"look at letters and figures again")
	}
	if side < 100000 && !s.Extent.Contains(p, 0.05) {
		w.note("outside-area", "the square lies outside the area of use of its grid, at sea perhaps")
	}
	r := Reading{Point: p.Round(), Basis: BasisSquare, System: s.Code, Notation: notation, Square: side}
	w.budget(&r, "square", side/math.Sqrt2, s)
	r.Notes = w.notes
	return r, nil
}
