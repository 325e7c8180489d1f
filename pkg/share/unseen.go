package share

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// unseen holds back from the public the finds that their source does not show, or shows struck through: whoever hid a
// row may not have meant it for others. The owner is told of all of them, for whomever the copy is.
func (c *copier) unseen() error {
	type group struct{ place, how string }
	finds, rows := map[group][]int{}, map[group][]int{}
	asked := wanted(c.o.Finds)
	for i, how := range c.source.Unseen {
		if x := &c.finds[i]; x.why != "" || !asked(x.number) || c.o.Audience == Self ||
			c.o.Audience == Landowner && !c.own[x.permission] {
			continue
		}
		f, err := c.source.Finds.Get(i)
		if err != nil {
			return fmt.Errorf("reading find %d again: %w", i+1, err)
		}
		g, row := group{how: how}, 0
		if s := f.Source; s != nil {
			g.place, row = strings.Trim(s.File+", "+s.Sheet, ", "), s.Row.Int()
		}
		finds[g], rows[g] = append(finds[g], i), append(rows[g], row)
	}
	for g, list := range finds {
		text := rowsText(rows[g], g.place, g.how)
		if c.o.Audience != Public {
			c.out.Unseen = append(c.out.Unseen, text+" It stays in this copy")
			slices.Sort(c.out.Unseen)
			continue
		}
		for _, i := range list {
			c.finds[i].why = text
		}
	}
	return nil
}

// mostStretches is how many stretches of rows are named; the finds that stand in all of them are.
const mostStretches = 8

// rowsText asks about rows: rows 4 to 9, 12 of "Finds" are hidden.
func rowsText(rows []int, sheet, how string) string {
	of := ""
	if sheet != "" {
		of = fmt.Sprintf(" of %q", sheet)
	}
	slices.Sort(rows)
	rows = slices.Compact(rows)
	switch {
	case rows[len(rows)-1] == 0:
		return fmt.Sprintf("they are %s in the file: are they meant for others?", how)
	case len(rows) == 1:
		return fmt.Sprintf("row %d%s is %s: is it meant for others?", rows[0], of, how)
	}
	var stretches []string
	for i, j := 0, 0; i < len(rows); i = j {
		for j = i + 1; j < len(rows) && rows[j] == rows[j-1]+1; j++ {
		}
		stretch := fmt.Sprint(rows[i])
		if j-i > 1 {
			stretch += fmt.Sprintf(" to %d", rows[j-1])
		}
		stretches = append(stretches, stretch)
	}
	if more := len(stretches) - mostStretches; more > 0 {
		stretches = append(stretches[:mostStretches], fmt.Sprintf("%d more", more))
	}
	return fmt.Sprintf("rows %s%s are %s: are they meant for others?", strings.Join(stretches, ", "), of, how)
}

// unseenColumns holds the members of columns that the sheet does not show back from the public, of all finds.
func (c *copier) unseenColumns() {
	var headings []string
	hidden := map[string]bool{}
	for _, column := range c.source.Columns {
		for _, pointer := range column.Pointers {
			member := memberOf().ReplaceAllString(strings.ReplaceAll(pointer[1:], "/", "."), "$1")
			for _, leaf := range policyLeaves(member) {
				if column.Unseen && (c.action(leaf) != withhold || leaf == "finds.notes" && c.o.Notes) &&
					!slices.Contains(fixed, published().leaves[leaf]) {
					hidden[leaf] = true
					headings = append(headings, strconv.Quote(column.Heading))
				}
			}
		}
	}
	if slices.Sort(headings); len(headings) == 0 || c.o.Audience == Self {
		return
	}
	headings = slices.Compact(headings)
	text := "hidden columns count as shown: "
	if c.o.Audience == Public {
		c.unshown, c.o.Notes = hidden, c.o.Notes && !hidden["finds.notes"]
		text = "hidden columns are left out: "
	}
	c.out.Unseen = append(c.out.Unseen, text+strings.Join(headings, ", ")+"; are they meant for others?")
}

// memberOf takes places in lists out of a path, and makes all of a position one member.
var memberOf = later(`\.\d+|^(position)\..*`)
