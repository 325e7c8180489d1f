package spreadsheet

import (
	"encoding/json"
	"strings"
	"sync"
	"unicode"

	"github.com/findslip/findslip/pkg/lexicon"
)

// isKnown reports whether a word, in lower case, is one of those of the lexicon that have a letter beyond a to z: by
// them the encoding of a text is told.
func isKnown(word string) bool { return knownWords()[word] }

var knownWords = sync.OnceValue(func() map[string]bool {
	known := map[string]bool{}
	add := func(form string) {
		for word := range strings.FieldsFuncSeq(form, func(r rune) bool { return !unicode.IsLetter(r) }) {
			if strings.IndexFunc(word, func(r rune) bool { return r > unicode.MaxASCII }) >= 0 {
				known[strings.ToLower(word)] = true
			}
		}
	}
	for _, l := range lexicon.Languages() {
		for _, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					add(form)
				}
			}
		}
		var headings map[string][]string
		if json.Unmarshal(l.Headings, &headings) == nil {
			for _, forms := range headings {
				for _, form := range forms {
					add(form)
				}
			}
		}
	}
	return known
})
