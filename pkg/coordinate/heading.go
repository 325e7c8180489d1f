package coordinate

import (
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/lexicon"
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
	var system *System
	lat, lon, unsure, in1992 := false, false, "", false
	for i := 0; i < len(words); {
		if n, t := systemAt(words[i:]); n > 0 {
			if system != nil && system != t && system.Datum != t.Datum {
				return "", "", false
			}
			if system == nil || system.Geographic() {
				system = t
			}
			if name := strings.Join(words[i:i+n], ""); axis == "" && (name == "ngr" || name == "osngr" || name == "osgridref") {
				axis = AxisReference
			}
			i += n
			continue
		}
		w, known := find(words[i])
		single := len(words[i]) == 1
		switch {
		case known && w.kind == tLatitude && w.sure:
			lat = true
		case known && w.kind == tLongitude && w.sure:
			lon = true
		case w.in == asBoth:
			lat, lon = true, true
		case w.kind == tEasting && !single && words[i] != "me":
			axis = AxisEasting
		case w.kind == tNorthing && !single && words[i] != "mn":
			axis = AxisNorthing
		case lexicon.Says("grid-label", words[i]) && len(words[i]) > 2, words[i] == "mgrs", words[i] == "usng":
			axis = AxisReference
		case words[i] == "ref", words[i] == "reference":
			if (i == 0 || words[i-1] != "grid") && system == nil {
				return "", "", false
			}
			axis = AxisReference
		case known && (w.kind == tLatitude || w.kind == tLongitude || w.kind == tX || w.kind == tY), words[i] == "e",
			words[i] == "n":
			unsure = words[i]
		case words[i] == "1992": // X (1992): a year, but beside an axis the Polish system of that name
			in1992 = true
		case w.in == asPosition:
			if axis == "" {
				axis = AxisPosition
			}
		case w.in == asGeographic:
			if system == nil {
				system = systems[0]
			}
		case w.in == asFiller && known, lexicon.Says("with", words[i]), words[i] == "w", words[i] == "s":
		default:
			return "", "", false
		}
		i++
	}
	if in1992 {
		if system != nil || unsure == "" && axis != AxisEasting && axis != AxisNorthing {
			return "", "", false
		}
		system = byNumber[2180]
	}
	switch {
	case lat && lon:
		axis = AxisPosition
	case lat:
		axis = AxisLatitude
	case lon:
		axis = AxisLongitude
	}
	if unsure != "" && !lat && !lon && (axis == "" || axis == AxisPosition) {
		if axis = axisOf(unsure, system); axis == "" {
			return "", "", false
		}
	}
	if axis == "" {
		if system == nil {
			return "", "", false
		}
		axis = AxisPosition
	}
	if (lat || lon) && system == nil {
		system = systems[0]
	}
	if system != nil && (lat || lon) && !system.Geographic() {
		w := writing{system: system}
		system = w.datum()
	}
	if system != nil {
		code = system.Code
		if system.Geographic() && (axis == AxisEasting || axis == AxisNorthing) {
			code = "" // the datum alone does not tell which grid
		}
	}
	return code, axis, true
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
	case "e":
		return AxisEasting
	case "n":
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
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
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
		if s, ok := byAlias[foldName(name)]; ok {
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
