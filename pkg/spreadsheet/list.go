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

// Cards and forms: a block of labels for each find, below each other, abreast, or one to a sheet; each label with its
// words behind a colon, in the next cell or in the one below. They are read as a table with the labels as its headings.

// label is one label of a card with what it says.
type label struct {
	row, column int
	name        string
	value       grid.Cell
	last        int // the row of the value
}

// keyOf is what labels of one meaning share: depth (guessed) and depth (measured) are two.
func keyOf(name string) string { return heading.Fold(name) + "\n" + heading.Understand(name).Basis }

var (
	labelLine   = text.Pattern(`^\s*(?:[-*•]\s+)?(\pL[^:=,;0-9]{0,38}?)\s*[:=]\s*(.*)$`)
	numberLabel = text.Pattern(`^\s*(\pL[^:=,;0-9]{0,28}?)\s*([0-9]{1,4}[a-z]?)\s*[.:]?$`)
)

// labelsOf returns the labels of a row: one of a line, those of the cells of a sheet that have their words beside them.
func (p *sheetPlan) labelsOf(r grid.Row) (out []label) {
	add := func(column int, name, text string) {
		text = strings.Trim(text, " \t"+p.sheet.Comma)
		out = append(out, label{r.Number, column, strings.TrimSpace(name),
			grid.Cell{Kind: grid.Text, Text: text, Value: text}, r.Number})
	}
	n := filled(r)
	cells := isLabel(r.Cells[0]) && n == 2 || n >= 4 && n%2 == 0 && slices.ContainsFunc(r.Cells, isLabel)
	if p.sheet.Comma != "" && !cells || filled(r) == 1 {
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
		beside := i+1 < len(r.Cells) && (r.Cells[i+1].Column == c.Column+1 ||
			r.Cells[i+1].Column <= c.Column+3 && heading.IsField(name) && !isLabel(r.Cells[i+1]))
		if c.Kind != grid.Text || name == "" || len(name) > 40 || !beside && !heading.IsField(name) {
			continue
		}
		one := label{row: r.Number, column: c.Column, name: name, last: r.Number}
		if beside {
			one.value = r.Cells[i+1]
			i++
		}
		out = append(out, one)
	}
	return out
}

// isLabel reports whether a cell is a label that is understood.
func isLabel(c grid.Cell) bool {
	text := strings.TrimRight(strings.TrimSpace(c.Text), ":= ")
	return c.Kind == grid.Text && text != "" && len(text) <= 40 && !strings.Contains(text, ":") && heading.IsField(text)
}

// isLabelRow reports whether a row is nothing but labels, most of them understood.
func isLabelRow(r grid.Row) bool {
	known := 0
	for _, c := range r.Cells {
		if isLabel(c) {
			known++
		} else if text := strings.TrimSpace(c.Text); text != "" && (c.Kind != grid.Text || len(text) > 40) {
			return false
		}
	}
	return known*3 >= filled(r)*2 && known > 0
}

// isPairs reports whether a row is labels that are understood, each with its words behind it.
func isPairs(r grid.Row) bool {
	n := 0
	for _, c := range r.Cells {
		if isLabel(c) {
			n++
		}
	}
	return n > 0 && n*2 <= filled(r) && isLabel(r.Cells[0])
}

// below returns the labels of a row that have their words in the next row, and how many rows that takes; table says
// that there are more rows below them.
func (p *sheetPlan) below(rows []grid.Row, i int) (out []label, took int, table bool) {
	r := rows[i]
	if !isLabelRow(r) || len(labelLine().FindStringSubmatch(p.lineOf(r))) > 0 && p.lineOf(r) != r.Cells[0].Text {
		return nil, 0, false
	}
	if filled(r) > 8 { // rather the headings of a table: common practice, no source
		return nil, 0, true
	}
	follows := func(n int) bool { return i+n < len(rows) && rows[i+n].Number == r.Number+n && !isLabelRow(rows[i+n]) }
	took = 1
	if follows(1) {
		for _, c := range rows[i+1].Cells {
			if strings.TrimSpace(c.Text) != "" && strings.TrimSpace(r.Cell(c.Column).Text) == "" ||
				labelLine().MatchString(c.Text) {
				return nil, 0, false
			}
		}
		if took = 2; follows(2) && !isPairs(rows[i+2]) {
			return nil, 0, filled(r) > 2
		}
	}
	for _, c := range r.Cells {
		if name := strings.TrimRight(strings.TrimSpace(c.Text), ":= "); name != "" {
			one := label{row: r.Number, column: c.Column, name: name, last: r.Number + took - 1}
			if took == 2 {
				one.value = rows[i+1].Cell(c.Column)
			}
			out = append(out, one)
		}
	}
	return out, took, false
}

// labels returns the labels of a sheet; ok is false for one of tables: below a row of headings stand several, or under
// all rows of labels the same.
func (p *sheetPlan) labels() (all []label, ok bool) {
	over, shapes := 0, map[string]bool{}
	for i := 0; i < len(p.head); i++ {
		if filled(p.head[i]) == 0 {
			continue
		}
		list, took, table := p.below(p.head, i)
		if table {
			return nil, false
		}
		if took == 0 {
			all = append(all, p.labelsOf(p.head[i])...)
			continue
		}
		shape := ""
		for _, l := range list {
			shape += keyOf(l.name) + "\n"
		}
		if len(list) > 1 || took > 1 {
			over += len(list)
			shapes[shape] = true
		}
		all, i = append(all, list...), i+took-1
	}
	return all, over == 0 || len(shapes) > 1 || over*2 < len(all)
}

// takeBlocks reads the sheet as cards where it is such.
func (p *sheetPlan) takeBlocks(shared map[string]int) {
	if p.own || p.sheet.Large() || len(p.head) < 2 || len(p.head) >= lookAhead || hasIDs(p.head[0].Cells, p.head[1:]) {
		return
	}
	if rows, ok := p.blocks(shared); ok {
		p.head, p.listed = rows, true
	}
}

// blocks makes a table of cards; ok is false for anything else. One card is enough where other sheets have the labels
// too, or it has all that a find needs.
func (p *sheetPlan) blocks(shared map[string]int) (rows []grid.Row, ok bool) {
	all, ok := p.labels()
	if !ok || p.isAcross() || p.isTable() {
		return nil, false
	}
	times := map[string]int{}
	for _, l := range all {
		times[keyOf(l.name)]++
	}
	fields, asked, forms := map[string]bool{}, map[string]bool{}, map[string]bool{}
	columns, labelled := map[int][]label{}, map[int]bool{}
	for _, l := range all {
		name := keyOf(l.name)
		field := heading.Understand(l.name).Field
		times[name] += max(0, shared[name]-1)
		for set, is := range map[*map[string]bool]bool{&forms: shared[name] > 1, &fields: times[name] > 1,
			&asked: l.value.Text != ""} {
			if is && field != "" {
				(*set)[field] = true
			}
		}
		if times[name] > 1 || heading.IsField(l.name) {
			columns[l.column] = append(columns[l.column], l)
			labelled[l.row], labelled[l.last] = true, true
		}
	}
	for _, l := range all { // beside one that is a label
		if times[keyOf(l.name)] < 2 && !heading.IsField(l.name) && labelled[l.row] && says(l.value) {
			columns[l.column] = append(columns[l.column], l)
		}
	}
	whole := asked["name"] && len(asked) >= 4 && !strings.Contains(p.sheet.Comma, ",")
	if len(fields) < 3 && !whole || len(labelled)*3 < len(p.head)*2 {
		return nil, false
	}
	var names []string
	var cards [][]label
	for _, list := range strips(columns) {
		for _, card := range cardsOf(list) {
			for _, l := range card {
				same := func(name string) bool { return keyOf(name) == keyOf(l.name) }
				once := says(l.value) && heading.IsField(l.name) // rare things, a count or an age, stand in one card
				if (times[keyOf(l.name)] > 1 || once) && !slices.ContainsFunc(names, same) {
					names = append(names, l.name)
				}
			}
			cards = append(cards, card)
		}
	}
	slices.SortStableFunc(cards, func(a, b []label) int { return cmp.Or(a[0].row-b[0].row, a[0].column-b[0].column) })
	if len(cards) < 2 && len(forms) < 3 && !whole {
		return nil, false
	}
	return p.tableOf(cards, names, labelled), true
}

// isAcross reports whether most rows are a label and several things that it says, as in a table on its side.
func (p *sheetPlan) isAcross() bool {
	n := 0
	for _, r := range p.head {
		if filled(r) > 2 && isLabel(r.Cells[0]) && !slices.ContainsFunc(r.Cells[1:], isLabel) {
			n++
		}
	}
	return n*2 > len(p.head)
}

// isTable reports whether most rows are those of a table: three cells or more, few of them labels.
func (p *sheetPlan) isTable() bool {
	n, all := 0, 0
	for _, r := range p.head {
		labels := 0
		for _, c := range r.Cells {
			if isLabel(c) {
				labels++
			}
		}
		if filled(r) > 0 {
			all++
		}
		if filled(r) > 2 && labels*3 < filled(r) {
			n++
		}
	}
	return n*2 > all
}

// strips joins columns of labels that are parts of one card: those beside it with other labels. Where labels come again
// another card stands abreast.
func strips(columns map[int][]label) (out [][]label) {
	has := map[string]bool{}
	for _, column := range slices.Sorted(maps.Keys(columns)) {
		list := columns[column]
		again := slices.ContainsFunc(list, func(l label) bool { return has[keyOf(l.name)] })
		if again || len(out) == 0 {
			out = append(out, nil)
			clear(has)
		}
		for _, l := range list {
			has[keyOf(l.name)] = true
		}
		out[len(out)-1] = append(out[len(out)-1], list...)
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b label) int { return cmp.Or(a.row-b.row, a.column-b.column) })
	}
	return out
}

// cardsOf parts the labels of a column into cards: at a gap where most gaps have the label that opens a card behind
// them, else where a label comes again.
func cardsOf(list []label) (cards [][]label) {
	gaps, opened := 1, 1
	for i, l := range list[1:] {
		if l.row > list[i].last+1 {
			if gaps++; keyOf(l.name) == keyOf(list[0].name) {
				opened++
			}
		}
	}
	atGaps := gaps > 1 && opened*10 >= gaps*6
	for i, l := range list {
		again := len(cards) > 0 && slices.ContainsFunc(cards[len(cards)-1], func(o label) bool {
			return keyOf(o.name) == keyOf(l.name)
		})
		if i == 0 || again || atGaps && l.row > list[i-1].last+1 {
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
	is := map[[2]int]byte{} // a label or what it says, of a line as a whole in column 0
	for _, card := range cards {
		for _, l := range card {
			is[[2]int{l.row, l.column}] = 'l'
			is[[2]int{l.last, l.value.Column}] = 'v'
		}
	}
	beside := func(r grid.Row) grid.Row { // what is neither, and comments on labels
		r.Cells = slices.DeleteFunc(slices.Clone(r.Cells), func(c grid.Cell) bool {
			at, more := is[[2]int{r.Number, c.Column}], c.Extra()
			empty := strings.TrimSpace(c.Text) == "" && more.Formula == ""
			return at == 'v' || len(more.Comments)+len(more.Links) == 0 && (empty || at == 'l' || is[[2]int{r.Number, 0}] == 'v')
		})
		return r
	}
	var rows []grid.Row
	for _, r := range p.head {
		if !labelled[r.Number] && r.Number < cards[0][0].row {
			p.keyRows = append(p.keyRows, r)
		} else if !labelled[r.Number] {
			rows = append(rows, lineRow(r.Number, p.lineOf(r)))
			if rest := besideLine(r); len(rest.Cells) > 0 {
				p.keyRows = append(p.keyRows, rest)
			}
		} else if rest := beside(r); len(rest.Cells) > 0 {
			p.keyRows = append(p.keyRows, rest)
		}
	}
	rows = append(rows, head)
	for _, card := range cards {
		r := grid.Row{Number: card[0].row}
		var more []string
		for _, l := range card {
			at := slices.IndexFunc(names, func(name string) bool { return keyOf(name) == keyOf(l.name) })
			if c := l.value; at < 0 {
				more = append(more, l.name+": "+c.Text)
			} else if c.Column = at + 1; says(c) {
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

// says reports whether a cell bears a text, or a formula whose value was not saved.
func says(c grid.Cell) bool { return c.Text != "" || c.Extra().Formula != "" }

// besideLine is what the cells of a row bear that the line of their texts does not say.
func besideLine(r grid.Row) grid.Row {
	r.Cells = slices.DeleteFunc(slices.Clone(r.Cells), func(c grid.Cell) bool {
		more := c.Extra()
		return len(more.Comments)+len(more.Links) == 0 && more.Formula == ""
	})
	return r
}

// shareLabels counts the sheets on which labels stand, for a form may have a sheet for each find.
func (d *decoder) shareLabels() {
	d.shared = map[string]int{}
	for _, s := range d.book.Sheets {
		head, err := s.Head(lookAhead)
		if err != nil || len(d.book.Sheets) < 2 || s.Large() || d.own || len(head) > 60 {
			continue
		}
		p, seen := &sheetPlan{sheet: s, head: head}, map[string]bool{}
		all, ok := p.labels()
		for _, l := range all {
			if name := keyOf(l.name); ok && !seen[name] {
				seen[name] = true
				d.shared[name]++
			}
		}
	}
}
