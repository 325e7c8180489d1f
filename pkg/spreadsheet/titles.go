package spreadsheet

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// What stands above the headings may hold for all rows below: the day, the field, the units.

// partsOf cuts a title at its signs.
func partsOf(text string) []string {
	text = strings.NewReplacer(" - ", "|", " \u2013 ", "|", ";", "|", ",", "|", ". ", "|").Replace(text)
	return strings.Split(text, "|")
}

// titles returns the texts above the headings of the first table.
func (t *tablePlan) titles() (out []grid.Cell, rows []int) {
	if t.number > 1 || t.plan.own || t.plan.onSide {
		return nil, nil
	}
	for _, r := range t.plan.head {
		if r.Number >= t.first {
			break
		}
		for _, c := range r.Cells {
			if c.Kind == grid.Text && strings.TrimSpace(c.Text) != "" {
				out, rows = append(out, c), append(rows, r.Number)
			}
		}
	}
	return out, rows
}

// unitsOfTitles takes over what a title says of the units of the columns: Depths in inches, weights in grams.
func (t *tablePlan) unitsOfTitles() {
	cells, _ := t.titles()
	for _, cell := range cells {
		for _, part := range partsOf(strings.ReplaceAll(cell.Text, " and ", "|")) {
			if len(strings.Fields(part)) < 3 {
				continue
			}
			m := heading.Understand(strings.TrimRight(strings.TrimSpace(part), "."))
			if m.Hints.Unit == "" || m.Field == "" {
				continue
			}
			for _, c := range t.columns {
				alike := c.Field == m.Field || m.Field == "depth" && slices.Contains([]string{heading.DepthFrom,
					heading.DepthTo, "otherDepths.1"}, c.Field) || m.Field == heading.Size &&
					strings.HasPrefix(c.Field, "dimensions.")
				if alike && !c.mapped {
					c.Hints.Unit = cmp.Or(c.Hints.Unit, m.Hints.Unit)
				}
			}
		}
	}
}

// sectionOfTitles takes the day and the field that a title names, where the table has no column for them.
func (w *walker) sectionOfTitles() {
	days, lands := w.t.field("found.date") == nil && w.t.field("found.verbatim") == nil,
		w.t.field("permission") == nil && w.t.field("place.name") == nil
	cells, rows := w.t.titles()
	if !w.t.finds || !days && !lands {
		return
	}
	var s section
	dated := 0
	for i, cell := range cells {
		for _, part := range partsOf(cell.Text) {
			part = strings.TrimSpace(part)
			if hasRowWord("asof", part) {
				continue
			}
			if day, _, after, whole := w.dayIn(part); day != "" && whole && days && (hasYear(part) || strings.Trim(day, "0123456789./-") == "") {
				dated++
				s.row, s.found = rows[i], w.bareDay(day)
				if name, ok := strings.CutPrefix(strings.TrimSpace(after), ":"); ok && lands || strings.HasSuffix(day, ":") {
					s.place = cmp.Or(s.place, w.placeIn(name))
				} else if lands && strings.Contains(part, day+":") {
					s.place = cmp.Or(s.place, w.placeIn(after))
				}
				continue
			}
			if name := labelled(part); name != "" && lands {
				s.row, s.place = cmp.Or(s.row, rows[i]), name
			}
		}
		s.text = cell.Text
	}
	if dated > 1 { // a span, or two days: of which the rows are is not said
		s.found = ""
	}
	if s.found == "" && s.place == "" {
		return
	}
	w.section = s
	if !w.p.surveyed {
		w.t.sections = append(w.t.sections, s.row)
	}
}

// landsAbove takes the fields that stand above tables side by side, one above each.
func (t *tablePlan) landsAbove() {
	if t.groups < 2 || t.field("permission") != nil || t.field("place.name") != nil {
		return
	}
	cells, rows := t.titles()
	for i := range cells {
		lands, land := map[int]string{}, false
		for k := i; k < len(cells) && rows[k] == rows[i]; k++ {
			group := t.groupAbove(cells[k].Column)
			text := strings.TrimSpace(cells[k].Text)
			if group == 0 || lands[group] != "" || len(text) > 60 {
				lands = nil
				break
			}
			lands[group] = text
			land = land || isLand(text) || labelled(text) != ""
		}
		if len(lands) == t.groups && land {
			t.lands = lands
			return
		}
	}
}

// groupAbove is the group of columns that a cell stands above, from its first column on.
func (t *tablePlan) groupAbove(column int) int {
	group := 0
	for _, c := range t.columns {
		if c.group > 0 && c.column <= column+1 {
			group = max(group, c.group)
		}
	}
	return group
}

// bareDay leaves out words before a day that are not needed to read it: of 12 April 2026.
func (w *walker) bareDay(day string) string {
	for {
		first, rest, ok := strings.Cut(day, " ")
		if !ok || strings.ContainsAny(first, "0123456789") {
			return day
		}
		if again, before, after, whole := w.dayIn(rest); !whole || again != rest || before+after != "" {
			return day
		}
		day = rest
	}
}

// labelled returns the field that a text with a label names: Field: Long Acre.
func labelled(text string) string {
	label, name, ok := strings.Cut(text, ":")
	if name = strings.TrimSpace(name); !ok || name == "" || len(strings.Fields(label)) > 2 ||
		len(strings.Fields(name)) > 6 || strings.ContainsAny(name, "?!") {
		return ""
	}
	if heading.Understand(strings.TrimSpace(label)).Field != "permission" {
		return ""
	}
	return strings.TrimRight(name, ".")
}

// hasRowWord reports whether a text begins with a word of rows, or has one.
func hasRowWord(kind, text string) bool {
	words := heading.Words(text)
	table := heading.RowWords(kind)
	for i := range words {
		for n := 1; n <= 2 && i+n <= len(words); n++ {
			if table[strings.Join(words[i:i+n], " ")] {
				return true
			}
		}
	}
	return false
}

// isLandHeading reports whether a text that stands over all columns names a field: before its first sign it is a few
// words, and one of them is for land.
func isLandHeading(text string) bool {
	first, _, _ := strings.Cut(strings.NewReplacer("(", ",", ";", ",").Replace(text), ",")
	words := heading.Words(first)
	if len(words) < 2 || len(words) > 5 || strings.ContainsAny(first, "0123456789?!:.") {
		return false
	}
	return slices.ContainsFunc(words, func(word string) bool { return heading.RowWords("land")[word] })
}

var legendPair = regexp.MustCompile(`(?:^|[\s,;:.])(\pL{1,4})\s*=\s*(\pL[\pL -]{1,30})`)

// legendOf returns what short words stand for, as a text of the sheet explains them: Cu = Kupferlegierung, Pb = Blei.
func legendOf(rows []grid.Row) map[string]string {
	out := map[string]string{}
	for _, r := range rows {
		for _, c := range r.Cells {
			pairs := legendPair.FindAllStringSubmatch(c.Text, -1)
			for _, pair := range pairs {
				if len(pairs) > 1 {
					out[pair[1]] = strings.TrimSpace(pair[2])
				}
			}
		}
	}
	return out
}

// explained returns what a cell of a material, a kind or a state stands for by the legend of the sheet, empty where
// it does not say.
func (t *tablePlan) explained(c *column, text string) string {
	switch c.Field {
	case "materials.1", "materials.2", "objectClass", "condition.state":
		return t.plan.legend[text]
	}
	return ""
}
