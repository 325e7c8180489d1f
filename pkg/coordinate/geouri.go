package coordinate

import (
	"strings"

	"github.com/findslip/findslip/pkg/text"
)

// readGeoURI reads a geo URI (RFC 5870). A stated u is kept as the uncertainty; the number of decimals is not read as
// precision then. Without u the last digits given are all there is to go by.
func readGeoURI(text string, o Options) (Reading, bool, *Error) {
	if len(text) < 4 || !strings.EqualFold(text[:4], "geo:") {
		return Reading{}, false, nil
	}
	r, err := geoURI(text, o)
	return r, true, err
}

// Grammar: geo-uri.
func geoURI(text string, o Options) (Reading, *Error) {
	const help = "write it as geo:latitude,longitude in decimal degrees, for instance with ;u=5 for five metres"
	body, params, _ := strings.Cut(text[4:], ";")
	body, _, _ = strings.Cut(body, "?")
	fields := strings.Split(body, ",")
	if len(fields) != 2 && len(fields) != 3 {
		return Reading{}, fault(text, "uri-coordinates", "a geo address holds two or three numbers with commas between", help)
	}
	var v [3]decimal
	for i, f := range fields {
		d, n := scanSigned(f)
		if n != len(f) || n == 0 {
			at := strings.Index(text, f)
			return Reading{}, faultAt(text, at, at+len(f), "uri-coordinates",
				"a part of this geo address is not a plain decimal number", help)
		}
		v[i] = d
	}
	w := &writing{input: text, o: o, system: byNumber()[4326]}
	u := decimal{}
	for _, p := range strings.Split(params, ";") {
		name, value, _ := strings.Cut(p, "=")
		switch strings.ToLower(name) {
		case "crs":
			if !strings.EqualFold(value, "wgs84") {
				return Reading{}, fault(text, "uri-crs", "this geo address is in another system than WGS 84",
					"only crs=wgs84 is read; give the place in WGS 84, or as easting and northing with its EPSG code")
			}
		case "u":
			d, n := scanDecimal(value)
			if n != len(value) || n == 0 || d.comma {
				return Reading{}, fault(text, "uri-uncertainty", "the u of this geo address is not a number of metres", help)
			}
			u = d
		}
	}
	if len(fields) == 3 {
		w.note("height-ignored", "a height was given and is not kept")
	}
	if e := checkRange(text, v[0].signed(), v[1].signed(), -1, -1); e != nil {
		return Reading{}, e
	}
	r := w.degreesReading(v[0].signed(), v[1].signed(), v[0].step(), v[1].step(), NotationGeoURI)
	if u.value > 0 {
		r.Budget = []Part{{"stated", u.value}}
		r.Uncertainty = roundUp(u.value)
		r.Basis = BasisStated
	} else if params != "" && u.digits > 0 {
		r.Notes = append(r.Notes, Note{"uncertainty-nought",
			"an uncertainty of zero is not a legal value; the last digits given were used instead"})
	}
	return r, nil
}

// readISO reads the string form of ISO 6709 (annex H): a sign before each number, and the count of digits before the
// point tells degrees, degrees and minutes, or degrees, minutes and seconds.
//
// Grammar: iso6709.
func readISO(w *writing) (Reading, bool, *Error) {
	s := w.input
	if s == "" || s[0] != '+' && s[0] != '-' {
		return Reading{}, false, nil
	}
	var v [3]decimal
	count, i := 0, 0
	for i < len(s) && (s[i] == '+' || s[i] == '-') {
		if count == 3 {
			return Reading{}, false, nil
		}
		d, n := scanSigned(s[i:])
		if n == 0 || d.comma {
			return Reading{}, false, nil
		}
		v[count] = d
		count++
		i += n
	}
	rest := s[i:]
	solidus := strings.HasSuffix(rest, "/")
	rest = strings.TrimSuffix(rest, "/")
	if count < 2 || rest != "" && !hasFoldPrefix(rest, "crs") {
		return Reading{}, false, nil
	}
	if rest != "" && !strings.EqualFold(rest, "CRSWGS_84") && !strings.EqualFold(rest, "CRSWGS84") &&
		!strings.EqualFold(rest, "CRSepsg4326") {
		return Reading{}, true, faultAt(s, i, i+len(rest), "iso-crs", "this ISO 6709 string is in another system than WGS 84",
			"only CRSWGS_84 is read; give the place in WGS 84")
	}
	lat, lon := v[0], v[1]
	if !solidus && lat.whole < 4 && (lat.whole != 2 || lon.whole != 3) {
		return Reading{}, false, nil // two signed numbers run together; read as plain degrees
	}
	const help = "write two digits for the degrees of latitude and three for those of longitude, then two each for " +
		"minutes and seconds"
	if lat.whole != 2 && lat.whole != 4 && lat.whole != 6 || lon.whole != lat.whole+1 {
		return Reading{}, true, fault(s, "iso-digits",
			"the digits of this ISO 6709 string do not fall into degrees, minutes and seconds", help)
	}
	var deg, step [2]float64
	for k, d := range [2]decimal{lat, lon} {
		a, ok := packed(d)
		if !ok {
			return Reading{}, true, fault(s, "minutes-range", "minutes or seconds of this ISO 6709 string are not below sixty",
				help)
		}
		deg[k], step[k] = a, d.step()/[3]float64{1, 60, 3600}[lat.whole/2-1]
	}
	if count == 3 {
		w.note("height-ignored", "a height was given and is not kept")
	}
	if e := checkRange(s, deg[0], deg[1], -1, -1); e != nil {
		return Reading{}, true, e
	}
	return w.degreesReading(deg[0], deg[1], step[0], step[1], NotationISO6709), true, nil
}

// packed takes apart DDMM or DDMMSS in front of a decimal point.
func packed(d decimal) (float64, bool) {
	v := d.value
	var parts [3]float64
	n := 0
	whole := d.whole
	for ; whole > 3; whole -= 2 { // the tail first: SS.s, then MM
		unit := float64(100)
		head := float64(int64(v / unit))
		parts[n] = v - head*unit
		if d.decimals > 0 && n == 0 { // keeps the figures behind the point exact
			parts[n] = d.tail(2)
		}
		if parts[n] >= 60 {
			return 0, false
		}
		v = head
		n++
	}
	sum := 0.0
	for i := range n {
		sum = (sum + parts[i]) / 60
	}
	sum += v
	if d.negative {
		sum = -sum
	}
	return sum, true
}

func hasFoldPrefix(s, prefix string) bool {
	return len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix)
}

var inLink = text.Pattern(`(?i)(?:[?&](?:q|ll|query|center|destination|daddr|mlat)=|@|[#/]map=[0-9.]+/|` +
	`[#/]geo:)` +
	`(-?[0-9]{1,2}\.[0-9]{3,})(?:,|%2C|/|&mlon=)(?:\+|%20)?(-?[0-9]{1,3}\.[0-9]{3,})`)

// FromLink returns the latitude and longitude that the address of a map has in it, as text to be read; empty for
// any other text. Common practice, no source.
func FromLink(text string) string {
	if !strings.Contains(text, "://") {
		return ""
	}
	m := inLink().FindStringSubmatch(text)
	if m == nil {
		return ""
	}
	return m[1] + ", " + m[2]
}
