package spreadsheet

import (
	"iter"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A table of finds points at people and land by ids. What these are called stands in columns beside the ids
// (intake.Besides). They are read only where the people and the land are told nowhere else.

// isBesideID reports whether a heading is that of one of these columns, among the headings of a table with ids.
func isBesideID(text string, cells []grid.Cell) bool {
	return slices.ContainsFunc(intake.Besides(), func(b intake.Named) bool { return b.Name == text }) &&
		slices.ContainsFunc(cells, func(c grid.Cell) bool {
			return heading.Understand(strings.TrimSpace(c.Text)).Field == "id"
		})
}

// addBesideIDs puts the columns behind those of the ids, where any of them has something to say.
func addBesideIDs(columns []outColumn, r *find.Report) []outColumn {
	if r == nil {
		return columns
	}
	for _, b := range slices.Backward(intake.Besides()) {
		said := false
		for _, p := range r.People {
			said = said || b.Field == "finder" && *b.Text(r, p.ID) != ""
		}
		for _, p := range r.Permissions {
			said = said || b.Field == "permission" && *b.Text(r, p.ID) != ""
		}
		at := slices.IndexFunc(columns, func(c outColumn) bool { return c.name == b.Field })
		if !said || at < 0 || slices.ContainsFunc(columns, func(c outColumn) bool { return c.heading == b.Name }) {
			continue
		}
		columns = slices.Insert(columns, at+1,
			outColumn{name: b.Name, heading: b.Name, field: find.Field{Kind: find.Text},
				beside: func(f *find.Find) string { return b.Of(f, r) }})
	}
	return columns
}

// besideIDsAt returns where these columns and the ids that they belong to stand, by heading.
func besideIDsAt(p *sheetPlan) map[string]int {
	at := map[string]int{}
	for _, t := range p.tables {
		for _, r := range p.head {
			if r.Number != t.headingRow() {
				continue
			}
			for _, c := range r.Cells {
				if text := strings.TrimSpace(c.Text); isBesideID(text, r.Cells) {
					at[text] = c.Column
				}
			}
		}
		for _, field := range []string{"finder", "permission"} {
			if c := t.field(field); c != nil {
				at[field] = c.column
			}
		}
	}
	return at
}

// takeBesideIDs gives people and land that are known by their ids alone the names that stand beside the ids.
func (d *decoder) takeBesideIDs(row grid.Row) {
	for _, b := range intake.Besides() {
		column, id := d.besideAt[b.Name], d.besideAt[b.Field]
		if column == 0 || id == 0 {
			continue
		}
		name := table.Unguard(strings.TrimSpace(row.Cell(column).Text))
		ref := strings.TrimSpace(row.Cell(id).Text)
		if name == "" {
			continue
		}
		if p := d.report.Permission(ref); b.Field == "permission" && p != nil && p.Place == nil {
			p.Place = &find.Place{Name: name}
		}
		if to := b.Text(d.report, ref); to != nil && *to == "" && b.Field == "finder" {
			*to = name
		}
	}
}

// isBeside reports whether a column is one of these, or of the two that say for whom a copy is.
func (d *decoder) isBeside(column int) bool {
	return slices.Contains(d.aside, column)
}

// findAside notes which columns of a sheet these are.
func (d *decoder) findAside(p *sheetPlan) {
	d.audienceAt, d.changedAt = copyColumnsAt(p)
	d.besideAt = besideIDsAt(p)
	d.aside = append(d.aside[:0], d.audienceAt, d.changedAt)
	for _, b := range intake.Besides() {
		d.aside = append(d.aside, d.besideAt[b.Name])
	}
}

// A text table has no sheet for the report. That a table is a copy for somebody, and when it was
// made, stands in two columns of every row, so that nobody takes the copy for the finder's own log.
const (
	audienceHeading = "report.audience"
	changedHeading  = "report.changed"
)

// copyColumns are what the two columns hold for a copy; nil for a finder's own log.
func copyColumns(r *find.Report) []string {
	if r == nil || r.Audience == "" || r.Audience == "self" {
		return nil
	}
	return []string{guard(r.Audience), guard(r.Changed)}
}

// insertBeforeLast puts texts before the last one, which is that of the id.
func insertBeforeLast(list, texts []string) []string {
	if len(texts) == 0 {
		return list
	}
	return slices.Insert(list, len(list)-1, texts...)
}

// isCopyColumn reports whether a heading is that of one of the two columns.
func isCopyColumn(text string) bool { return text == audienceHeading || text == changedHeading }

// copyColumnsAt returns where the two columns of a sheet are, 0 for none.
func copyColumnsAt(p *sheetPlan) (audience, changed int) {
	for _, t := range p.tables {
		for _, r := range p.head {
			if r.Number != t.headingRow() {
				continue
			}
			for _, c := range r.Cells {
				switch strings.TrimSpace(c.Text) {
				case audienceHeading:
					audience = c.Column
				case changedHeading:
					changed = c.Column
				}
			}
		}
	}
	return audience, changed
}

// copyOf takes what the two columns of a row say over into the report, which the first row settles.
func (d *decoder) copyOf(row grid.Row) {
	if d.audienceAt > 0 && d.report.Audience == "" {
		if text := table.Unguard(strings.TrimSpace(row.Cell(d.audienceAt).Text)); vocabulary.Get("audience").Has(text) {
			d.report.Audience = text
		}
	}
	if d.changedAt > 0 && d.report.Changed == "" {
		d.report.Changed = table.Unguard(strings.TrimSpace(row.Cell(d.changedAt).Text))
	}
}

// headerSheet reads a sheet of people, permissions or outings, or the Report sheet.
type headerSheet struct {
	sheet    string
	notices  notice.List
	version  bool // a Report sheet that states the version of the format
	template bool // a Report sheet of a template that somebody fills in
}

func (h *headerSheet) say(k *notice.Kind, row int, column int, heading, message string) {
	n := notice.New(k, "", message)
	n.Sheet, n.Row, n.Column, n.Heading = h.sheet, row, column, heading
	if column > 0 {
		n.Cell = grid.Cell{Column: column}.Ref(row)
	}
	h.notices.Add(n)
}

// bounded passes rows on until what the report takes of them has used up the bytes left. A cell
// costs more than its text: below the heading roles.12 it can make a list of twelve members.
func bounded(rows iter.Seq2[grid.Row, error], left *int64, most int64) iter.Seq2[grid.Row, error] {
	return func(yield func(grid.Row, error) bool) {
		costs := map[int]int64{} // of a cell, by column, as the first row has it
		for row, err := range rows {
			first := len(costs) == 0
			for _, c := range row.Cells {
				if first {
					costs[c.Column] = memberCost(c.Text)
				}
				*left -= max(costs[c.Column], bareCost) + int64(len(c.Text))
			}
			if err == nil && *left < 0 {
				row, err = grid.Row{}, limit.Over("header", most)
			}
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}

// What a cell costs in bytes of memory: by itself, and for each member of a list that it may make.
const (
	bareCost = 64
	listCost = 256
)

// memberCost is what a cell below a heading costs.
func memberCost(heading string) int64 {
	cost := int64(bareCost)
	for segment := range strings.SplitSeq(heading, ".") {
		if n, err := strconv.ParseUint(segment, 10, 16); err == nil {
			cost += listCost * int64(n)
		}
	}
	return cost
}

// report reads the Report sheet: a member and its value in each row.
func (h *headerSheet) report(rows iter.Seq2[grid.Row, error], r *find.Report) error {
	for row, err := range rows {
		if err != nil {
			return err
		}
		if len(row.Cells) < 2 {
			continue
		}
		name, text := strings.TrimSpace(row.Cells[0].Text), cellText(row.Cells[1])
		h.version, h.template = h.version || name == "findslip", h.template || name == "template"
		path, err := find.PathTo[find.Report](name)
		if err != nil {
			continue // the heading of the sheet, or a line of the template
		}
		if err := find.Set(path, r, text); err != nil {
			h.say(cellUnreadable, row.Number, row.Cells[1].Column, name,
				"the cell does not fit its member and is not taken over")
		}
	}
	return nil
}

// cellText returns the text of a cell as a member takes it: dates in ISO 8601.
func cellText(c grid.Cell) string {
	switch c.Kind {
	case grid.Empty, grid.Error:
		return ""
	case grid.Date, grid.Time, grid.Bool:
		return c.Value
	}
	return strings.TrimSpace(c.Text)
}

// ofPeople reports whether a row is the headings of a list of people: their names, and how to reach them.
func ofPeople(cells []grid.Cell) bool {
	names, contacts := 0, 0
	for _, c := range cells {
		for part := range strings.SplitSeq(c.Text, "/") {
			switch m := heading.UnderstandIn("people", part); {
			case m.Field == "contact":
				contacts++
			case strings.HasPrefix(m.Field, "name"), m.Field == "handle", heading.Understand(part).Field == "finder":
				names++
			}
		}
	}
	return names > 0 && contacts > 0
}
