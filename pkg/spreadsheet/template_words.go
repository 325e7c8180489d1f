package spreadsheet

import (
	"cmp"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// labels are the words of a template in one language (schema/labels).
type labels struct {
	Template struct {
		Mark    string            `json:"mark"`    // marks the row that is never imported
		Example map[string]string `json:"example"` // words of that row, by field
		Help    map[string]string `json:"help"`    // shown at a cell, by field; UNIT stands for the unit of the column
		HelpOf  map[string]string `json:"help-of"` // for the fields that have none of their own, by what they hold
	} `json:"template"`
}

// templateLabels are those of the languages that a template can be in.
var templateLabels = sync.OnceValue(func() map[string]*labels {
	all := map[string]*labels{}
	for _, tag := range lexicon.Tags() {
		raw, err := schema.Labels(tag)
		if err != nil {
			continue // a language that is read and not shown
		}
		l := new(labels)
		if err := json.Unmarshal(raw, l); err != nil {
			panic("the labels of this program are damaged: " + tag + ": " + err.Error())
		}
		all[tag] = l
	}
	return all
})

// templateLanguages returns the languages of a template, in the order of the lexica.
func templateLanguages() []string {
	return slices.DeleteFunc(lexicon.Tags(), func(tag string) bool { return templateLabels()[tag] == nil })
}

// examples are the words of the example that are the same in every language, by field.
var examples = map[string]string{"found.date": "2026-04-12", "position.verbatim": "SP 5270 9011", "count": "1",
	"finder": "finder-a", "permission": "Long Furlong", "dimensions.diameter": "23", "weight": "18",
	"place.name": "Thornmere", "position.uncertainty": "8"}

// exampleDepth is the depth of the example, by unit.
var exampleDepth = map[string]string{"in": "7-9", "cm": "18-23"}

// exampleCode is the code whose label stands in the example, by list.
var exampleCode = map[string]string{"depth-basis": "tape-measured", "position-method": "phone",
	"material": "copper-alloy"}

// exampleOf returns the word of a field in the example, where it has one of its own.
func exampleOf(name, language string) string {
	t := &templateLabels()[language].Template
	if name == "number" {
		return t.Mark
	}
	return cmp.Or(t.Example[name], examples[name])
}

// helpFor returns what is shown at the cells of a field.
func helpFor(f find.Field, name, unit, language string) string {
	t := &templateLabels()[language].Template
	text, ok := t.Help[name]
	scheme := vocabulary.Get(f.List)
	switch {
	case ok:
	case scheme != nil && scheme.Open:
		text = t.HelpOf["open-list"]
	case scheme != nil:
		text = t.HelpOf["closed-list"]
	case f.Kind == find.QuantityText:
		text = t.HelpOf["quantity"]
	case strings.HasPrefix(name, "media."):
		text = t.HelpOf["picture"]
	case name == "storagePlace" || name == "value":
		text = t.HelpOf["private"]
	default:
		text = t.HelpOf["words"]
	}
	return strings.ReplaceAll(text, "UNIT", unit)
}
