package season

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/render"
)

//go:embed words.json
var wordsText []byte

// allWords are the words of the page by key, one for each of render.Languages.
var allWords = sync.OnceValue(func() map[string][]string {
	var out map[string][]string
	_ = json.Unmarshal(wordsText, &out) // a test reads it
	return out
})

// words speaks one language.
type words int

func wordsOf(language string) words {
	return words(max(slices.Index(render.Languages(), language), 0))
}

// has reports whether there are words for a key.
func (w words) has(key string) bool { return len(allWords()[key]) > int(w) }

// say fills a text; pairs are names and values.
func (w words) say(key string, pairs ...string) string {
	list := allWords()[key]
	if len(list) <= int(w) {
		return key
	}
	text := list[w]
	for i := 0; i+1 < len(pairs); i += 2 {
		text = strings.ReplaceAll(text, "{"+pairs[i]+"}", pairs[i+1])
	}
	return text
}

// comma writes a decimal as the language does.
func (w words) comma(number string) string {
	if w == 0 {
		return number
	}
	return strings.Replace(number, ".", ",", 1)
}
