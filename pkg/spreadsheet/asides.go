package spreadsheet

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// Beside a table may stand something of its own: a key, the members with their telephones, what is to be done. It is
// taken out of the rows and kept as notes, so that it says nothing of the finds that happen to stand in them.

// besideList is such a block.
type besideList struct {
	at    string // its first cell
	row   int
	asked bool // its headings could be of the finds
}

// takeBeside takes the blocks beside the table out of the rows, from the last one on.
func (p *sheetPlan) takeBeside() {
	for from := p.besideFrom(); from > 3; from = p.besideFrom() {
		if !p.keyBeside(from) && !p.listBeside(from) {
			return
		}
		for i, r := range p.head {
			beside, table := p.split(r, from)
			if p.head[i] = table; filled(beside) > 0 {
				p.keyRows = append(p.keyRows, beside)
				p.keyLast = max(p.keyLast, r.Number)
			}
		}
		p.keyFrom = from
	}
}

// besideFrom is the first column of the last block that stands apart: behind an empty column, or without headings
// where the others have them. 0 for none.
func (p *sheetPlan) besideFrom() int {
	used := map[int]bool{}
	last := 0
	for _, r := range p.head {
		for _, c := range r.Cells {
			if strings.TrimSpace(c.Text) != "" {
				used[c.Column] = true
				last = max(last, c.Column)
			}
		}
	}
	for column := last; column > 1; column-- {
		if !used[column-1] {
			return column
		}
	}
	if h, ok := p.findHeadings(p.head); ok {
		if from := h.cells[len(h.cells)-1].Column + 1; from <= last {
			return from
		}
	}
	return 0
}

// listBeside reports whether the block from a column on is a list of its own: it stops before the finds do or goes on
// below them, and no text of its first column comes twice. What is said of finds has gaps, or stands beside each.
func (p *sheetPlan) listBeside(from int) bool {
	main := make([]grid.Row, len(p.head))
	for i, r := range p.head {
		_, main[i] = p.split(r, from)
	}
	h, ok := p.findHeadings(main)
	if end, _ := p.split(p.head[len(p.head)-1], from); !ok || len(p.head) == lookAhead && filled(end) > 0 {
		return false
	}
	var heads, firsts []string
	finds, beside, below, first, end, columns := 0, 0, 0, -1, -1, 1
	list := besideList{}
	for i, r := range p.head {
		block, _ := p.split(r, from)
		switch texts := textsOf(block); {
		case i <= h.at:
			heads = append(heads, texts...)
		case len(texts) > 0 && filled(main[i]) == 0:
			below++
			firsts = append(firsts, texts[0])
		case filled(main[i]) > 1:
			if len(texts) > 0 {
				if beside, end, columns = beside+1, finds, max(columns, len(texts)); first < 0 {
					first = finds
				}
				firsts = append(firsts, texts[0])
			}
			finds++
		}
		if list.row == 0 && filled(block) > 0 {
			list.row = r.Number
			list.at = grid.Cell{Column: block.Cells[0].Column}.Ref(r.Number)
		}
	}
	slices.Sort(firsts)
	distinct := len(slices.Compact(slices.Clone(firsts))) == len(firsts)
	apart := below > 1 || below > 0 && beside < finds
	sorts, table := sortsOf(heads, h.cells)
	switch {
	case table, !distinct, beside+below < 2, !apart && beside != end-first+1:
		return false
	case apart:
	case len(heads) == 0 && columns < 2: // remarks that stand beside a find or two are of them
		return false
	case len(heads) == 0:
	case first > 0 || len(sorts) == 1 && sorts["free"] || len(sorts) == 1 && sorts["measure"]:
		return false
	case beside == finds && (finds < 3 || finds > 8 || !sorts["word"]):
		return false
	}
	list.asked = sorts["word"] || sorts["measure"]
	p.lists = append(p.lists, list)
	return true
}

func textsOf(r grid.Row) (out []string) {
	for _, c := range r.Cells {
		if text := strings.TrimSpace(c.Text); text != "" {
			out = append(out, text)
		}
	}
	return out
}

// sortsOf tells of what sorts headings are: free words such as notes and pictures, measures, words that come from a
// list; others are none. Finds is whether they are those of a second table of finds.
func sortsOf(heads []string, main []grid.Cell) (sorts map[string]bool, finds bool) {
	sorts = map[string]bool{}
	same, fields := 0, 0
	for _, text := range heads {
		if slices.ContainsFunc(main, func(c grid.Cell) bool { return heading.Fold(c.Text) == heading.Fold(text) }) {
			same++
		}
		fields++
		switch field := heading.Understand(text).Field; {
		case field == "":
			sorts["none"], fields = true, fields-1
		case slices.Contains([]string{"notes", "description", "question", "number", "id", "name"}, field),
			strings.HasPrefix(field, "media."):
			sorts["free"] = true
		case field == "depth", field == "weight", field == "value", strings.HasPrefix(field, "position."),
			strings.HasPrefix(field, "dimensions"), strings.HasPrefix(field, "otherDepths."), isDayField(field):
			sorts["measure"] = true
		default:
			sorts["word"] = true
		}
	}
	return sorts, same > 1 || fields > 2
}

// sayBeside says what was taken for a list of its own.
func (d *decoder) sayBeside(p *sheetPlan) {
	for _, l := range p.lists {
		kind, message := sheetBeside, "what stands here beside the table is kept as notes of the report"
		if l.asked {
			kind, message = blockBeside, "what stands here beside the table looks like a list of its own, and is kept as "+
				"notes of the report"
		}
		n := notice.New(kind, "", message)
		n.Sheet, n.Row, n.Cell = p.sheet.Name, l.row, l.at
		d.notices.Add(n)
	}
}

// A book may hold finds twice: the best of them, all of them beside a sheet for each field, a copy. These
// sheets are kept as notes, and said.

// leaveOut takes sheets out of those that are read: whose finds all stand on others, and what is bought.
func (d *decoder) leaveOut() {
	d.copies = map[*grid.Sheet]string{}
	records := map[*sheetPlan][]map[string]string{}
	sure := false
	for _, p := range d.sheets {
		records[p] = p.records(d.o)
		sure = sure || p.tables[0].certain()
	}
	drop := func(least int) {
		for i := len(d.sheets) - 1; i >= 0; i-- {
			var others []map[string]string
			holds := 0
			p := d.sheets[i]
			for _, o := range d.sheets {
				if o != p && slices.ContainsFunc(records[p], func(r map[string]string) bool { return stands(r, records[o]) }) {
					others = append(others, records[o]...)
					holds++
				}
			}
			if holds >= least && len(records[p]) > 1 &&
				!slices.ContainsFunc(records[p], func(r map[string]string) bool { return !stands(r, others) }) {
				d.copies[p.sheet] = "all its finds stand on other sheets"
				d.sheets = slices.Delete(d.sheets, i, i+1)
			}
		}
	}
	drop(2) // what is gathered from several sheets first
	drop(1)
	d.sheets = slices.DeleteFunc(d.sheets, func(p *sheetPlan) bool {
		if sure && p.tables[0].isBought() {
			d.copies[p.sheet] = "it looks like a list of what was bought"
		}
		return d.copies[p.sheet] != ""
	})
}

// isBought reports whether a table has names with days, prices and notes, and nothing that is said of finds.
func (t *tablePlan) isBought() bool {
	name, price, other := t.field("name"), false, false
	for _, c := range t.columns {
		switch c.Field {
		case "name", "found.date", "notes", "description":
		case "value", "":
			dear := 0
			for _, s := range c.samples {
				if isPrice().MatchString(s) {
					dear++
				}
			}
			price, other = price || dear > 0 && dear == len(c.samples), true
		default:
			return false
		}
	}
	return name != nil && len(name.samples) > 0 && (price || other && name.things() == 0 && t.field("found.date") == nil)
}

var isPrice = text.Pattern(`^[£€$]?\s*[0-9]+[.,][0-9]{2}\s*[£€$]?$`)

// records are the finds of a short sheet, by what they say of themselves; none where it is long, or of several tables.
func (p *sheetPlan) records(o Options) (out []map[string]string) {
	t := p.tables[0]
	if len(p.tables) != 1 || len(p.head) == lookAhead || t.groups != 1 || p.own || t.field("name") == nil {
		return nil
	}
	named, _, _, _ := (&walker{p: p, o: o, t: t}).dayIn(strings.TrimSpace(p.sheet.Name))
	for _, r := range p.head {
		if r.Number <= t.headingRow() || r.Number == t.units || filled(r) < 2 {
			continue
		}
		record := map[string]string{"": heading.Fold(rowText(r))}
		for _, c := range t.columns {
			if text := heading.Fold(cellText(r.Cell(c.column))); text != "" && c.Field != "" {
				record[c.Field] = text
			}
		}
		if record["found.date"] == "" {
			record["found.date"] = named
		}
		if record["name"] != "" {
			out = append(out, record)
		}
	}
	return out
}

// stands reports whether a find stands among others: its name, and a day, a measure or a place with it, none of which
// differs; or its number, where that is no bare count of the sheet. With another number it is another find, unless it
// is of the same day.
func stands(r map[string]string, others []map[string]string) bool {
	return slices.ContainsFunc(others, func(o map[string]string) bool {
		if r["name"] != o["name"] {
			return false
		}
		if number := r["number"]; number == o["number"] && len(number) > 1 && (len(number) > 3 || !isFigures(number)) {
			return true
		}
		same, again := 0, r["number"] == o["number"] || r["number"] == "" || o["number"] == ""
		if again = again || r["found.date"] != "" && r["found.date"] == o["found.date"]; !again {
			return false
		}
		for _, field := range []string{"found.date", "permission", "place.name", "depth", "weight", "position.verbatim",
			"position.latitude", heading.Easting} {
			switch a, b := r[field], o[field]; {
			case a == "" || b == "":
			case a != b:
				return false
			default:
				same++
			}
		}
		return same > 0 || r[""] == o[""]
	})
}
