package spreadsheet

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// A notebook without a table: days as headings, and below them a line for each find, behind a mark and a number:
// - D1 musket ball, lead, 6 in. It is read as a table with the headings that such lines have in mind. Prose without
// such lines is kept as notes.

var (
	listItem   = regexp.MustCompile(`^\s*([-–—•*]\s+)?(\pL{0,3}[0-9]{1,4}[a-z]?)([.):])?\s+(\pL.*)$`)
	listBreaks = regexp.MustCompile(`[,;]\s+|\s[-–—]\s`)
)

// listHeadings are the headings of the table that such lines make.
var listHeadings = [...]string{"Number", "Find", "Material", "Depth", "Weight", "Position", "Notes"}

const (
	leastItems  = 3
	headingLine = -1 // the row of these headings, which no file has
)

// lineOf is a row as the line that it was before it was cut at its commas.
func (p *sheetPlan) lineOf(r grid.Row) string {
	var b strings.Builder
	column := 1
	for _, c := range r.Cells {
		b.WriteString(strings.Repeat(cmp.Or(p.sheet.Comma, ","), c.Column-column) + c.Text)
		column = c.Column
	}
	return b.String()
}

// list makes a table of a notebook; ok is false for anything else.
func (p *sheetPlan) list() (rows []grid.Row, ok bool) {
	items, others, seen := 0, 0, map[string]bool{}
	head := grid.Row{Number: headingLine}
	for i, h := range listHeadings {
		head.Cells = append(head.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: h})
	}
	rows = append(rows, head)
	w := &walker{p: p, t: &tablePlan{plan: p}}
	for _, r := range p.head {
		if headingScore(r) >= 3 || slices.ContainsFunc(r.Cells, func(c grid.Cell) bool { return c.Kind != grid.Text && c.Kind != grid.Number }) {
			return nil, false
		}
		line := strings.TrimSpace(p.lineOf(r))
		m := listItem.FindStringSubmatch(line)
		day, _, _, whole := w.dayIn(firstClauses(line))
		switch {
		case line == "":
			continue
		case m != nil && m[1]+m[3] != "" && !(whole && strings.HasPrefix(line, day)):
			if items++; seen[m[2]] {
				return nil, false
			}
			seen[m[2]] = true
			if row := itemRow(r.Number, m[2], m[4]); beginsWithNothing(m[4]) && len(row.Cells) <= 3 {
				rows = append(rows, lineRow(r.Number, line)) // nothing else, went home early
			} else {
				rows = append(rows, row)
			}
		default:
			if others++; items == 0 && p.year == 0 {
				p.year, p.yearFrom = yearOf(line), "the title"
			}
			clause := line
			if whole || w.dayOfYear(firstClauses(line)) != "" {
				if clause = firstClauses(line); clause != line {
					p.keyRows = append(p.keyRows, r)
				}
			}
			rows = append(rows, lineRow(r.Number, clause))
		}
	}
	return rows, items >= leastItems && items*3 >= others
}

func lineRow(number int, line string) grid.Row {
	return grid.Row{Number: number, Cells: []grid.Cell{{Column: 1, Kind: grid.Text, Text: line, Value: line}}}
}

func beginsWithNothing(text string) bool {
	words := heading.Words(text)
	return len(words) > 0 && heading.RowWords("nothing")[words[0]]
}

// firstClauses are the first words of a line up to a sign: the day and the field of a heading.
func firstClauses(line string) string {
	end := 0
	for i, r := range line {
		if r == ',' || r == ';' || r == '(' || r == '.' && i > 5 && (i+1 == len(line) || line[i+1] == ' ') {
			if len(strings.Fields(line[:i])) > 8 {
				break
			}
			if end = i; r == '(' || r == '.' && !strings.HasSuffix(strings.TrimRight(line[:i], "0123456789"), " ") {
				break
			}
		}
	}
	if end == 0 || len(strings.Fields(line)) <= 6 && !strings.ContainsAny(line, "(") {
		return strings.TrimRight(line, ". ")
	}
	return strings.TrimSpace(line[:end])
}

// itemRow cuts the words of a line into the cells of the table: the name first, then what shows itself to be a place, a
// depth, a weight or a material; the rest are notes.
func itemRow(row int, number, words string) grid.Row {
	texts := [len(listHeadings)]string{number}
	put := func(at int, text string) bool {
		if texts[at] != "" {
			return false
		}
		texts[at] = text
		return true
	}
	var notes []string
	for i, part := range sentences(words) {
		switch {
		case i == 0:
			name, depth := intake.SplitWords(part)
			if texts[1] = name; depth != "" {
				texts[3] = depth
			}
		case isPlace(part) && put(5, part):
		default:
			var f find.Find
			rest, took := intake.TakeDetails(&f, part, false)
			fits := took && (f.Found == nil && len(f.Media) == 0)
			fits = fits && (f.Depth == nil || put(3, f.Depth.Verbatim)) && (f.Weight == nil || put(4, f.Weight.Verbatim)) &&
				(f.Materials == nil || put(2, f.Materials[0].Verbatim))
			if !fits {
				rest = part
			}
			if rest != "" {
				notes = append(notes, rest)
			}
		}
	}
	texts[6] = strings.Join(notes, "; ")
	out := grid.Row{Number: row}
	for i, text := range texts {
		if text != "" {
			out.Cells = append(out.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: text, Value: text})
		}
	}
	return out
}

// sentences cuts words at commas and dashes, and at points before a capital.
func sentences(words string) (out []string) {
	for _, part := range listBreaks.Split(words, -1) {
		for {
			at := strings.Index(part, ". ")
			if at < 0 || at+2 >= len(part) || !unicode.IsUpper([]rune(part[at+2:])[0]) {
				break
			}
			out, part = append(out, strings.Trim(part[:at], " .")), part[at+2:]
		}
		if part = strings.TrimRight(strings.TrimSpace(part), "."); part != "" {
			out = append(out, part)
		}
	}
	return out
}

func isPlace(text string) bool {
	return coordinateOf(text) && strings.ContainsAny(text, "0123456789") && len(text) > 6
}

// takeList reads the sheet as a notebook where it is one.
func (p *sheetPlan) takeList() {
	if p.own || p.sheet.Large() || len(p.head) >= lookAhead {
		return
	}
	year := p.year
	rows, ok := p.blocks()
	if !ok {
		rows, ok = p.list()
	}
	if p.listed = ok; ok {
		p.head = rows
		return
	}
	p.year, p.keyRows = year, nil
}

// isProse reports whether most rows of a sheet are sentences.
func (p *sheetPlan) isProse() bool {
	long, all := 0, 0
	for _, r := range p.head {
		if line := strings.TrimSpace(p.lineOf(r)); line != "" {
			if all++; len(strings.Fields(line)) >= 5 && filled(r) <= 12 {
				long++
			}
		}
	}
	return p.sheet.Name == "" && all >= 2 && long*2 >= all
}

// sayList says that a sheet was read as a notebook.
func (d *decoder) sayList(p *sheetPlan) {
	if !p.listed {
		return
	}
	n := notice.New(tableNote, "",
		"the file is no table: each of its lines with a number is read as a find, cut at its commas; the others are headings and notes")
	if p.cards > 0 {
		n.Message = fmt.Sprintf("there is no table, but %d blocks of labels, each with what it says; each block is read as a find", p.cards)
	}
	n.Sheet = p.sheet.Name
	d.notices.Add(n)
}

// Cards: a block of labels for each find, one below the other or abreast, each label with its words behind a colon or in
// the next cell. They are read as a table with the labels as its headings.

// label is one label of a card with what it says.
type label struct {
	row, column int
	name        string
	value       grid.Cell
}

var (
	labelLine   = regexp.MustCompile(`^\s*(?:[-*•]\s+)?(\pL[^:=,;0-9]{0,38}?)\s*[:=]\s*(.*)$`)
	numberLabel = regexp.MustCompile(`^\s*(\pL[^:=,;0-9]{0,28}?)\s*([0-9]{1,4}[a-z]?)\s*[.:]?$`)
)

// labelsOf returns the labels of a row: one of a line, those of the cells of a sheet that have their words beside them.
func (p *sheetPlan) labelsOf(r grid.Row) (out []label) {
	add := func(column int, name, text string) {
		text = strings.Trim(text, " \t"+p.sheet.Comma)
		out = append(out, label{r.Number, column, strings.TrimSpace(name), grid.Cell{Kind: grid.Text, Text: text, Value: text}})
	}
	if p.sheet.Comma != "" || filled(r) == 1 {
		line := p.lineOf(r)
		if m := labelLine.FindStringSubmatch(line); m != nil && len(strings.Fields(m[1])) <= 5 {
			add(r.Cells[0].Column, m[1], m[2])
		} else if m := numberLabel.FindStringSubmatch(line); m != nil {
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
				if times[heading.Fold(l.name)] > 1 && !slices.ContainsFunc(names, same) {
					names = append(names, l.name)
				}
			}
			cards = append(cards, card)
		}
	}
	slices.SortStableFunc(cards, func(a, b []label) int { return cmp.Or(a[0].row-b[0].row, a[0].column-b[0].column) })
	return p.tableOf(cards, names, labelled), len(cards) > 1
}

// cardsOf parts the labels of a column into cards: at a gap where most gaps have the label that opens a card behind them,
// else where a label comes again.
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
