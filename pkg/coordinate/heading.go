package coordinate

import (
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// The axes that a heading may name.
const (
	AxisLatitude  = "latitude"
	AxisLongitude = "longitude"
	AxisEasting   = "easting"
	AxisNorthing  = "northing"
	AxisReference = "reference" // a grid reference by letters
	AxisPosition  = "position"  // both coordinates in one cell
)

// SystemOfHeading tells what a column heading says about positions: the code of the system it names, or "" where it
// names none, and the axis, one of the Axis constants. ok is false for a heading that is not about a position, that
// holds words not known here, or that might as well mean something else: "X", "N" or length, which is longitude
// in some languages, count only beside a system or another word of place.
func SystemOfHeading(s string) (code string, axis string, ok bool) {
	if len(s) > 120 {
		return "", "", false
	}
	words := headingWords(s)
	var h headingParts
	for i := 0; i < len(words); {
		n := 1
		if named, t := systemAt(words[i:]); named > 0 {
			name := strings.Join(words[i:i+named], "")
			if n, ok = named, true; eastOfZone().MatchString(name) {
				h.zone, h.unsure = true, "e"
			} else {
				ok = h.name(name, t)
			}
		} else {
			ok = h.word(words, i)
		}
		if !ok {
			return "", "", false
		}
		i += n
	}
	return h.result()
}

// eastOfZone is a zone of UTM with E behind it: in a heading the axis, for the band of that letter is Antarctic sea.
var eastOfZone = text.Pattern(`^utm(?:zone)?[0-9]{1,2}e$`)

// headingParts is what the words of a heading say about positions, as far as it was read.
type headingParts struct {
	system    *System
	axis      string
	lat, lon  bool
	unsure    string // a word that is an axis only beside others
	zone      bool   // a zone of UTM without its hemisphere, in which E and N are axes
	direction string // a word for north or east, an axis only beside x, y or a system
	both      bool   // two axes are named
	in1992    bool   // the figures 1992: a year, but beside an axis the Polish system of that name
}

// name takes a system that is named; false where two contradict each other.
func (h *headingParts) name(name string, t *System) bool {
	if h.system != nil && h.system != t && h.system.Datum != t.Datum {
		return false
	}
	if h.system == nil || h.system.Geographic() {
		h.system = t
	}
	if h.axis == "" && (name == "ngr" || name == "osngr" || name == "osgridref") {
		h.axis = AxisReference
	}
	return true
}

// word takes a word that names no system; false where it is not about a position.
func (h *headingParts) word(words []string, i int) bool {
	word := words[i]
	w, known := find(word)
	single := len(word) == 1
	switch {
	case known && w.kind == tLatitude && w.sure:
		h.lat = true
	case known && w.kind == tLongitude && w.sure:
		h.lon = true
	case w.in == asBoth:
		h.lat, h.lon = true, true
	case w.kind == tEasting && !single && word != "me":
		h.both = h.both || h.axis == AxisNorthing
		h.axis = AxisEasting
	case w.kind == tNorthing && !single && word != "mn":
		h.both = h.both || h.axis == AxisEasting
		h.axis = AxisNorthing
	case lexicon.Says("grid-label", word) && len(word) > 2, word == "mgrs", word == "usng":
		h.axis = AxisReference
	case word == "ref", word == "reference":
		if (i == 0 || words[i-1] != "grid") && h.system == nil {
			return false
		}
		h.axis = AxisReference
	case known && (w.kind == tLatitude || w.kind == tLongitude || w.kind == tX || w.kind == tY), word == "e", word == "n",
		single && (w.kind == tEasting || w.kind == tNorthing):
		h.both = h.both || h.unsure != "" && axisLetter(h.unsure) != axisLetter(word) && axisLetter(word) != 0
		h.unsure = word
	case word == "1992":
		h.in1992 = true
	case i > 0 && len(word) <= 2 && allDigits(word) && axisLetter(word) == 0 && isZoneWord(words[i-1]):
		h.zone = true
	case w.kind == tHemisphere && !single && (w.letter == 'E' || w.letter == 'N'):
		h.direction = map[byte]string{'E': AxisEasting, 'N': AxisNorthing}[w.letter]
	case w.in == asPosition:
		if h.axis == "" {
			h.axis = AxisPosition
		}
	case w.in == asGeographic:
		if h.system == nil {
			h.system = systems()[0]
		}
	default:
		return w.in == asFiller && known || lexicon.Says("with", word) || word == "w" || word == "s"
	}
	return true
}

func isZoneWord(word string) bool {
	w, _ := find(word)
	return word == "utm" || w.kind == tZone
}

// settle works out the axis and the system from the parts together; false where they do not make a position.
func (h *headingParts) settle() bool {
	if h.in1992 {
		if h.system != nil || h.unsure == "" && h.axis != AxisEasting && h.axis != AxisNorthing {
			return false
		}
		h.system = byNumber()[2180]
	}
	if h.direction != "" && (h.axis == "" || h.axis == AxisPosition) {
		if h.system == nil && h.unsure != "x" && h.unsure != "y" || h.system != nil && h.system.Geographic() {
			return false
		}
		h.axis, h.both = h.direction, false
	}
	switch {
	case h.lat && h.lon:
		h.axis = AxisPosition
	case h.both && !h.lat && !h.lon && (h.system != nil || h.axis == AxisEasting || h.axis == AxisNorthing):
		h.axis = AxisPosition
	case h.lat:
		h.axis = AxisLatitude
	case h.lon:
		h.axis = AxisLongitude
	case h.unsure != "" && (h.axis == "" || h.axis == AxisPosition):
		s := h.system
		if s == nil && h.zone {
			s = utmSystem(1, false)
		}
		if h.axis = axisOf(h.unsure, s); h.axis == "" {
			return false
		}
	}
	if h.axis == "" {
		if h.system == nil {
			return false
		}
		h.axis = AxisPosition
	}
	return true
}

func (h *headingParts) result() (code string, axis string, ok bool) {
	if !h.settle() {
		return "", "", false
	}
	system := h.system
	if h.lat || h.lon {
		if system == nil {
			system = systems()[0]
		} else if !system.Geographic() {
			w := writing{system: system}
			system = w.datum()
		}
	}
	if system == nil {
		return "", h.axis, true
	}
	if system.Geographic() && (h.axis == AxisEasting || h.axis == AxisNorthing) {
		return "", h.axis, true // the datum alone does not tell which grid
	}
	return system.Code, h.axis, true
}

// AxisOf returns the letter that says which axis a heading names: E or N where one of its words is a direction, X or Y
// where it says no more than that, 0 for neither, or both.
func AxisOf(heading string) byte {
	var seen [128]bool
	words := headingWords(heading)
	for i := 0; i < len(words); i++ {
		if named, _ := systemAt(words[i:]); named > 0 {
			i += named - 1
		} else if letter := axisLetter(words[i]); letter != 0 {
			seen[letter] = true
		}
	}
	for _, pair := range []string{"EN", "XY"} {
		if one, two := seen[pair[0]], seen[pair[1]]; one != two {
			return pair[map[bool]int{true: 0, false: 1}[one]]
		} else if one {
			return 0
		}
	}
	return 0
}

// axisLetter is E, N, X or Y for a word or letter of an axis, else 0.
func axisLetter(word string) byte {
	switch w, _ := find(word); {
	case w.kind == tEasting, w.kind == tHemisphere && w.letter == 'E':
		return 'E'
	case w.kind == tNorthing, w.kind == tHemisphere && w.letter == 'N':
		return 'N'
	case w.kind == tX:
		return 'X'
	case w.kind == tY:
		return 'Y'
	}
	return 0
}

// AxesSaid finds in a sentence what x or y stands for, as in "x = east": the letter of the axis that x names, 0 where
// nothing is said.
func AxesSaid(sentence string) byte {
	words := headingWords(sentence)
	for i, word := range words {
		of := axisLetter(word)
		for j := i + 1; (of == 'X' || of == 'Y') && j < min(i+4, len(words)); j++ {
			switch to := axisLetter(words[j]); {
			case to == 0:
				continue
			case to == 'X' || to == 'Y':
			case (to == 'E') == (of == 'X'):
				return 'E'
			default:
				return 'N'
			}
			break
		}
	}
	return 0
}

// Labelled writes the letter of its axis before a number that says nothing of it.
func Labelled(axis byte, number string) string {
	number = strings.TrimSpace(number)
	if !strings.ContainsAny(number, "0123456789") || !strings.ContainsAny(number[:1], "0123456789+-") {
		return number
	}
	for _, word := range strings.FieldsFunc(number, func(r rune) bool { return !unicode.IsLetter(r) }) {
		if w, known := find(word); !known || w.kind != tMetre {
			return number
		}
	}
	return string(axis) + " " + number
}

// axisOf tells what a short or doubtful word means beside a system.
func axisOf(word string, s *System) string {
	if s == nil {
		return ""
	}
	if s.Geographic() {
		if w, _ := find(word); w.kind == tLatitude || w.kind == tY || word == "n" {
			return AxisLatitude
		}
		return AxisLongitude
	}
	switch word {
	case "e", "r":
		return AxisEasting
	case "n", "h":
		return AxisNorthing
	case "x", "y":
		if (word == "x") == s.XIsNorthing {
			return AxisNorthing
		}
		return AxisEasting
	}
	return ""
}

// headingWords folds a heading to lower-case words of letters and figures; "EPSG:27700" is two words.
func headingWords(s string) []string {
	s = strings.ReplaceAll(strings.ToLower(s), "ch1903+", "ch1903plus")
	return strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// systemAt finds the longest name of a system at the start of words.
func systemAt(words []string) (int, *System) {
	if len(words) > 1 && words[0] == "epsg" {
		if s, ok := SystemByCode(words[1]); ok {
			return 2, s
		}
		return 0, nil
	}
	for n := min(len(words), 6); n > 0; n-- {
		name := strings.Join(words[:n], "")
		if name == "gps" {
			continue
		}
		if s, ok := named(foldName(name)); ok {
			return n, s
		}
		if strings.HasPrefix(name, "epsg") {
			if s, ok := SystemByCode(name); ok {
				return n, s
			}
		}
	}
	return 0, nil
}
