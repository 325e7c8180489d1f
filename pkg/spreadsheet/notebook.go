package spreadsheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// A notebook or a chat, and no table: days as headings with a line for each find below them, behind a mark, a number or
// nothing; or messages, each with its day and who sent it. It is read as a table with the headings that such lines
// have in mind. Prose without such lines is kept as notes.

const (
	dayPattern = `[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{1,4}|[0-9]{1,2}\.?\s\pL{3,9}\.?,?\s[0-9]{4}|\pL{3,` +
		`9}\.?\s[0-9]{1,2},?\s[0-9]{4}`
	clockPattern = `[0-9]{1,2}[:.h][0-9]{2}(?:[:.][0-9]{2})?(?:\s*[AaPp]\.?\s?[Mm]\b\.?)?`
)

var (
	listItem = text.Pattern(`^\s*([-–—•*·]\s+)?(?:(\pL{0,3}[0-9]{1,4}[a-z]?)([.):,])?\s+|[a-z]\)\s+)?([\pL#].*)$`)
	// stampedItem is a number before the words of a message: 3. ring, F1 button.
	stampedItem = text.Pattern(`^(?:([0-9]{1,4}[a-z]?)[.):]\s+|([A-Z]{1,2}-?[0-9]{1,4})[.):]?\s+)(\pL.*)$`)
	countItem   = text.Pattern(`^\s*([-–—•*·]\s+)?(?:#?(\pL{0,3}[0-9]{1,4}[a-z]?)([.):]|\s[-–—])\s+)([0-9]{1,` +
		`3}\s+\pL.*)$`)
	numberWord = text.Pattern(`^(\pL{1,8}\.?|#)\s*([0-9]{1,4}[a-z]?)[.):]?\s+((?:[0-9]{1,3}\s+)?\pL.*)$`)
	listBreaks = text.Pattern(`[,;]\s+|\s[-–—]\s`)
	stamped    = text.Pattern(`^\[?(` + dayPattern + `)(?:,?\s+(` + clockPattern +
		`))?\]?(?:\s*[-–—:,]\s+|\s+)(\S.*)$`)
	sentBy = text.Pattern(`^([^:,;.!?"0-9\t]{1,30}|\+[0-9 ]{6,20})(?::\s+|\t\s*)(.*)$`)
)

// listHeadings are the headings of the table that such lines make.
var listHeadings = [...]string{"Number", "Find", "Material", "Depth", "Weight", "Position", "Notes", "Date", "Finder",
	"Message", "Count", "Diameter"}

const (
	itemNumber = iota
	itemName
	itemMaterial
	itemDepth
	itemWeight
	itemPosition
	itemNotes
	itemDay
	itemFinder
	itemMessage
	itemCount
	itemDiameter
)

const (
	leastItems  = 3
	mostLines   = 20_000
	headingLine = -1 // the row of these headings, which no file has
)

// noteForm is the form of the lines of a notebook that are finds.
type noteForm uint8

const (
	formNone     noteForm = iota
	formPlain             // ring, silver, 5 in
	formMarked            // - ring, silver, 5 in
	formNumbered          // 3) ring, silver, 5 in
	formStamped           // [13/08/2023, 19:42] Jay: ring, silver, 5 in
)

// noteLine is a line of a notebook, taken apart.
type noteLine struct {
	row    grid.Row
	text   string
	form   noteForm
	number string
	words  string // without number, mark and stamp
	item   string // of a number without a mark, what stands behind it

	day, clock, sender string
	tells              bool // of a depth, a weight, a material or a place
}

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

// takeLine takes a line apart.
func (w *walker) takeLine(r grid.Row) noteLine {
	l := noteLine{row: r, text: strings.TrimSpace(w.p.lineOf(r))}
	l.words = l.text
	if m := stamped().FindStringSubmatch(l.text); m != nil && namesMonth(m[1]) {
		l.form, l.day, l.clock, l.words = formStamped, m[1], m[2], m[3]
		if by := sentBy().FindStringSubmatch(l.words); by != nil && l.clock != "" {
			l.sender, l.words = strings.TrimSpace(by[1]), by[2]
		}
		if m := stampedItem().FindStringSubmatch(l.words); !l.takeNumber() && m != nil && !isMonth(strings.Fields(m[3])[0]) {
			l.number, l.words = m[1]+m[2], m[3]
		}
		l.tells = tellsOfFind(l.words)
		return l
	}
	m := countItem().FindStringSubmatch(l.text) // 3. 2 buckles
	if m == nil {
		m = listItem().FindStringSubmatch(l.text)
	}
	day, _, _, whole := w.dayIn(firstClauses(l.text))
	switch {
	case m == nil || whole && strings.HasPrefix(l.text, day):
		return l
	case m[2] != "" && m[1] != "" && m[3] == "" && isFigures(m[2]):
		l.form, l.number, l.words, l.item = formMarked, m[2], m[2]+" "+m[4], m[4] // - 2 buttons; numbers where they run on
	case m[2] != "" && m[1]+m[3] != "" && m[3] != ",":
		l.form, l.number, l.words = formNumbered, m[2], m[4]
	case m[2] != "":
		l.form, l.number, l.item = formPlain, m[2], m[4]
	case l.text != m[4]:
		l.form, l.words = formMarked, m[4]
	default:
		l.form = formPlain
	}
	if l.takeNumber() {
		l.form = formNumbered
	}
	l.tells = tellsOfFind(l.words)
	if first := sentences(l.words)[0]; l.form == formPlain &&
		(!l.tells || len(strings.Fields(first)) > 6 || heading.IsField(first)) {
		l.form = formNone
	}
	return l
}

// namesMonth reports whether the word in a day, if there is one, is a month: 3 Kreuzer 1816 is no day.
func namesMonth(day string) bool {
	word := strings.TrimFunc(day, func(r rune) bool { return !unicode.IsLetter(r) })
	return word == "" || isMonth(strings.TrimRight(word, "."))
}

// takeNumber takes a number behind the word for it: No. 3 ring.
func (l *noteLine) takeNumber() bool {
	m := numberWord().FindStringSubmatch(l.words)
	if m == nil || m[1] != "#" && !slices.Contains([]string{"number", "name"}, heading.Understand(m[1]).Field) {
		return false
	}
	l.number, l.words = m[2], m[3]
	return true
}

// tellsOfFind reports whether a part of some words, but for the first, is a depth, a weight, a material or a place, and
// nothing else; and nobody asks for it.
func tellsOfFind(words string) bool {
	for i, part := range sentences(words) {
		if isPlace(part) {
			return i > 0 || len(sentences(words)) > 1
		}
		if i > 0 && isDetail(part) && !strings.HasSuffix(words, "?") {
			return true
		}
	}
	return false
}

// isDetail reports whether a text is a depth, a weight or a material.
func isDetail(text string) bool {
	var f find.Find
	rest, took := intake.TakeDetails(&f, text, false)
	return took && rest == "" && f.Found == nil && len(f.Media) == 0
}

// list makes a table of a notebook; ok is false for anything else.
func (p *sheetPlan) list(rows []grid.Row) (out []grid.Row, ok bool) {
	w := &walker{p: p, t: &tablePlan{plan: p}}
	var lines []noteLine
	aside := 0
	var has [formStamped + 1]int
	var tell [formStamped + 1]int
	for _, r := range rows {
		if slices.ContainsFunc(r.Cells, func(c grid.Cell) bool { return c.Kind != grid.Text && c.Kind != grid.Number }) {
			return nil, false
		}
		l := w.takeLine(r)
		if l.text == "" {
			continue
		}
		if beginsWith("asof", l.text) || strings.IndexFunc(l.text, unicode.IsLetter) < 0 && l.form == formNone {
			aside++ // lines drawn, and when a note was changed
		}
		if has[l.form]++; l.tells {
			tell[l.form]++
		}
		lines = append(lines, l)
	}
	form, all := formNone, len(lines)-aside
	uneven := unequal(lines)
	for _, of := range []noteForm{formPlain, formMarked} {
		if runOn(lines, of, uneven) {
			has[formNumbered], has[of] = has[of], 0
		}
	}
	switch {
	case has[formStamped] >= leastItems && has[formStamped]*2 > all && tell[formStamped] > 1 && p.sheet.Name == "" &&
		slices.ContainsFunc(lines, func(l noteLine) bool { return l.form == formStamped && !l.dayAlone() }):
		return p.messages(lines), true
	case slices.ContainsFunc(rows, func(r grid.Row) bool { return headingScore(r) >= 3 }):
		return nil, false
	case has[formNumbered] >= leastItems && has[formNumbered]*4 >= all:
		form = formNumbered
	case tell[formMarked] >= leastItems && tell[formMarked]*3 >= all:
		form = formMarked
	case has[formPlain] >= leastItems && has[formPlain]*2 >= all && uneven:
		form = formPlain
	default:
		return nil, false
	}
	return p.items(w, lines, form)
}

// dayAlone reports whether the day of a line is a cell of a table.
func (l *noteLine) dayAlone() bool {
	return len(l.row.Cells) > 2 && strings.TrimSpace(l.row.Cells[0].Text) == l.day
}

// runOn takes the numbers before the words of all lines of a form for those of finds, where each is one more than the
// one before, and reports whether they are.
func runOn(lines []noteLine, of noteForm, uneven bool) bool {
	last, n := 0, 0
	for _, l := range lines {
		if l.form != of {
			continue
		}
		if number := atoi(l.number); number == 0 || n > 0 && number != last+1 ||
			of == formPlain && !uneven && l.text[len(l.number)] == ',' {
			return false
		}
		last, n = atoi(l.number), n+1
	}
	for i := range lines {
		if l := &lines[i]; n >= leastItems && l.form == of {
			l.form, l.words = formNumbered, l.item
		}
	}
	return n >= leastItems
}

// unequal reports whether lines of a text, cut at their commas, are no rows of a table: finds with more and with fewer
// parts, or a heading that was cut too. No part of them is empty.
func unequal(lines []noteLine) bool {
	parts := 0
	for _, l := range lines {
		switch n := len(l.row.Cells); {
		case lastColumn(l.row) != n:
			return false
		case l.form != formPlain && n > 1:
			return true
		case l.form != formPlain:
		case parts == 0:
			parts = n
		case parts != n:
			return true
		}
	}
	return false
}

// items makes the rows of lines of one form. Numbers may begin anew below a line between, and one in four may be a
// slip; where more come twice they are the numbers of something else.
func (p *sheetPlan) items(w *walker, lines []noteLine, form noteForm) (rows []grid.Row, ok bool) {
	rows, seen := append(rows, grid.Row{}), map[string]bool{}
	numbered, again := 0, 0
	for _, l := range p.withoutMail(lines) {
		if l.form == form && (l.tells || form == formNumbered || namesAThing(sentences(l.words)[0])) {
			numbered++
			if seen[l.number] {
				again++
			}
			seen[l.number] = true
			if row := itemRow(&l); beginsWithNothing(l.words) && len(row.Cells) <= 3 {
				rows = append(rows, lineRow(l.row.Number, l.text)) // nothing else, went home early
			} else {
				rows = append(rows, row)
			}
			continue
		}
		clear(seen)
		if len(rows) == 1 && p.year == 0 {
			p.year, p.yearFrom = yearOf(l.text), "the title"
		}
		clause := firstClauses(l.text)
		if line, ok := strings.CutSuffix(l.text, ":"); ok && len(strings.Fields(line)) <= 12 {
			clause = line // a heading: Saturday 12 April 2025, Low Field:
		}
		if _, _, _, whole := w.dayIn(clause); !whole && w.dayOfYear(clause) == "" {
			clause = l.text
		} else if clause != strings.TrimSuffix(l.text, ":") {
			p.keyRows = append(p.keyRows, l.row)
		}
		rows = append(rows, lineRow(l.row.Number, clause))
	}
	rows[0] = listHead(rows, itemNotes)
	return rows, form != formNumbered || again <= max(1, numbered/4)
}

// withoutMail takes the lines above a letter, from whom it is and when it was written, which say nothing of the finds
// but who sent them.
func (p *sheetPlan) withoutMail(lines []noteLine) []noteLine {
	n, known, from := 0, 0, ""
	for ; n < len(lines); n++ {
		label, text, ok := strings.Cut(lines[n].text, ":")
		if !ok || len(strings.Fields(label)) > 2 {
			break
		}
		if heading.RowWord("mail-from", label) {
			from, known = strings.TrimSpace(text), known+1
		} else if heading.RowWord("mail", label) {
			known++
		}
	}
	if known < 2 || known*2 < n {
		return lines
	}
	for _, l := range lines[:n] {
		p.keyRows = append(p.keyRows, l.row)
	}
	if name, _, _ := strings.Cut(from, "<"); len(strings.Fields(name)) <= 4 {
		p.sender = strings.Trim(name, ` "`)
	}
	return lines[n:]
}

// listHead has the headings up to one, and those of the others that a row has a cell of.
func listHead(rows []grid.Row, last int) grid.Row {
	head := grid.Row{Number: headingLine}
	for i, h := range listHeadings {
		if i <= last || slices.ContainsFunc(rows, func(r grid.Row) bool { return r.Cell(i+1).Text != "" }) {
			head.Cells = append(head.Cells, grid.Cell{Column: i + 1, Kind: grid.Text, Text: h})
		}
	}
	return head
}

// messages makes the rows of a chat: what tells of a find is one, of the day and the sender of the message, with the
// lines below that have no stamp; the rest is kept as notes.
func (p *sheetPlan) messages(lines []noteLine) []grid.Row {
	rows := []grid.Row{{}}
	for i := 0; i < len(lines); i++ {
		l := lines[i]
		parts := []grid.Row{l.row}
		for l.form == formStamped && i+1 < len(lines) && lines[i+1].form != formStamped {
			i++
			parts = append(parts, lines[i].row)
			l.words += map[bool]string{true: " ", false: ", "}[strings.HasSuffix(l.words, ".")] + lines[i].text
		}
		if l.form != formStamped || !tellsOfFind(l.words) || beginsWithNothing(l.words) {
			p.keyRows = append(p.keyRows, parts...)
			p.talk += len(parts)
			continue
		}
		if word := otherDay(l.words); word != "" {
			l.day += " (" + word + ")" // which is asked for
		}
		rows = append(rows, itemRow(&l))
	}
	rows[0] = listHead(rows, itemMessage)
	return rows
}

// otherDay returns the word by which some words speak of another day than that on which they were written: yesterday.
func otherDay(text string) string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) })
	for i := range words {
		for n := 1; n <= 2 && i+n <= len(words); n++ {
			word := strings.Join(words[i:i+n], " ")
			if lexicon.Says("day-near", word) && !lexicon.Means("day-near", "today", word) {
				return word
			}
		}
	}
	return ""
}

func lineRow(number int, line string) grid.Row {
	return grid.Row{Number: number, Cells: []grid.Cell{{Column: 1, Kind: grid.Text, Text: line, Value: line}}}
}

func beginsWithNothing(text string) bool { return beginsWith("nothing", text) }

// beginsWith reports whether the first word or two of a text are those of a row: Modified 14 March 2024.
func beginsWith(kind, text string) bool {
	words, table := heading.Words(text), heading.RowWords(kind)
	return len(words) > 0 && (table[words[0]] || len(words) > 1 && table[words[0]+" "+words[1]])
}

// firstClauses are the first words of a line up to a sign: the day and the field of a heading.
func firstClauses(line string) string {
	end := 0
	for i, r := range line {
		if r == ',' || r == ';' || r == '(' || r == '.' && i > 5 && (i+1 == len(line) || line[i+1] == ' ') {
			if len(strings.Fields(line[:i])) > 8 {
				break
			}
			if end = i; r == '(' || r == '.' && !endsInYear().MatchString(line[:i]) {
				break
			}
		}
	}
	if end == 0 || len(strings.Fields(line)) <= 6 && !strings.ContainsAny(line, "(") {
		return strings.TrimRight(line, ". ")
	}
	return strings.TrimSpace(line[:end])
}

// takeList reads the sheet as a notebook where it is one.
func (p *sheetPlan) takeList() error {
	if p.own || p.sheet.Large() {
		return nil
	}
	year, beside := p.year, p.keyRows
	rows, ok := p.list(p.head)
	if ok && len(p.head) >= lookAhead { // a chat may be long
		p.keyRows, p.talk = beside, 0
		all, err := p.sheet.Head(mostLines)
		if err != nil {
			return err
		}
		rows, ok = p.list(all)
		ok = ok && len(all) < mostLines
	}
	if p.listed = ok; ok {
		p.head = rows
		return nil
	}
	p.year, p.keyRows, p.talk = year, beside, 0
	return nil
}

// isNotebook reports whether the headings of a sheet are not the keeper's.
func (p *sheetPlan) isNotebook() bool { return p.listed && p.cards == 0 }

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
	message := "the file is no table: each of its lines that tells of a find is read as one, cut at its commas; the " +
		"others are headings and notes"
	switch {
	case p.cards == 1 && len(d.sheets) > 1:
		forms := slices.DeleteFunc(slices.Clone(d.sheets), func(p *sheetPlan) bool { return p.cards != 1 })
		if forms[0] != p {
			return
		}
		message = fmt.Sprintf("there is no table, but a form to each sheet, %d in all; each is read as a find", len(forms))
	case p.cards > 0:
		message = fmt.Sprintf("there is no table, but %d blocks of labels, each with what it says; each block is read as a "+
			"find", p.cards)
	case p.head[0].Cell(itemMessage+1).Text != "":
		message = fmt.Sprintf("the file is a chat: a message with a depth, a weight, a material or a place is read as a "+
			"find of its day and its sender; %d other lines are kept as notes", p.talk)
	}
	for i := range d.notices { // which nobody sees there
		if n := &d.notices[i]; n.Kind.Code == tableNote.Code {
			n.Message, _, _ = strings.Cut(n.Message, ", separated by")
		}
	}
	n := notice.New(tableNote, "", message)
	n.Sheet = p.sheet.Name
	d.notices.Add(n)
}
