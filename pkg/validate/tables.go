package validate

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/internal/names"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// tables are the published tables of schema/data, ready for looking up. They are read once.
type tables struct {
	groups    *names.Table[*names.Table[bool]] // group of classes to its codes
	materials map[string]classMaterial
	traces    map[string]traceClass
	firstUse  []firstUse
	firstWord map[string]uint64 // rows of firstUse, as bits, with a phrase that begins with the word
	coins     coinTable
	danger    dangerWords
	law       lawTable
	care      map[string]*phraseSet         // group of words about packing, posting and the like
	density   map[string]vocabulary.Density // material to what it weighs
	periods   map[string]periodYears        // id, code and label of a period to its years
}

// classMaterial says what a class is hardly ever made of.
type classMaterial struct {
	Class      string   `json:"class"`
	Improbable []string `json:"improbable"`
	Only       []string `json:"only"`
	Why        string   `json:"why"`
}

// surprising tells whether the material is one that the class is hardly ever made of.
func (m classMaterial) surprising(material string) bool {
	return slices.Contains(m.Improbable, material) || len(m.Only) > 0 && !slices.Contains(m.Only, material)
}

// traceClass says on what a trace can be.
type traceClass struct {
	Traces       []string `json:"traces"`
	Classes      []string `json:"classes"`
	NotMaterials []string `json:"notMaterials"`
	Why          string   `json:"why"`
}

// firstUse is the year before which a material or a technique was not in use.
type firstUse struct {
	ID         string   `json:"id"`
	Label      string   `json:"label"`
	Year       int      `json:"year"`
	About      bool     `json:"about"`
	Materials  []string `json:"materials"`
	Techniques []string `json:"techniques"`
	Words      []string `json:"words"`
	Verified   string   `json:"verified"`

	phrases *phraseSet
}

// theTables returns the tables; on an error, which a test rules out, they are empty.
func theTables() *tables {
	t, _ := loadTables()
	return t
}

var loadTables = sync.OnceValues(func() (*tables, error) {
	t := &tables{materials: map[string]classMaterial{}, traces: map[string]traceClass{},
		density: map[string]vocabulary.Density{}, firstWord: map[string]uint64{}, periods: map[string]periodYears{}, care: map[string]*phraseSet{}}
	if err := t.readVocabulary(); err != nil {
		return t, err
	}
	groups, err := readRows[struct {
		Group string   `json:"group"`
		Codes []string `json:"codes"`
	}]("class-groups")
	if err != nil {
		return t, err
	}
	sets := map[string]*names.Table[bool]{}
	for _, g := range groups {
		set := map[string]bool{}
		for _, code := range g.Codes {
			set[code] = true
		}
		sets[g.Group] = names.New(set)
	}
	t.groups = names.New(sets)
	pairs, err := readRows[classMaterial]("class-material")
	if err != nil {
		return t, err
	}
	for _, p := range pairs {
		t.materials[p.Class] = p
	}
	traces, err := readRows[traceClass]("trace-class")
	if err != nil {
		return t, err
	}
	for _, row := range traces {
		for _, code := range row.Traces {
			t.traces[code] = row
		}
	}
	if t.firstUse, err = readRows[firstUse]("first-use"); err != nil {
		return t, err
	}
	for i := range t.firstUse {
		if u := &t.firstUse[i]; len(u.Words) > 0 {
			u.phrases = newPhraseSet()
			u.phrases.add(0, u.Words...)
			for word := range u.phrases.first {
				t.firstWord[word] |= 1 << (i % 64)
			}
		}
	}
	if t.coins, err = readCoins(); err != nil {
		return t, err
	}
	if t.danger, err = readDangerWords(); err != nil {
		return t, err
	}
	words, err := readRows[struct {
		Group string   `json:"group"`
		Words []string `json:"words"`
	}]("care-words")
	if err != nil {
		return t, err
	}
	for _, w := range words {
		t.care[w.Group] = newPhraseSet()
		t.care[w.Group].add(0, w.Words...)
	}
	t.law, err = readLaw()
	t.law.places = memo.New(func(k memo.Key[struct{}]) *placeLaw { return t.law.sortedOut(k.Text) })
	t.law.found = memo.New(func(k memo.Key[string]) *lawRow { return t.law.rowOf(k.With, k.Text) })
	return t, err
})

// mayName tells, as bits, which rows of firstUse a text may speak of, by the words in it.
func (t *tables) mayName(text string) (rows uint64) {
	var buf [maxWord]byte
	for rest := text; rest != ""; {
		word, next, ok := nextWord(rest, &buf)
		if !ok {
			break
		}
		rows |= t.firstWord[string(word)]
		rest = next
	}
	return rows
}

// readTable reads one file of schema/data.
func readTable[T any](name string) (T, error) {
	var table T
	err := readJSON(schema.Data, "data/"+name+".json", &table)
	return table, err
}

// readJSON reads one embedded file; members that no rule needs are passed over.
func readJSON(from fs.FS, name string, out any) error {
	text, err := fs.ReadFile(from, name)
	if err == nil {
		err = json.Unmarshal(text, out)
	}
	if err != nil {
		return fmt.Errorf("reading the table %s: %w", name, err)
	}
	return nil
}

// readRows reads the rows of one file of schema/data.
func readRows[T any](name string) ([]T, error) {
	table, err := readTable[struct {
		Rows []T `json:"rows"`
	}](name)
	return table.Rows, err
}

// in tells whether a code belongs to a group of classes.
func (t *tables) in(group, code string) bool {
	set, _ := t.groups.Get(group)
	_, has := set.Get(code)
	return has && code != ""
}

// readVocabulary takes what the published code lists say of densities and of the years of periods.
func (t *tables) readVocabulary() error {
	for _, m := range vocabulary.Get("material").Concepts {
		if m.Density != nil {
			t.density[m.Code] = *m.Density
		}
	}
	var periods struct {
		Concepts []struct {
			Code       string              `json:"code"`
			PrefLabel  map[string]string   `json:"prefLabel"`
			AltLabel   map[string][]string `json:"altLabel"`
			CloseMatch []string            `json:"closeMatch"`
			Years      *periodYears        `json:"years"`
		} `json:"concepts"`
	}
	if err := readJSON(schema.Vocabulary, "vocabulary/period-scheme.json", &periods); err != nil {
		return err
	}
	for _, p := range periods.Concepts {
		if p.Years == nil {
			continue
		}
		t.periods[p.Code] = *p.Years
		t.periods[strings.ToLower(p.PrefLabel["en"])] = *p.Years
		for _, id := range p.CloseMatch {
			t.periods[id[strings.LastIndexByte(id, ':')+1:]] = *p.Years
		}
	}
	return nil
}
