package validate

import (
	"slices"

	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

// thing is a row of schema/data/things.json: what a thing that is called so can be.
type thing struct {
	ID    string   `json:"id"`
	Name  string   `json:"name"`
	Words []string `json:"words"`
	Of    []string `json:"of"`    // materials; none: any
	Least float64  `json:"least"` // grams of a whole one; 0: any
	Most  float64  `json:"most"`
	Coin  bool     `json:"coin"`  // a figure before it is its value
	Since int      `json:"since"` // astronomical year before which there was none; 0: always
}

// things are the rows with their words, ready to be looked for.
type things struct {
	Rows   []thing  `json:"rows"`
	Unless []string `json:"unless"` // words that say that a thing is not the usual one
	Piece  []string `json:"piece"`  // words that say that it is not whole

	Together []string `json:"together"` // words behind a number of things
	Parts    []string `json:"parts"`    // words behind a number of parts of one thing

	Periods []struct {
		To    int      `json:"to"` // 0: still running
		Words []string `json:"words"`
	} `json:"periods"`

	words, unless, piece, periods *phrase.Set
	together, parts               map[string]bool
}

func readThings() (*things, error) {
	table, err := schema.Table[things]("things")
	t := &table
	t.words, t.unless, t.piece, t.periods = phrase.New(), phrase.New(), phrase.New(), phrase.New()
	for i := range t.Rows {
		t.words.Add(i, t.Rows[i].Words...)
	}
	for i := range t.Periods {
		t.periods.Add(i, t.Periods[i].Words...)
	}
	t.unless.Add(0, t.Unless...)
	t.piece.Add(0, t.Piece...)
	t.together, t.parts = setOf(t.Together), setOf(t.Parts)
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
	n, ok := c.facts.thing.get(func() (int, bool) {
		t, f := theTables().things, c.Find
		found, longest := 0, 0
		t.words.Scan(f.Name, func(tag, words int) bool {
			if words > longest {
				found, longest = tag, words
			}
			return true
		})
		return found, longest > 0 && !t.unless.Has(f.Name) && !t.unless.Has(f.Notes) && !t.unless.Has(f.Description)
	})
	if !ok {
		return nil, -1
	}
	return &theTables().things.Rows[*n], *n
}

// isPiece reports whether the record is of less than a whole thing, by its words or its condition.
func isPiece(c *Case) bool {
	f, t := c.Find, theTables().things
	return isFragment(f) || f.Kind == "part" || t.piece.Has(f.Name) || t.piece.Has(f.Notes) || t.piece.Has(f.Description)
}

// madeOf reports whether such a thing is made of a material; a material that says little may be any.
func (t *thing) madeOf(material string) bool {
	switch material {
	case "", "unknown", "other", "metal-unknown", "composite":
		return true
	}
	return len(t.Of) == 0 || slices.Contains(t.Of, material)
}

// endOf returns the year after which the periods that a text names are over wherever they are spoken of; false
// where it names none.
func (t *things) endOf(text string) (year int, ok bool) {
	t.periods.Scan(text, func(tag, _ int) bool {
		year, ok = t.Periods[tag].To, t.Periods[tag].To != 0
		return ok
	})
	return year, ok
}
