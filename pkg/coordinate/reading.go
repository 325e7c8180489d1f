package coordinate

import (
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// Options steer a reading. The zero value is the sensible choice.
type Options struct {
	// System is the code or name of the system of bare eastings and northings, "EPSG:27700"; a geographic system such
	// as "EPSG:4277" is used for bare degrees. A system that the text itself names wins. Empty: bare eastings and
	// northings are refused, bare degrees are WGS 84.
	System string
	// Device is the radius in metres that the device or method holds 95 times in 100. 0: not known, and not added. A
	// figure stated in the text takes its place.
	Device float64
	// Language is the BCP 47 tag of who wrote the text; it decides what "O" means: east in German and Dutch, west in
	// French, Spanish, Italian and Portuguese. Empty: "O" is refused as ambiguous.
	Language string
}

// The bases of an uncertainty.
const (
	BasisSquare   = "square"   // half the diagonal of the grid square that was named
	BasisComputed = "computed" // half the diagonal of the cell of the last digit given
	BasisStated   = "stated"   // the text says it, as a geo URI or behind a plus-minus sign
)

// The notations of a Reading.
const (
	NotationDecimalDegrees = "decimal-degrees"
	NotationDegreesMinutes = "degrees-minutes"
	NotationDMS            = "dms"
	NotationISO6709        = "iso-6709"
	NotationGeoURI         = "geo-uri"
	NotationMGRS           = "mgrs"
	NotationUTM            = "utm"
	NotationGridLetters    = "grid-letters"
	NotationProjected      = "projected"
)

// Part is one part of an uncertainty, in metres. Names are "device", "stated", "square", "rounding" and "datum-shift".
type Part struct {
	Name   string
	Metres float64
}

// Reading is what was made of a text. Either Absent says why there is no position, or all of Point, Uncertainty, Basis,
// System and Notation are set.
type Reading struct {
	Point       Point   // WGS 84, at most seven decimals
	Uncertainty float64 // metres, the sum of Budget rounded up to 0.1; never 0
	Basis       string  // BasisSquare, BasisComputed or BasisStated
	System      string  // the system that was written in, "EPSG:27700"
	Notation    string  // one of the Notation constants
	Square      float64 // side in metres of the square that was named; 0 where none was
	Budget      []Part  // what Uncertainty adds up from; never averaged
	Absent      string  // "not-noted", "not-known", "withheld", ... where the text says so
	Notes       []Note  // what had to be assumed
}

// IsZero tells that nothing was read, which is not the same as the place 0, 0.
func (r Reading) IsZero() bool { return r.Notation == "" && r.Absent == "" }

// maxInput is the longest text that is looked at, in bytes.
const maxInput = 256

// Normalise reads a position as people write it: decimal degrees, degrees and minutes, degrees, minutes and seconds, a
// geo URI, ISO 6709, UTM, MGRS, grid letters, or eastings and northings of a named system. An error is an *Error.
func Normalise(s string, o Options) (Reading, error) {
	if r, ok := quickDegrees(s, o); ok {
		return r, nil
	}
	return normaliseAny(s, o)
}

// normaliseAny reads any notation.
//
// Grammar: form.
func normaliseAny(s string, o Options) (Reading, error) {
	body, bad := tidy(s)
	if bad != nil {
		return Reading{}, bad
	}
	if reason, ok := lexicon.Absence(body, "position"); ok {
		return Reading{Absent: reason}, nil
	}
	stated, badOption := o.system()
	if badOption != nil {
		return Reading{}, badOption.within(s)
	}
	r, err := read(body, o, stated)
	if err != nil {
		return Reading{}, err.within(s)
	}
	return r, nil
}

// read tries the notations in turn; each reports whether the text is its own.
//
// Grammar: text.
func read(text string, o Options, stated *System) (Reading, *Error) {
	if r, mine, err := readGeoURI(text, o); mine {
		return r, err
	}
	if r, mine, err := readMarked(text, o); mine {
		return r, err
	}
	body, system, err := takeSystem(unlabelled(text))
	if err != nil {
		return Reading{}, err
	}
	body, plusMinus, err := takeStated(body)
	if err != nil {
		return Reading{}, err
	}
	w := &writing{input: body, o: o, system: system, stated: stated, plusMinus: plusMinus}
	if rest, ok := withoutAbout(body); ok {
		r, err := read(rest, o, firstSystem(system, stated))
		if err == nil && r.Absent == "" {
			r.Notes = append(r.Notes, Note{"position-approximate",
				"the words say that the place is only about there; the uncertainty is that of the figures, and the spot may lie farther off"})
		}
		return r, err
	}
	for _, f := range [...]func(*writing) (Reading, bool, *Error){readISO, readMGRS, readUTM, readLetters} {
		if r, mine, err := f(w); mine {
			return r, err
		}
	}
	return readNumbers(w)
}

func firstSystem(a, b *System) *System {
	if a != nil {
		return a
	}
	return b
}

// withoutAbout takes a word for about or near off; what follows it begins with a figure, a sign or a letter of a grid
// behind a blank.
//
// Grammar: about.
func withoutAbout(s string) (string, bool) {
	n := 0
	for n < len(s) && isLetter(s[n]) {
		n++
	}
	after := s[n:]
	if n == 0 {
		if s == "" || s[0] != '~' {
			return s, false
		}
		after = s[1:]
	} else if w, ok := find(s[:n]); !ok || !w.about {
		return s, false
	}
	after, dot := strings.CutPrefix(after, ".")
	rest := strings.TrimLeft(after, " :")
	apart := rest != after || (dot || n == 0) && rest != "" && rest[0]-'0' <= 9
	if !apart || !strings.ContainsAny(rest, "0123456789") {
		return s, false
	}
	return rest, true
}

// unlabelled takes off the words that say of a grid reference that it is one: "grid ref: SP 5270 9011 (8 figure)".
//
// Grammar: label.
func unlabelled(s string) string {
	for _, label := range gridLabels() {
		if !hasFoldPrefix(s, label) {
			continue
		}
		rest := strings.TrimLeft(s[len(label):], " .:=")
		if len(rest) < len(s)-len(label) && rest != "" && isLetter(rest[0]) {
			s = rest
		}
		break
	}
	if at := strings.LastIndexByte(s, '('); at > 0 && strings.HasSuffix(s, ")") &&
		strings.Contains(strings.ToLower(s[at:]), "fig") {
		s = strings.TrimRight(s[:at], " ")
	}
	return s
}

// writing is a text on its way through the notations.
type writing struct {
	input     string
	o         Options
	system    *System // named in the text
	stated    *System // named in the options
	plusMinus float64 // "± 5 m" in the text; 0 where none was
	notes     []Note
}

func (w *writing) note(code, message string) { w.notes = append(w.notes, Note{code, message}) }

// system resolves Options.System; nil where none was given.
func (o Options) system() (*System, *Error) {
	if o.System == "" {
		return nil, nil
	}
	if s, ok := SystemByName(o.System); ok {
		return s, nil
	}
	return nil, fault("", "system-unknown", "the coordinate system that was asked for is not one this tool knows",
		"give an EPSG code such as EPSG:27700 (Great Britain), EPSG:28992 (Netherlands) or EPSG:25832 (UTM zone 32)")
}

// budget adds up the parts of an uncertainty: the device, what the text states, the reading error, the shift.
func (w *writing) budget(r *Reading, name string, metres float64, s *System) {
	device := w.o.Device > 0 && !math.IsInf(w.o.Device, 0)
	n := 1
	if w.plusMinus > 0 || device {
		n++
	}
	if s.Shift.Accuracy > 0 {
		n++
	}
	parts := make([]Part, 0, n)
	sum := metres
	switch {
	case w.plusMinus > 0:
		parts = append(parts, Part{"stated", w.plusMinus})
		sum += w.plusMinus
		if r.Square == 0 {
			r.Basis = BasisStated
		}
	case device:
		parts = append(parts, Part{"device", w.o.Device})
		sum += w.o.Device
	}
	parts = append(parts, Part{name, metres})
	if s.Shift.Accuracy > 0 {
		parts = append(parts, Part{"datum-shift", s.Shift.Accuracy})
		sum += s.Shift.Accuracy
	}
	r.Budget = parts
	r.Uncertainty = roundUp(sum)
}

// roundUp rounds metres up to 0.1, at least 0.1.
func roundUp(m float64) float64 {
	t := math.Ceil(m*10 - 1e-9)
	if !(t >= 1) {
		t = 1
	}
	return t / 10
}

// cellHalfDiagonal is half the diagonal in metres of a cell of so many degrees, at a latitude on WGS 84.
func cellHalfDiagonal(latitude, latitudeStep, longitudeStep float64) float64 {
	m, n := wgs84.radii(latitude)
	ns := m * latitudeStep * radians
	ew := n * math.Cos(latitude*radians) * longitudeStep * radians
	return math.Hypot(ns, ew) / 2
}

// tidy trims a text and turns the odd signs people paste into plain ones; it refuses an empty or an overlong text.
func tidy(s string) (string, *Error) {
	if len(s) > maxInput {
		return "", fault(s, "too-long", "this is too long to be a position",
			"give the position alone, in one of the usual notations")
	}
	t := strings.TrimFunc(plain(s), func(r rune) bool {
		return r == ' ' || r == '"' && strings.Count(s, `"`) == 2 && strings.HasPrefix(strings.TrimSpace(s), `"`)
	})
	if t = withZeros(t); t == "" {
		return "", fault(s, "empty", "there is nothing to read",
			"give a position, or say why there is none, for instance \"not noted\"")
	}
	return t, nil
}

// plain brings the signs people paste to plain ones. Text that is plain already is returned as it is.
func plain(s string) string {
	odd := false
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 || s[i] < ' ' || s[i] == 0x7f {
			odd = true
			break
		}
	}
	if !odd {
		return s
	}
	return strings.Map(func(r rune) rune {
		if r = text.Sign(r); r == 0 {
			return -1
		}
		return r
	}, s)
}

// gridLabels are the words that say of a grid reference that it is one, the longest first.
var gridLabels = sync.OnceValue(func() []string {
	var out []string
	for _, forms := range lexicon.Forms("grid-label") {
		out = append(out, forms...)
	}
	slices.SortFunc(out, func(a, b string) int { return len(b) - len(a) })
	return out
})
