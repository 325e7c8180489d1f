package spreadsheet

import "github.com/findslip/findslip/pkg/heading"

// headless takes the columns of a sheet without headings for what stands in them: days, references of a grid,
// running numbers, lengths and weights with their units, materials; of the columns of words, the one with the
// most different ones has the names. Without a name and two more of these nothing is taken: it may be any list.
func (t *tablePlan) headless(claimed map[claim]*column) {
	taken := map[string]*column{}
	var name *column
	for i, c := range t.columns {
		field := c.content.GuessAlone()
		switch {
		case field == "position.latitude" && taken[field] != nil && t.columns[i-1] == taken[field]:
			field = "position.longitude"
		case field == "number" && i > 1:
			field = ""
		}
		if field != "" && taken[field] == nil {
			taken[field] = c
		} else if field == "" && c.content.Cells >= 2 && c.content.Words*10 >= c.content.Cells*5 &&
			(name == nil || c.content.Distinct > name.content.Distinct) {
			name = c
		}
	}
	if (taken["position.latitude"] == nil) != (taken["position.longitude"] == nil) {
		delete(taken, "position.latitude")
	}
	if name == nil || len(taken) < 2 {
		return
	}
	taken["name"] = name
	for field, c := range taken {
		if claimed[claim{field, 0}] == nil && c.Field == "" {
			c.Field, c.Taken = field, heading.TakenCells
			claimed[claim{field, 0}] = c
		}
	}
}
