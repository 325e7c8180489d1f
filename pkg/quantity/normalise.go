package quantity

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

// Options tells what a text alone does not. The zero value reads into
// centimetres or grams and refuses a number without unit.
type Options struct {
	// Into is the unit of the result; NoUnit means CM for lengths and G for
	// masses. A unit of the other dimension counts as NoUnit.
	Into Unit
	// Default is the unit of a number that states none, as a heading or an
	// option gives it; NoUnit refuses such a number. A unit in the text wins.
	Default Unit
	// Language is the language of the words, which then have the meaning that they have in it. Nil reads the words of all
	// languages, and refuses a text whose value differs between two.
	Language *lexicon.Language
}

// A Reading is what a text says: a Quantity, or in Absent the reason why it
// has none (not-noted, not-measured, not-known, illegible, not-applicable).
// Basis is "surface" where the text says that the find lay on the surface.
// Notes tell what had to be assumed, in the order of the text; a caller may
// append to them.
type Reading struct {
	Quantity
	Basis  string
	Absent string
	Notes  []Note
}

// The codes of a Note.
const (
	NoteUnitAssumed   = "unit-assumed"    // the unit was not in the text
	NoteDecimalComma  = "decimal-comma"   // a comma was read as a decimal sign
	NoteAlternatives  = "alternatives"    // another reading is possible but unusual
	NoteReversed      = "reversed"        // the ends of a range stood in the wrong order
	NoteEcho          = "echo"            // a second unit agreed and was set aside
	NoteClamped       = "clamped"         // a tolerance reached below zero
	NoteLayer         = "layer"           // the layer of the ground stood behind a depth
	NoteQuery         = "query"           // a question mark was taken for about
	NoteNoise         = "float-noise"     // the noise of a sum was rounded away
	NoteUnitNotListed = "unit-not-listed" // a unit that the format cannot state was converted
)

// A Note tells one thing that had to be assumed, with a code and in words.
type Note struct{ Code, Message string }

// NormaliseLength reads a depth or a size as people write it. The result is
// in Options.Into. The error is an *Error.
func NormaliseLength(s string, o Options) (Reading, error) {
	if o.Into.Dimension() != Length {
		o.Into = CM
	}
	return normalise(s, o, Length)
}

// NormaliseMass reads a weight as people write it. The result is in
// Options.Into. The error is an *Error.
func NormaliseMass(s string, o Options) (Reading, error) {
	if o.Into.Dimension() != Mass {
		o.Into = G
	}
	return normalise(s, o, Mass)
}

func normalise(s string, o Options, d Dimension) (Reading, error) {
	if mayBeCanonical(s) {
		if q, ok := parse(s); ok && (q.Unit.Dimension() == d) && q.String() == s {
			if into := q.In(o.Into); !into.IsZero() {
				return Reading{Quantity: into}, nil
			}
		}
	}
	if len(s) > maxLength {
		return Reading{}, tooLong(s)
	}
	s = unwrapped(s)
	if r, ok := phrase(s, d, o.Into); ok {
		return r, nil
	}
	r, clash, err := readMeasure(s, o, d)
	if clash == 0 || o.Language != nil {
		return r, err
	}
	return inLanguages(s, clash, r, err, func(l *lexicon.Language) (Reading, uint32, error) {
		o.Language = l
		return readMeasure(s, o, d)
	})
}

// unwrapped takes off the brackets or quotes that stand around a whole text.
func unwrapped(s string) string {
	if s == "" || s[0] >= '0' && s[0] <= '9' {
		return s
	}
	t := strings.TrimSpace(s)
	if len(t) < 3 {
		return s
	}
	switch t[0] {
	case '(', '[', '"', '\'':
	default:
		return s
	}
	inside := t[1 : len(t)-1]
	switch t[:1] + t[len(t)-1:] {
	case "()", "[]":
		if !strings.ContainsAny(inside, "()[]") {
			return inside
		}
	case `""`, "''":
		if !strings.ContainsAny(inside, `"'`) {
			return inside
		}
	}
	return s
}

// readMeasure reads a length or a mass, and returns the languages that differ in one of its words.
func readMeasure(s string, o Options, d Dimension) (Reading, uint32, error) {
	var p parser
	p.dimension, p.options, p.language = d, o, o.Language
	if !p.run(s) {
		return Reading{}, 0, p.lexFault()
	}
	if p.n == 0 {
		return Reading{}, 0, empty(s)
	}
	if !p.read() {
		return Reading{}, p.best(), p.explain()
	}
	q, ok := p.result()
	if !ok {
		return Reading{}, p.best(), p.explain()
	}
	if p.surface {
		if p.lo.stepNum == 0 {
			q.Said = NoUnit
		}
		return Reading{Quantity: q, Basis: BasisSurface, Notes: p.notes}, p.best(), nil
	}
	return Reading{Quantity: q, Notes: p.notes}, p.best(), nil
}

// inLanguages settles a text of which a word has another value in another language. It is read in each that has
// the word: what they read alike stands, and what they do not is refused. r and err are what all languages
// together make of it.
func inLanguages(s string, clash uint32, r Reading, err error,
	read func(*lexicon.Language) (Reading, uint32, error)) (Reading, error) {
	var first Reading
	var texts, names []string
	languages := lexicon.Each(clash)
	if len(languages) == 1 {
		if one, _, bad := read(languages[0]); bad == nil {
			return one, nil
		}
		return r, err
	}
	for _, l := range languages {
		one, _, bad := read(l)
		if bad != nil || slices.Contains(texts, one.Quantity.String()) {
			continue
		}
		if len(texts) == 0 {
			first = one
		}
		texts, names = append(texts, one.Quantity.String()), append(names, l.English)
	}
	switch {
	case len(texts) == 1:
		return first, nil
	case len(texts) == 0:
		return r, err
	}
	e := newError(s, CodeLanguage, 0, len(s))
	e.Proposals = texts
	e.Message = "this is one measure in " + names[0] + " and another in " + names[1]
	return Reading{}, e.finish()
}

// mayBeCanonical reports whether s has a sign that only String writes in this
// way, so that Parse is worth trying.
func mayBeCanonical(s string) bool {
	for i := 1; i < len(s); i++ {
		switch s[i] {
		case '(', '>', '<':
			return true
		case '.':
			if s[i-1] == '.' {
				return true
			}
		}
	}
	return false
}

// settle gives every number its unit and reads what they have in common.
func (p *parser) settle() bool {
	if p.over && p.under {
		p.failAt(CodeNotUnderstood, 0, uint16(len(p.s)), "both an upper and a lower bound are stated, and only one number",
			"write a range, such as 7-9 in")
		return false
	}
	if p.lead != NoUnit && !p.settleLead() {
		return false
	}
	if p.ranged && p.lo.unit == NoUnit && p.hi.unit == NoUnit && p.yearAndMonth() {
		p.failAt(CodeSpreadsheetDate, 0, uint16(len(p.s)), "", "")
		return false
	}
	if p.ranged && p.lo.unit == NoUnit {
		if p.hi.compound {
			p.failAt(CodeRange, p.lo.at, p.hi.end, "", "")
			return false
		}
		p.lo.unit = p.hi.unit
	}
	if p.lo.unit == NoUnit && p.hasTolerance && !p.tolerance.compound {
		p.lo.unit = p.tolerance.unit
	}
	if p.lo.unit == NoUnit && p.dimension != None {
		if p.lo.weak && !p.ranged {
			p.failAt(CodeNotUnderstood, p.lo.at, p.lo.end, "", "")
			return false
		}
		if p.surface && p.options.Default.Dimension() != p.dimension { // 0 (surface): nothing in every unit
			p.lo.unit, p.lo.stepNum, p.hi = CM, 0, p.lo
			return true
		}
		if p.options.Default.Dimension() != p.dimension {
			p.failAt(CodeUnitMissing, p.lo.at, p.token[p.n-1].end, "", "")
			return false
		}
		p.lo.unit = p.options.Default
		if p.notes == nil {
			p.notes = assumedNotes[p.lo.unit]
		} else {
			p.notes = append(p.notes, assumedNotes[p.lo.unit]...)
		}
	}
	if !p.ranged {
		p.hi = p.lo
	} else if p.hi.unit == NoUnit {
		p.hi.unit = p.lo.unit
	}
	if p.hasTolerance && p.tolerance.unit == NoUnit {
		p.tolerance.unit = p.lo.unit
	}
	return true
}

// settleLead settles a unit that stands before the number.
func (p *parser) settleLead() bool {
	switch {
	case p.lead.Dimension() != p.dimension:
		p.failAt(CodeUnitKind, p.token[0].at, p.token[0].end, "", "")
		return false
	case p.lo.unit == NoUnit && p.preposition(): // "in 8 cm" is German for "at 8 cm"
		return p.err == nil
	case p.lo.unit == NoUnit && p.ranged && p.hi.unit != NoUnit && p.hi.unit != p.lead:
		p.failAt(CodeUnitOrder, p.lo.at, p.hi.end, "", "")
		return false
	case p.lo.unit == NoUnit:
		p.lo.unit = p.lead
	case p.lead != p.lo.unit && !strings.EqualFold(p.s[p.token[p.leadAt].at:p.token[p.leadAt].end], "in"):
		p.failAt(CodeUnitOrder, p.lo.at, p.lo.end, "", "")
		return false
	}
	return true
}

// preposition reports whether the unit before the number is none, but a preposition: "in 8" in a column of
// centimetres. A language that is not stated leaves that open.
func (p *parser) preposition() bool {
	d := p.options.Default
	if p.lead != IN || d == IN || d.Dimension() != Length {
		return false
	}
	if p.language != nil {
		return p.token[0].word.languages != 0 // it is not a word of the stated language
	}
	number := p.s[p.lo.at:p.lo.end]
	p.failAt(CodeLanguage, 0, uint16(len(p.s)), "\"in\" is the inch in English and a preposition in other languages", "")
	p.err.Proposals = append(p.err.Proposals, number+" in", number+" "+d.String())
	return true
}

// yearAndMonth reports whether a range without unit may be a year and a month,
// as a spreadsheet makes them of 9-24.
func (p *parser) yearAndMonth() bool {
	a, b := &p.lo, &p.hi
	if a.num < b.num {
		a, b = b, a
	}
	return a.den == 1 && b.den == 1 && a.num >= 1900 && a.num <= 2100 && b.num >= 1 && b.num <= 12
}

// assumedNotes holds the note for a unit that came from the column, one slice
// for each unit and full, so that an append copies it.
var assumedNotes = func() (notes [unitCount][]Note) {
	for u := range notes {
		notes[u] = []Note{{NoteUnitAssumed, "no unit is written; " + Unit(u).String() +
			" is taken from the column or the options"}}
	}
	return notes
}()

// convert gives num/den of unit u in o, rounded half to even at nine places.
func convert(num, den uint64, u, into Unit) (Decimal, bool) {
	r := ratios[u][into]
	scale, ok1 := mul(r.p, one)
	under, ok2 := mul(den, r.q)
	if under == 0 || !ok2 {
		return 0, false
	}
	if !ok1 { // kilograms in grains: the factor alone is too large to scale
		v, ok := mulDiv(num, one, den)
		if ok {
			v, ok = mulDiv(v, r.p, r.q)
		}
		return Decimal(v), ok
	}
	v, ok := mulDiv(num, scale, under)
	return Decimal(v), ok
}

// result computes the Quantity of what was read.
func (p *parser) result() (q Quantity, ok bool) {
	into := p.options.Into
	lo, ok1 := convert(p.lo.num, p.lo.den, p.lo.unit, into)
	step, ok2 := convert(p.lo.stepNum, p.lo.stepDen, p.lo.unit, into)
	hi := lo
	ok = ok1 && ok2
	said := p.lo.unit
	if p.ranged {
		var hiStep Decimal
		hi, ok1 = convert(p.hi.num, p.hi.den, p.hi.unit, into)
		hiStep, ok2 = convert(p.hi.stepNum, p.hi.stepDen, p.hi.unit, into)
		ok = ok && ok1 && ok2
		step = max(step, hiStep)
		if units[p.hi.unit].size < units[said].size {
			said = p.hi.unit
		}
	}
	if !ok {
		p.failAt(CodeTooLarge, p.lo.at, p.token[p.n-1].end, "", "")
		return q, false
	}
	if hi < lo {
		if p.lo.unit != p.hi.unit || p.lo.compound || p.hi.compound {
			p.failAt(CodeRange, p.lo.at, p.hi.end, "", "")
			return q, false
		}
		lo, hi = hi, lo
		p.note(NoteReversed, "the range is written from the larger to the smaller number")
	}
	if said >= listedCount {
		p.note(NoteUnitNotListed, "the "+units[said].code+
			" is no unit that can be stated here; it is converted exactly, and your words keep it")
		said = NoUnit
	}
	q = Quantity{Unit: into, Said: said, Approximate: p.approximate}
	q.Min, q.Max = Bound{lo, true}, Bound{hi, true}
	if p.hasTolerance {
		if p.ranged {
			return q, p.lost()
		}
		if step, ok = p.tolerate(&q, step); !ok {
			return q, false
		}
	}
	if step > 0 {
		q.Resolution = Bound{step, true}
	}
	if p.over {
		q.Max = Bound{}
	}
	if p.under {
		q.Min = Bound{}
	}
	return q, true
}

// tolerate widens a single value by the tolerance that is stated, and returns the coarser of the steps.
func (p *parser) tolerate(q *Quantity, step Decimal) (Decimal, bool) {
	value := q.Min.Value
	tol, ok1 := convert(p.tolerance.num, p.tolerance.den, p.tolerance.unit, q.Unit)
	tolStep, ok2 := convert(p.tolerance.stepNum, p.tolerance.stepDen, p.tolerance.unit, q.Unit)
	if !ok1 || !ok2 || value+tol < value {
		p.failAt(CodeTooLarge, p.lo.at, p.tolerance.end, "", "")
		return step, false
	}
	q.Best = Bound{value, true}
	if tol > value {
		p.note(NoteClamped, "the tolerance reaches below zero; zero is taken for the lower end")
	}
	q.Min.Value, q.Max.Value = max(value-tol, 0), value+tol
	return max(step, tolStep), true
}

// note adds what had to be assumed.
func (p *parser) note(code, message string) {
	for _, n := range p.notes {
		if n.Code == code {
			return
		}
	}
	p.notes = append(p.notes, Note{code, message})
}
