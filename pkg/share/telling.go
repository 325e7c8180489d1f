package share

import (
	"strings"
	"sync"

	"github.com/findslip/findslip/schema"
)

// tellingWords are the lists of schema/data/telling.json; where they cannot be read they are empty, and
// their test fails.
var tellingWords = sync.OnceValue(func() map[string][]string {
	t, err := schema.Table[map[string]any]("telling")
	if err != nil {
		return nil
	}
	out := map[string][]string{}
	for list, words := range t {
		items, _ := words.([]any)
		for _, w := range items {
			if text, is := w.(string); is {
				out[list] = append(out[list], text)
			}
		}
	}
	return out
})

// wordSet is one of the lists as a set of keys.
func wordSet(list string) map[string]bool {
	out := map[string]bool{}
	for _, text := range tellingWords()[list] {
		addWords(out, text)
	}
	return out
}

// speaksOf reports whether a text has one of a list of words: as a whole word, and where that has five letters
// or more also within another.
func speaksOf(list, text string) bool {
	text = spaced(text)
	for _, w := range keysOf(list) {
		if !strings.Contains(text, w) {
			continue
		}
		if strings.Contains(text, " "+w+" ") || strings.Contains(text, " "+w+"s ") ||
			len(w) >= 5 && strings.Contains(text, w) || list != "preciousMarks" && strings.Contains(text, " "+w) && len(w) == 4 {
			return true
		}
	}
	return false
}

// named reports whether a text has one of a list of words as a whole word.
func named(list, text string) bool {
	text = spaced(text)
	for _, w := range keysOf(list) {
		if !strings.Contains(text, w) {
			continue
		}
		if strings.Contains(text, " "+w+" ") || list != "preciousMarks" && strings.Contains(text, " "+w+"s ") {
			return true
		}
	}
	return false
}

var keysOf = func() func(list string) []string {
	all := sync.OnceValue(func() map[string][]string {
		out := map[string][]string{}
		for list, words := range tellingWords() {
			for _, w := range words {
				out[list] = append(out[list], strings.TrimSpace(spaced(w)))
			}
		}
		return out
	})
	return func(list string) []string { return all()[list] }
}()

// spaced is a text folded word by word, with a blank around each.
func spaced(text string) string {
	var b strings.Builder
	b.WriteByte(' ')
	for _, w := range strings.FieldsFunc(text, notInWord) {
		b.WriteString(keyOf(w))
		b.WriteByte(' ')
	}
	return b.String()
}

func notInWord(r rune) bool { return strings.ContainsRune(" \t\n,;:/()[]-–?!.\"'’&+", r) }
