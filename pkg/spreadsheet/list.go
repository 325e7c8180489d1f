package spreadsheet

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// Cards: a block of labels for each find, one below the other or abreast, each label with its words behind a colon or
// in the next cell. They are read as a table with the labels as its headings.

// label is one label of a card with what it says.
type label struct {
	row, column int
	name        string
	value       grid.Cell
}

var (
	labelLine   = text.Pattern(`^\s*(?:[-*•]\s+)?(\pL[^:=,;0-9]{0,38}?)\s*[:=]\s*(.*)$`)
	numberLabel = text.Pattern(`^\s*(\pL[^:=,;0-9]{0,28}?)\s*([0-9]{1,4}[a-z]?)\s*[.:]?$`)
)

// labelsOf returns the labels of a row: one of a line, those of the cells of a sheet that have their words beside them.
func (p *sheetPlan) labelsOf(r grid.Row) (out []label) {
	add := func(column int, name, text string) {
		text = strings.Trim(text, " \t"+p.sheet.Comma)
		out = append(out, label{r.Number, column, strings.TrimSpace(name),
			grid.Cell{Kind: grid.Text, Text: text, Value: text}})
	}
	if p.sheet.Comma != "" || filled(r) == 1 {
		line := p.lineOf(r)
		if m := labelLine().FindStringSubmatch(line); m != nil && len(strings.Fields(m[1])) <= 5 {
			add(r.Cells[0].Column, m[1], m[2])
		} else if m := numberLabel().FindStringSubmatch(line); m != nil {
			add(r.Cells[0].Column, m[1], m[2])
		} else if c := r.Cells[0]; heading.IsField(c.Text) && c.Kind == grid.Text {
			add(c.Column, c.Text, line[len(c.Text):])
		}
		return out
	}
	for i := 0; i < len(r.Cells); i++ {
		c := r.Cells[i]
		name := strings.TrimRight(strings.TrimSpace(c.Text), ":= ")
		beside := i+1 < len(r.Cells) && r.Cells[i+1].Column == c.Column+1
		if c.Kind != grid.Text || name == "" || len(name) > 40 || !beside && !heading.IsField(name) {
			continue
		}
		one := label{row: r.Number, column: c.Column, name: name}
		if beside {
			one.value = r.Cells[i+1]
			i++
		}
		out = append(out, one)
	}
	return out
}

// blocks makes a table of cards; ok is false for anything else.
func (p *sheetPlan) blocks() (rows []grid.Row, ok bool) {
	var all []label
	times := map[string]int{}
	for _, r := range p.head {
		if p.sheet.Comma == "" && headingScore(r) >= 3 {
			return nil, false
		}
		for _, l := range p.labelsOf(r) {
			all = append(all, l)
			times[heading.Fold(l.name)]++
		}
	}
	columns, labelled := map[int][]label{}, map[int]bool{}
	for _, l := range all {
		if times[heading.Fold(l.name)] > 1 || heading.IsField(l.name) {
			columns[l.column] = append(columns[l.column], l)
			labelled[l.row] = true
		}
	}
	fields := map[string]bool{}
	for name, n := range times {
		if n > 1 {
			fields[heading.Understand(name).Field] = true
		}
	}
	if delete(fields, ""); len(fields) < 3 || len(labelled)*3 < len(p.head)*2 {
		return nil, false
	}
	var names []string
	var cards [][]label
	for _, column := range slices.Sorted(maps.Keys(columns)) {
		for _, card := range cardsOf(columns[column]) {
			for _, l := range card {
				same := func(name string) bool { return heading.Fold(name) == heading.Fold(l.name) }
				once := l.value.Text != "" && heading.IsField(l.name) // rare things, a count or an age, stand in one card
				if (times[heading.Fold(l.name)] > 1 || once) && !slices.ContainsFunc(names, same) {
					names = append(names, l.name)
				}
			}
			cards = append(cards, card)
		}
	}
	slices.SortStableFunc(cards, func(a, b []label) int { return cmp.Or(a[0].row-b[0].row, a[0].column-b[0].column) })
	return p.tableOf(cards, names, labelled), len(cards) > 1
}

// cardsOf parts the labels of a column into cards: at a gap where most gaps have the label that opens a card behind
// them, else where a label comes again.
func cardsOf(list []label) (cards [][]label) {
	gaps, opened := 1, 1
	for i, l := range list[1:] {
		if l.row > list[i].row+1 {
			if gaps++; heading.Fold(l.name) == heading.Fold(list[0].name) {
				opened++
			}
		}
	}
	atGaps := gaps > 1 && opened*10 >= gaps*6
	for i, l := range list {
		again := len(cards) > 0 && slices.ContainsFunc(cards[len(cards)-1], func(o label) bool {
			return heading.Fold(o.name) == heading.Fold(l.name)
		})
		if i == 0 || again || atGaps && l.row > list[i-1].row+1 {
			cards = append(cards, nil)
		}
		cards[len(cards)-1] = append(cards[len(cards)-1], l)
	}
	return cards
}

// tableOf makes the rows of a table of cards, the other lines in their places above and among them. What a card alone
// says goes into a last column without a heading.
func (p *sheetPlan) tableOf(cards [][]label, names []string, labelled map[int]bool) []grid.Row {
	p.cards = len(cards)
	head := grid.Row{Number: cards[0][0].row - 1}
	for i, name := range names {
		head.Cells = append(head.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: name})
	}
	var rows []grid.Row
	for _, r := range p.head {
		if r.Number == head.Number && r.Number > 1 {
			r.Number-- // the headings take its place
		}
		if !labelled[r.Number] {
			rows = append(rows, lineRow(r.Number, p.lineOf(r)))
		}
	}
	rows = append(rows, head)
	for _, card := range cards {
		r := grid.Row{Number: card[0].row}
		var more []string
		for _, l := range card {
			at := slices.IndexFunc(names, func(name string) bool { return heading.Fold(name) == heading.Fold(l.name) })
			if c := l.value; at < 0 {
				more = append(more, l.name+": "+c.Text)
			} else if c.Column = at + 1; c.Text != "" {
				r.Cells = append(r.Cells, c)
			}
		}
		if text := strings.Join(more, "; "); text != "" {
			r.Cells = append(r.Cells, grid.Cell{Column: len(names) + 1, Kind: grid.Text, Text: text, Value: text})
		}
		slices.SortFunc(r.Cells, func(a, b grid.Cell) int { return a.Column - b.Column })
		rows = append(rows, r)
	}
	slices.SortStableFunc(rows, func(a, b grid.Row) int { return a.Number - b.Number })
	return rows
}
