package coordinate

import (
	"math"
	"strings"
)

// quickUTM reads the commonest way to write UTM, a zone with its letter or the word behind it and two
// plain numbers ("30U 699375 5713970", "30 north 699375.4 5713970.1"), and gives up on anything else,
// on every fault too: what it reads is what the long way reads, which the test holds it to.
func quickUTM(s string, o Options) (Reading, bool) {
	if o.System != "" || len(s) < 12 || len(s) > 48 {
		return Reading{}, false
	}
	zone, i := 0, 0
	for ; i < 2 && s[i]-'0' <= 9; i++ {
		zone = zone*10 + int(s[i]-'0')
	}
	if i == 0 || zone < 1 || zone > 60 {
		return Reading{}, false
	}
	if s[i] == ' ' {
		i++
	}
	var letter byte
	switch rest := s[i:]; {
	case strings.HasPrefix(rest, "north "):
		letter, i = 'N', i+len("north ")
	case strings.HasPrefix(rest, "south "):
		letter, i = 'S', i+len("south ")
	case len(rest) > 2 && rest[1] == ' ' && strings.IndexByte("CDFGHJKLMNPQRTUVX", rest[0]) >= 0:
		letter, i = rest[0], i+2
	default:
		return Reading{}, false
	}
	if letter == 'X' && (zone == 32 || zone == 34 || zone == 36) {
		return Reading{}, false
	}
	e, n := scanDecimal(s[i:])
	if i += n; n == 0 || e.whole < 5 || i >= len(s) || s[i] != ' ' {
		return Reading{}, false
	}
	north, n := scanDecimal(s[i+1:])
	if n == 0 || i+1+n != len(s) || north.whole < 5 || e.digits > 15 || north.digits > 15 {
		return Reading{}, false
	}
	south, top := 0.0, 0.0
	word := letter == 'N' || letter == 'S'
	if !word {
		south, top, _ = band(letter)
	}
	system := utmSystem(zone, letter == 'S' || !word && south < 0)
	p, err := system.ToWGS84(e.value, north.value)
	if err != nil || !system.reaches(p) {
		return Reading{}, false
	}
	w := writing{o: o}
	if !system.Extent.Contains(p, 0.05) && !system.ownsByException(p) {
		return Reading{}, false
	}
	r := Reading{Point: p.Round(), Basis: BasisComputed, System: system.Code, Notation: NotationUTM}
	if !word && (r.Point.Latitude < south-0.01 || r.Point.Latitude > top+0.01) {
		return Reading{}, false
	}
	w.budget(&r, "rounding", math.Hypot(e.step(), north.step())/2, system)
	return r, true
}
