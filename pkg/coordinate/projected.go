package coordinate

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// takePair finds easting and northing among tokens, by their labels or in the order given; ok is false where there is
// anything else. A letter or word may stand before or after its number; swap tells that x is the northing.
func takePair(ts []token, swap bool) (e, n token, ok bool) {
	var nums [2]token
	var axis [2]kind
	count := 0
	pending := tNumber // a label seen before its number
	leading, styled := false, false
	sign := byte(0)
	for _, t := range ts {
		switch t.kind {
		case tNumber:
			if count == 2 {
				return e, n, false
			}
			t.number.negative, sign = sign == '-', 0
			nums[count], axis[count] = t, pending
			pending = tNumber
			count++
		case tSign:
			if sign != 0 {
				return e, n, false
			}
			sign = t.letter
		case tComma, tMetre, tColon:
		case tEasting, tNorthing, tX, tY, tHemisphere:
			a, known := axisKind(t, swap)
			if !known {
				return e, n, false
			}
			if !styled {
				styled, leading = true, count == 0
			}
			if leading {
				pending = a
			} else if count > 0 && axis[count-1] == tNumber {
				axis[count-1] = a
			} else {
				return e, n, false
			}
		default:
			return e, n, false
		}
	}
	if count != 2 || pending != tNumber || sign != 0 {
		return e, n, false
	}
	if axis[0] == tNorthing && axis[1] != tNorthing || axis[1] == tEasting && axis[0] != tEasting {
		nums[0], nums[1] = nums[1], nums[0]
		axis[0], axis[1] = axis[1], axis[0]
	} else if axis[0] != tNumber && axis[0] == axis[1] {
		return e, n, false
	}
	e, n = nums[0], nums[1]
	e.kind, n.kind = axis[0], axis[1] // tNumber where nothing said so
	return e, n, true
}

// axisKind returns tEasting or tNorthing for a word or letter of an axis.
func axisKind(t token, swap bool) (kind, bool) {
	switch {
	case t.kind == tHemisphere && t.letter == 'E', t.kind == tX && !swap, t.kind == tY && swap:
		return tEasting, true
	case t.kind == tHemisphere && t.letter == 'N', t.kind == tX, t.kind == tY:
		return tNorthing, true
	}
	return t.kind, t.kind != tHemisphere
}

// readNumbers reads what is left: degrees, or eastings and northings of a system that the text or the options name.
//
// Grammar: plain, axis-pair.
func readNumbers(w *writing) (Reading, *Error) {
	text, err := decimalCommas(ungroup(w.input))
	if err != nil {
		return Reading{}, err
	}
	var t tokens
	if err := lex(text, &t); err != nil {
		return Reading{}, err
	}
	ts := joinGroups(t.slice())
	s := firstSystem(w.system, w.stated)
	swap := s != nil && s.XIsNorthing
	e, n, ok := takePair(ts, swap)
	if !ok || !w.metric(ts, e, n) {
		return readDegrees(w, text, ts)
	}
	if s, err = withZone(text, &e, &n, s); err != nil {
		return Reading{}, err
	}
	if s == nil || s.Geographic() {
		return Reading{}, w.systemMissing(text, e, n)
	}
	e, n, refused := thousands(text, e, n, s)
	if err := cmp.Or(refused, unlettered(text, e, n, s)); err != nil {
		return Reading{}, err
	}
	if slices.ContainsFunc(ts, func(t token) bool { return t.kind == tX }) {
		e, n = w.byAxes(e, n, s)
	}
	return w.projected(text, e, n, s, s.notation())
}

// byAxes settles what x and y name, which is the northing in one country and the easting in the next: the axes of the
// system hold, but where the place would lie outside its area, and inside the other way. What was assumed is said.
func (w *writing) byAxes(e, n token, s *System) (token, token) {
	lies := func(e, n token) bool {
		p, err := s.ToWGS84(e.number.signed(), n.number.signed())
		return err == nil && s.reaches(p)
	}
	x, y := "easting", "northing"
	if s.XIsNorthing {
		x, y = y, x
	}
	other, why := lies(n, e), "the axes of the system, though the other way lies in its area too"
	if other && !lies(e, n) {
		e.number, n.number, x, y = n.number, e.number, y, x
		why = "for the other way lies outside the area of the system"
	} else if !s.XIsNorthing {
		return e, n
	}
	if other {
		w.note("axes-assumed", "x was read as the "+x+" and y as the "+y+", "+why)
	}
	return e, n
}

// withZone takes the number of the zone off an easting that is written with it: 32561204 is 561204 in zone 32. Where no
// system is named, 32 and 33 in front of eight figures name theirs (EPSG:4647 and 5650); up to 31 they may be Finnish.
func withZone(text string, e, n *token, s *System) (*System, *Error) {
	if n.number.whole == 8 && n.kind == tNumber && e.number.whole == 7 {
		*e, *n = *n, *e
	}
	zone := int(e.number.value / 1e6)
	inZone := e.number.value - float64(zone)*1e6
	if e.number.whole != 8 || n.number.whole != 7 || inZone < 1e5 || inZone > 9e5 {
		return s, nil
	}
	switch {
	case s == nil && (zone == 32 || zone == 33):
		s = byNumber()[25800+zone]
	case s == nil || s.notation() != NotationUTM:
		return s, nil
	case s.Projection.LongitudeOfOrigin != meridianOf(zone):
		return nil, fault(text, "system-mismatch",
			"the easting begins with the number of another zone than the one that is named",
			"look at the zone and at the easting again")
	}
	e.number.value, e.number.whole = inZone, 6
	e.kind, n.kind = tEasting, tNorthing
	return s, nil
}

// thousands reads 452,705 and 452.705 of a named system as metres: whether the sign parts thousands or kilometres are
// meant, it is one place. Where that lies outside the area of the system, nobody knows.
func thousands(text string, e, n token, s *System) (token, token, *Error) {
	if e.number.decimals != 3 || n.number.decimals != 3 || e.number.whole > 3 || n.number.whole > 3 {
		return e, n, nil
	}
	east, north := e, n
	for _, t := range []*token{&east, &north} {
		t.number.value, t.number.decimals, t.number.whole = math.Round(t.number.value*1000), 0, t.number.whole+3
	}
	p, err := s.ToWGS84(east.number.signed(), north.number.signed())
	q, swapped := s.ToWGS84(north.number.signed(), east.number.signed())
	if err == nil && s.Extent.Contains(p, 0) || swapped == nil && s.Extent.Contains(q, 0) {
		return east, north, nil
	}
	return e, n, fault(text, "comma-ambiguous",
		"these may be metres with thousands marked off, or kilometres with decimals",
		"write easting and northing in whole metres without a sign for the thousands",
		strings.NewReplacer(".", "", ",", "").Replace(e.number.text+" "+n.number.text))
}

// unlettered refuses 7123 1844 in a grid of lettered squares: these are the figures of a reference whose letters stand
// elsewhere, and metres from the origin to nobody.
func unlettered(text string, e, n token, s *System) *Error {
	if s.Code != "EPSG:27700" && s.Code != "EPSG:29903" || e.kind != tNumber || n.kind != tNumber ||
		e.number.whole != n.number.whole || e.number.whole < 2 || e.number.whole > 4 || e.number.decimals > 0 {
		return nil
	}
	return fault(text, "letters-missing", "these are the figures of a grid reference without the letters of its square",
		"write the letters of the square before the figures, as in SP 5270 9011")
}

// notation is what eastings and northings of the system are called.
func (s *System) notation() string {
	if strings.HasPrefix(s.Code, "EPSG:258") || s.Ellipsoid == wgs84 && !s.Geographic() {
		return NotationUTM
	}
	return NotationProjected
}

// metric reports whether two numbers are metres rather than degrees.
func (w *writing) metric(ts []token, e, n token) bool {
	labelled := false
	for i := range ts {
		switch ts[i].kind {
		case tColon:
			return false
		case tEasting, tNorthing, tX, tY:
			labelled = true
		case tHemisphere:
			if p := ts[i]; !p.single {
				return false
			}
		}
	}
	if labelled {
		return true
	}
	a, b := math.Abs(e.number.value), math.Abs(n.number.value)
	letters := e.kind != tNumber || n.kind != tNumber
	if letters && w.bare() {
		return a > 180 && b > 90 || a > 90 && b > 180
	}
	if letters { // E and N are letters of hemispheres too, and DDMM.m may stand with them
		return a >= 10000 && b >= 10000 && e.number.whole != 5 || a >= 100000 || b >= 100000
	}
	if a > 1000 || b > 1000 {
		return true
	}
	return w.bare() && (a > 180 || b > 180)
}

// bare reports whether the system that is named, or else stated, is one of metres.
func (w *writing) bare() bool {
	s := firstSystem(w.system, w.stated)
	return s != nil && !s.Geographic()
}

// systemMissing refuses bare eastings and northings, and proposes the systems they would fit.
func (w *writing) systemMissing(text string, e, n token) *Error {
	a, b := e.number, n.number
	if b.decimals > 0 {
		a, b = b, a
	}
	if a.decimals > 2 && a.value <= 180 && b.decimals == 0 { // 5150238, 9,91251
		return fault(text, "system-missing", "one figure is in degrees, and the other has no decimal sign",
			"look for the comma or the point that was lost, as in 51.50238")
	}
	var fits []string
	for _, s := range systems() {
		if s.Geographic() || s.Ellipsoid == wgs84 || strings.HasPrefix(s.Code, "EPSG:258") {
			continue
		}
		p, err := s.ToWGS84(e.number.signed(), n.number.signed())
		q, swapped := s.ToWGS84(n.number.signed(), e.number.signed())
		if err == nil && s.Extent.Contains(p, 0) || s.NorthingFirst && swapped == nil && s.Extent.Contains(q, 0) {
			fits = append(fits, s.Code+" ("+s.Name+")")
		}
	}
	return fault(text, "system-missing", "these are easting and northing in metres, and nothing says in which system",
		"name the system, for instance EPSG:27700 before the numbers, in the heading or as an option", fits...)
}

// projected makes a reading of easting and northing in metres. Where nothing labels them, the registry's order of axes
// holds, and the other order only for systems of which both are in use and only one fits.
func (w *writing) projected(text string, e, n token, s *System, notation string) (Reading, *Error) {
	labelled := e.kind != tNumber || n.kind != tNumber
	ev, nv := e.number.signed(), n.number.signed()
	p, err := s.ToWGS84(ev, nv)
	fits := err == nil && s.reaches(p)
	if free := !labelled && s.NorthingFirst; !fits || free {
		q, swapped := s.ToWGS84(nv, ev)
		other := swapped == nil && s.reaches(q)
		switch {
		case free && other && !fits:
			e, n, p, fits = n, e, q, true
		case free && fits && !other:
			w.note("order-assumed", "read as easting first, then northing; the other order does not lie in the area of the "+
				"system")
		case free && fits && other:
			e, n, p = n, e, q
			w.note("order-assumed", "read as northing first, then easting, which is the order of the system")
		case !fits && other:
			return Reading{}, fault(text, "axis-swapped",
				"as easting and northing these numbers lie outside the area of the system; the other way round they lie inside",
				"put the easting first, or mark the numbers with E and N", n.number.text+" "+e.number.text)
		}
	}
	if !fits {
		return Reading{}, w.outside(text, s, ev, nv)
	}
	stretched := s.notation() == NotationUTM && p.Latitude >= 56 // one zone for a whole country, by rule of the country
	if !s.Extent.Contains(p, 0.05) && !stretched && !s.ownsByException(p) {
		w.note("outside-area", "the place lies outside the area of use of the system")
	}
	r := Reading{Point: p.Round(), Basis: BasisComputed, System: s.Code, Notation: notation}
	w.budget(&r, "rounding", math.Hypot(e.number.step(), n.number.step())/2, s)
	r.Notes = w.notes
	return r, nil
}

// reaches reports whether a place is near enough to the area of use to be meant: within a degree, and for zones of UTM,
// which are stretched to keep a country in one and are wider in the north by rule, within four degrees of longitude or
// seven.
func (s *System) reaches(p Point) bool {
	x := s.Extent
	if s.notation() == NotationUTM {
		more := 3.0
		if p.Latitude >= 56 {
			more = 6
		}
		x.West, x.East = x.West-more, x.East+more
		if p.Longitude > x.East+1 && x.West < -180 {
			p.Longitude -= 360
		}
		if p.Longitude < x.West-1 && x.East > 180 {
			p.Longitude += 360
		}
	}
	return x.Contains(p, 1)
}

// ownsByException reports whether a place belongs to a zone of UTM by the exceptions for Norway and Svalbard.
func (s *System) ownsByException(p Point) bool {
	zone, ok := UTMZone(p)
	return ok && s.notation() == NotationUTM && s.Projection.LongitudeOfOrigin == meridianOf(zone) && p.Latitude >= 56
}

// outside refuses numbers that lie far outside a system, and proposes systems of the same family that they fit.
func (w *writing) outside(text string, s *System, e, n float64) *Error {
	var fits []string
	for _, t := range systems() {
		if t == s || t.Geographic() || t.Ellipsoid == wgs84 || strings.HasPrefix(t.Code, "EPSG:258") {
			continue
		}
		p, err := t.ToWGS84(e, n)
		q, swapped := t.ToWGS84(n, e)
		if err == nil && t.Extent.Contains(p, 0) || t.NorthingFirst && swapped == nil && t.Extent.Contains(q, 0) {
			fits = append(fits, t.Code+" ("+t.Name+")")
		}
	}
	return fault(text, "outside-system", "easting and northing lie far outside the area of "+s.Name,
		"look at the figures and at the system again", fits...)
}

// ungroup takes out the apostrophes with which thousands are parted in Switzerland: 2'600'000. A text with marks of
// degrees or seconds is left alone.
func ungroup(s string) string {
	if !strings.ContainsAny(s, "'’") || strings.ContainsAny(s, "°º˚\"″”") {
		return s
	}
	b := make([]byte, 0, len(s))
	for i := 0; i < len(s); {
		n := 0
		if s[i] == '\'' {
			n = 1
		} else if strings.HasPrefix(s[i:], "’") {
			n = len("’")
		}
		after := s[i+n:]
		if n > 0 && i > 0 && s[i-1]-'0' <= 9 && len(after) >= 3 && allDigits(after[:3]) &&
			(len(after) == 3 || after[3]-'0' > 9) {
			i += n
			continue
		}
		b = append(b, s[i])
		i++
	}
	return string(b)
}

// joinGroups joins figures parted by blanks in threes, "2 600 000 / 1 200 000", where a comma, a solidus or the labels
// of the axes part two such numbers and degrees are out of the question.
func joinGroups(ts []token) []token {
	var from, to [2]int // the two runs of numbers
	runs, letters, labelled := 0, false, false
	for i, t := range ts {
		switch t.kind {
		case tNumber:
			if i == 0 || ts[i-1].kind != tNumber {
				if runs == 2 {
					return ts
				}
				from[runs] = i
				runs++
			}
			to[runs-1] = i + 1
		case tEasting, tNorthing, tX, tY:
			labelled = true
		case tHemisphere:
			letters = true
		case tComma, tMetre:
		default:
			return ts
		}
	}
	if runs < 2 || to[0]-from[0] == 1 && to[1]-from[1] == 1 {
		return ts
	}
	a, ok := joined(ts[from[0]:to[0]], labelled || letters)
	b, good := joined(ts[from[1]:to[1]], labelled || letters)
	if !ok || !good || letters && !labelled && (a.number.whole < 6 || b.number.whole < 6) {
		return ts
	}
	out := append(slices.Clone(ts[:from[0]]), a)
	out = append(append(out, ts[to[0]:from[1]]...), b)
	return append(out, ts[to[1]:]...)
}

// joined is one number of its groups; beside a label it may have been written in one.
func joined(ts []token, labelled bool) (token, bool) {
	if len(ts) == 1 && labelled {
		return ts[0], true
	}
	if len(ts) < 2 || len(ts) > 3 || ts[0].number.whole > 3 {
		return token{}, false
	}
	sum, degrees := token{kind: tNumber, from: ts[0].from, to: ts[len(ts)-1].to}, ts[0].number.value <= 180
	text := ""
	for i, t := range ts {
		last := i == len(ts)-1
		if i > 0 && t.number.whole != 3 || !last && t.number.decimals > 0 {
			return token{}, false
		}
		if i > 0 && t.number.value >= 60 {
			degrees = false
		}
		text += t.number.text
	}
	if degrees && !labelled {
		return token{}, false
	}
	sum.number, _ = scanDecimal(text)
	return sum, true
}

// takeSystem takes the name of a system off the front or the end of a text.
//
// Grammar: system.
func takeSystem(s string) (string, *System, *Error) {
	for _, short := range [...]string{"l93 ", "l72 ", "l08 "} { // names of one letter
		if hasFoldPrefix(s, short) {
			return strings.TrimLeft(s[len(short):], " ,;:="), byAlias()[strings.TrimSpace(short)], nil
		}
	}
	run := 0
	named := false
	for i := 0; i < len(s) && !named; i++ {
		if isLetter(s[i]) {
			run++
			named = run > 1
		} else {
			run = 0
		}
	}
	if !named {
		return s, nil, nil
	}
	best, system := 0, (*System)(nil)
	for i, words := 1, 0; i < len(s) && words < 6; i++ {
		if s[i] == ' ' || s[i] == ',' || s[i] == ';' || s[i] == '=' || s[i] == '(' || s[i] == ':' && !strings.EqualFold(s[:i],
			"epsg") && !hasFoldPrefix(s, "urn:") && !hasFoldPrefix(s, "http") {
			words++
			if t := nameOf(s[:i]); t != nil {
				best, system = i, t
			}
		}
	}
	if system != nil {
		return strings.TrimLeft(s[best:], " ,;:=()"), system, nil
	}
	if hasFoldPrefix(s, "mgrs") || hasFoldPrefix(s, "usng") {
		return strings.TrimLeft(s[4:], " ,;:="), nil, nil
	}
	for i, words := len(s)-1, 0; i > 0 && words < 5; i-- {
		if s[i] == ' ' || s[i] == '(' || s[i] == ',' {
			words++
			if t := nameOf(strings.Trim(s[i:], " (),;")); t != nil {
				best, system = i, t
			}
		}
	}
	if system != nil {
		return strings.TrimRight(s[:best], " ,;(/"), system, nil
	}
	if hasFoldPrefix(s, "epsg") {
		end := strings.IndexAny(s, " ,;")
		if end < 0 {
			end = len(s)
		}
		return "", nil, faultAt(s, 0, end, "system-unknown", "this code is not of a coordinate system this tool knows",
			"give latitude and longitude instead, or convert with a tool that knows the system")
	}
	return s, nil, nil
}

// nameOf finds a system by a name in running text; a bare number is not one.
func nameOf(s string) *System {
	letters := 0
	for i := 0; i < len(s); i++ {
		if isLetter(s[i]) {
			letters++
		}
	}
	if letters < 2 {
		return nil
	}
	t, _ := SystemByName(s)
	return t
}

// takeStated takes "± 5 m" off the end of a text.
//
// Grammar: stated.
func takeStated(s string) (string, float64, *Error) {
	at, n := strings.Index(s, "±"), len("±")
	if at < 0 {
		if at, n = strings.Index(s, "+/-"), 3; at < 0 {
			return s, 0, nil
		}
	}
	rest := strings.Trim(s[at+n:], " ()")
	d, used := scanDecimal(rest)
	if used == 0 {
		d, used = scanNumber(rest, ',')
	}
	if unit := strings.ToLower(strings.TrimSpace(rest[used:])); used == 0 || d.value <= 0 || unit != "m" &&
		unit != "metre" && unit != "metres" && unit != "meter" && unit != "meters" {
		return s, 0, faultAt(s, at, len(s), "stated-uncertainty",
			"what follows the plus-minus sign is not a number of metres above zero", "write for instance ±5 m at the end")
	}
	return strings.TrimRight(s[:at], " (,;"), d.value, nil
}
