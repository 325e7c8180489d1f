package spreadsheet

import (
	"cmp"
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// A key says what the short words of a log stand for: Pb = lead. It stands in a text, in two columns beside or below
// the table, or on a sheet of its own, and is never a find.

var legendPair = regexp.MustCompile(`(?:^|[\s,;:.])(\pL{1,4}\.?)\s*=\s*(\pL[\pL -]{1,30})`)

// longestCode is how many letters a short word of a key has.
const longestCode = 6

// keyIn returns what the texts and the pairs of cells of some rows explain. Pairs of cells count where there are two
// of them at least.
func keyIn(rows []grid.Row) map[string]string {
	out, cells, singles := map[string]string{}, map[string]string{}, map[string]string{}
	for _, r := range rows {
		for _, c := range r.Cells {
			pairs := legendPair.FindAllStringSubmatch(c.Text, -1)
			for _, pair := range pairs {
				if len(pairs) > 1 {
					out[pair[1]] = strings.TrimSpace(pair[2])
				} else {
					singles[pair[1]] = strings.TrimSpace(pair[2])
				}
			}
		}
		if code, words := keyPair(r); code != "" {
			cells[code] = words
		}
	}
	for _, more := range []map[string]string{singles, cells} {
		if len(more) > 1 {
			maps.Copy(out, more)
		}
	}
	return out
}

// keyPair returns the two texts of a row that is nothing but a short word and what it stands for.
func keyPair(r grid.Row) (code, words string) {
	var texts []string
	last := 0
	for _, c := range r.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if c.Kind != grid.Text || len(texts) == 2 || len(texts) == 1 && c.Column > last+2 {
			return "", ""
		}
		texts, last = append(texts, text), c.Column
	}
	if len(texts) != 2 || !isCode(texts[0]) || !isExplanation(texts[1]) {
		return "", ""
	}
	return texts[0], texts[1]
}

func isCode(text string) bool {
	return utf8.RuneCountInString(text) <= longestCode && text != "" && strings.Trim(text, "0123456789.,/ ") != ""
}

// isExplanation reports whether a text begins with a word and has no figures of a measure or a day in front.
func isExplanation(text string) bool {
	first, _ := utf8.DecodeRuneInString(text)
	return unicode.IsLetter(first) && utf8.RuneCountInString(text) > 2
}

// isKeySheet reports whether a sheet is a key: by its name or its title, with pairs below, or pairs alone.
func isKeySheet(s *grid.Sheet, rows []grid.Row) bool {
	pairs, others := 0, 0
	named := heading.RowWord("key", s.Name)
	for i, r := range rows {
		switch code, _ := keyPair(r); {
		case code != "":
			pairs++
		case i == 0 && filled(r) == 1:
			named = named || hasRowWord("key", rowText(r))
		case filled(r) > 0:
			others++
		}
	}
	return pairs >= 2 && named && others <= pairs
}

// bookKey gathers what the keys of all sheets explain, and says which sheets are nothing else.
func (d *decoder) bookKey() error {
	d.key, d.keySheets = map[string]string{}, nil
	for _, s := range d.book.Sheets {
		if len(d.book.Sheets) == 1 || d.own {
			break
		}
		rows, err := s.Head(lookAhead)
		if err != nil {
			return err
		}
		if isKeySheet(s, rows) {
			d.keySheets = append(d.keySheets, s)
			maps.Copy(d.key, keyIn(rows))
		}
	}
	return nil
}

// keyBeside finds a key that stands beside the table, an empty column between them, and takes it out of the rows: two
// columns of short words and what they stand for, or one of pairs. One of the short words at least stands in the table.
func (p *sheetPlan) keyBeside() {
	from, last := 0, 0
	used := map[int]bool{}
	for _, r := range p.head {
		for _, c := range r.Cells {
			if strings.TrimSpace(c.Text) != "" {
				used[c.Column] = true
				last = max(last, c.Column)
			}
		}
	}
	for column := last; column > 1 && from == 0; column-- {
		if !used[column] {
			return
		}
		if !used[column-1] {
			from = column
		}
	}
	if from < 4 || last > from+1 {
		return
	}
	found, titles, end := map[string]string{}, 0, 0
	for _, r := range p.head {
		beside, _ := p.split(r, from)
		if filled(beside) == 0 {
			continue
		}
		end = r.Number
		code, words := keyPair(beside)
		if m := onePair.FindStringSubmatch(rowText(beside)); code == "" && m != nil {
			code, words = m[1], m[2]
		}
		if code == "" {
			if titles++; titles > 1 {
				return
			}
			continue
		}
		found[code] = words
	}
	if len(found) < 2 || !p.usesCode(found, from) {
		return
	}
	for _, r := range p.head {
		if beside, _ := p.split(r, from); filled(beside) > 0 {
			p.keyRows = append(p.keyRows, beside)
		}
	}
	p.keyFrom, p.keyLast = from, end
	for i := range p.head {
		_, p.head[i] = p.split(p.head[i], from)
	}
	maps.Copy(p.legend, found)
}

var onePair = regexp.MustCompile(`^(\pL{1,4}\.?)\s*[=:–-]\s*(\pL.{1,40})$`)

// isKeyRow reports whether all texts of a row say what a short word stands for: DB = Dabchick.
func isKeyRow(r grid.Row) bool {
	n := 0
	for _, c := range r.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if n++; c.Kind != grid.Text || !strings.Contains(text, "=") || !onePair.MatchString(text) {
			return false
		}
	}
	return n > 0
}

// usesCode reports whether a word of a key stands in the table beside it.
func (p *sheetPlan) usesCode(key map[string]string, from int) bool {
	for _, r := range p.head {
		_, table := p.split(r, from)
		for _, c := range table.Cells {
			for word := range strings.FieldsSeq(c.Text) {
				if key[word] != "" || key[strings.Trim(word, "().,;?")] != "" {
					return true
				}
			}
		}
	}
	return false
}

// split parts the cells from a column on from those before it.
func (p *sheetPlan) split(r grid.Row, from int) (beside, table grid.Row) {
	at := slices.IndexFunc(r.Cells, func(c grid.Cell) bool { return c.Column >= from })
	beside, table = r, r
	if beside.Cells = nil; at < 0 {
		return beside, table
	}
	beside.Cells, table.Cells = r.Cells[at:], r.Cells[:at:at]
	return beside, table
}

// withoutKey takes the key out of a row.
func (p *sheetPlan) withoutKey(r grid.Row) grid.Row {
	if p.keyFrom > 0 && r.Number <= p.keyLast {
		_, r = p.split(r, p.keyFrom)
	}
	return r
}

// explained returns what a cell stands for by the key: all of it, or what stands before a question mark. Empty where
// the key does not say, and where the words would be no better.
func (t *tablePlan) explained(c *column, text string) string {
	switch c.Field {
	case "materials.1", "materials.2", "objectClass", "condition.state", "depth":
		short := strings.TrimSpace(strings.TrimRight(text, "?"))
		words := t.plan.legend[cmp.Or(short, text)]
		if words != "" && short != text {
			words += " ?"
		}
		return words
	}
	return ""
}
