package quantity

import (
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/lexicon"
)

// A word is what one written word can mean; which of its meanings holds is
// for the grammar, by the place it stands in.
type word struct {
	is        meaning
	languages uint16 // those that have the word, a bit for the index of each
	num, den  uint16 // value of a number word: num/den
	grams     uint16 // what a unit that is refused weighs in some country
	unit      Unit
	arg       uint8 // the month; of and, whether a ten may stand before it
	angle     bool  // a unit that is refused and is no size, or a bound that may mean deeper
	clash     bool  // its value differs between two languages
}

// A meaning is a set of word classes of the lexicon, under their names.
type meaning uint64

const (
	wNumber meaning = 1 << iota
	wArticle
	wHalf
	wQuarter
	wEighth
	wThird
	wTens // twenty: may be joined with a number below ten
	wHundred
	wUnit
	wUnlisted // a unit that is refused
	wGrain    // gr: grain or gram
	wTroy
	wRange // to
	wOr
	wAnd
	wOver
	wUnder
	wMore
	wLess
	wThan
	wNot
	wAt
	wLeast
	wMost
	wAtLeast
	wAtMost
	wUp
	wApprox
	wIsh
	wSo
	wBetween
	wFrom
	wOf
	wNoise // names the measure
	wBelow
	wSurface
	wJust
	wNearly
	wMonth
	wVague
	wPiece
	wDozen
	wPair
	wTimes
	wPlus
	wMinus
	wThe
	wUncertain
	wAvoir
	wApothecary
	wMetric
	wSurvey
	wCountry
	wOther // a unit beyond the list that means one thing
	wCarat
	wDram
	wLine
	wMil
	wLayer
	wTop
	wRound // dizaine: about ten
	wVagueDepth
	wAround // leads to a number and makes it approximate
	wMoved  // a place where nothing lies as it was
)

func (t *token) is(m meaning) bool { return t.kind == kWord && t.word.is&m != 0 }

// classes says which meaning a word class has here; a class that is not in it belongs to other readers.
var classes = map[string]meaning{
	"number": wNumber, "article": wArticle, "half": wHalf, "quarter": wQuarter, "eighth": wEighth, "third": wThird,
	"hundred": wHundred, "to": wRange, "or": wOr, "and": wAnd, "over": wOver, "under": wUnder, "more": wMore,
	"less": wLess,
	"than": wThan, "not": wNot, "at": wAt, "least": wLeast, "most": wMost, "at-least": wAtLeast, "at-most": wAtMost,
	"up":    wUp,
	"about": wApprox, "ish": wIsh, "or-so": wSo, "between": wBetween, "from": wFrom, "of": wOf, "measure-name": wNoise,
	"below-surface": wBelow, "surface": wSurface, "just": wJust, "a-good": wJust | wOver, "clearly": wFrom, "found": wFrom,
	"nearly": wNearly, "barely": wNearly,
	"month": wMonth, "vague-amount": wVague, "vague-depth": wVagueDepth, "layer": wLayer, "moved": wMoved,
	"piece": wPiece, "dozen": wDozen,
	"pair": wPair, "times": wTimes, "plus": wPlus, "minus": wMinus, "the": wThe, "unsure": wUncertain, "top": wTop,
	"round-number": wNumber | wRound, "around": wAround, "until": wRange,
	"unit-refused": wUnlisted, "unit-gr": wGrain, "unit-carat": wCarat, "unit-dram": wDram, "unit-line": wLine,
	"unit-mil": wMil,
	"of-troy":  wTroy, "of-avoirdupois": wAvoir, "of-apothecary": wApothecary, "of-metric": wMetric, "of-survey": wSurvey,
	"of-country": wCountry,
}

// words returns the table of words, made when the first word is read.
var words = sync.OnceValue(func() *lexicon.Table[word] {
	units := map[string]Unit{}
	for u := range unitCount {
		units[unitName(u)] = u
	}
	table := lexicon.Compile(func(w lexicon.Word) (word, bool) { return meaningOf(w, units) }, merged)
	const value = wNumber | wHalf | wQuarter | wUnit | wOver | wUnder | wJust | wNearly | wApprox | wAtLeast | wAtMost
	table.Clashes(func(a, b word) bool {
		return a.is&value != b.is&value || a.unit != b.unit || a.num != b.num || a.den != b.den
	}, func(w *word, languages uint32, clash bool) { w.languages, w.clash = uint16(languages), clash })
	return table
})

// meaningOf returns what a word of the lexicon means here, and false where it means nothing.
func meaningOf(w lexicon.Word, units map[string]Unit) (word, bool) {
	if w.In != "" && w.In != "measure" {
		return word{}, false
	}
	out := word{is: classes[w.Class]}
	switch w.Class {
	case "unit":
		out.unit = units[string(w.Is)]
		out.is = wOther
		if out.unit < listedCount {
			out.is = wUnit
		}
	case "number":
		out.num, out.den = w.Number.Num, w.Number.Den
		if w.Number.Ten {
			out.is |= wTens
		}
	case "round-number":
		out.num, out.den = uint16(w.Is.Int()), 1
	case "unit-refused":
		out.grams, out.angle = uint16(lexicon.Meaning(strings.TrimSuffix(string(w.Is), " g")).Int()), w.Is == "angle"
	case "under":
		out.angle = w.Is == "deeper"
	case "and":
		out.arg = uint8(len(w.Is)) // et: a ten and one
	case "month":
		out.arg = uint8(w.Is.Int())
	}
	return out, out.is != 0
}

// merged joins two meanings of a word.
func merged(old, more word) word {
	old.is |= more.is
	old.grams, old.angle = max(old.grams, more.grams), old.angle || more.angle
	old.unit, old.arg = max(old.unit, more.unit), max(old.arg, more.arg)
	if more.den != 0 {
		old.num, old.den = more.num, more.den
	}
	return old
}

// unitName is the name of a unit in the lexicon.
func unitName(u Unit) string {
	name, _, _ := strings.Cut(units[u].code, " (")
	return name
}

// The reasons that Reading.Absent gives; they are absence reasons of the format.
const (
	NotNoted      = "not-noted"
	NotMeasured   = "not-measured"
	NotKnown      = "not-known"
	Illegible     = "illegible"
	NotApplicable = "not-applicable"
)

// BasisSurface is the Reading.Basis of a find that lay on the surface.
const BasisSurface = "surface"

// phrase reads a text that states no number: an absence, or the surface.
//
// Grammar: surface-only, beside.
func phrase(s string, d Dimension, into Unit) (Reading, bool) {
	switch means, ok := lexicon.Phrase(s, "measure"); {
	case !ok || means == lexicon.Surface && d != Length:
	case means == lexicon.Surface:
		q := Quantity{Unit: into, Min: Bound{0, true}, Max: Bound{0, true}}
		return Reading{Quantity: q, Basis: BasisSurface}, true
	default:
		return Reading{Absent: means}, true
	}
	return Reading{}, false
}

// MayState reports whether a text may be a length or a weight with its unit. It is quick, and wrong only
// in one way: what it answers false to, [NormaliseLength] and [NormaliseMass] refuse or read without a
// unit.
func MayState(s string) bool {
	if mayBeCanonical(s) {
		return true
	}
	if len(s) > maxLength {
		return false
	}
	var l lexer
	if !l.run(s) {
		return false
	}
	const units = wUnit | wTroy | wGrain | wUnlisted | wOther | wCarat | wDram | wDozen | wLine | wMil | wSurvey |
		wCountry | wAvoir | wApothecary | wMetric
	for i := range l.token[:l.n] {
		if t := &l.token[i]; t.kind == kInch || t.kind == kFoot || t.is(units) {
			return true
		}
	}
	return false
}
