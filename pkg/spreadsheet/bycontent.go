package spreadsheet

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// byContent takes columns for what their cells show where the heading says nothing.
func (t *tablePlan) byContent(claimed map[claim]*column) {
	guesses := map[string]int{}
	for _, c := range t.columns {
		if c.guessable() || c.shows(c.content.Guess()) {
			guesses[c.content.Guess()]++
		}
	}
	has := func(field string) bool { return claimed[claim{field, 0}] != nil }
	for _, c := range t.columns {
		g := c.content.Guess()
		if g == "" || !c.guessable() && !c.shows(g) || has(g) || guesses[g] > 1 && g != "number" {
			continue
		}
		switch g {
		case "position.verbatim":
			if has("position.latitude") || has(heading.Easting) {
				continue
			}
		case "found.date":
			if has("found.verbatim") {
				continue
			}
		case "number":
			if has("id") || c.column > t.columns[0].column+1 {
				continue
			}
		}
		c.Field, c.Taken = g, heading.TakenCells
		claimed[claim{g, 0}] = c
	}
	if has("name") || has("description") || has("id") || t.groups > 1 || len(t.columns) < 2 {
		return
	}
	var best *column
	most := 0.0
	for _, c := range t.columns {
		if !c.guessable() || c.content.Words*10 < c.content.Cells*6 || c.content.Cells < 2 || c.content.Titles > 0 {
			continue
		}
		if share := c.things(); share > most {
			best, most = c, share
		}
	}
	if most >= 0.33 {
		best.Field, best.Taken = "name", heading.TakenCells
		claimed[claim{"name", 0}] = best
	}
}

// byLetter takes a column whose heading is the first letter of a word for depth for that, where lengths with their
// units stand below it; and one whose cells are running numbers for the number, where its heading is a word for
// something that they do not show: the mark on each bag.
func (t *tablePlan) byLetter(claimed map[claim]*column) {
	for _, c := range t.columns {
		letter := len(c.heading) == 1 && strings.Contains("TDPG", strings.ToUpper(c.heading))
		if at := (claim{"depth", 0}); letter && c.Field == "" && !c.mapped && claimed[at] == nil && c.content.Lengths >= 2 &&
			c.content.Lengths*10 >= c.content.Cells*3 && c.content.Masses == 0 {
			c.Field, c.Taken, claimed[at] = "depth", heading.TakenCells, c
		}
		at := claim{"number", 0}
		if claimed[at] != nil || claimed[claim{"id", 0}] != nil || c.mapped || !c.content.Rising || t.groups > 1 {
			continue
		}
		switch c.Field {
		case heading.TripModel, "marks.1.text", "storagePlace", "condition.wear":
			c.Meaning = heading.Meaning{Field: "number", Taken: heading.TakenCells}
			claimed[at] = c
		}
	}
}

// things is the share of the cells of a column that begin with the name of a thing: crotal bell, broken.
func (c *column) things() float64 {
	n := 0
	for _, s := range c.samples {
		if at := strings.IndexAny(s, ",;(+"); at > 0 {
			s = s[:at]
		}
		if m, ok := vocabulary.Get("object-class").Match(strings.TrimSpace(s)); ok && m.Code != "" {
			n++
		}
	}
	return float64(n) / float64(max(1, len(c.samples)))
}

// guessable reports whether the cells of a column may say what it is: its heading is missing, or of words
// that nobody knows.
func (c *column) guessable() bool {
	return !c.known && c.Field == "" && c.Keep == "" && !c.mapped && len(c.meanings()) == 0
}

// shows reports whether the cells of a column whose heading is understood, but not as a field that they fit, leave
// no doubt that they are whole positions, or days of which the heading says that something was found.
func (c *column) shows(field string) bool {
	if c.Field != "" || c.Keep != "" || c.mapped || c.content.Cells < 3 {
		return false
	}
	switch field {
	case "position.verbatim":
		return c.content.Places*10 >= c.content.Cells*8
	case "materials.1": // of, which is of what it is made
		return c.content.Materials*10 >= c.content.Cells*8 && len(strings.Fields(c.folded)) == 1 &&
			heading.Says("filler", c.folded)
	case "found.date":
		return c.content.Days*10 >= c.content.Cells*7 && slices.ContainsFunc(c.meanings(),
			func(m heading.Meaning) bool { return m.Field == "name" })
	}
	return false
}

// nameless takes the column of descriptions for the name where a sheet that no program wrote has none: a
// find needs the finder's words for it, and that is where they stand.
func (t *tablePlan) nameless(claimed map[claim]*column) {
	if claimed[claim{"name", 0}] != nil || claimed[claim{"id", 0}] != nil || t.groups > 1 {
		return
	}
	for _, field := range []string{"description", "type", "objectClass"} {
		c := claimed[claim{field, 0}]
		if c == nil || c.mapped || c.content.Cells > 0 && c.content.Fits("name") < 0 {
			continue
		}
		delete(claimed, claim{field, 0})
		c.Taken, c.Field = heading.TakenStead, "name"
		claimed[claim{"name", 0}] = c
		return
	}
}

// measured reports whether most finds of a table have a number, and a depth, a weight, a material or a position.
func (w *walker) measured() bool {
	number, name := w.t.field("number"), w.t.field("name")
	return number != nil && name != nil && len(number.samples)*10 >= len(name.samples)*6 &&
		slices.ContainsFunc([]string{"depth", "weight", "materials.1", "position.verbatim", "position.latitude"},
			func(field string) bool {
				c := w.t.field(field)
				return c != nil && len(name.samples) > 3 && len(c.samples)*2 >= len(name.samples)
			})
}
