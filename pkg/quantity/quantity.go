// Package quantity reads lengths, masses and counts as people write them, and
// either reads them exactly or refuses them: it never guesses.
//
// NormaliseLength, NormaliseMass and NormaliseCount take the text of a cell
// ("8½″", "7 to 9 in", "more than a foot", "ca. 20 cm", "zehn Zentimeter")
// and return a Reading: the value, the reason where the text says that there
// is none, and notes about whatever had to be assumed. What cannot be read
// honestly is an *Error with a code, the part at fault, and proposals that a
// person may accept.
//
//	r, err := quantity.NormaliseLength("7-9", quantity.Options{Default: quantity.IN})
//	// r.Quantity is 17.78..22.86 cm (said in; step 2.54)
//
// # Terms
//
// A Quantity is an interval with inclusive ends, in one unit; "said" is the
// unit that was written, and the resolution is the step to which it was
// written. Conversion is exact to nine decimal places, half to even, and is
// done once; Show rounds for people and never shows more than was stated.
//
// # Conventions where people differ
//
//   - 8-1/2" is eight and a half (common practice); 6-8" is a range.
//   - n/d is a fraction for halves and quarters. For eighths to sixty-fourths
//     it is one where no range can be meant: n is odd and less than half of d
//     (3/8", 1/16"). 8/9" is a range; 6/8", 7/8", 2/3" and 81/2" are refused. A mixed
//     number such as 8 3/8" is always read.
//   - A comma with one or two digits behind it is a decimal comma; 1,200 is
//     refused, since it is 1200 to some and 1.2 to others. A point is always
//     decimal.
//   - oz is the avoirdupois ounce. gr is refused unless the column, or a
//     pennyweight beside it, tells grain from gram.
//   - Over, under, at least and up to all give an inclusive bound: the interval
//     may hold its end, it never loses a value.
//   - Zoll, duim, pouce, tomme and tum are the inch of 25.4 mm, not the old
//     national inches.
//
// # Goals and non-goals
//
// The six languages are English, German, Dutch, French, Danish and Swedish,
// and they may be mixed. The package judges no value (a depth of 30 m is read),
// knows no column, and stores no default widths.
//
// This package is unstable: it may change between any two versions.
package quantity

import (
	"errors"
	"strings"
)

// Bound is one number of a Quantity, or the statement that there is none.
// The zero value is not known, which is not the same as zero.
type Bound struct {
	Value Decimal
	Known bool
}

// Quantity is a length, a mass or a count as an interval. All numbers are in
// Unit, and the bounds are inclusive. It is a small comparable value; the
// zero value knows nothing.
//
//	Unit         the unit of the numbers; NoUnit for a count
//	Said         the unit that was stated, the finer one where two were
//	Min, Max     the ends; one value has both and they are equal; an end
//	             that is not known is open
//	Best         the middle value where a tolerance was stated (20 ± 2)
//	Resolution   the coarser step of the stated ends: 2.54 for "8 in" in cm
//	Approximate  about, c., ~, -ish; the interval is not widened for it
//
// The canonical text is what String writes and Parse reads:
//
//	quantity = ["~"] interval [" " unit] [" (" detail *("; " detail) ")"]
//	interval = number / number ".." number / ">=" number / "<=" number / "unknown"
//	detail   = "best " number / "said " unit / "step " number
//	         / "said none" / "step none"
//
// A detail is left out when it says what the interval already shows: "said"
// when it is the unit (never for grains), "step" when it is one in the last
// decimal place written.
type Quantity struct {
	Unit, Said                 Unit
	Min, Max, Best, Resolution Bound
	Approximate                bool
}

// IsZero reports whether nothing at all is known.
func (q Quantity) IsZero() bool { return q == Quantity{} }

// Single reports whether both ends are known and equal.
func (q Quantity) Single() bool { return q.Min.Known && q.Min == q.Max }

// String writes the canonical text, for example "20.32 cm (said in; step
// 2.54)" or ">=30.48 cm (said ft; step 30.48)"; Parse reads it back. The zero
// value is "unknown".
func (q Quantity) String() string {
	var buf [96]byte
	return string(q.append(buf[:0]))
}

func (q Quantity) append(b []byte) []byte {
	if q.Approximate {
		b = append(b, '~')
	}
	switch {
	case q.Min.Known && q.Max.Known && q.Min.Value == q.Max.Value:
		b = q.Min.Value.append(b)
	case q.Min.Known && q.Max.Known:
		b = q.Min.Value.append(b)
		b = append(b, ".."...)
		b = q.Max.Value.append(b)
	case q.Min.Known:
		b = append(b, ">="...)
		b = q.Min.Value.append(b)
	case q.Max.Known:
		b = append(b, "<="...)
		b = q.Max.Value.append(b)
	default:
		b = append(b, "unknown"...)
	}
	if q.Unit != NoUnit {
		b = append(b, ' ')
		b = append(b, q.Unit.String()...)
	}
	sep := " ("
	detail := func(name string) {
		b = append(b, sep...)
		b = append(b, name...)
		sep = "; "
	}
	if q.Best.Known {
		detail("best ")
		b = q.Best.Value.append(b)
	}
	if q.Said != q.saidUnwritten() {
		detail("said ")
		if q.Said == NoUnit {
			b = append(b, "none"...)
		}
		b = append(b, q.Said.String()...)
	}
	if q.Resolution != q.stepUnwritten() {
		detail("step ")
		if q.Resolution.Known {
			b = q.Resolution.Value.append(b)
		} else {
			b = append(b, "none"...)
		}
	}
	if sep == "; " {
		b = append(b, ')')
	}
	return b
}

// saidUnwritten is the stated unit when the text does not tell it. Grains are
// always told, because "gr" alone is ambiguous to Normalise.
func (q Quantity) saidUnwritten() Unit {
	if q.Unit == GR {
		return NoUnit
	}
	return q.Unit
}

// stepUnwritten is the resolution when the text does not tell it: the coarser
// last decimal place of the numbers written.
func (q Quantity) stepUnwritten() Bound {
	if !q.Min.Known && !q.Max.Known {
		return Bound{}
	}
	places := 9
	for _, b := range [...]Bound{q.Min, q.Max} {
		if b.Known {
			places = min(places, b.Value.places())
		}
	}
	step := Decimal(one)
	for range places {
		step /= 10
	}
	return Bound{step, true}
}

// parse reads the canonical text that String writes; a caller compares with String, for some other texts pass too.
func parse(s string) (q Quantity, ok bool) {
	in := parsing{s: s}
	q.Approximate = in.cut("~")
	if !in.bounds(&q) {
		return q, false
	}
	if in.s != "" && in.s[0] == ' ' && len(in.s) > 1 && in.s[1] != '(' {
		code, rest := in.s[1:], ""
		if i := strings.IndexByte(code, ' '); i >= 0 {
			code, rest = code[:i], code[i:]
		}
		u, known := unitOfCode(code)
		if !known {
			return q, false
		}
		q.Unit, in.s = u, rest
	}
	q.Said, q.Resolution = q.saidUnwritten(), q.stepUnwritten()
	if in.s == "" {
		return q, true
	}
	if !in.cut(" (") || !strings.HasSuffix(in.s, ")") {
		return q, false
	}
	in.s = in.s[:len(in.s)-1]
	return q, in.details(&q) && in.s == "" && q.consistent()
}

// parsing is what is left of a text that parse reads.
type parsing struct{ s string }

func (in *parsing) number(to *Bound) bool {
	d, rest, ok := scanDecimal(in.s)
	if !ok || d < 0 {
		return false
	}
	*to, in.s = Bound{d, true}, rest
	return true
}

func (in *parsing) cut(prefix string) (found bool) {
	in.s, found = strings.CutPrefix(in.s, prefix)
	return found
}

func (in *parsing) bounds(q *Quantity) bool {
	switch {
	case in.cut("unknown"):
		return true
	case in.cut(">="):
		return in.number(&q.Min)
	case in.cut("<="):
		return in.number(&q.Max)
	case !in.number(&q.Min):
		return false
	}
	q.Max = q.Min
	return !in.cut("..") || in.number(&q.Max) && q.Min.Value < q.Max.Value
}

// details reads what stands in brackets.
func (in *parsing) details(q *Quantity) bool {
	if in.cut("best ") && (!in.number(&q.Best) || in.s != "" && !in.cut("; ")) {
		return false
	}
	if in.cut("said ") {
		code, rest, more := strings.Cut(in.s, "; ")
		u, known := unitOfCode(code)
		if more && rest == "" || !known && code != "none" {
			return false
		}
		q.Said, in.s = u, rest
	}
	if !in.cut("step ") {
		return true
	}
	if in.cut("none") {
		q.Resolution = Bound{}
		return true
	}
	return in.number(&q.Resolution)
}

// consistent reports whether units and numbers of q fit each other.
func (q Quantity) consistent() bool {
	if q.Said != NoUnit && q.Said.Dimension() != q.Unit.Dimension() {
		return false
	}
	if q.Best.Known {
		if q.Min.Known && q.Best.Value < q.Min.Value || q.Max.Known && q.Best.Value > q.Max.Value {
			return false
		}
	}
	return true
}

// unitOfCode is ParseUnit without the cost of an error.
func unitOfCode(code string) (Unit, bool) {
	for u := MM; u < listedCount; u++ {
		if units[u].code == code {
			return u, true
		}
	}
	return NoUnit, false
}

// In returns q with its numbers in u, exact to nine places and rounded half to
// even there. A unit of another dimension, or a number too large for u, gives
// the zero Quantity.
func (q Quantity) In(u Unit) Quantity {
	if u == q.Unit {
		return q
	}
	if u >= listedCount || q.Unit >= listedCount || u == NoUnit || u.Dimension() != q.Unit.Dimension() {
		return Quantity{}
	}
	r := ratios[q.Unit][u]
	for _, b := range [...]*Bound{&q.Min, &q.Max, &q.Best, &q.Resolution} {
		if !b.Known {
			continue
		}
		if b.Value < 0 {
			return Quantity{}
		}
		v, ok := mulDiv(uint64(b.Value), r.p, r.q)
		if !ok {
			return Quantity{}
		}
		b.Value = Decimal(v)
	}
	q.Unit = u
	return q
}

// The codes of an Error. Once published a code keeps its meaning.
const (
	CodeEmpty             = "empty"
	CodeTooLong           = "too-long"
	CodeUnitMissing       = "unit-missing"
	CodeUnitUnknown       = "unit-not-listed"
	CodeUnitAmbiguous     = "unit-ambiguous"
	CodeUnitKind          = "unit-of-another-kind"
	CodeUnitOrder         = "unit-order"
	CodeNegative          = "negative"
	CodeFractionAmbiguous = "fraction-ambiguous"
	CodeNumberAmbiguous   = "number-ambiguous"
	CodeNumberTooLong     = "number-too-long"
	CodeTooLarge          = "too-large"
	CodeSpreadsheetDate   = "spreadsheet-date"
	CodeMojibake          = "mojibake"
	CodeEcho              = "echo-disagrees"
	CodeTwoMeasures       = "several-measures"
	CodeVague             = "vague"
	CodeLayer             = "layer-not-measure"
	CodeNotWhole          = "not-whole"
	CodeRange             = "range-ambiguous"
	CodeBound             = "bound-ambiguous"
	CodeLanguage          = "language-ambiguous"
	CodeNotUnderstood     = "not-understood"
)

// An Error tells why a text was not read. Part is the piece at fault and At
// its place in Input, in bytes from 0; of a text that is too long, Input holds
// the beginning. Message says what was read and what was expected, Help what to
// do next. Each of Proposals is a text that the writer may have meant and that
// would be read, in a column with a unit if the input names none; there may be
// no proposal.
type Error struct {
	Input, Code, Part string
	At                int
	Message, Help     string
	Proposals         []string
}

// IsVague reports whether a text was refused because it names no number: several, a handful.
func IsVague(err error) bool {
	var e *Error
	return errors.As(err, &e) && e.Code == CodeVague
}

// Error returns the message in one line, with the input and the proposals.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString("reading \"")
	b.WriteString(clip(e.Input))
	b.WriteString("\": ")
	b.WriteString(e.Message)
	if len(e.Proposals) > 0 {
		b.WriteString("; perhaps ")
		for i, p := range e.Proposals {
			if i > 0 {
				b.WriteString(" or ")
			}
			b.WriteString("\"" + p + "\"")
		}
	}
	return b.String()
}
