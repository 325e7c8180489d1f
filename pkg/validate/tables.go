package validate

import (
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/validate/internal/danger"
	"github.com/findslip/findslip/pkg/validate/internal/law"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// tables are the published tables of schema/data, ready for looking up. They are read once.
type tables struct {
	groups    map[string]map[string]bool // group of classes to its codes
	materials map[string]classMaterial
	traces    map[string]traceClass
	firstUse  []firstUse
	firstWord map[string]uint64 // rows of firstUse, as bits, with a phrase that begins with the word
	things    *things
	danger    *danger.Words
	law       *law.Table
	care      map[string]*phrase.Set        // group of words about packing, posting and the like
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

// surprising reports whether the material is one that the class is hardly ever made of.
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

	phrases *phrase.Set
}

// theTables returns the tables; on an error, which a test rules out, they are empty.
func theTables() *tables {
	t, _ := loadTables()
	return t
}

var loadTables = sync.OnceValues(func() (*tables, error) {
	t := &tables{materials: map[string]classMaterial{}, traces: map[string]traceClass{},
		density: map[string]vocabulary.Density{}, firstWord: map[string]uint64{}, periods: map[string]periodYears{},
		care: map[string]*phrase.Set{}}
	if err := t.readVocabulary(); err != nil {
		return t, err
	}
	groups, err := schema.Rows[struct {
		Group string   `json:"group"`
		Codes []string `json:"codes"`
	}]("class-groups")
	if err != nil {
		return t, err
	}
	sets := map[string]map[string]bool{}
	for _, g := range groups {
		set := map[string]bool{}
		for _, code := range g.Codes {
			set[code] = true
		}
		sets[g.Group] = set
	}
	t.groups = sets
	pairs, err := schema.Rows[classMaterial]("class-material")
	if err != nil {
		return t, err
	}
	for _, p := range pairs {
		t.materials[p.Class] = p
	}
	traces, err := schema.Rows[traceClass]("trace-class")
	if err != nil {
		return t, err
	}
	for _, row := range traces {
		for _, code := range row.Traces {
			t.traces[code] = row
		}
	}
	if t.firstUse, err = schema.Rows[firstUse]("first-use"); err != nil {
		return t, err
	}
	for i := range t.firstUse {
		if u := &t.firstUse[i]; len(u.Words) > 0 {
			u.phrases = phrase.New()
			u.phrases.Add(0, u.Words...)
			for word := range u.phrases.First() {
				t.firstWord[word] |= 1 << (i % 64)
			}
		}
	}
	if t.things, err = readThings(); err != nil {
		return t, err
	}
	if t.danger, err = danger.Read(); err != nil {
		return t, err
	}
	words, err := schema.Rows[struct {
		Group string   `json:"group"`
		Words []string `json:"words"`
	}]("care-words")
	if err != nil {
		return t, err
	}
	for _, w := range words {
		t.care[w.Group] = phrase.New()
		t.care[w.Group].Add(0, w.Words...)
	}
	t.law, err = law.Read()
	return t, err
})

// mayName tells, as bits, which rows of firstUse a text may speak of, by the words in it.
func (t *tables) mayName(text string) (rows uint64) {
	var buf [phrase.MaxWord]byte
	for rest := text; rest != ""; {
		word, next, ok := phrase.Next(rest, &buf)
		if !ok {
			break
		}
		rows |= t.firstWord[string(word)]
		rest = next
	}
	return rows
}

// in reports whether a code belongs to a group of classes.
func (t *tables) in(group, code string) bool {
	return t.groups[group][code] && code != ""
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
	if err := schema.ReadJSON(schema.Vocabulary, "vocabulary/period-scheme.json", &periods); err != nil {
		return err
	}
	for _, p := range periods.Concepts {
		if p.Years == nil {
			continue
		}
		t.periods[p.Code] = *p.Years
		for _, label := range p.PrefLabel {
			t.periods[strings.ToLower(label)] = *p.Years
		}
		for _, labels := range p.AltLabel {
			for _, label := range labels {
				t.periods[strings.ToLower(label)] = *p.Years
			}
		}
		for _, id := range p.CloseMatch {
			t.periods[id[strings.LastIndexByte(id, ':')+1:]] = *p.Years
		}
	}
	return nil
}
