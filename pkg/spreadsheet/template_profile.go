package spreadsheet

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/profile"
)

// asked is what a template takes from a profile, in one language.
type asked struct {
	columns []string            // flat names, in the order of the sheet
	help    map[string]string   // what the body says at a column
	allowed map[string][]string // the codes that a column offers
	about   []string            // lines of the title sheet
}

// aboutSheet says whose template it is and what they ask. Reading passes over sheets of ours.
const aboutSheet = "findslip who asks"

// always are the columns without which nobody can speak of a find; notes leave room for everything else.
var always = []string{"number", "found.date", "name"}

// askedBy works out what a profile wants of a template.
func askedBy(e *profile.Effective, language string) *asked {
	a := &asked{columns: slices.Clone(always), help: map[string]string{}, allowed: map[string][]string{}}
	for _, ask := range e.Asks {
		if ask.Strength == profile.Never {
			continue
		}
		for _, name := range ask.Columns() {
			if !slices.Contains(a.columns, name) {
				a.columns = append(a.columns, name)
			}
			if a.help[name] == "" {
				a.help[name] = helpOf(e, ask, language)
			}
			if ask.Ask.OneOf != nil && ask.When == nil {
				a.allowed[name] = ask.Ask.OneOf
			}
		}
		for _, pointer := range ask.Ask.Any { // two pictures have two columns
			if pointer == "/media" && ask.Ask.AtLeast != nil && *ask.Ask.AtLeast >= 2 &&
				!slices.Contains(a.columns, "media.2.file") {
				a.columns = append(a.columns, "media.2.file")
			}
		}
	}
	for _, t := range e.Terms {
		if name := profile.Column(t.Member); name != "" && t.Allowed != nil {
			a.allowed[name] = t.Allowed
		}
	}
	a.columns = inOrder(a.columns)
	a.about = e.Say(language, false)
	return a
}

// helpOf is what a body says of one ask at its column.
func helpOf(e *profile.Effective, ask *profile.Ask, language string) string {
	text := e.Called(ask, language)
	for _, more := range []profile.Text{ask.How, ask.Example, ask.Why} {
		if words := e.In(more, language); words != "" {
			text += ". " + words
		}
	}
	return text
}

// inOrder puts columns in the order in which a bag is worked through; those that a hobbyist has not come before the
// notes, which stand last.
func inOrder(columns []string) []string {
	rank := func(name string) int {
		if at := slices.Index(hobbyist, name); at >= 0 {
			return at
		}
		return len(hobbyist) - 1
	}
	columns = slices.DeleteFunc(columns, func(name string) bool { return name == "notes" })
	slices.SortStableFunc(columns, func(a, b string) int { return cmp.Compare(rank(a), rank(b)) })
	return append(columns, "notes")
}

// aboutLines writes the title sheet.
func (t *templateWriter) aboutLines() error {
	if t.asked == nil {
		return nil
	}
	if _, err := t.f.NewSheet(aboutSheet); err != nil {
		return err
	}
	for i, line := range t.asked.about {
		cell := fmt.Sprintf("A%d", i+1)
		if err := t.f.SetCellStr(aboutSheet, cell, line); err != nil {
			return err
		}
		if err := t.f.SetCellStyle(aboutSheet, cell, cell, t.text); err != nil {
			return err
		}
	}
	if err := t.f.MoveSheet(aboutSheet, "Finds"); err != nil {
		return err
	}
	t.f.SetActiveSheet(0)
	return t.f.SetColWidth(aboutSheet, "A", "A", 110)
}
