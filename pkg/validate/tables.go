package validate

import (
	"cmp"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/internal/memo"
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
	firstUse  []firstUse
	firstWord map[string]uint64 // rows of firstUse, as bits, with a phrase that begins with the word
	things    *things
	reigns    *reigns
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
	t := &tables{materials: map[string]classMaterial{},
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
	if t.reigns, err = readReigns(); err != nil {
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

// thing is a row of schema/data/things.json: what a thing that is called so can be.
type thing struct {
	ID    string   `json:"id"`
	Name  string   `json:"name"`
	Words []string `json:"words"`
	Of    []string `json:"of"`    // materials; none: any
	Least float64  `json:"least"` // grams of a whole one; 0: any
	Most  float64  `json:"most"`
	Span  float64  `json:"span"`  // mm of its longest side; 0: any
	Coin  bool     `json:"coin"`  // a figure before it is its value
	Since int      `json:"since"` // astronomical year before which there was none; 0: always
	Eras  []era    `json:"eras"`  // what such a coin was of, in which years
}

// era is the materials of a coin in some years.
type era struct {
	From int      `json:"from"` // 0: ever
	To   int      `json:"to"`   // 0: still
	Of   []string `json:"of"`
}

// isCoin reports whether a row is of a coin.
func (t *thing) isCoin() bool { return t != nil && (t.Coin || t.ID == "coin") }

// things are the rows with their words, ready to be looked for.
type things struct {
	Rows   []thing  `json:"rows"`
	Unless []string `json:"unless"` // words that say that a thing is not the usual one
	Piece  []string `json:"piece"`  // words that say that it is not whole

	Together []string `json:"together"` // words behind a number of things
	Parts    []string `json:"parts"`    // words behind a number of parts of one thing

	Plurals map[string][]string `json:"plurals"` // language to how its words for several things end
	Alike   [][]string          `json:"alike"`   // materials that one word may mean
	Stems   map[string]string   `json:"stems"`   // what a word begins with, to a material
	NotOf   []string            `json:"notOf"`   // words behind a material that is not that of the thing
	Several []string            `json:"several"` // words that are names of several things
	Holders []string            `json:"holders"` // words of one thing that has several others
	Noted   plainNote           `json:"noted"`
	Behind  []struct {
		Material string   `json:"material"`
		Words    []string `json:"words"` // that say it behind the name of the thing
	} `json:"behind"`

	Periods []struct {
		From  int      `json:"from"` // 0: not known
		To    int      `json:"to"`   // 0: still running
		Words []string `json:"words"`
	} `json:"periods"`

	words, unless, piece, periods, behind *phrase.Set
	together, parts, several, holders     map[string]bool
	named                                 map[string]string // word for a material of alike, to its code
}

func readThings() (*things, error) {
	table, err := schema.Table[things]("things")
	t := &table
	t.words, t.unless, t.piece, t.periods, t.behind = phrase.New(), phrase.New(), phrase.New(), phrase.New(), phrase.New()
	for i := range t.Rows {
		t.words.Add(i, t.Rows[i].Words...)
	}
	for i := range t.Periods {
		t.periods.Add(i, t.Periods[i].Words...)
	}
	t.unless.Add(0, t.Unless...)
	t.piece.Add(0, t.Piece...)
	for i := range t.Behind {
		t.behind.Add(i, t.Behind[i].Words...)
	}
	t.together, t.parts, t.several, t.holders = setOf(t.Together), setOf(t.Parts), setOf(t.Several), setOf(t.Holders)
	t.named = map[string]string{}
	for _, row := range t.Alike {
		for _, code := range row {
			concept, _ := vocabulary.Get("material").Concept(code)
			for _, label := range concept.PrefLabel {
				t.named[strings.ToLower(label)] = code
			}
			for _, labels := range concept.AltLabel {
				for _, label := range labels {
					t.named[strings.ToLower(label)] = code
				}
			}
		}
	}
	return t, err
}

func setOf(words []string) map[string]bool {
	set := make(map[string]bool, len(words))
	for _, w := range words {
		set[w] = true
	}
	return set
}

// thing returns the row that the name of a find speaks of, and its place in the table: the one with the longest words,
// of equals the first. None where the finder says that it is not the usual thing.
func (c *Case) thing() (row *thing, at int) {
	t := theTables().things
	if n := c.named(); n.isThing && !c.unusual() {
		return &t.Rows[n.thing], n.thing
	}
	return nil, -1
}

// unusual reports whether the finder says that it is not the usual thing.
func (c *Case) unusual() bool {
	t := theTables().things
	return c.named().unusual || t.unless.Has(c.Find.Notes) || t.unless.Has(c.Find.Description)
}

// called is what the name of a find says by itself. A log has the same names again and again.
type called struct {
	thing    int // place in schema/data/things.json
	isThing  bool
	unusual  bool
	piece    bool
	count    int // of the things that it speaks of
	counted  bool
	several  bool   // it is the name of several things
	material string // that it names
	firstUse uint64 // rows that it may speak of
}

var names = memo.New(func(k memo.Key[struct{}]) *called {
	t := theTables().things
	c := &called{unusual: t.unless.Has(k.Text), piece: t.piece.Has(k.Text), material: t.namedMaterial(k.Text),
		firstUse: theTables().mayName(k.Text)}
	longest := 0
	t.words.Scan(k.Text, func(tag, words int) bool {
		if words > longest {
			c.thing, c.isThing, longest = tag, true, words
		}
		return true
	})
	c.several = t.speaksOfSeveral(k.Text)
	if c.count, c.counted = countInWords(k.Text, true); !c.counted {
		c.count, c.counted = countAtEdge(k.Text)
	}
	return c
})

// named returns what the name of the find says.
func (c *Case) named() *called {
	if c.facts.named == nil {
		c.facts.named = names.Of(memo.Key[struct{}]{Text: c.Find.Name})
	}
	return c.facts.named
}

// isPiece reports whether the record is of less than a whole thing, by its words or its condition.
func isPiece(c *Case) bool {
	f, t := c.Find, theTables().things
	return isFragment(f) || f.Kind == "part" || c.named().piece || t.piece.Has(f.Notes) || t.piece.Has(f.Description)
}

// madeOf reports whether such a thing is made of a material, where its years are known in those years; one that is
// called old without a year may be of any that it ever was of.
func (c *Case) madeOf(t *thing, material string) bool {
	from, to, ok := c.coinYears()
	if len(t.Eras) == 0 || !ok {
		return t.madeOf(material) ||
			isOld(c) && slices.ContainsFunc(t.Eras, func(e era) bool { return slices.Contains(e.Of, material) })
	}
	return (&thing{}).madeOf(material) && !theTables().in("material-metal", material) || slices.ContainsFunc(t.Eras,
		func(e era) bool {
			return from <= cmp.Or(e.To, forever) && to >= e.From && slices.Contains(e.Of, material)
		})
}

// coinYears returns the years of a coin: the one in its name, else those of its ruler, else those of its dating.
func (c *Case) coinYears() (from, to int, ok bool) {
	t := theTables()
	if year := yearIn(c.Find.Name); year > 0 {
		return year, year, c.AsOf.IsZero() || year <= c.AsOf.Year
	}
	if row, is := t.reigns.of(c.Find.Name, t.things); is {
		return row.Years[0][0], row.Years[len(row.Years)-1][1], true
	}
	y := c.years()
	return y.from, y.to, y.hasFrom && y.hasTo
}

// madeOf reports whether such a thing is made of a material; a material that says little may be any.
func (t *thing) madeOf(material string) bool {
	switch material {
	case "", "unknown", "other", "metal-unknown", "composite":
		return true
	}
	return len(t.Of) == 0 || slices.Contains(t.Of, material)
}

// spanOf returns the years outside which the periods that a text names are nowhere; false where it names none.
func (t *things) spanOf(text string) (from, to int, ok bool) {
	t.periods.Scan(text, func(tag, _ int) bool {
		p := &t.Periods[tag]
		first, last := cmp.Or(p.From, -forever), cmp.Or(p.To, forever)
		if ok {
			first, last = min(first, from), max(last, to)
		}
		from, to, ok = first, last, true
		return true
	})
	return from, to, ok
}
