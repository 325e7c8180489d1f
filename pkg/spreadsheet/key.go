package spreadsheet

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/vocabulary"
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
	var heads [][]grid.Row
	for _, s := range d.book.Sheets {
		if len(d.book.Sheets) == 1 || d.own {
			break
		}
		rows, err := s.Head(lookAhead)
		if err != nil {
			return err
		}
		heads = append(heads, rows)
		if isKeySheet(s, rows) {
			d.keySheets = append(d.keySheets, s)
			maps.Copy(d.key, keyIn(rows))
		}
	}
	d.o.cover = coverSystem(heads)
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

// explained returns what a cell stands for by the key, or by the list that its column is joined to: all of it, or what
// stands before a question mark. Empty where neither says, and where the words would be no better.
func (t *tablePlan) explained(c *column, text string) string {
	if isListed(c.Field) || c.Field == "depth" {
		short := strings.TrimSpace(strings.TrimRight(text, "?"))
		words := ""
		if c.list != nil && !c.list.records {
			words = c.list.words[find.FoldName(short)]
		} else if words = t.plan.legend[cmp.Or(short, text)]; namesOne(c.Field) {
			if _, material := vocabulary.Get("material").Match(words); material {
				return ""
			}
		}
		if words != "" && short != text {
			words += " ?"
		}
		return words
	}
	return ""
}

// inWords returns texts with what the key says that they stand for.
func (p *sheetPlan) inWords(texts []string) []string {
	if len(p.legend) == 0 {
		return texts
	}
	out := slices.Clone(texts)
	for i, s := range out {
		out[i] = cmp.Or(p.legend[strings.TrimSpace(strings.TrimRight(s, "?"))], s)
	}
	return out
}

// isListed reports whether people write codes in a column of a field, and a list beside that says what they mean.
func isListed(field string) bool {
	return field == "materials.1" || field == "materials.2" || field == "objectClass" || field == "condition.state" ||
		namesOne(field)
}

// namesOne reports whether the cells of a field name a person or a piece of land.
func namesOne(field string) bool {
	return field == "finder" || field == "permission" || field == "place.name"
}

// A codeList is a list on another sheet, or in another table, that says what codes stand for: a column of short words
// or numbers, each once, and one of words beside it.
type codeList struct {
	where   string
	field   string            // of the finds that have the codes; empty where nothing shows it
	records bool              // it is read as people or as fields, which the codes lead to
	words   map[string]string // by the folded code
	figures bool              // the codes are numbers
	running bool              // the codes are 1, 2, 3, which could be anything
}

// areCodes reports whether texts are short and each stands once.
func areCodes(texts []string) bool {
	seen := map[string]bool{}
	for _, s := range texts {
		if seen[find.FoldName(s)] || utf8.RuneCountInString(s) > longestCode {
			return false
		}
		seen[find.FoldName(s)] = true
	}
	return len(seen) > 1
}

// listOf finds such a list in rows: of the first columns the one with codes, and the nearest with words. Headings and
// titles are pairs like the others, which no cell names, or too long.
func listOf(rows []grid.Row) (words map[string]string, figures, running bool) {
	for _, at := range [...][2]int{{1, 2}, {2, 1}, {2, 3}, {1, 3}} {
		words, running = map[string]string{}, true
		others, doubles, last, numbers := 0, 0, 0, 0
		for _, r := range rows {
			code, text := cellText(r.Cell(at[0])), cellText(r.Cell(at[1]))
			key := find.FoldName(code)
			switch {
			case filled(r) == 0:
			case code == "" || utf8.RuneCountInString(code) > longestCode || !isExplanation(text):
				others++
			case words[key] != "":
				doubles++
			default:
				words[key] = text
				if isFigures(code) {
					running = running && atoi(code) == last+1
					last, numbers = atoi(code), numbers+1
				}
			}
		}
		if look := heading.Look(slices.Collect(maps.Keys(words)), edtf.OrderUnknown); look.Materials*2 > len(words) {
			continue // ring, silver: a find and what it is of
		}
		if running = running && last > 0; doubles == 0 && len(words) > 1 && others <= max(1, len(words)/2) {
			return words, numbers*2 > len(words), running
		}
	}
	return nil, false, false
}

// lists gathers the lists of codes of a book: the sheets and tables without finds.
func (d *decoder) lists() (out []*codeList, err error) {
	for _, s := range d.book.Sheets {
		rows, err := s.Head(lookAhead)
		if err != nil {
			return nil, err
		}
		part, _ := sheetRole(s.Name)
		l := &codeList{where: fmt.Sprintf("the sheet %q", s.Name), field: fieldOfPart[part]}
		l.records = l.field != ""
		at := slices.IndexFunc(d.sheets, func(p *sheetPlan) bool { return p.sheet == s })
		if at >= 0 {
			if d.sheets[at].listed {
				continue
			}
			l.records = false
			rows = besideTable(rows)
			if len(rows) > 0 {
				l.where = fmt.Sprintf("the list from row %d on", rows[0].Number)
			}
		}
		if l.words, l.figures, l.running = listOf(rows); len(l.words) > 0 {
			if m := heading.Understand(s.Name); l.field == "" && at < 0 {
				l.field = m.Field
			}
			out = append(out, l)
		}
	}
	return out, nil
}

// besideTable returns the rows of a block of two or three columns below a table, an empty row between them.
func besideTable(rows []grid.Row) []grid.Row {
	from := 0
	for i := 1; i < len(rows); i++ {
		if rows[i].Number > rows[i-1].Number+1 || filled(rows[i-1]) == 0 {
			from = i
		}
	}
	if from == 0 || widest(rows[from:]) > 3 {
		return nil
	}
	return rows[from:]
}

// fieldOfPart are the fields whose cells name the records of a sheet.
var fieldOfPart = map[string]string{"people": "finder", "permissions": "permission"}

// join leads the codes of the finds to the lists that explain them: a column whose cells stand in one. What the column
// is, its heading says, or else the list.
func (d *decoder) join() error {
	if d.own {
		return nil
	}
	lists, err := d.lists()
	if err != nil || len(lists) == 0 {
		return err
	}
	for _, p := range d.sheets {
		for _, t := range p.tables {
			if !t.finds || p.own {
				continue
			}
			for _, c := range t.columns {
				for _, l := range lists {
					if !c.mapped && c.list == nil {
						t.joinTo(c, l)
					}
				}
			}
		}
	}
	return nil
}

func (t *tablePlan) joinTo(c *column, l *codeList) {
	hits, all, seen := 0, 0, map[string]bool{}
	for _, s := range c.samples {
		if s = strings.TrimSpace(strings.TrimRight(s, "?")); isDitto(s) || saysNothing(s) {
			continue
		}
		if all++; l.words[find.FoldName(s)] != "" {
			hits++
			seen[find.FoldName(s)] = true
		}
	}
	may := func(field string) bool {
		return slices.ContainsFunc(heading.All(c.heading), func(m heading.Meaning) bool { return m.Field == field })
	}
	switch {
	case hits == 0 || hits*10 < all*6:
		return
	case c.Field == "" && l.field == "":
		look := heading.Look(slices.Collect(maps.Values(l.words)), edtf.OrderUnknown)
		if look.Materials*10 < look.Cells*6 || t.field("materials.1") != nil {
			return
		}
		c.Meaning = heading.Meaning{Field: "materials.1", Taken: heading.TakenCells}
	case c.Field == "" && t.field(l.field) == nil && may(l.field):
		c.Meaning = heading.Meaning{Field: l.field, Taken: heading.TakenLabel}
	case c.Field == "" && t.field(l.field) == nil && !l.running && len(seen) > 1 && hits*10 >= all*8:
		c.Meaning = heading.Meaning{Field: l.field, Taken: heading.TakenCells}
	case !isListed(c.Field), l.field != "" && l.field != cmp.Or(map[string]string{"place.name": "permission"}[c.Field], c.Field):
		return
	}
	c.list = l
	c.settle()
}

// odd reports whether a text is a code like those of a list, and is not in it.
func (l *codeList) odd(text string) bool {
	key := find.FoldName(text)
	if utf8.RuneCountInString(text) > longestCode || saysNothing(text) || l.words[key] != "" || l.figures != isFigures(text) {
		return false
	}
	for _, words := range l.words {
		if find.FoldName(words) == key {
			return false
		}
	}
	return true
}

func isFigures(text string) bool { return strings.Trim(text, "0123456789") == "" }
