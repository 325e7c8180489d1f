package spreadsheet

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// isTotalText reports whether a text says that a row adds others up: a word for it, and at most a few more.
func isTotalText(text string) bool {
	if text == "" || len(text) > 60 || text[0]-'0' < 10 {
		return false
	}
	words := heading.Words(text)
	if len(words) == 0 || len(words) > 8 {
		return false
	}
	table := heading.RowWords("total")
	for n := 2; n <= 3 && n <= len(words); n++ {
		if table[strings.Join(words[len(words)-n:], " ")] {
			return true // gold so far
		}
	}
	if last := words[len(words)-1]; len(words) <= 3 && len(last) > 3 && table[last] && last != "same" {
		return true // season total
	}
	for n := min(3, len(words)); n > 0; n-- {
		if table[strings.Join(words[:n], " ")] {
			rest := words[n:]
			label, _, behind := strings.Cut(text, ":")
			return len(rest) == 0 || behind && len(heading.Words(label)) == n ||
				strings.HasSuffix(strings.TrimSpace(text), ":") || len(rest) <= 3 &&
				(n > 1 || len(words[0]) > 3)
		}
	}
	return false
}

// countsFinds reports whether a text says how many finds there are, and perhaps of what else: 7 finds, 3 outings.
func countsFinds(text string) (finds bool) {
	for part := range strings.FieldsFuncSeq(text, func(r rune) bool { return strings.ContainsRune(",;+&/", r) }) {
		number, rest, _ := strings.Cut(strings.TrimSpace(part), " ")
		word, more, _ := strings.Cut(strings.TrimSpace(rest), " ")
		if len(number) > 4 || number == "" || strings.Trim(number, "0123456789") != "" || word == "" ||
			more != "" && !isTotalText(more) {
			return false
		}
		finds = finds || heading.Understand(word).Field == "name" || heading.RowWord("counted", word)
	}
	return finds
}

// isTotal reports whether a row adds others up: its first text says so, or it is nothing but figures under
// what can be added; and it has nothing of a find beside them.
func (w *walker) isTotal(row grid.Row) bool {
	if w.addsUp(row) {
		return true
	}
	label, counted, figures := false, false, 0
	if name := w.t.field("name"); name != nil {
		text := strings.TrimSpace(row.Cell(name.column).Text)
		counted = countsFinds(text) && !namesAThing(text[strings.IndexByte(text, ' ')+1:])
		if m := countedWords().FindStringSubmatch(text); m != nil && !namesAThing(m[1]) && w.lacks(row) {
			counted = true // alles: 8 Tüten
		}
	}
	for i := range row.Cells {
		c := &row.Cells[i]
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		col := cmp.Or(w.t.at(c.Column), new(column))
		field := col.Field
		if c.Kind == grid.Text && (isTotalText(text) || countsFinds(text)) &&
			(!label && figures == 0 || label && col.group > 1) {
			label = true
			continue
		}
		switch field {
		case "count", "weight", "value", "", "depth", "condition.completeness", "dimensions.length", "dimensions.width":
			if c.Kind != grid.Text || beginsWithFigure(text) || text == "-" {
				figures++
				continue
			}
			if field == "" && (label || counted) {
				continue
			}
			return false
		case "name", "number":
			if field == "name" && !label && !counted && w.sumsUp(row, text) {
				counted = true
				continue
			}
			if (label || counted) && (c.Kind != grid.Text || beginsWithFigure(text) || countedWords().MatchString(text)) {
				figures++
				continue
			}
			return false
		case "notes":
			if label {
				continue
			}
			return false
		default:
			if c.More != nil && c.More.Formula != "" || c.Kind == grid.Error || label &&
				(text == "-" || len(text) < 5 && strings.Trim(text, "0123456789") == "") {
				continue
			}
			return false
		}
	}
	if label || counted {
		return true
	}
	// Without a word for it: only what can be added, and no text that is not a figure.
	return figures > 0 && w.sumsOnly(row)
}

// sumsUp reports whether a row has a name and else only figures of counts, weights or values, and is of a whole month,
// or has exactly what the finds above it come to: a sum, whatever it is called.
func (w *walker) sumsUp(row grid.Row, name string) bool {
	exact, figures := false, 0
	for _, c := range row.Cells {
		col, text := w.t.at(c.Column), strings.TrimSpace(c.Text)
		if text == "" || text == name {
			continue
		}
		if col == nil || col.Field != "count" && col.Field != "weight" && col.Field != "value" || !beginsWithFigure(text) {
			return false
		}
		figures++
		n, err := strconv.ParseFloat(strings.Replace(c.Value, ",", ".", 1), 64)
		s, all := w.sums[c.Column], w.sums[rowsCounted]
		exact = exact || err == nil && s != nil && all != nil && all.since > 1 && !s.broken && n > 0 &&
			(math.Abs(s.all-n) < 0.0051 || math.Abs(s.since-n) < 0.0051)
	}
	return figures > 0 && (exact || !namesAThing(name) && slices.ContainsFunc(heading.Words(name), isMonth) &&
		(w.t.field("depth") != nil || w.t.field("found.date") != nil))
}

// addsUp reports whether a row is nothing but a word and a figure where the find above has more, a number or a day
// among it: and the figure is how many finds there are, or what they come to, or those of one material.
func (w *walker) addsUp(row grid.Row) bool {
	word, figure, n := "", grid.Cell{}, 0
	for _, c := range row.Cells {
		if text := strings.TrimSpace(c.Text); text != "" {
			if n++; beginsWithFigure(text) {
				figure = c
			} else {
				word = text
			}
		}
	}
	value, err := strconv.ParseFloat(strings.Replace(figure.Value, ",", ".", 1), 64)
	if n != 2 || word == "" || err != nil || len(strings.Fields(word)) > 4 || !w.lacks(row) {
		return false
	}
	counts := heading.Understand(word).Field == "count" || heading.RowWord("counted", word) ||
		heading.Understand(word).Field == "name" && !namesAThing(word)
	col := cmp.Or(w.t.at(figure.Column), new(column))
	if counts || namesAThing(word) || col.Field == "number" {
		return counts
	}
	near := func(a float64) bool { return math.Abs(a-value) < 0.0051 }
	all := w.sums[rowsCounted]
	if all != nil && all.all > 1 && (near(all.all) || near(all.since)) {
		return true
	}
	s := w.sums[figure.Column]
	if s == nil || s.broken {
		return false
	}
	if slices.ContainsFunc(heading.Words(word), isMonth) || all.since > 1 && (near(s.all) || near(s.since)) {
		return true
	}
	if part := w.partOf(word, figure.Column); part > 0 && near(part) {
		w.counted(partsCounted, value)
		return true
	}
	return false
}

// lacks reports whether a row has no number and no day where the find above has one of them, or the word in its place.
func (w *walker) lacks(row grid.Row) bool {
	more := false
	for _, c := range w.t.columns {
		if c.column >= len(w.above) || c.Field != "number" && c.Field != "found.date" {
			continue
		}
		text := strings.TrimSpace(row.Cell(c.column).Text)
		if strings.ContainsAny(text, "0123456789") {
			return false
		}
		more = more || strings.TrimSpace(w.above[c.column].Text) != ""
	}
	return more
}

// partOf is what the finds since the last total of which a word is said come to in a column: Trip 1 gold.
func (w *walker) partOf(words string, column int) (sum float64) {
	codes := vocabulary.Get("material")
	for _, word := range heading.Words(words) {
		m, ok := codes.Match(word)
		if !ok || m.Code == "" {
			continue
		}
		for _, r := range w.recent {
			if of, _ := codes.Match(r.material); of.Code == m.Code || slices.Contains(heading.Words(r.name), word) {
				sum += r.figures[column]
			}
		}
		return sum
	}
	return 0
}

// sumsOnly reports whether all cells of a row stand under numbers of things, weights or values.
func (w *walker) sumsOnly(row grid.Row) bool {
	for _, c := range row.Cells {
		if strings.TrimSpace(c.Text) == "" {
			continue
		}
		col := w.t.at(c.Column)
		if col == nil {
			return false
		}
		switch col.Field {
		case "count", "weight", "value":
		default:
			return false
		}
	}
	return true
}

func beginsWithFigure(s string) bool {
	return s != "" && (s[0]-'0' < 10 || strings.IndexByte("-+.£$", s[0]) >= 0 || strings.HasPrefix(s, "€") ||
		strings.HasPrefix(s, "£")) && len(strings.Fields(s)) <= 4
}

// add adds the figures of a find to the sums of its columns.
func (w *walker) add(row grid.Row) {
	things := 1.0
	var name, material string
	figures := map[int]float64(nil)
	for _, c := range row.Cells {
		col := w.t.at(c.Column)
		if col != nil && col.Field == "name" {
			name = c.Text
		} else if col != nil && col.Field == "materials.1" {
			material = c.Text
		}
		if col == nil || col.Field != "count" && col.Field != "weight" {
			continue
		}
		s := w.sums[c.Column]
		if s == nil {
			s = new(sum)
			w.sums[c.Column] = s
		}
		n, unit, ok := col.summand(c.Value)
		if s.broken = s.broken || !ok && strings.TrimSpace(c.Text) != "" || ok && s.all > 0 && unit != s.unit; !ok {
			continue
		}
		s.unit = unit
		s.all, s.since = s.all+n, s.since+n
		if len(w.recent) < mostRecent {
			if figures == nil {
				figures = map[int]float64{}
			}
			figures[c.Column] = n
		}
		if col.Field == "count" {
			things = n
		}
	}
	if figures != nil {
		w.recent = append(w.recent, summed{name, material, figures})
	}
	w.counted(rowsCounted, 1)
	w.counted(thingsCounted, things)
}

// summand reads a figure, with a unit of letters behind it or none; that of the heading is none.
func (c *column) summand(text string) (n float64, unit string, ok bool) {
	text = strings.TrimSpace(text)
	unit = strings.TrimLeft(text, "0123456789.,")
	n, err := strconv.ParseFloat(strings.Replace(text[:len(text)-len(unit)], ",", ".", 1), 64)
	if unit = strings.TrimSpace(unit); strings.EqualFold(unit, c.Hints.Unit) {
		unit = ""
	}
	return n, unit, err == nil && !strings.ContainsFunc(unit, func(r rune) bool { return !unicode.IsLetter(r) })
}

// summed is a find since the last total: what it is and of what, and its figures.
type summed struct {
	name, material string
	figures        map[int]float64
}

const mostRecent = 200

// Three sums are of no column: the rows of finds, the things in them, and the sums of a part of them.
const rowsCounted, thingsCounted, partsCounted = 0, -1, -2

func (w *walker) counted(column int, n float64) {
	if w.sums[column] == nil {
		w.sums[column] = new(sum)
	}
	w.sums[column].all += n
	w.sums[column].since += n
}

// saysRows reports whether a cell of a total tells a number of finds that is neither that of the rows nor that of the
// things in them, since the last total or since the beginning.
func (w *walker) saysRows(text string) bool {
	number, word, _ := strings.Cut(strings.ToLower(strings.TrimSpace(text)), " ")
	n, err := strconv.ParseFloat(number, 64)
	switch word {
	case "row", "rows", "line", "lines", "item", "items", "object", "objects":
	default:
		if !countsFinds(text) {
			return false
		}
	}
	if err != nil || w.sums[rowsCounted] == nil {
		return false
	}
	for _, s := range [...]*sum{w.sums[rowsCounted], w.sums[thingsCounted]} {
		if n == s.all || n == s.since {
			return false
		}
	}
	return true
}

// checkTotal compares a total with what was read; a column in which a cell was no number cannot be.
func (w *walker) checkTotal(row grid.Row) (differ []grid.Cell) {
	if name := w.t.field("name"); name != nil {
		if text := strings.TrimSpace(row.Cell(name.column).Text); strings.ContainsFunc(text, unicode.IsLetter) &&
			!isTotalText(text) && !countsFinds(text) {
			return nil // January gold: of some of them
		}
	}
	for _, c := range row.Cells {
		if w.saysRows(c.Text) {
			differ = append(differ, c)
			continue
		}
		s := w.sums[c.Column]
		n, unit, ok := cmp.Or(w.t.at(c.Column), new(column)).summand(c.Value)
		if s == nil || !ok || c.Kind != grid.Number && c.Kind != grid.Text || unit != s.unit && unit != "" {
			continue
		}
		slack := 0.005 + math.Abs(n)*1e-6
		if n == math.Trunc(n) {
			slack += 0.5 // a sum that was rounded
		}
		near := func(a float64) bool { return math.Abs(a-n) <= slack }
		if parts := w.sums[partsCounted]; !s.broken && !near(s.all) && !near(s.since) && (parts == nil || !near(parts.all)) {
			differ = append(differ, c)
		}
	}
	return differ
}

// twoRows joins headings that stand in two rows: a group in the upper, in cells that are merged or have
// empty ones beside them, and in the lower one heading for each of its columns. It reports whether that
// is what the two rows are.
func (p *sheetPlan) twoRows(upper, lower grid.Row) ([]grid.Cell, bool) {
	if len(upper.Cells) == 0 || lower.Number != upper.Number+1 || !allWords(upper) || !allWords(lower) ||
		p.isOfFinds(upper, lower) {
		return nil, false
	}
	var out []grid.Cell
	groups, under := map[int]bool{}, 0 // groups over more than one column; columns without a cell of their own above
	known, words, group := 0, 0, -1
	last := max(lastColumn(upper), lastColumn(lower))
	for column := 1; column <= last; column++ {
		own := false
		for i, c := range upper.Cells {
			if c.Column == column && strings.TrimSpace(c.Text) != "" {
				group, own = i, true
			}
		}
		above := ""
		if group >= 0 && p.reaches(upper, group, column) {
			above = strings.TrimSpace(upper.Cells[group].Text)
		}
		text := strings.TrimSpace(lower.Cell(column).Text)
		if text == "" {
			if own {
				out = append(out, upper.Cells[group])
			}
			continue
		}
		if words++; above != "" && !own {
			under++
			groups[group] = groups[group] || p.isGroup(upper, group)
		}
		joined, ok := join(above, text)
		if ok {
			known++
		}
		out = append(out, grid.Cell{Column: column, Kind: grid.Text, Text: joined})
	}
	// One cell above all columns is a title.
	title := filled(upper) == 1 && (upper.Cells[0].Column <= lower.Cells[0].Column ||
		!heading.IsField(upper.Cells[0].Text))
	real := false
	for _, is := range groups {
		real = real || is
	}
	return out, under > 0 && real && words > 1 && known > 1 && known*2 >= words && !title
}

// isOfFinds reports whether a row below headings says of a find what they ask: a day, a place or a measure, or a number
// below the first of them.
func (p *sheetPlan) isOfFinds(upper, lower grid.Row) bool {
	for i, c := range lower.Cells {
		look := heading.Look([]string{c.Text}, edtf.OrderUnknown)
		asked := strings.TrimSpace(upper.Cell(c.Column).Text)
		if look.Days+look.Places+look.Pairs > 0 ||
			asked != "" && (i == 0 && look.Numbers > 0 || look.Lengths+look.Masses > 0) {
			return true
		}
		if asked != "" && heading.Understand(asked).Field == "name" && namesAThing(c.Text) && !heading.IsField(c.Text) {
			return true
		}
	}
	return false
}

// reaches reports whether a cell of a row of groups stands above a column: by its merged range where it
// has one, else as far as the next cell.
func (p *sheetPlan) reaches(upper grid.Row, group, column int) bool {
	c := upper.Cells[group]
	if r, ok := p.layout.MergedAt(c.Column, upper.Number); ok {
		return column <= r.LastColumn
	}
	return true
}

// isGroup reports whether a cell names a group of columns: it is merged over them, or its words are those of
// headings.
func (p *sheetPlan) isGroup(upper grid.Row, group int) bool {
	c := upper.Cells[group]
	if r, ok := p.layout.MergedAt(c.Column, upper.Number); ok && r.LastColumn > r.FirstColumn {
		return true
	}
	return heading.IsField(c.Text) || heading.WordsKnown(c.Text)
}

func lastColumn(row grid.Row) int {
	if len(row.Cells) == 0 {
		return 0
	}
	return row.Cells[len(row.Cells)-1].Column
}

func allWords(row grid.Row) bool {
	n := 0
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if n++; c.Kind != grid.Text || len(text) > longestHeading {
			return false
		}
	}
	return n > 0
}

// join makes one heading of that of a group and that of a column below it: both together where that is
// understood, else that of the column, with the unit and the reference system of the group where it has
// none of its own. It reports whether the heading is understood.
func join(group, text string) (string, bool) {
	if group == "" {
		return text, heading.IsField(text)
	}
	if text != "-" && isUnitWord(text) && heading.IsField(group) && !heading.IsField(text) {
		return group + " (" + strings.Trim(text, "()[] ") + ")", true
	}
	name, _, _ := strings.Cut(group, "(")
	alone := heading.Understand(text)
	if code := systemIn(group); code != "" && strings.HasPrefix(alone.Field, "position.") && alone.Hints.System == "" {
		return text + " (" + code + ")", true
	}
	if systemIn(text) == "" && systemIn(group) == "" && systemIn(group+" "+text) != "" {
		return group + " " + text, true // UTM above Zone 32U
	}
	unit, ok := quantity.UnitOfHeading(group)
	_, own := quantity.UnitOfHeading(text)
	if both := strings.TrimSpace(name) + " " + text; heading.IsField(both) &&
		heading.Understand(both).Field != alone.Field {
		if ok && !own && measures(both, unit) {
			both += " (" + unit.String() + ")"
		}
		return both, true
	}
	if alone.Field == "" && alone.Keep == "" {
		return text, false
	}
	if ok && !own && measures(text, unit) {
		text += " (" + unit.String() + ")"
	}
	return text, true
}
