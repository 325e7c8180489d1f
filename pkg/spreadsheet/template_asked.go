package spreadsheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
)

// asked is what a template takes from a profile, in one language.
type asked struct {
	columns []string            // flat names, in the order of the sheet
	help    map[string]string   // what the body says at a column, or at /permission/basis of a sheet beside the finds
	allowed map[string][]string // the codes that a column offers
	first   map[string][]string // those that it offers before the others
	called  map[string]string   // what the body's people call a column
	land    []string            // members of permissions
	about   []string            // lines of the title sheet

	preferred func(list, code string) string // their words for codes
}

// fontOfCells is that of the cells of a workbook; where a style names none, programs choose another.
const (
	fontOfCells      = "Calibri"
	charactersAcross = 72 // of the title sheet, so that none is cut off in a wider font
)

// aboutSheet says whose template it is and what they ask. Reading passes over sheets of ours.
const aboutSheet = "findslip who asks"

// always are the columns without which nobody can speak of a find; notes leave room for everything else.
var always = []string{"number", "found.date", "name"}

// askedBy works out what a profile wants of a template.
func askedBy(e *profile.Effective, language string) *asked {
	a := &asked{columns: slices.Clone(always), help: map[string]string{}, allowed: map[string][]string{},
		first: map[string][]string{}, called: map[string]string{}}
	if !e.Never("/finder") {
		a.columns = append(a.columns, "finder") // whom it is from
	}
	open := map[string]bool{} // other codes are asked for too
	weight := []profile.Strength{profile.Must, profile.Should, profile.May, profile.Never}
	asks := slices.SortedStableFunc(slices.Values(e.Asks), func(x, y *profile.Ask) int {
		return slices.Index(weight, x.Strength) - slices.Index(weight, y.Strength)
	})
	for _, ask := range asks {
		if ask.Strength == profile.Never {
			continue
		}
		a.add(ask.Columns())
		for _, name := range (&profile.Ask{Ask: ask.Ask}).Columns() { // not of those that only its condition looks at
			a.help[name] = strings.TrimPrefix(strings.TrimSuffix(a.help[name], ".")+". "+helpOf(e, ask, language), ". ")
		}
		for _, pointer := range ask.Ask.Members() {
			name := profile.Column(pointer)
			a.first[name] = append(a.first[name], ask.Ask.OneOf...)
			open[name] = open[name] || ask.Ask.OneOf == nil || ask.Ask.Or != nil
			if a.help[pointer] == "" {
				a.help[pointer] = helpOf(e, ask, language)
			}
		}
		for _, pointer := range ask.Ask.Members() { // what a sheet beside the finds has no column for without being asked
			if rest, ok := strings.CutPrefix(pointer, "/permission/"); ok {
				a.land = append(a.land, strings.ReplaceAll(rest, "/", "."))
			}
		}
	}
	if twoPictures(asks) {
		a.columns = append(a.columns, "media.2.file")
		if slices.Contains(a.columns, "media.1.view") {
			a.columns = append(a.columns, "media.2.view")
		}
	}
	if e.Covers != nil { // what says whether a find is one of theirs
		a.add((&profile.Ask{When: e.Covers.When}).Columns())
	}
	for name, codes := range a.first {
		if !open[name] {
			a.allowed[name] = codes
		}
	}
	for text, name := range e.Headings {
		if a.called[name] == "" || text < a.called[name] {
			a.called[name] = text
		}
	}
	for _, t := range e.Terms {
		if name := profile.Column(t.Member); name != "" && t.Allowed != nil {
			a.allowed[name] = t.Allowed
		}
	}
	a.columns = inOrder(a.columns)
	a.preferred = e.Preferred
	a.about = slices.Insert(e.Say(language, false), 1,
		render.Say(language, "safety")+"  "+render.Say(language, "asksSafety"))
	return a
}

func (a *asked) add(names []string) {
	for _, name := range names {
		if !slices.Contains(a.columns, name) {
			a.columns = append(a.columns, name)
		}
	}
}

// twoPictures reports whether two pictures are asked for, which have two columns.
func twoPictures(asks []*profile.Ask) bool {
	views := 0
	for _, ask := range asks {
		if ask.Strength == profile.Never {
			continue
		}
		for _, w := range ask.Ask.Ways() {
			if slices.Contains(w.Any, "/media/view") && w.OneOf != nil {
				views++
			}
			if slices.Contains(w.Any, "/media") && w.AtLeast != nil && *w.AtLeast >= 2 {
				return true
			}
		}
	}
	return views >= 2
}

// helpOf is what a body says of one ask at its column.
func helpOf(e *profile.Effective, ask *profile.Ask, language string) string {
	text := render.Say(language, "p"+string(ask.Strength)) + " " + e.Called(ask, language)
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
		cell, text := fmt.Sprintf("A%d", i+1), strings.TrimLeft(line, " ")
		font := &excelize.Font{Family: fontOfCells, Size: 11, Bold: i == 0 || strings.HasSuffix(text, ":")}
		if i == 0 {
			font.Size = 16
		}
		style, err := t.f.NewStyle(&excelize.Style{NumFmt: 49, Font: font, Alignment: &excelize.Alignment{WrapText: true,
			Vertical: "top", Horizontal: "left", Indent: max(0, (len(line)-len(text))/2-1)}})
		if err != nil {
			return err
		}
		// no program makes room for what is wrapped by itself
		lines := 1 + len([]rune(line))*int(font.Size)/11/charactersAcross
		if err := t.f.SetRowHeight(aboutSheet, i+1, float64(lines)*15*font.Size/11); err != nil {
			return err
		}
		if err := t.f.SetCellStr(aboutSheet, cell, text); err != nil {
			return err
		}
		if err := t.f.SetCellStyle(aboutSheet, cell, cell, style); err != nil {
			return err
		}
	}
	fit, a4, wide, high := true, 9, 1, 0
	if err := t.f.SetSheetProps(aboutSheet, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	if err := t.f.SetPageLayout(aboutSheet, &excelize.PageLayoutOptions{Size: &a4, FitToWidth: &wide,
		FitToHeight: &high}); err != nil {
		return err
	}
	if err := t.f.MoveSheet(aboutSheet, "Finds"); err != nil {
		return err
	}
	t.f.SetActiveSheet(0)
	return t.f.SetColWidth(aboutSheet, "A", "A", 72)
}
