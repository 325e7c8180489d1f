package coordinate

import (
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
