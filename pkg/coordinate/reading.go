// Package coordinate reads positions as people type them and places them on WGS 84, with an uncertainty that owns up to
// everything that adds to it.
//
//	r, err := coordinate.Normalise("SP 5270 9011", coordinate.Options{})
//	// r.Point 52.5…, -1.2…; r.Uncertainty 12.1: half the diagonal of a square of ten metres, and five for the datum
//
// # Notations
//
// Decimal degrees; degrees and minutes; degrees, minutes and seconds, with every mark in use, hemisphere letters before
// or behind, in six languages; ISO 6709 strings; geo URIs (RFC 5870); UTM; MGRS; the British and the Irish grid by
// letters; and eastings and northings of any System. Latitude comes first where nothing says otherwise (ISO 6709), and
// a Note says that this was assumed. Eastings and northings of no named system are refused. What may mean two things is
// refused with both as proposals; nothing is swapped, turned or shifted in silence.
//
// # Uncertainty
//
// A grid reference names a square, and its centre is the position: half the diagonal is the reading error. Otherwise it
// is half the diagonal of the cell of the last digit given, on the ellipsoid. The radius of the device and the accuracy
// of the datum shift are added, never averaged; the sum is rounded up to a tenth of a metre and is never zero. The
// parts stand in Reading.Budget.
//
// # Systems
//
// A System is data: ellipsoid, projection, shift, area of use, all by the EPSG dataset. The transverse Mercator
// projection is Krüger's series to the sixth power of n. Shifts are the seven parameters of the EPSG operation that
// Shift.Code names; national shift grids are not used, and Shift.Accuracy says what that costs.
//
// # Privacy
//
// Messages of errors and notes never contain a figure of the input. Error.Input, Part and Proposals do; show them only
// to whom the position may be shown.
//
// # Not here
//
// Heights, three-dimensional shifts, the polar grid, plate motion, and addresses by words or postcodes.
//
// This package is unstable: it may change between any two versions.
package coordinate

import (
	"math"
	"slices"
	"strconv"
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

// IsZero reports whether nothing was read, which is not the same as the place 0, 0.
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
				"the words say that the place is only about there; the uncertainty is that of the figures, and the spot may lie " +
					"farther off"})
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

// Point is a place on WGS 84, in degrees: longitude -180 to 180, east positive, latitude -90 to 90, north positive.
//
// The canonical text that Parse accepts is
//
//	point    = latitude ", " longitude
//	latitude = [ "-" ] digits [ "." 1*7 digits ]
//
// with no leading or trailing zero that is not needed and no negative zero: "52.507195, -1.224". The zero Point is
// a real place in the Gulf of Guinea, and does not mean that nothing is known; where that must be told apart, see
// Reading.IsZero.
type Point struct{ Longitude, Latitude float64 }

// Valid reports whether both coordinates are numbers within their range.
func (p Point) Valid() bool {
	return math.Abs(p.Latitude) <= 90 && math.Abs(p.Longitude) <= 180
}

// Round returns p with both coordinates rounded to seven decimals, about a centimetre.
func (p Point) Round() Point { return Point{Round7(p.Longitude), Round7(p.Latitude)} }

// String returns the canonical text, with at most seven decimals. A point that is not valid prints its numbers too, but
// Parse will refuse them.
func (p Point) String() string {
	b := make([]byte, 0, 32)
	b = appendDegrees(b, p.Latitude)
	b = append(b, ", "...)
	return string(appendDegrees(b, p.Longitude))
}

func appendDegrees(b []byte, v float64) []byte {
	return strconv.AppendFloat(b, Round7(v), 'f', -1, 64)
}

// Round7 rounds degrees to seven decimals, about a centimetre, half away from zero; it never returns a negative
// zero. What is not a number stays so.
func Round7(v float64) float64 {
	if math.Abs(v) >= 1e8 || v != v {
		return v
	}
	r := math.Round(v*1e7) / 1e7
	if r == 0 {
		return 0
	}
	return r
}

// Error says why a text could not be read as a position.
//
// Input, Part and Proposals hold what was written, and so may hold the position itself; a caller that must not repeat
// a position shows Message and Help only, which never contain a figure of the input. At is the byte offset of Part in
// Input, or -1 where no one part is at fault.
type Error struct {
	Input     string   // the whole text, as given
	Code      string   // kebab-case, kept for ever once published
	Part      string   // the part of Input at fault; empty where it is the whole
	At        int      // byte offset of Part in Input, or -1
	Message   string   // what was read and what was expected
	Help      string   // what to type instead
	Proposals []string // spellings that may have been meant; never applied
}

// Error returns the message, without the position.
func (e *Error) Error() string { return "reading a position: " + e.Message }

// Note is something that a reading had to assume, or that its reader should look at. Its message never quotes the
// position.
type Note struct {
	Code    string // kebab-case
	Message string // one sentence without a full stop
}

// fault makes an Error about the whole input.
func fault(input, code, message, help string, proposals ...string) *Error {
	return &Error{Input: input, Code: code, At: -1, Message: message, Help: help, Proposals: proposals}
}

// faultAt makes an Error about input[from:to].
func faultAt(input string, from, to int, code, message, help string, proposals ...string) *Error {
	if from < 0 || to > len(input) || from > to {
		return fault(input, code, message, help, proposals...)
	}
	return &Error{Input: input, Code: code, Part: input[from:to], At: from, Message: message, Help: help,
		Proposals: proposals}
}

// within says the fault in terms of a longer or an untidied input; a part that does not stand in it as it is, is left
// out.
func (e *Error) within(input string) *Error {
	if e.Input == input {
		return e
	}
	e.Input = input
	if e.Part != "" {
		e.At = strings.Index(input, e.Part)
	}
	if e.At < 0 {
		e.Part = ""
	}
	return e
}
