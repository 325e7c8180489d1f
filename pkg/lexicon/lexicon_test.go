package lexicon_test

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"encoding/json"

	"github.com/findslip/findslip/pkg/lexicon"
)

// Every file of the lexicon is valid against its schema, stands in the list, and spells its words in lower case.
func TestFiles(t *testing.T) {
	compiled, err := jsonschema.Compile("../../schema/lexicon.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob("../../schema/lexicon/*.json")
	if err != nil {
		t.Fatal(err)
	}
	var listed []string
	for _, l := range lexicon.Languages() {
		listed = append(listed, "../../schema/lexicon/"+l.Tag+".json")
	}
	for _, name := range names {
		if filepath.Base(name) == "languages.json" {
			continue
		}
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var tree any
		d := json.NewDecoder(bytes.NewReader(raw))
		d.UseNumber()
		if err := d.Decode(&tree); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := compiled.Validate(tree); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !slices.Contains(listed, name) {
			t.Errorf("%s does not stand in languages.json", name)
		}
	}
	for _, l := range lexicon.Languages() {
		for class, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					if form != lexicon.Folded(form) || strings.TrimSpace(form) != form {
						t.Errorf("%s, %s: %q is not folded", l.Tag, class, form)
					}
				}
			}
		}
	}
}

// The numbers of a language are complete, and no word stands for two of them.
func TestNumbers(t *testing.T) {
	for _, tag := range lexicon.Tags() {
		l := lexicon.ByTag(tag)
		have, values := map[string]lexicon.Number{}, map[uint16]bool{}
		l.Numbers.All(func(word string, v lexicon.Number) {
			if old, two := have[word]; two && (old.Num != v.Num || old.Den != v.Den) {
				t.Errorf("%s: %q is %d/%d and %d/%d", tag, word, old.Num, old.Den, v.Num, v.Den)
			}
			have[word] = v
			if v.Den == 1 {
				values[v.Num] = true
			}
		})
		for n := range uint16(70) {
			if !values[n] {
				t.Errorf("%s has no word for %d", tag, n)
			}
		}
	}
}

// A table finds a word as it is spelt, without its accents, and as a plain keyboard writes it.
func TestFind(t *testing.T) {
	table := lexicon.Compile(func(w lexicon.Word) (int, bool) {
		return w.Is.Int(),
			w.Class == "month" || w.Class == "weekday"
	},
		func(old, more int) int { return max(old, more) })
	for word, want := range map[string]int{"märz": 3, "maerz": 3, "marz": 3, "août": 8, "aout": 8, "january": 1} {
		if got, ok := table.Find([]byte(word), nil); !ok || got != want {
			t.Errorf("%s: %d, %v", word, got, ok)
		}
	}
	if _, ok := table.Find([]byte("moctober"), nil); ok {
		t.Error("a word that is none is found")
	}
	// mar is March in English and Tuesday in French.
	en, _ := table.Find([]byte("mar"), lexicon.ByTag("en-GB"))
	if en != 3 || lexicon.ByTag("xx") != nil || lexicon.ByTag("mul") != nil {
		t.Errorf("mar in English: %d", en)
	}
}
