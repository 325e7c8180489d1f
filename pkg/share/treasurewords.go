package share

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// The years from which a kind of coin is of copper: halfpence and farthings in England from 1672, pence from
// 1797 (from memory). The years of others are later than theirs, to be on the safe side.
const (
	copperHalfpence = 1672
	copperPence     = 1797
)

var yearInName = regexp.MustCompile(`\b(1[0-9]{3}|20[0-2][0-9])\b`)

// oldCoin reports whether a find of which no metal is said may be a coin of silver: a coin of no kind that
// was always of something else, and not certainly of the years when its kind was of copper.
func oldCoin(s *said) bool {
	text := s.Name + " " + s.Type
	aged, since := text, 0
	if d := s.Dating; d != nil {
		aged += " " + d.Verbatim
		if d.Period != nil {
			aged += " " + d.Period.Label
		}
		if d.Earliest.Known() {
			since = int(d.Earliest.Int())
		}
	}
	if years := yearInName.FindAllString(text, -1); since == 0 && len(years) > 0 {
		since, _ = strconv.Atoi(slices.Min(years))
	}
	switch reign := phraseOf(aged); {
	case s.thing.speaks("baseCoins"):
		return false
	case s.thing.speaks("copper1672"):
		return since < copperHalfpence && !reign.speaks("copperReigns")
	case s.thing.speaks("copper1797"):
		return since < copperPence && !reign.speaks("pennyReigns")
	}
	return (s.ObjectClass.Is("coin") || s.thing.speaks("coins")) && since <= thisYear-treasureAge
}

// jewel reports whether a find of which no metal is said is one of those that are often of gold or silver.
func jewel(s *said) bool {
	return s.ObjectClass.Is("finger-ring") || s.thing.speaks("jewels") && !s.thing.speaks("plainRings")
}

var timesCoins = regexp.MustCompile(`(?i)(^|[ (])(x ?[0-9]+|[0-9]+ ?x)($|[ ).,])`)

// severalCoins reports whether a find is, or may be, more than one coin.
func severalCoins(s *said) bool {
	if s.thing.speaks("severalCoins") {
		return true
	}
	if !s.ObjectClass.Is("coin", "coin-group") && !s.thing.speaks("coins") && !s.thing.speaks("copper1672") &&
		!s.thing.speaks("copper1797") && !s.thing.speaks("preciousCoins") {
		return false
	}
	return s.Kind == "lot" || s.Count.HasValue() && s.Count.Min.Known() && s.Count.Min.Int() > 1 ||
		timesCoins.MatchString(strings.ReplaceAll(s.Name+" "+s.Type, "×", "x"))
}

// ofSeveral reports whether a text says that a find lay with others: "stuck together", "one of 30",
// "with 11 others". The pieces of one thing are none.
func (p phrase) ofSeveral() bool {
	if p.speaks("together") {
		return true
	}
	is := func(i int, list string) bool { return i >= 0 && i < len(p) && wordLists()[list].at(p, i) > 0 }
	for i := range p {
		n, err := strconv.Atoi(p[i])
		if (err != nil || n < 2 || n > 99999) && !is(i, "numbers") || is(i+1, "pieces") || is(i+2, "pieces") ||
			is(i-3, "pieces") {
			continue
		}
		if is(i+1, "others") || i+2 < len(p) && p[i+1] == "of" && p[i+2] == "them" {
			return true
		}
		if i >= 2 && (p[i-1] == "of" || p[i-1] == "von") && countWord(p[i-2]) {
			return true
		}
	}
	return false
}

// countWord reports whether a word is a figure, or the word for one.
func countWord(word string) bool {
	_, err := strconv.Atoi(word)
	return err == nil || word == keyOf("one") || word == "another" || word == "eine" || word == "einer" || word == "eins"
}

var (
	carats = regexp.MustCompile(`(?i)\b(8|9|10|12|14|15|18|20|21|22|24) ?-?(ct|k|kt|kar|crt)s?\b`)
	struck = regexp.MustCompile(`(?i)(stamp\w*|mark\w*|punz\w*|stempel\w*|gestempelt|says|reads|poin.on\w*)\W{1,3}` +
		`(a |mit |with )?\.?(333|375|585|750|800|830|835|900|916|925|958|999)\b`)
	symbol   = regexp.MustCompile(`\b(Au|AU|Ag|AG|AR|Ar|AV|ag|au)\b`)
	sentence = regexp.MustCompile(`[.?!:;\n]+`)
)

// noFineness are figures that follow the "au" of French: of a telephone, a day, a house, a distance, a century.
var noFineness = later(`^(?i:0\d|\d\d(?:[ .]\d\d){2}|` +
	`\d{1,4}(?:er|e|è|ème)?,? (?:janv|févr|mars|avril|mai|juin|juil|août|sept|oct|nov|déc|rue|bis|avenue|chemin|route|place|siècle|mètres?|m\b|cm\b|pas\b)|\d{1,2}(?:er|e|è|ème)\b)`)

// preciousMark reports whether a text has a mark of gold or silver: carats, a stamped fineness, or the
// chemist's or the coin book's sign, which in lower case has to end the sentence or stand before a figure
// ("au" is an everyday word of French).
func preciousMark(text string) bool {
	if carats.MatchString(text) || struck.MatchString(text) {
		return true
	}
	for _, part := range sentence.Split(text, -1) {
		part = strings.TrimSpace(part)
		for _, at := range symbol.FindAllStringIndex(part, -1) {
			rest := strings.TrimLeft(part[at[1]:], " ")
			ends := rest == "" || rest[0] >= '0' && rest[0] <= '9' && !noFineness().MatchString(rest) || rest[0] == ','
			if ends || at[0] > 0 && part[at[0]] < 'a' {
				return true
			}
		}
	}
	return false
}
