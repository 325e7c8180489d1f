// Package lexicon reads the published words of schema/lexicon, one file a language, and makes of them
// the tables that the readers look words up in. No reader holds a word of its own.
//
// [Languages] reads the files once, when first asked. [Compile] makes a table for one reader: it names
// each word class that it knows, and what a word of it means there.
//
// What the functions return is shared and read-only.
//
// This package is unstable: it may change between any two versions.
package lexicon

import (
	"bytes"
	"fmt"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/schema"
)

// A Language is one file of the lexicon.
type Language struct {
	Tag     string             `json:"language"` // BCP 47; mul holds what belongs to no one language
	Name    string             `json:"name"`     // in itself
	English string             `json:"english"`
	Version int                `json:"version"`
	Source  string             `json:"source"`    // of the entries that name none
	Joins   bool               `json:"compounds"` // writes words together
	Order   string             `json:"dayOrder"`  // of day, month and year in figures: dmy, or empty
	Numbers Numbers            `json:"numbers"`
	Words   map[string][]Entry `json:"words"` // by class

	// Headings and Danger belong to the packages that read them.
	Headings jsontext.Value `json:"headings"`
	Danger   jsontext.Value `json:"danger"`

	Index int `json:"-"` // its place in Languages
}

// An Entry is words of one class that mean one thing. Forms are spelt as they are written, in lower
// case; several words stand with a blank between.
type Entry struct {
	Is     Meaning  `json:"is,omitzero"`     // in terms of the format: a month, a unit, a reason
	In     string   `json:"in,omitzero"`     // measure, date or position: the one reader that knows it so
	Forms  []string `json:"forms"`           //
	Source string   `json:"source,omitzero"` // where it comes from, if not where the file says
	Why    string   `json:"why,omitzero"`    // why it is read so where another language differs
}

// Meaning is a whole number or a text, kept as text.
type Meaning string

// UnmarshalJSON takes a number as well as a text.
func (m *Meaning) UnmarshalJSON(b []byte) error {
	*m = Meaning(strings.Trim(string(b), `"`))
	return nil
}

// Int returns the meaning as a number; 0 where it is none.
func (m Meaning) Int() int {
	n, sign := 0, 1
	for i, c := range m {
		switch {
		case c == '-' && i == 0:
			sign = -1
		case c >= '0' && c <= '9':
			n = n*10 + int(c-'0')
		default:
			return 0
		}
	}
	return n * sign
}

var load = sync.OnceValue(func() []*Language {
	var tags []string
	must(read("languages", &tags))
	all := make([]*Language, len(tags))
	for i, tag := range tags {
		l := &Language{Index: i}
		must(read(tag, l))
		all[i] = l
	}
	return all
})

func read(name string, into any) error {
	raw, err := schema.Lexicon(name)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, into); err != nil {
		return fmt.Errorf("lexicon/%s.json: %w", name, err)
	}
	return nil
}

// must stops the program: the files are part of it, and the tests read every one.
func must(err error) {
	if err != nil {
		panic("the lexicon of this program is damaged: " + err.Error())
	}
}

// Languages returns every language in the order of the list. That which belongs to no language, mul, is last.
func Languages() []*Language { return load() }

// Tags returns the tags of the languages that a log may be in, without mul.
func Tags() []string {
	var tags []string
	for _, l := range load() {
		if l.Tag != "mul" {
			tags = append(tags, l.Tag)
		}
	}
	return tags
}

// An Erratum is a text that is read otherwise than by an earlier version of the words: what it was.
type Erratum struct {
	Input  string `json:"input"`
	Before struct {
		Date string  `json:"date"`
		Min  float64 `json:"min"`
		Max  float64 `json:"max"`
	} `json:"before"`
}

var errata = sync.OnceValue(func() map[string]Erratum {
	table, err := schema.Table[struct {
		Errata []Erratum `json:"errata"`
	}]("errata")
	must(err)
	out := map[string]Erratum{}
	for _, e := range table.Errata {
		out[Folded(e.Input)] = e
	}
	return out
})

// Earlier returns the erratum of a text, if it has one.
func Earlier(text string) (Erratum, bool) {
	e, ok := errata()[Folded(text)]
	return e, ok
}

// Of is the version of one file.
type Of struct {
	Language string `json:"language"`
	Version  int    `json:"version"`
}

// Versions returns the version of each file.
func Versions() (out []Of) {
	for _, l := range load() {
		out = append(out, Of{l.Tag, l.Version})
	}
	return out
}

// ByTag returns the language of a BCP 47 tag: "de", "de-AT". It returns nil where there is none.
func ByTag(tag string) *Language {
	primary, _, _ := strings.Cut(strings.ToLower(tag), "-")
	for _, l := range load() {
		if l.Tag == primary && primary != "mul" {
			return l
		}
	}
	return nil
}

// Forms returns the words of a class in all languages, by what they mean.
func Forms(class string) map[string][]string {
	out := map[string][]string{}
	for _, l := range load() {
		for _, e := range l.Words[class] {
			out[string(e.Is)] = append(out[string(e.Is)], e.Forms...)
		}
	}
	return out
}

// In returns the words of a class in all languages, folded, each with what it means.
func In(class string) map[string]string { return folded()[class] }

var folded = sync.OnceValue(func() map[string]map[string]string {
	out := map[string]map[string]string{}
	for _, l := range load() {
		for class, entries := range l.Words {
			if out[class] == nil {
				out[class] = map[string]string{}
			}
			for _, e := range entries {
				for _, form := range e.Forms {
					out[class][Folded(form)] = string(e.Is)
				}
			}
		}
	}
	return out
})

// Folded returns the folded form of a word or words.
func Folded(form string) string {
	if text.IsFolded(form) {
		return form
	}
	var buf [64]byte
	return string(text.AppendFold(buf[:0], form))
}

// Numbers say how a language makes number words: those below twenty in order, then the tens from
// twenty to ninety, each with its spellings, and what the others are made of.
type Numbers struct {
	Small    [][]string `json:"small"`
	Tens     [][]string `json:"tens"`
	Hundreds [][]string `json:"hundreds,omitzero"` // words for 100 to 900 of their own
	Hundred  []string   `json:"hundred"`
	Thousand []string   `json:"thousand"`
	// Thousands is the sign that parts thousands in figures.
	Thousands string `json:"thousands"`
	// Order is "ten-unit" (tjugofem) or "unit-ten" (fünfundzwanzig); a joint stands between the two.
	Order  string   `json:"order"`
	Joints []string `json:"joints"`
	// Twenties reports whether four twenties are eighty, and that a ten may bear a number up to nineteen.
	Twenties bool `json:"twenties"`
	// AndHalf are endings that add a half: zweieinhalb.
	AndHalf []string `json:"andHalf"`
	// Values are words for a number that are made of no others, as a whole number or a fraction.
	Values map[string]string `json:"values"`
}

// A Number is the value of a number word, Num/Den.
type Number struct {
	Num, Den uint16
	Ten      bool // twenty to ninety: a number below ten may follow
}

// All calls f for every word from zero to ninety-nine, for the hundreds that have a word, and for those with a half.
func (n *Numbers) All(f func(word string, v Number)) {
	for i, names := range n.Small {
		for _, name := range names {
			f(name, Number{uint16(i), 1, false})
			for _, end := range n.AndHalf {
				if i > 1 && i < 11 {
					f(name+end, Number{2*uint16(i) + 1, 2, false})
				}
			}
		}
	}
	for i, names := range n.Tens {
		ten := uint16(i+2) * 10
		for _, name := range names {
			f(name, Number{ten, 1, true})
			for u := 1; u < 10; u++ {
				n.joined(name, n.Small[u], func(word string) { f(word, Number{ten + uint16(u), 1, false}) })
			}
		}
	}
	for i, names := range n.Hundreds {
		for _, name := range names {
			f(name, Number{uint16(i+1) * 100, 1, false})
		}
	}
	for word, value := range n.Values {
		f(word, parseNumber(value))
	}
}

// joined makes the words of a ten and a unit.
func (n *Numbers) joined(ten string, units []string, f func(string)) {
	for _, unit := range units {
		for _, joint := range n.Joints {
			if n.Order == "unit-ten" {
				f(unit + joint + ten)
			} else {
				f(ten + joint + unit)
			}
		}
	}
}

// parseNumber reads "3/2" and "12".
func parseNumber(s string) Number {
	v := Number{Den: 1}
	at := &v.Num
	for _, c := range s {
		if c == '/' {
			v.Den = 0
			at = &v.Den
			continue
		}
		*at = *at*10 + uint16(c-'0')
	}
	return v
}

// hundreds parts a word at the hundred within it.
type hundreds struct {
	below text.Table[uint16] // number words below a hundred, of languages that join them to the hundred
	words []string           // the words for hundred
	joint []string
}

var loadHundreds = sync.OnceValue(func() *hundreds {
	h := new(hundreds)
	for _, l := range load() {
		if len(l.Numbers.Hundred) == 0 {
			continue
		}
		h.words = append(h.words, l.Numbers.Hundred...)
		for _, joint := range l.Numbers.Joints {
			if joint != "" {
				h.joint = append(h.joint, joint)
			}
		}
		l.Numbers.All(func(word string, v Number) {
			if v.Den == 1 && v.Num < 100 {
				*h.below.Put(Folded(word)) = v.Num
			}
		})
	}
	return h
})

// Hundreds reads a folded number word from 100 to 999 that is written as one: zweihundertfünfundzwanzig.
func Hundreds(folded []byte) (n uint16, ok bool) {
	h := loadHundreds()
	for _, word := range h.words {
		at := bytes.Index(folded, []byte(word))
		if at < 0 {
			continue
		}
		n = 1
		if at > 0 {
			v := h.below.At(folded[:at])
			if v == nil || *v < 1 || *v > 9 {
				continue
			}
			n = *v
		}
		rest := folded[at+len(word):]
		if len(rest) == 0 {
			return n * 100, true
		}
		v := h.below.At(rest)
		for _, joint := range h.joint {
			if v == nil && bytes.HasPrefix(rest, []byte(joint)) {
				v = h.below.At(rest[len(joint):])
			}
		}
		if v != nil {
			return n*100 + *v, true
		}
	}
	return 0, false
}
