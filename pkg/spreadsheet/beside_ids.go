package spreadsheet

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
)

// A table of finds points at people and land by ids. What these are called stands in columns beside the ids, so
// that whoever has the table alone knows it. They say nothing of the find: they are read only where the people
// and the land are told nowhere else.
var besideIDs = []besideID{
	{"finder", "finder.name", func(r *find.Report, id string) *string {
		if p := r.Person(id); p != nil {
			return &p.Name
		}
		return nil
	}},
	{"finder", "finder.handle", func(r *find.Report, id string) *string {
		if p := r.Person(id); p != nil {
			return &p.Handle
		}
		return nil
	}},
	{"permission", "permission.place.name", func(r *find.Report, id string) *string {
		p := r.Permission(id)
		if p == nil {
			return nil
		}
		if p.Place == nil {
			return new(string)
		}
		return &p.Place.Name
	}},
}

type besideID struct {
	field, heading string
	text           func(r *find.Report, id string) *string // nil where the id is of nothing
}

// isBesideID reports whether a heading is that of one of these columns, among the headings of a table with ids.
func isBesideID(text string, cells []grid.Cell) bool {
	return slices.ContainsFunc(besideIDs, func(b besideID) bool { return b.heading == text }) &&
		slices.ContainsFunc(cells, func(c grid.Cell) bool { return heading.Understand(strings.TrimSpace(c.Text)).Field == "id" })
}

// addBesideIDs puts the columns behind those of the ids, where any of them has something to say.
func addBesideIDs(columns []outColumn, r *find.Report) []outColumn {
	if r == nil {
		return columns
	}
	for _, b := range slices.Backward(besideIDs) {
		said := false
		for _, p := range r.People {
			said = said || b.field == "finder" && *b.text(r, p.ID) != ""
		}
		for _, p := range r.Permissions {
			said = said || b.field == "permission" && *b.text(r, p.ID) != ""
		}
		at := slices.IndexFunc(columns, func(c outColumn) bool { return c.name == b.field })
		if !said || at < 0 || slices.ContainsFunc(columns, func(c outColumn) bool { return c.heading == b.heading }) {
			continue
		}
		columns = slices.Insert(columns, at+1,
			outColumn{name: b.heading, heading: b.heading, field: find.Field{Kind: find.Text},
				beside: func(f *find.Find) string {
					id := f.Finder
					if b.field == "permission" {
						id = f.Permission
					}
					if text := b.text(r, id); text != nil {
						return *text
					}
					return ""
				}})
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
	for _, b := range besideIDs {
		column, id := d.besideAt[b.heading], d.besideAt[b.field]
		if column == 0 || id == 0 {
			continue
		}
		name := table.Unguard(strings.TrimSpace(row.Cell(column).Text))
		ref := strings.TrimSpace(row.Cell(id).Text)
		if name == "" {
			continue
		}
		if p := d.report.Permission(ref); b.field == "permission" && p != nil && p.Place == nil {
			p.Place = &find.Place{Name: name}
		}
		if to := b.text(d.report, ref); to != nil && *to == "" && b.field == "finder" {
			*to = name
		}
	}
}

// isBeside reports whether a column is one of these, or of the two that say for whom a copy is.
func (d *decoder) isBeside(column int) bool {
	if column == d.audienceAt || column == d.changedAt {
		return true
	}
	return slices.ContainsFunc(besideIDs, func(b besideID) bool { return d.besideAt[b.heading] == column })
}
