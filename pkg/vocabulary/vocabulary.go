// Package vocabulary holds the code lists of the format as schemes of concepts and finds the
// concept that people mean by their words, in six languages.
//
//	m, ok := vocabulary.Get("material").Match("green metal")
//	// m.Code is copper-alloy, m.Certainty is possible
//
// # Terms
//
// The words are those of SKOS: a concept has one preferred label in each language, alternative
// labels that people use as well, and hidden labels that are known misspellings. Besides, some
// words only suggest a concept, and then say how surely. Nothing is ever matched by likeness of
// letters; Nearest is for the question "did you mean".
//
// This package is unstable: it may change between any two versions.
package vocabulary

import (
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/schema"
)

// A Scheme is one code list.
type Scheme struct {
	List        string     `json:"list"`
	Title       string     `json:"title"`
	Description string     `json:"description"`
	Open        bool       `json:"open"` // new codes may come in any 1.x; a closed list is frozen
	Since       string     `json:"since"`
	Languages   []string   `json:"languages"`
	Source      string     `json:"source"`
	Identifiers string     `json:"identifiers"` // how the outside ids are written in full, where it needs saying
	Concepts    []*Concept `json:"concepts"`

	codes  map[string]*Concept
	words  sync.Once           // fills what stands below
	byText map[string]Match    // folded
	langs  map[string][]string // folded text to the languages in which it names the same concept
	texts  []string            // folded labels, sorted, for Nearest
	firsts map[string]bool     // the words that keys of byText begin with
}

// A Concept is one code and its words.
type Concept struct {
	Code        string              `json:"code"`
	PrefLabel   map[string]string   `json:"prefLabel"`
	AltLabel    map[string][]string `json:"altLabel"`
	HiddenLabel map[string][]string `json:"hiddenLabel"`
	SuggestedBy []Suggestion        `json:"suggestedBy"`
	ScopeNote   string              `json:"scopeNote"`
	Group       string              `json:"group"`
	Traits      []string            `json:"traits"`
	CloseMatch  []string            `json:"closeMatch"` // outside ids: helpers, not replacements
	Unverified  []string            `json:"unverified"`
	Caution     string              `json:"caution"`
	Density     *Density            `json:"density"`
	Method      *Radius             `json:"radius"`
	Rank        int                 `json:"rank"` // of a depth basis, the best is 1
	Width       *Width              `json:"width"`
	Years       *Years              `json:"years"` // of a period; a scheme file is to be preferred

	Radius float64 `json:"-"` // Method.Metres; 0 if the method has no usual radius
}

// Suggestion is a text that only suggests a concept.
type Suggestion struct {
	Text      string `json:"text"`
	Lang      string `json:"lang"`
	Certainty string `json:"certainty"`
}

// Density is a range in grams per cubic centimetre, for gross tests only.
type Density struct {
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
	Source string  `json:"source"`
}

// Radius is what a position method can do, in metres: the usual radius that holds the spot 95 times
// in 100, and the least that can be believed. Rule is empty for a fixed radius, "computed" where the
// radius follows from other figures, and "none" where nobody can say one; Metres is then 0.
type Radius struct {
	Rule   string  `json:"rule"`
	Metres float64 `json:"metres"`
	Least  float64 `json:"least"`
	Source string  `json:"source"`
}

// Width is the usual width of a depth basis. It is for showing and is never stored. Rule is
// "half-width" (HalfWidth to either side), "factor" (Low times to High times the figure),
// "spit-thickness", "plough-depth" (from zero to the plough depth), "zero" (the surface), "widen"
// (High times the width of the way it was known at the time) or "none".
type Width struct {
	Rule      string  `json:"rule"`
	HalfWidth float64 `json:"halfWidth"`
	Low       float64 `json:"low"`
	High      float64 `json:"high"`
	Unit      string  `json:"unit"`
	Source    string  `json:"source"`
}

// Years are the first and the last year of a period at one place; To is 0 where it goes on.
type Years struct {
	From   int    `json:"from"`
	To     int    `json:"to"`
	Place  string `json:"place"`
	Source string `json:"source"`
}

// Label returns the preferred label in a language, else in English, else the code. Of a language
// with a region, such as de-AT, the language counts.
func (c *Concept) Label(lang string) string {
	lang, _, _ = strings.Cut(lang, "-")
	for _, l := range []string{lang, "en"} {
		if text := c.PrefLabel[l]; text != "" {
			return text
		}
	}
	return c.Code
}

// schemes are the lists by name, each read when it is first asked for.
var schemes = sync.OnceValue(func() map[string]func() *Scheme {
	all := map[string]func() *Scheme{}
	for _, list := range Lists() {
		all[list] = sync.OnceValue(func() *Scheme { return read(list) })
	}
	return all
})

// Get returns a code list by name, or nil. The list is read on first use; it is shared and must not
// be changed.
func Get(list string) *Scheme {
	if load, ok := schemes()[list]; ok {
		return load()
	}
	return nil
}

// Lists returns the names of all lists in order.
func Lists() []string {
	entries, err := schema.Vocabulary.ReadDir("vocabulary")
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".json"))
	}
	slices.Sort(out)
	return out
}

func read(list string) *Scheme {
	raw, err := schema.Vocabulary.ReadFile(path.Join("vocabulary", list+".json"))
	if err != nil {
		return nil
	}
	s := &Scheme{byText: map[string]Match{}, langs: map[string][]string{}}
	if err := json.Unmarshal(raw, s); err != nil {
		return nil // the test of the embedded files fails
	}
	byCode := make(map[string]*Concept, len(s.Concepts))
	for _, c := range s.Concepts {
		byCode[c.Code] = c
		if c.Method != nil {
			c.Radius = c.Method.Metres
		}
	}
	s.codes = byCode
	return s
}

// index makes the tables for looking up words. Where two concepts claim a text, the surer way of naming
// wins, then the one that stands first.
func (s *Scheme) index() {
	type claim struct {
		key string
		m   Match
	}
	var typed []claim
	enter := func(key string, m Match) {
		if first, taken := s.byText[key]; !taken {
			s.byText[key] = m
		} else if first.Code != m.Code {
			return
		}
		if m.Lang != "" {
			s.langs[key] = append(s.langs[key], m.Lang)
		}
	}
	add := func(words string, m Match) {
		key := fold(words)
		if key == "" {
			return
		}
		enter(key, m)
		if other := fold(text.Typed(words)); other != key {
			typed = append(typed, claim{other, m})
		}
	}
	for _, c := range s.Concepts { // the surer ways first
		add(c.Code, Match{Code: c.Code, How: Code})
		add(strings.ReplaceAll(c.Code, "-", " "), Match{Code: c.Code, How: Label, Lang: "en"})
	}
	for _, c := range s.Concepts {
		for _, lang := range sortedKeys(c.PrefLabel) {
			add(c.PrefLabel[lang], Match{Code: c.Code, How: Label, Lang: lang})
		}
	}
	for _, c := range s.Concepts {
		eachLabel(c.AltLabel, func(text, lang string) { add(text, Match{Code: c.Code, How: Synonym, Lang: lang}) })
	}
	for text := range s.byText {
		s.texts = append(s.texts, text)
	}
	slices.Sort(s.texts)
	for _, c := range s.Concepts {
		eachLabel(c.HiddenLabel, func(text, lang string) { add(text, Match{Code: c.Code, How: Misspelling, Lang: lang}) })
		for _, g := range c.SuggestedBy {
			add(g.Text, Match{Code: c.Code, How: Suggested, Lang: g.Lang, Certainty: g.Certainty})
		}
	}
	for _, c := range typed {
		enter(c.key, c.m)
	}
	s.indexFirsts()
}

func eachLabel(labels map[string][]string, do func(text, lang string)) {
	for _, lang := range sortedKeys(labels) {
		for _, text := range labels[lang] {
			do(text, lang)
		}
	}
}

// indexFirsts notes with which words the texts begin.
func (s *Scheme) indexFirsts() {
	s.firsts = make(map[string]bool, len(s.byText))
	for text := range s.byText {
		if words := strings.Fields(strings.ReplaceAll(text, "?", " ")); len(words) > 0 {
			s.firsts[words[0]] = true
		}
	}
}

// sortedKeys puts English first, then the other languages in order.
func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b string) int {
		if (a == "en") != (b == "en") {
			if a == "en" {
				return -1
			}
			return 1
		}
		return strings.Compare(a, b)
	})
	return keys
}

// Concept returns the concept with exactly this code.
func (s *Scheme) Concept(code string) (*Concept, bool) {
	if s == nil {
		return nil, false
	}
	c, ok := s.codes[code]
	return c, ok
}

// Has reports whether the list has exactly this code.
func (s *Scheme) Has(code string) bool {
	_, ok := s.Concept(code)
	return ok
}

// IsLocal reports whether a code is a local addition, which begins with x-.
func IsLocal(code string) bool { return strings.HasPrefix(code, "x-") }
