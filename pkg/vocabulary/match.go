package vocabulary

import (
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// How says by what a text was matched.
type How uint8

// The ways of matching, surest first.
const (
	Code How = iota + 1
	Label
	Synonym
	Misspelling
	Suggested
)

// Match is what a text was matched with. Certainty is empty when the text says it plainly.
type Match struct {
	Code      string
	Certainty string
	How       How
	Coated    bool // words for a coat of another metal stood beside it
	Lang      string
}

// fold brings words to the form in which two are compared.
func fold(s string) string { return text.Key(s, "?+/%") }

// doubts are words that lower the certainty of what stands beside them, folded.
var doubts = sync.OnceValue(func() map[string]string {
	out := map[string]string{"?": "possible"}
	for certainty, forms := range lexicon.Forms("doubt") {
		for _, form := range forms {
			out[fold(form)] = certainty
		}
	}
	return out
})

// Match finds the concept that a text names: by its code, a label, a synonym, a known misspelling,
// or words that only suggest it. A question mark or a word of doubt lowers the certainty.
func (s *Scheme) Match(text string) (Match, bool) {
	if s == nil || len(text) > 500 {
		return Match{}, false
	}
	if c, ok := s.codes[text]; ok {
		return Match{Code: c.Code, How: Code}, true
	}
	return s.matchFolded(fold(text))
}

// MayName reports whether a concept may be named by a text or a piece of it that begins where the text does
// and ends with a word. It is quick, and wrong only in one way: where it answers false, [Scheme.Match]
// finds none.
func (s *Scheme) MayName(text string) bool {
	if s == nil {
		return false
	}
	s.words.Do(s.index)
	var buf [64]byte
	word := buf[:0]
	for i := 0; i <= len(text); i++ {
		c := byte(' ')
		if i < len(text) {
			c = text[i]
		}
		switch {
		case c >= 0x80:
			return true // it is folded first
		case c >= 'A' && c <= 'Z':
			word = append(word, c|0x20)
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9', c == '+', c == '/', c == '%':
			word = append(word, c)
		default:
			// A match begins with one of the words, whole or in the plural.
			for cut := 0; cut <= 2 && cut < len(word); cut++ {
				if s.firsts[string(word[:len(word)-cut])] {
					return true
				}
			}
			word = word[:0]
		}
	}
	return false
}

func (s *Scheme) matchFolded(folded string) (Match, bool) {
	if m, ok := s.plain(folded); ok {
		return m, true
	}
	rest, certainty := undoubt(folded)
	if rest == "" {
		return Match{}, false
	}
	m, ok := Match{}, false
	if certainty != "" {
		m, ok = s.plain(rest)
	}
	if !ok && s.List == "material" {
		if under, coated := uncoat(rest); coated {
			if m, ok = s.plain(under); ok {
				m.Coated = true
			}
		}
	}
	if !ok && s.List == "material" {
		if metal := withoutFineness(rest); metal != "" {
			if m, ok = s.plain(metal); !slices.Contains([]string{"gold", "silver", "platinum"}, m.Code) {
				m, ok = Match{}, false
			}
		}
	}
	if certainty == "" {
		return m, ok
	}
	if ok && (m.Certainty == "" || certainty == "possible") {
		m.Certainty = certainty
	}
	return m, ok
}

// uncoat takes the words for a coat off a text, and reports whether there was one and something is left: gilt bronze.
func uncoat(folded string) (rest string, coated bool) {
	words := strings.Fields(folded)
	var left []string
	for i := 0; i < len(words); i++ {
		switch {
		case lexicon.Says("coat", words[i]):
			coated = true
		case i+1 < len(words) && lexicon.Says("coat", words[i]+" "+words[i+1]):
			coated = true
			i++
		default:
			left = append(left, words[i])
		}
	}
	return strings.Join(left, " "), coated && len(left) > 0
}

// withoutFineness takes the fineness off a text, which stands before or behind the metal: 14k gold, silver 925, 585er
// Gold. Empty where there is none: one to 24 carat, or 300 to 999 parts of a thousand.
func withoutFineness(folded string) string {
	words := strings.Fields(folded)
	for _, at := range []int{0, len(words) - 1, len(words) - 2} {
		if at < 0 || len(words) < 2 {
			break
		}
		unit := strings.TrimLeft(words[at], "0123456789")
		figures := words[at][:len(words[at])-len(unit)]
		n, end := len(figures), at+1
		if unit == "" && n <= 2 && end < len(words) {
			unit, end = words[end], end+1
		}
		parts := n == 3 && figures >= "300" && (unit == "" || unit == "er")
		carat := n > 0 && n <= 2 && figures != "0" && (n == 1 || figures <= "24") && isCarat(unit)
		if parts || carat {
			return strings.Join(append(slices.Clone(words[:at]), words[end:]...), " ")
		}
	}
	return ""
}

// isCarat reports whether letters behind a number are the carat of gold.
func isCarat(unit string) bool {
	return unit == "k" || unit == "kt" || unit == "kar" || slices.ContainsFunc(lexicon.Languages(),
		func(l *lexicon.Language) bool {
			return slices.ContainsFunc(l.Words["unit-carat"],
				func(e lexicon.Entry) bool { return slices.Contains(e.Forms, unit) })
		})
}

// plurals are the endings of the plural that leave the singular whole, by language.
var plurals = sync.OnceValue(func() map[string][]string {
	out := map[string][]string{}
	for _, l := range lexicon.Languages() {
		for _, e := range l.Words["plural-ending"] {
			out[l.Tag] = append(out[l.Tag], e.Forms...)
		}
	}
	return out
})

// shortestSingular is the least number of letters that taking off an ending may leave. Of shorter
// words too many others are made in the same way: klei is clay in Dutch, and klein is small.
const shortestSingular = 4

// plain looks folded words up, and once more in the singular of a language that has the label.
func (s *Scheme) plain(folded string) (Match, bool) {
	s.words.Do(s.index)
	if m, ok := s.byText[folded]; ok {
		return m, true
	}
	for cut := 1; cut <= 2 && len(folded)-cut >= shortestSingular; cut++ {
		one, end := folded[:len(folded)-cut], folded[len(folded)-cut:]
		m, ok := s.byText[one]
		if !ok || !s.counted(m.Code) {
			continue
		}
		for _, lang := range s.langs[one] {
			if slices.Contains(plurals()[lang], end) {
				return m, true
			}
		}
	}
	return Match{}, false
}

// counted reports whether a concept is a thing that is counted. Metals are not: coppers are coins,
// tins are boxes and leads are for dogs.
func (s *Scheme) counted(code string) bool {
	if s.List != "material" {
		return true
	}
	c, ok := s.codes[code]
	return ok && (c.Group == "organic" || c.Group == "stone-mineral" || c.Group == "glass-ceramic")
}

// Doubt returns the certainty that the words of doubt at the ends of a text leave: possible for Roman?
func Doubt(text string) string {
	_, certainty := undoubt(fold(text))
	return certainty
}

// undoubt takes words of doubt off both ends.
func undoubt(folded string) (rest, certainty string) {
	words := strings.Fields(strings.ReplaceAll(folded, "?", " ? "))
	lower := func(c string) {
		if certainty == "" || c == "possible" {
			certainty = c
		}
	}
	for changed := true; changed; {
		changed = false
		for n := 2; n >= 1; n-- {
			if len(words) < n {
				continue
			}
			if c := doubts()[strings.Join(words[:n], " ")]; c != "" {
				lower(c)
				words, changed = words[n:], true
				break
			}
			if c := doubts()[strings.Join(words[len(words)-n:], " ")]; c != "" {
				lower(c)
				words, changed = words[:len(words)-n], true
				break
			}
		}
	}
	return strings.Join(words, " "), certainty
}

// joints are words and signs between two concepts of one text.
var joints = sync.OnceValue(func() []string {
	out := []string{"/", "+", " & ", ",", ";"}
	for _, forms := range lexicon.Forms("with") {
		for _, form := range forms {
			out = append(out, " "+form+" ")
		}
	}
	return out
})

// MatchAll finds the concepts that a text names one after the other, such as "lead/iron". Rest is
// what was not understood; when it is not empty the matches are only a part of what was meant.
func (s *Scheme) MatchAll(text string) (matches []Match, rest string) {
	if len(text) > 500 {
		return nil, text
	}
	parts := []string{text}
	for _, j := range joints() {
		var next []string
		for _, p := range parts {
			next = append(next, strings.Split(p, j)...)
		}
		parts = next
	}
	var unknown []string
	for _, p := range parts {
		if p = strings.TrimSpace(p); p == "" {
			continue
		}
		if m, ok := s.Match(p); ok {
			matches = append(matches, m)
		} else {
			unknown = append(unknown, p)
		}
	}
	return matches, strings.Join(unknown, ", ")
}

// Nearest returns the concept with a label at a distance of at most two letters, for the question
// "did you mean". Short words are near too many others and have none.
func (s *Scheme) Nearest(text string) (concept *Concept, distance int, ok bool) {
	folded := fold(text)
	if s == nil || len(folded) < 3 || len(folded) > 60 {
		return nil, 0, false
	}
	s.words.Do(s.index)
	most := 2
	if len(folded) < 6 {
		most = 1
	}
	best := most + 1
	found := ""
	for _, t := range s.texts {
		if len(t) < 3 || len(t)-len(folded) > most || len(folded)-len(t) > most {
			continue
		}
		if d := distanceWithin(folded, t, best); d < best {
			best, found = d, t
		}
	}
	if found == "" {
		return nil, 0, false
	}
	c, ok := s.Concept(s.byText[found].Code)
	return c, best, ok
}

// Absences returns the words that only say why there is no value, folded and sorted, by reason.
func Absences() map[string][]string {
	out := map[string][]string{}
	for reason, forms := range lexicon.Forms("absent") {
		for _, form := range forms {
			out[reason] = append(out[reason], fold(form))
		}
		slices.Sort(out[reason])
		out[reason] = slices.Compact(out[reason])
	}
	return out
}

// Absent reports whether a text only says that there is no value, and the reason: "-", "n/a",
// "unknown" and the like in every language. Empty text is no such text.
func Absent(text string) (reason string, ok bool) {
	if text = strings.TrimSpace(text); text == "" || len(text) > 40 {
		return "", false
	}
	if strings.Trim(text, "-–—.·/x") == "" && len(text) <= 9 && text != "x" {
		return "not-noted", true
	}
	return lexicon.Absence(text, "term")
}

// EditDistance returns how many letters have to be put in, left out, changed or swapped with a
// neighbour to make one text of the other: the restricted form of Damerau and Levenshtein, which
// edits no part twice. It counts letters as they stand, so that upper and lower case differ; texts
// that are not UTF-8 count each bad byte as one letter.
func EditDistance(a, b string) int { return distanceWithin(a, b, max(len(a), len(b))) }

// distanceWithin is EditDistance, or most+1 as soon as it is known to be more than most.
func distanceWithin(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	before, last, next := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		next[0] = i
		least := i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			next[j] = min(last[j]+1, next[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
			least = min(least, next[j])
		}
		if least > most {
			return most + 1
		}
		before, last, next = last, next, before
	}
	return last[len(y)]
}
