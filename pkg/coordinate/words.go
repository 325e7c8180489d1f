package coordinate

import (
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// A word is what a word means in a position: the first of its classes counts.
type word struct {
	kind   kind
	letter byte // of a direction
	rank   uint8
	sure   bool // alone it makes a heading one of latitude or longitude
	about  bool
	in     inHeading
}

// inHeading is what a word means in a heading, beside its kind.
type inHeading uint8

const (
	asNothing inHeading = iota
	asPosition
	asBoth // latlon
	asGeographic
	asFiller
)

// classes are the word classes of the lexicon that positions know, the first one first.
var classes = [...]struct {
	name string
	kind kind
	in   inHeading
}{
	{"direction", tHemisphere, 0}, {"latitude", tLatitude, 0}, {"longitude", tLongitude, 0}, {"degree", tDegree, asFiller},
	{"angle-minute", tMinute, 0}, {"angle-second", tSecond, 0}, {"easting", tEasting, 0}, {"northing", tNorthing, 0},
	{"axis", tX, 0}, {"metre", tMetre, asFiller}, {"zone", tZone, 0}, {"latlon", tWord, asBoth},
	{"position-name", tWord, asPosition}, {"geographic", tWord, asGeographic}, {"position-filler", tWord, asFiller},
	{"near", tWord, 0},
	{"about", tWord, 0},
}

var words = sync.OnceValue(func() *lexicon.Table[word] {
	return lexicon.Compile(func(w lexicon.Word) (word, bool) {
		if w.In != "" && w.In != "position" && w.In != "measure" || w.In == "measure" && w.Class != "about" {
			return word{}, false
		}
		for i, c := range classes {
			if c.name != w.Class && !(c.name == "metre" && w.Class == "unit" && w.Is == "m") {
				continue
			}
			out := word{kind: c.kind, rank: uint8(i + 1), in: c.in, sure: w.Is == "sure",
				about: c.name == "near" || c.name == "about"}
			switch {
			case c.name == "direction":
				out.letter = w.Is[0]
			case c.name == "axis" && w.Is == "y":
				out.kind = tY
			}
			return out, true
		}
		return word{}, false
	}, func(old, more word) word {
		first := old
		if more.rank < old.rank {
			first = more
		}
		first.sure, first.about, first.in = old.sure || more.sure, old.about || more.about, max(old.in, more.in)
		if old.rank == more.rank && old.letter != more.letter {
			first.letter = 'O'
		}
		return first
	})
})

// find looks a word up.
func find(s string) (word, bool) {
	var buf [40]byte
	if len(s) > 32 {
		return word{}, false
	}
	return words().Find(text.AppendFold(buf[:0], s), nil)
}

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
