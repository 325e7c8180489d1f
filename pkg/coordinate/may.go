package coordinate

import (
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/lexicon"
)

// MayBeLetters reports whether a text may be a reference by grid letters. It is quick, and wrong only in
// one way: what it answers false to, [Normalise] does not read as one.
func MayBeLetters(s string) bool {
	figures := 0
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c >= 0x80:
			return true
		case c >= '0' && c <= '9':
			figures++
		}
	}
	if figures >= 2 { // one for the easting and one for the northing at least
		return strings.IndexByte(s, '(') >= 0 || allNaming(s) // in brackets many words may stand
	}
	// Letters alone are a square of 100 km where the system is named beside them.
	text, bad := tidy(s)
	if bad != nil {
		return false
	}
	_, system, _ := takeSystem(unlabelled(text))
	return system != nil
}

// allNaming reports whether every word of four letters or more may be a piece of the name of a system, or
// of what else may stand beside a reference by letters, which has itself two letters. It goes by the first four.
func allNaming(s string) bool {
	naming := namings()
	for i := 0; i < len(s); {
		if !isLetter(s[i]) {
			i++
			continue
		}
		start := i
		for i < len(s) && isLetter(s[i]) {
			i++
		}
		if i-start >= 4 && !naming[[4]byte{s[start] | 0x20, s[start+1] | 0x20, s[start+2] | 0x20, s[start+3] | 0x20}] {
			return false
		}
	}
	return true
}

// namings are all pieces of four letters of such names and words.
var namings = sync.OnceValue(func() map[[4]byte]bool {
	out := map[[4]byte]bool{}
	add := func(word string) {
		for i := 0; i+4 <= len(word); i++ {
			out[[4]byte([]byte(word[i:i+4]))] = true
		}
	}
	for alias := range byAlias {
		add(alias)
	}
	for _, class := range [...]string{"near", "about"} {
		for _, forms := range lexicon.Forms(class) {
			for _, word := range forms {
				add(word)
			}
		}
	}
	// The labels of unlabelled, the spellings of an EPSG code, the units of takeStated.
	for _, word := range strings.Fields("gridreference reference grid gridref epsg http https opengis mgrs usng metre metres meter meters") {
		add(word)
	}
	return out
})
