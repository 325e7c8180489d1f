package spreadsheet

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A key says what the short words of a log stand for: Pb = lead. It stands in a text, in two columns beside or below
// the table, or on a sheet of its own, and is never a find.

// legendPair is a short word and what it stands for, behind a word for the column that it is of: Metal: C = copper.
var legendPair = text.Pattern(`(?:(?:^|[\s.;(])(\pL[\pL ]{1,20}):\s*|^|[\s,;:.(])(\pL{1,4}(?:/\pL{1,3})?\.?|` +
	`[0-9]{1,2})\s*=\s*` +
	`([\pL0-9](?:[\pL0-9 '"″/+–-]|\.[0-9]){1,30})`)

var (
	apart    = text.Pattern(`\s{2,}|\s/\s|\t`)
	signless = text.Pattern(`^(\pL{1,3}\.?)(:?)\s+(\pL.{2,30})$`)
)

// pairsIn returns the pairs of a text: the word for a column, the short word, what it stands for. Two blanks, a tab or
// a stroke part them like a comma. Where most parts of a text are a short word and a material, they need no sign.
func pairsIn(text string) [][]string {
	text = strings.TrimSpace(text)
	label, rest, ok := strings.Cut(text, ":")
	of := "" // the column of names
	if ok && !strings.Contains(text, "=") && len(label) < longestHeading && heading.Understand(label).Field == "name" {
		of, text = label, strings.TrimSpace(rest)
	} else if ok = ok && heading.RowWord("key", label); ok {
		text = strings.TrimSpace(rest)
	}
	text = apart().ReplaceAllString(text, "; ")
	pairs := legendPair().FindAllStringSubmatch(text, -1)
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' })
	bare := [][]string{}
	for _, part := range parts {
		if m := signless().FindStringSubmatch(strings.TrimSpace(part)); m != nil && !strings.Contains(part, "=") {
			_, known := vocabulary.Get("material").Match(m[3])
			known = known || of != "" && m[1] == strings.ToUpper(m[1])
			if isUpper(m[1]) && (known || m[2] != "" && len(parts) > 1 && (ok || !heading.IsField(m[1]))) {
				bare = append(bare, []string{part, of, m[1], m[3]})
			}
		}
	}
	if (len(bare)+len(pairs))*3 >= len(parts)*2 && len(bare) > 1 {
		pairs = append(pairs, bare...)
	}
	return pairs
}

func isUpper(text string) bool {
	first, _ := utf8.DecodeRuneInString(text)
	return unicode.IsUpper(first)
}

// A legend is what short words stand for, by the folded word for the column that they are of; empty: of any.
type legend map[string]map[string]string

func (l legend) add(column string, words map[string]string) {
	if len(words) > 0 && l[column] == nil {
		l[column] = map[string]string{}
	}
	for code, text := range words {
		if before, twice := l[column][code]; twice && before != text {
			text = "" // two things, and nobody knows which
		}
		l[column][code] = text
	}
}

// longestCode is how many letters a short word of a key has.
const longestCode = 6

// keyIn returns what the texts and the pairs of cells of some rows explain. Pairs of cells count where there are two
// of them at least. Numbers are explained only for a column that is named.
func keyIn(rows []grid.Row) legend {
	out, cells, singles := legend{}, map[string]string{}, legend{}
	one := 0
	for _, r := range rows {
		for _, c := range r.Cells {
			pairs := pairsIn(c.Text)
			to, column := out, ""
			if one += map[bool]int{true: 1}[len(pairs) == 1]; len(pairs) == 1 {
				to = singles
			}
			for _, pair := range pairs {
				if label := heading.Fold(pair[1]); heading.IsField(label) {
					column = label
				}
				words := strings.TrimSpace(pair[3])
				if first, _ := utf8.DecodeRuneInString(words); column != "" || !isFigures(pair[2]) && unicode.IsLetter(first) {
					to.add(column, map[string]string{pair[2]: words})
				}
			}
		}
		if code, words := keyPair(r); code != "" {
			cells[code] = words
		}
	}
	if one > 1 {
		for column, words := range singles {
			out.add(column, words)
		}
	}
	if len(cells) > 1 {
		out.add("", cells)
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

// isKeySheet reports whether a sheet is a key: by its name or its title, with nothing but lists below.
func isKeySheet(s *grid.Sheet, rows []grid.Row) bool {
	named := heading.RowWord("key", s.Name)
	if len(rows) > 0 && filled(rows[0]) == 1 {
		named = named || hasRowWord("key", rowText(rows[0]))
	}
	return named && areLists(rows, listsIn(rows))
}

// areLists reports whether most cells of some rows are of lists of codes.
func areLists(rows []grid.Row, lists []*codeList) bool {
	cells, listed := 0, 0
	for _, r := range rows {
		cells += filled(r)
	}
	for _, l := range lists {
		listed += 2 * len(l.words)
	}
	return len(lists) > 0 && listed*10 >= cells*7
}

// bookKey gathers what the keys of all sheets explain, and says which sheets are nothing else.
func (d *decoder) bookKey() error {
	var heads [][]grid.Row
	d.key, d.keySheets = legend{}, nil
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
			for column, words := range keyIn(rows) {
				d.key.add(column, words)
			}
		}
	}
	d.o.cover, d.o.front = coverSystem(heads), frontOf(heads)
	return nil
}

// frontOf returns the lines of sheets of a few lines, one below the other, which may hold for the whole book.
func frontOf(heads [][]grid.Row) (lines []grid.Cell) {
	for _, rows := range heads {
		pairs := 0
		for _, r := range rows {
			if filled(r) == 2 && isLabel(r.Cells[0]) && !isLabel(r.Cells[len(r.Cells)-1]) {
				pairs++
			}
		}
		if len(rows) > 15 || widest(rows) != 1 && (widest(rows) > 2 || pairs < 2 || pairs*2 < len(rows)) {
			continue
		}
		for _, r := range rows {
			if filled(r) == 2 { // a label and what it says beside it
				text := strings.TrimRight(strings.TrimSpace(r.Cells[0].Text), ":= ") + ": " +
					strings.TrimSpace(r.Cells[len(r.Cells)-1].Text)
				lines = append(lines, grid.Cell{Column: r.Cells[0].Column, Kind: grid.Text, Text: text})
				continue
			}
			for _, c := range r.Cells {
				if c.Kind == grid.Text && strings.TrimSpace(c.Text) != "" {
					lines = append(lines, c)
				}
			}
		}
	}
	return lines
}

// keyBeside reads a block beside the table as a key: two columns of short words and what they stand for, or one
// of pairs, whatever stands behind them. One of the short words at least stands in the table.
func (p *sheetPlan) keyBeside(from int) bool {
	found, titles := map[string]string{}, 0
	for _, r := range p.head {
		beside, table := p.split(r, from)
		same := textsOf(table)
		other := func(s string) bool { return !slices.Contains(same, s) }
		if filled(beside) > 1 && !slices.ContainsFunc(textsOf(beside), other) {
			return false // headings that come again: a table of its own
		}
		if filled(beside) == 0 {
			continue
		}
		code, words := keyPair(beside)
		if m := onePair().FindStringSubmatch(strings.TrimSpace(beside.Cells[0].Text)); code == "" && m != nil {
			code, words = m[1], m[2]
		}
		if code == "" {
			titles++
			continue
		}
		found[code] = words
		if at := strings.IndexAny(words, ",;("); at > 2 {
			found[code] = strings.TrimSpace(words[:at])
		}
	}
	if len(found) < 2 || titles > len(found) || !p.usesCode(found, from) {
		return false
	}
	p.legend.add("", found)
	return true
}

var onePair = text.Pattern(`^(\pL{1,4}\.?)\s*[=:–-]\s*(\pL.{1,40})$`)

// isKeyRow reports whether all texts of a row say what a short word stands for: DB = Dabchick.
func isKeyRow(r grid.Row) bool {
	n := 0
	for _, c := range r.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if n++; c.Kind != grid.Text || !strings.Contains(text, "=") || !onePair().MatchString(text) {
			return false
		}
	}
	return n > 0
}

// takeKeyRows notes which rows below the headings are a key: pairs in a text, or two cells alone, a short word and what
// it stands for, two such rows at least. The rows of finds have the short words in cells of their own.
func (p *sheetPlan) takeKeyRows() {
	if p.own || p.onSide || p.listed {
		return
	}
	used, codes := map[string]bool{}, map[int][]string{}
	for _, r := range p.head {
		code, _ := keyPair(r)
		if of := []string{code}; code != "" {
			codes[r.Number] = of
		} else if filled(p.keyRow(r)) <= 2 || isKeyRow(r) {
			for _, c := range p.keyRow(r).Cells {
				for _, pair := range pairsIn(c.Text) {
					codes[r.Number] = append(codes[r.Number], pair[2])
				}
			}
		}
		for _, c := range r.Cells {
			if codes[r.Number] == nil {
				used[strings.TrimSpace(strings.TrimRight(c.Text, "? "))] = true
			}
		}
	}
	for number := range codes {
		from, to := number, number
		for ; codes[from-1] != nil; from-- {
		}
		for ; codes[to+1] != nil; to++ {
		}
		hits, all := 0, 0
		for row := from; row <= to; row++ {
			for _, code := range codes[row] {
				if all++; used[code] {
					hits++
				}
			}
		}
		if all > 1 && hits > 0 && hits*2 >= all {
			if p.keyed == nil {
				p.keyed = map[int]bool{}
			}
			p.keyed[number] = true
		}
	}
}

// keyRow makes one cell of a line of a text table that begins with a label and was cut at its commas: Find: MB ball, BK
// buckle.
func (p *sheetPlan) keyRow(r grid.Row) grid.Row {
	n := filled(r)
	if p.sheet.Comma == "" || n < 2 || n != len(r.Cells) || r.Cells[n-1].Column != n {
		return r
	}
	label, _, ok := strings.Cut(r.Cells[0].Text, ":")
	if ok && (heading.IsField(label) || heading.RowWord("key", label)) {
		return lineRow(r.Number, p.lineOf(r))
	}
	return r
}

func (p *sheetPlan) withoutKeys(rows []grid.Row) []grid.Row {
	if len(p.keyed) == 0 {
		return rows
	}
	return slices.DeleteFunc(slices.Clone(rows), func(r grid.Row) bool { return p.keyed[r.Number] })
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

// keyOf is the part of the legend for a column: that which names it, else that which names none.
func (p *sheetPlan) keyOf(c *column) map[string]string {
	if len(p.legend) == 0 || c.keyFor == c.Field && c.key != nil {
		return c.key
	}
	c.key, c.keyFor = p.legend[""], c.Field
	for label, words := range p.legend {
		if label != "" && (label == c.folded || c.Field != "" && heading.Understand(label).Field == c.Field) {
			c.key = words
		}
	}
	return c.key
}

// inWords returns the texts of a column with what the key says that they stand for.
func (p *sheetPlan) inWords(c *column) []string {
	key := p.keyOf(c)
	if len(key) == 0 {
		return c.samples
	}
	out := slices.Clone(c.samples)
	for i, s := range out {
		out[i] = cmp.Or(key[strings.TrimSpace(strings.TrimRight(s, "?"))], s)
	}
	return out
}

// isListed reports whether people write codes in a column, and a list beside that says what they mean. Names of things
// are codes where most of them stand in the list.
func (t *tablePlan) isListed(c *column) bool {
	if c.Field == "name" && !c.mapped {
		if key := t.plan.keyOf(c); c.coded == 0 && len(key) > 0 {
			hits := 0
			for _, s := range c.samples {
				if key[s] != "" {
					hits++
				}
			}
			c.coded = map[bool]int8{true: 1, false: -1}[hits > 1 && hits*10 >= len(c.samples)*6]
		}
		return c.coded > 0 || c.list != nil
	}
	return isListed(c.Field)
}

func isListed(field string) bool {
	switch field {
	case "materials.1", "materials.2", "objectClass", "condition.state", "depth":
		return true
	}
	return namesOne(field)
}

// namesOne reports whether the cells of a field name a person or a piece of land.
func namesOne(field string) bool {
	return field == "finder" || field == "permission" || field == "place.name"
}

// A codeList is a list on another sheet, or below a table, that says what codes stand for: a column of short words or
// numbers, each once, and one of words beside it.
type codeList struct {
	where   string
	sheet   *grid.Sheet
	labels  []string          // the headings of the two columns and the name of the sheet
	field   string            // of the finds that have the codes; empty where nothing shows it
	records bool              // it is read as people or as fields, which the codes lead to
	words   map[string]string // by the folded code
	figures bool              // the codes are numbers
	running bool              // the codes are 1, 2, 3, which could be anything
	joined  bool
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

// listsIn finds such lists in rows, one or several abreast or below each other. Headings and titles are pairs like the
// others, which no cell names, or too long.
func listsIn(rows []grid.Row) (out []*codeList) {
	for from := 0; from < len(rows); {
		to, last := from+1, lastColumn(rows[from])
		for ; to < len(rows) && filled(rows[to]) > 0 && rows[to].Number == rows[to-1].Number+1; to++ {
			last = max(last, lastColumn(rows[to]))
		}
		before := len(out)
		for a := 1; a < min(last, 20); a++ {
			if l := listAt(rows[from:to], a, a+1); l != nil {
				out = append(out, l)
				a++
			}
		}
		if l := listAt(rows[from:to], 2, 1); len(out) == before && l != nil {
			out = append(out, l)
		}
		from = to
	}
	return out
}

// listAt is the list of which two columns are the codes and the words, nil for none.
func listAt(rows []grid.Row, codes, texts int) *codeList {
	l := &codeList{words: map[string]string{}, running: true}
	others, last, numbers := 0, 0, 0
	for _, r := range rows {
		code, text := cellText(r.Cell(codes)), cellText(r.Cell(texts))
		if code == "" && text == "" {
			continue
		}
		if len(l.labels) == 0 && len(code+text) < longestHeading {
			l.labels = []string{heading.Fold(code), heading.Fold(text)}
		}
		key := find.FoldName(code)
		switch {
		case code == "" || utf8.RuneCountInString(code) > longestCode || utf8.RuneCountInString(text) < 2 ||
			!strings.ContainsFunc(text, unicode.IsLetter) && !strings.ContainsAny(text, `"'″`):
			others++
		case l.words[key] != "":
			return nil
		default:
			l.words[key] = text
			if isFigures(code) {
				l.running = l.running && atoi(code) == last+1
				last, numbers = atoi(code), numbers+1
			}
		}
	}
	long := slices.DeleteFunc(slices.Collect(maps.Keys(l.words)), func(code string) bool { return len(code) < 3 })
	look := heading.Look(long, edtf.OrderUnknown)
	if len(l.words) < 2 || others > max(1, len(l.words)/2) || look.Materials*2 > len(l.words) {
		return nil // ring, silver: a find and what it is of
	}
	l.running, l.figures = l.running && last > 0, numbers*2 > len(l.words)
	return l
}

// lists gathers the lists of codes of a book: on sheets of their own, of people, of land, and below tables.
func (d *decoder) lists() (out []*codeList, err error) {
	for _, s := range d.book.Sheets {
		rows, err := s.Head(lookAhead)
		if err != nil {
			return nil, err
		}
		part, _ := sheetRole(s.Name)
		if part == "outings" || d.copies[s] != "" ||
			slices.ContainsFunc(d.sheets, func(p *sheetPlan) bool { return p.sheet == s && p.listed }) {
			continue // an outing names fields and people by the codes that other sheets explain
		}
		found := listsIn(rows)
		for _, l := range found {
			l.where, l.sheet, l.field, l.records = fmt.Sprintf("the sheet %q", s.Name), s, fieldOfPart[part],
				fieldOfPart[part] != ""
			l.labels = append(l.labels, heading.Fold(s.Name))
		}
		if at := slices.IndexFunc(d.sheets, func(p *sheetPlan) bool { return p.sheet == s }); at >= 0 &&
			(d.sheets[at].tables[0].certain() || !areLists(rows, found)) {
			below := besideTable(rows)
			if found = listsIn(below); len(found) > 0 {
				found[0].where = fmt.Sprintf("the list from row %d on", below[0].Number)
			}
		}
		for _, l := range found {
			for _, label := range l.labels {
				if field := heading.Understand(label).Field; l.field == "" && isListed(field) {
					l.field = field
				}
			}
		}
		out = append(out, found...)
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
