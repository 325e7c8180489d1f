// Package danger holds the published words that may speak of ordnance, human remains or aircraft
// (schema/data/danger-words.json) and finds them in a text. Who asks decides what a find is.
package danger

import (
	"fmt"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

// A Kind is what a word in a record may speak of.
type Kind uint8

// The dangers, as bits.
const (
	Ordnance Kind = 1 << iota
	HumanRemains
	Aircraft
)

// strength says how surely a word speaks of a danger.
type strength uint8

const (
	strong   strength = iota // wherever it stands
	weak                     // it has a second meaning
	harmless                 // a phrase that is passed over
	near                     // takes the edge off weak words in the same text
)

// Words is schema/data/danger-words.json: for each language of a report the words to look for.
type Words struct {
	languages map[string]func() *phrase.Set // made when it is first asked for; tag: danger and strength
}

func Read() (Words, error) {
	rows, err := schema.Rows[struct {
		About    string   `json:"about"`
		Strength string   `json:"strength"`
		Language string   `json:"language"`
		Words    []string `json:"words"`
	}]("danger-words")
	d := Words{languages: map[string]func() *phrase.Set{}}
	type words struct {
		tag   int
		words []string
	}
	of := map[string][]words{}
	for _, r := range rows {
		of[r.Language] = nil
	}
	for _, r := range rows {
		about, ok := map[string]Kind{"ordnance": Ordnance, "human-remains": HumanRemains, "aircraft": Aircraft}[r.About]
		how, known := map[string]strength{"strong": strong, "weak": weak, "harmless": harmless, "near": near}[r.Strength]
		if !ok || !known {
			return d, fmt.Errorf("reading the table danger-words: %s or %s is not known", r.About, r.Strength)
		}
		for language := range of {
			// Words with two meanings speak only in their own language: grave is Danish for to dig.
			if r.Language == language || how == strong || how == harmless {
				of[language] = append(of[language], words{int(about)<<2 | int(how), r.Words})
			}
		}
	}
	for language, all := range of {
		d.languages[language] = sync.OnceValue(func() *phrase.Set {
			set := phrase.New()
			for _, w := range all {
				set.Add(w.tag, w.words...)
			}
			return set
		})
	}
	return d, err
}

// in returns the words for the language of a report, a BCP 47 tag; without one those of English.
func (d *Words) in(language string) *phrase.Set {
	primary, _, _ := strings.Cut(language, "-")
	set := d.languages[strings.ToLower(primary)]
	if set == nil {
		set = d.languages["en"]
	}
	if set == nil {
		return nil // the table could not be read
	}
	return set()
}

// Heard is what the words of one text speak of: Surely wherever they stand, Perhaps where the text is of the object
// itself, unless Blunted takes the edge off them.
type Heard struct{ Surely, Perhaps, Blunted Kind }

// Scan looks for words in a text, in a report of some language (a BCP 47 tag; empty: English).
func (d *Words) Scan(language, text string) (h Heard) {
	d.in(language).Scan(text, func(tag, _ int) bool {
		switch about := Kind(tag >> 2); strength(tag & 3) {
		case strong:
			h.Surely |= about
		case weak:
			h.Perhaps |= about
		case near:
			h.Blunted |= about
		}
		return true
	})
	return h
}
