package spreadsheet

import (
	"iter"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// isDitto reports whether a cell stands for the one above it: a mark or an arrow alone, or a word for it.
func isDitto(text string) bool {
	if len(text) > 24 || text == "" {
		return false
	}
	if c := text[0]; c-'0' < 10 {
		return false
	}
	if c := text[0] | 0x20; c < 'a' || c > 'z' {
		if isMark(text) {
			return true
		}
	} else if len(text) > 12 && !strings.Contains(text, " ") || !heading.MayBegin("ditto", text) {
		return false
	}
	if r, _ := utf8.DecodeRuneInString(text); r == '"' || r == '-' && !strings.HasSuffix(text, "-") {
		return false
	}
	words := heading.RowWords("ditto")
	text = strings.TrimFunc(text, func(r rune) bool { return strings.ContainsRune("-–— ", r) }) // -do-
	plain := strings.ToLower(strings.TrimRight(strings.TrimSpace(text), ".!"))
	if words[plain] {
		return len(plain) > 1
	}
	if len(plain) < 3 {
		return false
	}
	if !strings.ContainsAny(text, " ./:") {
		return false
	}
	joined := strings.Join(heading.Words(text), " ")
	return joined != "" && words[joined] && joined != "s o" || joined == "s o" && strings.Contains(text, ".")
}

// isDitto reports whether a cell stands for the one above it in a table of this language: s.o. does so in German, and
// in French it says that there is nothing to say.
func (t *tablePlan) isDitto(text string) bool {
	if t.isAbove[text] {
		return true
	}
	if !isDitto(text) {
		return false
	}
	is, clashes := heading.Clashes(text, t.names())
	return !clashes || is == "ditto"
}

// repeatedWords finds the word for the line above that no lexicon has: in the column of days, where it is none, and in
// another column of the same row, in two rows at least, and never in the first.
func (t *tablePlan) repeatedWords(below []grid.Row) {
	c, rows, first := t.field("found.date"), map[string]int{}, true
	for _, r := range below {
		if c == nil || t.plan.own || filled(r) < 3 {
			continue
		}
		word := strings.TrimSpace(r.Cell(c.column).Text)
		if word == "" || strings.ContainsAny(word, "0123456789") || saysNothing(word) {
			first = first && word == ""
			continue
		}
		for _, o := range t.columns {
			if o != c && o.dittoed() && strings.TrimSpace(r.Cell(o.column).Text) == word {
				if rows[word]++; first {
					rows[word] = -len(below)
				}
				break
			}
		}
		first = false
	}
	for word, n := range rows {
		if n > 1 {
			t.isAbove = map[string]bool{word: true}
		}
	}
}

// names are the headings of the columns.
func (t *tablePlan) names() iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, c := range t.columns {
			if !yield(c.heading) {
				return
			}
		}
	}
}

// isMark reports whether a text is nothing but a mark or an arrow that stands for the line above.
func isMark(text string) bool {
	marks := strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '–', '—', '.', '_', '\u00a0':
			return -1
		}
		return r
	}, text)
	switch marks {
	case `"`, `""`, "''", "”", "“", "„", "«", "»", "〃", "↑", "⇑", "^", "⬆", "▲", "´´", "‘‘", "’’", "″", "^^", "↓", "''''",
		"\"\"\"", ",,", ",,,,", "||", "˝", "‟", "⬆️", "„„", "””", "»»":
		return true
	}
	return false
}

// dittoed reports whether a column can take the value from above. A number is of one find alone, and what
// is free text says what it says.
func (c *column) dittoed() bool {
	switch c.Field {
	case "", "number", "id", "notes", "media.1.file", "media.2.file", "question":
		return false
	}
	return true
}

// ofMany reports whether one cell of a column, merged over several rows, may speak for each of them: free words too.
func (c *column) ofMany() bool { return c.Field != "number" && c.Field != "id" }

// complete puts what stands above in the place of dittos and of blanks that mean the same, and keeps the
// row for those below.
func (w *walker) complete(row grid.Row) grid.Row {
	t := w.t
	if t.plan.own || w.p.surveyed && !t.takes {
		return row
	}
	for len(w.above) < len(t.byNumber) {
		w.above = append(w.above, grid.Cell{Column: len(w.above)})
	}
	if !w.p.surveyed {
		w.add(row)
	}
	changed := false
	out := w.cells[:0]
	at := 0
	for number := 1; number < len(t.byNumber); number++ {
		for at < len(row.Cells) && row.Cells[at].Column < number {
			at++
		}
		c := t.byNumber[number]
		has := at < len(row.Cells) && row.Cells[at].Column == number
		if c == nil {
			if has {
				out = append(out, row.Cells[at])
			}
			continue
		}
		switch {
		case has && row.Cells[at].Kind == grid.Text && c.dittoed() && t.isDitto(strings.TrimSpace(row.Cells[at].Text)):
			w.marks = append(w.marks, mark{c, strings.TrimSpace(row.Cells[at].Text)})
			cell := w.above[number]
			cell.More = row.Cells[at].More
			out = append(out, cell)
			changed = true
		case (!has || strings.TrimSpace(row.Cells[at].Text) == "") &&
			(c.dittoed() && w.filledDown(number, row.Number) || c.ofMany() && w.merged(number, row.Number)):
			out = append(out, w.fromAbove(number, has, row, at))
			changed = true
		case has:
			out = append(out, row.Cells[at])
			w.above[number] = row.Cells[at]
			w.above[number].More = nil
		default:
			if !t.fills[number] {
				w.above[number] = grid.Cell{Column: number}
			}
		}
	}
	for ; at < len(row.Cells); at++ {
		if row.Cells[at].Column >= len(t.byNumber) {
			out = append(out, row.Cells[at])
		}
	}
	w.cells = out
	if changed {
		t.takes = true
		row.Cells = out
	}
	return row
}

// wrote reports whether the cell of a find is its own, and was not taken from the find above.
func (w *walker) wrote(c *column) bool {
	return !slices.ContainsFunc(w.marks, func(m mark) bool { return m.column == c })
}

// fromAbove is the cell above in place of a blank one. A blank has a comment, or is a formula without a result, which
// is no blank.
func (w *walker) fromAbove(number int, has bool, row grid.Row, at int) grid.Cell {
	cell := w.above[number]
	if has {
		cell.More = row.Cells[at].More
		if cell.More != nil && cell.More.Formula != "" {
			return row.Cells[at]
		}
	}
	return cell
}

// filledDown reports whether a blank is the cell above it: by the habit of the column, or because the
// two are merged.
func (w *walker) filledDown(column, row int) bool {
	if w.t.fills[column] {
		return strings.TrimSpace(w.above[column].Text) != ""
	}
	return w.merged(column, row)
}

// merged reports whether a cell is one with the one above it.
func (w *walker) merged(column, row int) bool {
	if len(w.p.layout.Merged) == 0 {
		return false
	}
	r, ok := w.p.layout.MergedAt(column, row)
	return ok && r.FirstRow < row && r.FirstColumn == column && r.FirstRow >= w.t.first
}

// habits finds the columns in which a blank stands for the cell above: a title says so, or the column
// shows it: no value ever comes twice in a row, but each is followed by blanks.
func (t *tablePlan) habits(below []grid.Row) {
	if len(t.headings) == 0 {
		return
	}
	stated := t.stated()
	for _, c := range t.columns {
		switch c.Field {
		case "found.date", "permission", "place.name", "place.parish", "finder", "found.verbatim":
		default:
			if !stated[c] {
				continue
			}
		}
		if stated[c] || t.shows(c, below) {
			t.fills[c.column] = true
		}
	}
	t.together(below, 2)
}

// together finds the habit in columns of the day and the land that are blank in the same rows, and never one without
// the other: of several finds of an outing the first alone has them. Least is how many blank rows show it.
func (t *tablePlan) together(below []grid.Row, least int) {
	name, values, blanks, last := t.field("name"), 0, 0, ""
	of := slices.DeleteFunc(slices.Clone(t.columns), func(c *column) bool {
		return c.Field != "found.date" && c.Field != "permission" && c.Field != "place.name"
	})
	if len(of) < 2 || name == nil || t.groups > 1 || t.plan.own || len(t.plan.layout.Merged) > 0 {
		return
	}
	for _, r := range below {
		var texts []string
		for _, c := range of {
			if text := cellText(r.Cell(c.column)); text != "" {
				texts = append(texts, find.FoldName(text))
			}
		}
		switch said := strings.Join(texts, "|"); {
		case cellText(r.Cell(name.column)) == "":
		case len(texts) == 0 && values > 0:
			blanks++
		case len(texts) < len(of), said == last, slices.ContainsFunc(texts, isDitto):
			return
		default:
			values, last = values+1, said
		}
	}
	for _, c := range of {
		if values >= 2 && blanks >= least {
			t.fills[c.column] = true
		}
	}
}

// stated returns the columns of which a title says that a gap is the line above.
func (t *tablePlan) stated() map[*column]bool {
	out := map[*column]bool{}
	for _, r := range t.plan.head {
		if r.Number >= t.first {
			break
		}
		for _, cell := range r.Cells {
			words := heading.Words(cell.Text)
			gap, above := false, false
			for _, w := range words {
				gap = gap || heading.RowWords("gap")[w]
				above = above || heading.RowWords("above")[w]
			}
			if !gap || !above {
				continue
			}
			text := " " + strings.Join(words, " ") + " "
			for _, c := range t.columns {
				if name := strings.Join(heading.Words(c.heading), " "); name != "" && strings.Contains(text, " "+name+" ") {
					out[c] = true
				}
			}
		}
	}
	return out
}

// shows reports whether the rows show the habit beyond doubt: at least three blanks, at least two values,
// never the same value in two rows that follow each other, more blanks than values, and the first row has one.
func (t *tablePlan) shows(c *column, below []grid.Row) bool {
	values, blanks, last := 0, 0, ""
	for _, r := range below {
		if filled(r) < 3 {
			continue
		}
		text := find.FoldName(cellText(r.Cell(c.column)))
		switch {
		case text == "":
			if values == 0 {
				return false
			}
			blanks++
		case isDitto(text):
			return false
		default:
			if text == last {
				return false
			}
			values, last = values+1, text
		}
	}
	return values >= 2 && blanks >= 3 && blanks >= values
}
