package spreadsheet

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	"github.com/findslip/findslip/pkg/vocabulary"
)

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
