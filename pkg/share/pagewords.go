package share

import (
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// pageWords are the sentences of a page in one language.
type pageWords struct {
	language string
	texts    map[string]map[string]string
	months   []string
	day      string // such as {d} {month} {y}
}

var pageTexts = sync.OnceValue(func() map[string]map[string]string {
	var file struct {
		Texts map[string]map[string]string `json:"texts"`
	}
	raw, _ := schema.Pages() // a test reads them
	_ = json.Unmarshal(raw, &file)
	return file.Texts
})

// pageWordsOf returns the words in a language, in English where it is not one of the six.
func pageWordsOf(language string) *pageWords {
	language, _, _ = strings.Cut(strings.ToLower(language), "-")
	if pageTexts()["title"][language] == "" {
		language = "en"
	}
	w := &pageWords{language: language, texts: pageTexts()}
	var speech struct {
		Months []string `json:"months"`
		Frame  struct {
			Day []string `json:"day"`
		} `json:"frame"`
	}
	raw, err := schema.Speech(language)
	if err == nil && json.Unmarshal(raw, &speech) == nil && len(speech.Months) == 12 && len(speech.Frame.Day) > 0 {
		w.months, w.day = speech.Months, speech.Frame.Day[0]
	}
	return w
}

// T is a sentence.
func (w *pageWords) T(key string) string { return w.texts[key][w.language] }

// Many is a sentence with a number.
func (w *pageWords) Many(key string, n int) string {
	one, more, _ := strings.Cut(w.T(key), "|")
	if n == 1 {
		return one
	}
	return strings.ReplaceAll(more, "{n}", strconv.Itoa(n))
}

// label is the label of a code.
func (w *pageWords) label(list, code string) string {
	if c, ok := vocabulary.Get(list).Concept(code); ok {
		return c.Label(w.language)
	}
	return code
}

// term shows a term: the finder's words, else the label of its code.
func (w *pageWords) term(list string, t *find.Term) string {
	switch {
	case t == nil:
		return ""
	case t.Verbatim != "":
		return t.Verbatim
	case t.Label != "":
		return t.Label
	case t.Code == "unknown":
		return ""
	}
	return w.label(list, t.Code)
}

// date writes a day or month as people do: 12 April 2026. Anything else stays as it is.
func (w *pageWords) date(day string) string {
	parts := strings.Split(day, "-")
	if len(parts) < 2 || len(w.months) != 12 {
		return day
	}
	month, err := strconv.Atoi(parts[1])
	if err != nil || month < 1 || month > 12 || len(parts[0]) != 4 {
		return day
	}
	if len(parts) == 2 {
		return w.months[month-1] + " " + parts[0]
	}
	d, err := strconv.Atoi(parts[2])
	if err != nil || len(parts) > 3 {
		return day
	}
	return strings.NewReplacer("{d}", strconv.Itoa(d), "{month}", w.months[month-1], "{y}", parts[0]).Replace(w.day)
}
