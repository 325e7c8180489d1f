package coordinate

import "strings"

// readMarked reads a point typed as well-known text (OGC 06-103r4), POINT(7.21 52.51), or as GeoJSON (RFC 7946): both
// name the longitude first and are in WGS 84.
//
// Grammar: wkt, geojson.
func readMarked(text string, o Options) (Reading, bool, *Error) {
	inside, mine := "", false
	switch {
	case hasFoldPrefix(text, "point"):
		rest := strings.TrimLeft(text[len("point"):], " ")
		if hasFoldPrefix(rest, "z") {
			rest = strings.TrimLeft(rest[1:], " ")
		}
		inside, mine = strings.CutPrefix(rest, "(")
		inside = strings.TrimSuffix(strings.TrimSpace(inside), ")")
	case strings.HasPrefix(text, "{"):
		_, after, found := strings.Cut(text, `"coordinates"`)
		after = strings.TrimLeft(after, " :")
		inside, mine = strings.CutPrefix(after, "[")
		mine = mine && found && strings.Contains(text, `"Point"`)
		inside, _, _ = strings.Cut(inside, "]")
	}
	if !mine {
		return Reading{}, false, nil
	}
	var numbers [3]decimal
	n := 0
	for _, part := range strings.FieldsFunc(inside, func(r rune) bool { return r == ' ' || r == ',' }) {
		d, used := scanSigned(part)
		if used != len(part) || n == len(numbers) {
			n = 0
			break
		}
		numbers[n] = d
		n++
	}
	if n < 2 {
		return Reading{}, true, fault(text, "unread", "this point does not hold a longitude and a latitude",
			"write for instance POINT(7.21 52.51)")
	}
	lon, lat := numbers[0], numbers[1]
	if err := checkRange(text, lat.signed(), lon.signed(), 0, 0); err != nil {
		return Reading{}, true, err
	}
	w := writing{input: text, o: Options{Device: o.Device}}
	if n == 3 {
		w.note("height-ignored", "a third number was taken for a height and is not kept")
	}
	return w.degreesReading(lat.signed(), lon.signed(), lat.step(), lon.step(), NotationDecimalDegrees), true, nil
}

// withZeros writes the zero that people leave out before a point: -.21.
func withZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	var b []byte
	for i := 0; i < len(s); i++ {
		if s[i] == '.' && i+1 < len(s) && s[i+1]-'0' <= 9 && (i == 0 || strings.IndexByte(" ,;-+(", s[i-1]) >= 0) {
			if b == nil {
				b = append(make([]byte, 0, len(s)+2), s[:i]...)
			}
			b = append(b, '0')
		}
		if b != nil {
			b = append(b, s[i])
		}
	}
	if b == nil {
		return s
	}
	return string(b)
}
