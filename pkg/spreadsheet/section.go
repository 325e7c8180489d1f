package spreadsheet

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// section is what a row between the finds says of those below it.
type section struct {
	row   int
	text  string
	found string // the day as written, or in ISO 8601
	words string // the day as written, where a year was added to it
	place string
	year  int
	month string // of days that are numbers alone

	column int  // in which its first text stands
	joint  bool // one heading, or two without a find between, the field first, name day and field
	unread bool // it looks like a heading and is not understood: what the one before said has ended
}

// isSection reports whether a text that stands alone in its row is a heading of the rows below: it has a
// day in it and little else, or is a year, or is a field that is known, or looks as those before did. A
// sentence is a note.
func (w *walker) isSection(c grid.Cell, text string) bool {
	if c.Kind == grid.Date && c.Precision != grid.Unstated {
		return true
	}
	if c.Kind != grid.Text && yearAlone(text) == 0 || len(text) > 120 || beginsWith("asof", text) {
		return false
	}
	if yearAlone(text) > 0 || w.t.byMonth && monthIn(text) != "" {
		return true
	}
	days := w.t.field("found.date") == nil && w.t.field("found.verbatim") == nil
	if (w.section.row > 0 || days && (w.p.listed || beginsWithWeekday(text))) &&
		(w.dayOfYear(text) != "" || w.unreadDay(text)) {
		return true
	}
	if w.t.field("permission") == nil && labelled(text) != "" {
		return true
	}
	day, before, after, whole := w.dayIn(text)
	rest := strings.TrimSpace(before + " " + after)
	words := len(strings.Fields(rest))
	if day != "" {
		return rest == "" || whole && words <= 9 && w.tellsDay(text, day, rest)
	}
	if w.t.field("permission") == nil && (w.p.knows(text) || w.section.place != "" && isLand(text) ||
		w.p.isNotebook() && isLandLine(text)) {
		return true
	}
	merged := c.Extra().Merged
	wide := merged.LastColumn-merged.FirstColumn >= 2
	if wide && w.t.field("permission") == nil && isLandHeading(text) {
		return true
	}
	return wide && w.p.wideSections && words <= 8 && hasYear(text)
}

// isLand reports whether a text is a few words that end in one for land: Low Field.
func isLand(text string) bool {
	words := heading.Words(text)
	return len(words) > 1 && len(words) <= 4 && !strings.ContainsAny(text, "0123456789?!") &&
		heading.RowWords("land")[words[len(words)-1]]
}

// isLandLine reports whether a line of a notebook is the name of a field: Champ des Aulnes 2, Krummacker.
func isLandLine(text string) bool {
	text = strings.TrimRight(text, " 0123456789")
	words := heading.Words(text)
	return len(words) <= 5 && !strings.ContainsAny(text, "0123456789.:;,?!") && !hasRowWord("generic", text) &&
		(isLand(text) || heading.EndsInLand(text) || beginsWithLand(text))
}

// beginsWithWeekday reports whether the first word of a text is a day of the week: Sa 5.4.
func beginsWithWeekday(text string) bool {
	word, _, ok := strings.Cut(text, " ")
	return ok && lexicon.Says("weekday", strings.ToLower(strings.TrimRight(word, ".,")))
}

// dayOfYear completes a day with which a heading begins and that has no year, by the year of the heading before;
// it returns the text with that year.
func (w *walker) dayOfYear(text string) string {
	fields := strings.Fields(text)
	if w.yearHint() == 0 || hasYear(text) || len(fields) > 9 {
		return ""
	}
	for n := min(4, len(fields)); n > 0; n-- {
		part := strings.TrimRight(strings.Join(fields[:n], " "), " ,;:-–")
		if part == "" || n == 1 && !dayMonth().MatchString(part) || !strings.ContainsAny(part, "0123456789") {
			continue
		}
		if part = strings.TrimRight(part, "."); dayMonth().MatchString(part) {
			part += part[strings.IndexAny(part, "./-"):][:1] // 13/9 is 13/9/2025
		} else {
			part += " "
		}
		part += strconv.Itoa(w.yearHint())
		order := pointedOrder(part[strings.IndexAny(part, "0123456789"):], w.t.order)
		if order == edtf.OrderUnknown && w.t.foreign {
			order = edtf.DayMonthYear
		}
		r, err := w.t.foundDay(part, edtf.Options{Order: order, Pivot: w.pivot()})
		if err == nil && r.Absent == "" && len(r.Date.String()) == len("2024-04-13") && !strings.ContainsAny(r.Date.String(),
			"/~?%X") {
			return strings.TrimSpace(part + " " + strings.Join(fields[n:], " "))
		}
	}
	return ""
}

// unreadDay reports whether a text below an earlier heading with a day looks like one too but cannot be read: it has
// a year and a day of the month before it, or three numbers of a date.
func (w *walker) unreadDay(text string) bool {
	if w.section.found == "" && !w.p.isNotebook() || len(strings.Fields(text)) > 9 {
		return false
	}
	if day, _, _, _ := w.dayIn(text); day != "" {
		return false
	}
	return unreadDay().MatchString(text)
}

var unreadDay = text.Pattern(`(?:^|\s)[0-3]?[0-9](?:\pL{1,2})?[.]?\s+\pL{3,}[.]?,?\s+(?:19|20)[0-9]{2}(?:$|\W)|` +
	`(?:^|\s)[0-3]?[0-9][/.][01]?[0-9][/.][0-9]{2,4}(?:$|\W)`)

var figuresOfDay = text.Pattern(`\b[0-3]?[0-9][/.][01]?[0-9][/.](?:[0-9]{4}|[0-9]{2})\b`)

var dayLike = text.Pattern(`^(?:\pL{2,}[.]?,?\s+)?[0-3]?[0-9](?:[./-][01]?[0-9][./-]?|[.]?\s+\pL{3,}[.]?|st|nd|` +
	`rd|th|[.])$`)

func isMonth(text string) bool { return lexicon.In("month")[strings.ToLower(text)] != "" }

// endsSection reports whether a text that stands alone where headings stood looks like one more of them without being
// understood: something like a day, or a month, below one with a day; a name of one to three words below one with
// a field. The rows below it are not those of the heading before.
func (w *walker) endsSection(c grid.Cell, text string) bool {
	s := &w.section
	if s.row == 0 || c.Kind != grid.Text || c.Column != s.column {
		return false
	}
	if s.found != "" && (dayLike().MatchString(text) || isMonth(text)) {
		return true
	}
	words := strings.Fields(text)
	return s.place != "" && w.t.field("permission") == nil && len(words) <= 3 && unicode.IsUpper([]rune(text)[0]) &&
		!strings.ContainsAny(text, "0123456789?!.,;:=") && !beginsWithNothing(text) && !isTotalText(text)
}

// isSectionOfCells reports whether a row of two or three texts is such a heading: a day and a field, under
// columns that do not hold either.
func (w *walker) isSectionOfCells(row grid.Row) bool {
	day := false
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		col := w.t.at(c.Column)
		if col != nil && (isDayField(col.Field) || col.Field == "name") || c.Kind == grid.Number || c.Kind == grid.Error {
			return false
		}
		if c.Kind == grid.Date {
			day = true
			continue
		}
		if d, before, after, whole := w.dayIn(text); d != "" && whole && len(before)+len(after) < 40 {
			day = true
		} else if len(text) > 40 || col != nil && col.Field != "number" && col.Field != "" && col.Field != "count" {
			return false
		}
	}
	return day && w.t.field("found.date") == nil
}

// parseSection reads what a section says.
func (w *walker) parseSection(row grid.Row) section {
	s := section{row: row.Number, column: row.Cells[0].Column}
	var texts, rests []string
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if texts = append(texts, text); len(texts) == 1 {
			s.column = c.Column
		}
		if c.Kind == grid.Date {
			s.found = c.Value
			continue
		}
		if year := yearAlone(text); year > 0 && s.found == "" {
			s.year = year
			continue
		}
		if month := monthIn(text); w.t.byMonth && month != "" {
			s.month, s.year = month, cmp.Or(yearOf(text), w.section.year)
			s.found, s.words = text, text
			if s.year == 0 && w.p.year > 0 {
				s.found += " " + strconv.Itoa(w.p.year)
			}
			continue
		}
		if w.section.found != "" && w.yearHint() > 0 && isMonth(text) {
			s.found, s.words = text+" "+strconv.Itoa(w.yearHint()), text
			continue
		}
		short := text
		if whole := w.dayOfYear(text); whole != "" {
			text = whole
		} else if w.unreadDay(text) || w.section.found != "" && dayLike().MatchString(text) {
			w.unreadDayOf(&s, text)
			continue
		}
		day, before, after, whole := w.dayIn(text)
		if day != "" && whole {
			if s.found = day; text != short {
				s.words = strings.TrimRight(strings.TrimSuffix(day, strconv.Itoa(w.yearHint())), " /-")
			}
			if label, ok := strings.CutSuffix(before, ":"); ok && heading.IsField(label) &&
				heading.Understand(label).Field != "permission" {
				before = "" // Date: 14 April 2025
			}
			rests = append(rests, cmp.Or(strings.TrimSpace(after), before))
			continue
		}
		rests = append(rests, text)
	}
	s.text = strings.Join(texts, " | ")
	if len(texts) == 1 && s.found == "" && w.unreadName(row) {
		if s.unread = true; !w.section.joint || !w.p.isNotebook() {
			s.found, s.words, s.year = w.section.found, w.section.words, w.section.year
		}
		return s
	}
	w.placeOfSection(&s, rests, len(texts) == 1)
	w.withAbove(&s)
	return s
}

// withAbove takes over what the heading above says where no find lies between: the field, and below it the day.
func (w *walker) withAbove(s *section) {
	s.joint = s.found != "" && s.place != ""
	if b := &w.section; b.row > 0 && w.p.isNotebook() && !w.found {
		s.joint = s.joint || s.found != "" && b.place != ""
		s.place = cmp.Or(s.place, b.place)
		if s.found == "" && s.year == 0 {
			s.found, s.words, s.year = b.found, b.words, b.year
		}
	}
}

// unreadDayOf takes a day that cannot be read, in its words, which is asked for: the day before it has ended. Figures
// alone are what the other days of the log may settle.
func (w *walker) unreadDayOf(s *section, text string) {
	s.unread, s.found = true, text
	if at := figuresOfDay().FindStringIndex(text); at != nil {
		s.found, s.place = text[at[0]:at[1]], w.placeIn(cmp.Or(strings.Trim(text[:at[0]], " ,"), text[at[1]:]))
	}
}

// placeOfSection takes the field that what is left of a section names.
func (w *walker) placeOfSection(s *section, rests []string, alone bool) {
	for _, rest := range rests {
		if s.place == "" {
			s.place = w.placeIn(rest)
		}
	}
	if s.found == "" && s.year == 0 && alone && (isLand(s.text) || heading.EndsInLand(s.text)) {
		s.found, s.words, s.year = w.section.found, w.section.words, w.section.year // another field of the same day
	}
	if s.found == "" && s.year == 0 && hasYear(s.text) {
		s.found = yearPart(s.text) // such as Easter 2025, which is no day, and is kept as it is
	}
}

// unreadName reports whether a section is a name of which nothing shows that it is that of a field. A month below a
// day ends the day.
func (w *walker) unreadName(row grid.Row) bool {
	for _, c := range row.Cells {
		if t := strings.TrimSpace(c.Text); t != "" {
			return !w.isSection(c, t) && w.endsSection(c, t) && !heading.EndsInLand(t)
		}
	}
	return false
}

// dayIn finds the day in a text: the longest run of words that is one. Whole reports whether it is a day,
// and no month or season.
func (w *walker) dayIn(text string) (day, before, after string, whole bool) {
	fields := strings.Fields(text)
	if len(fields) > 14 || !strings.ContainsAny(text, "0123456789") {
		return "", text, "", false
	}
	o := edtf.Options{Order: w.t.order, Pivot: w.pivot()}
	for n := min(6, len(fields)); n > 0; n-- {
		for i := 0; i+n <= len(fields); i++ {
			part := strings.Trim(strings.Join(fields[i:i+n], " "), " ,;:-–()")
			if len(part) < 6 || !strings.ContainsAny(part, "0123456789") {
				continue
			}
			o.Order = pointedOrder(part, w.t.order)
			r, err := w.t.foundDay(part, o)
			if err != nil || r.Absent != "" || len(r.Date.String()) < len("2024-04-13") &&
				len(r.Date.String()) != len("2024-04") {
				continue
			}
			is := r.Date.String()
			if strings.ContainsAny(is, "/~?%X") || len(is) == 7 && (n != len(fields) || is[5] >= '2') {
				continue
			}
			last := fields[i+n-1]
			if less := strings.TrimSpace(strings.TrimSuffix(part, last)); n > 1 && unicode.IsUpper([]rune(last)[0]) {
				if again, err := edtf.NormaliseFound(less, o); err == nil && again.Date == r.Date {
					continue // the last word is the first of a name: La Grande Pièce
				}
			}
			return part, strings.Join(fields[:i], " "), strings.Join(fields[i+n:], " "), true
		}
	}
	return "", text, "", false
}

func (w *walker) pivot() int {
	if w.o.Pivot != 0 {
		return w.o.Pivot
	}
	return 1950
}

// placeIn returns the field that the rest of a section names: one that is known at its start, else its
// first words up to a sign, where they are few.
func (w *walker) placeIn(rest string) string {
	rest = withoutOuting(strings.Trim(rest, " ,;:-–|()@."))
	if rest == "" || lexicon.Says("weekday", strings.ToLower(rest)) {
		return ""
	}
	if name := labelled(rest); name != "" {
		w.p.addPlace(name)
		return name
	}
	if name := w.known(rest); name != "" {
		return name
	}
	if before, _, _ := strings.Cut(rest, ","); hasRowWord("aside", before) {
		return ""
	}
	end := len(rest)
	for _, sign := range []string{",", ";", ":", " - ", " – ", "(", "|", " / "} {
		if i := strings.Index(rest, sign); i > 0 && i < end {
			end = i
		}
	}
	first := strings.TrimSpace(rest[:end])
	if name, _, _ := strings.Cut(rest[end:], ")"); strings.HasPrefix(name, "(") &&
		strings.ContainsAny(first, "0123456789") &&
		len(strings.Fields(name)) <= 5 && !strings.ContainsAny(name, "0123456789?!") {
		w.p.addPlace(name[1:]) // parcelle ZB 17 (La Mare aux Joncs)
		return name[1:]
	}
	if hasYear(first) {
		return w.placeIn(rest[end:])
	}
	if words := heading.Words(first); len(words) > 0 && len(words) <= 2 && heading.RowWords("ditto")[words[0]] {
		return cmp.Or(w.placeIn(rest[end:]), w.section.place) // same farm, Low Field
	}
	if n := len(strings.Fields(first)); n == 0 || n > 5 || strings.ContainsAny(first, "?!") {
		return ""
	}
	w.p.addPlace(first)
	return first
}

// withoutOuting leaves out a word for a day out before a field, and a small word behind it: Sortie du, Trip to Low
// Field.
func withoutOuting(text string) string {
	first, rest, _ := strings.Cut(text, " ")
	switch {
	case beginsWith("asof", text):
		return ""
	case heading.Understand(strings.Trim(first, ".:,")).Field != "outing":
		return text
	}
	if small, name, _ := strings.Cut(rest, " "); len(small) <= 4 && small == strings.ToLower(small) {
		rest = name
	}
	return rest
}

func hasPrefixFold(text, prefix string) bool {
	t, p := find.FoldName(text), find.FoldName(prefix)
	return strings.HasPrefix(t, p) && (len(t) == len(p) || strings.IndexByte(" ,;:-(.", t[len(p)]) >= 0)
}

// knows reports whether a text is a field that a section named before.
func (p *sheetPlan) knows(text string) bool {
	for _, known := range p.places {
		if find.FoldName(known) == find.FoldName(text) {
			return true
		}
	}
	return false
}

const mostPlaces = 200

func (p *sheetPlan) addPlace(place string) {
	if !p.knows(place) && len(p.places) < mostPlaces {
		p.places = append(p.places, place)
	}
}

// yearAlone returns the year that a text is, 0 for any other.
func yearAlone(text string) int {
	text = strings.Trim(text, " :.-–()")
	if len(text) != 4 {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1950 || n > 2100 {
		return 0
	}
	return n
}

func hasYear(text string) bool { return yearOf(text) > 0 }

// yearPart is the part of a text, between signs, that has the year.
func yearPart(text string) string {
	for part := range strings.FieldsFuncSeq(text,
		func(r rune) bool { return r == ',' || r == ';' || r == '|' || r == ':' }) {
		if hasYear(part) {
			return strings.TrimSpace(part)
		}
	}
	return ""
}

// wide reports whether the first row with a day between the finds is merged over several columns, so that
// others that are merged alike are headings too.
func (p *sheetPlan) lookForWide() {
	if len(p.tables) == 0 {
		return
	}
	w := &walker{p: p, t: p.tables[0]}
	merged, plain := 0, 0
	for _, r := range p.head {
		if r.Number < w.t.first || filled(r) != 1 {
			continue
		}
		for _, c := range r.Cells {
			if strings.TrimSpace(c.Text) == "" {
				continue
			}
			wide := c.Extra().Merged.LastColumn-c.Extra().Merged.FirstColumn >= 2
			if day, _, _, whole := w.dayIn(c.Text); day != "" && whole {
				if wide {
					merged++
				} else {
					plain++
				}
			}
		}
	}
	p.wideSections = merged >= 2 && plain <= merged
}

// mayBeLand reports whether a row holds a few words alone, the first with a capital, that are no sentence.
func mayBeLand(r grid.Row) bool {
	text := ""
	for _, c := range r.Cells {
		if t := strings.TrimSpace(c.Text); t != "" && text != "" {
			return false
		} else if t != "" {
			text = t
		}
	}
	first, _ := utf8.DecodeRuneInString(text)
	return unicode.IsUpper(first) && len(strings.Fields(text)) <= 5 && !strings.ContainsAny(text, "0123456789.:!?")
}

// askLand asks whether words that stand alone above finds are their field, where no column names one: two of them, or
// one straight below the headings.
func (d *decoder) askLand(t *tablePlan) {
	if len(t.alone) == 0 || len(t.alone) == 1 && t.alone[0].Number != t.headingRow()+1 || t.plan.own ||
		t.field("permission") != nil || t.field("place.name") != nil {
		return
	}
	for _, r := range t.alone {
		for _, c := range r.Cells {
			if c.Text != "" {
				d.ask(t, r.Number, c)
			}
		}
	}
}

// ask asks whether a text of a cell is the field of the rows below.
func (d *decoder) ask(t *tablePlan, row int, c grid.Cell) {
	n := notice.New(sectionUnread, "", "is this the field of the rows below?")
	n.Sheet, n.Row, n.Column, n.Cell = t.plan.sheet.Name, row, c.Column, c.Ref(row)
	d.notices.Add(n)
}

// finderOfTitles takes who found all, by a title, where the table has no column for it.
func (w *walker) finderOfTitles() {
	cells, rows := w.t.titles()
	if w.t.number == 1 && !w.p.own {
		cells = append(cells, w.o.front...)
	}
	if w.t.field("finder") == nil {
		w.finder = w.p.sender
	}
	for i := 0; i < len(cells) && w.t.finds && w.t.field("finder") == nil; i++ {
		for _, part := range partsOf(cells[i].Text) {
			name := heading.FinderIn(part, true)
			if name == "" || w.finder == name {
				continue
			}
			if w.finder != "" { // two, and nobody knows whose is which
				w.finder = ""
				return
			}
			if w.finder = name; i < len(rows) && !w.p.surveyed && !slices.Contains(w.t.sections, rows[i]) {
				w.t.sections = append(w.t.sections, rows[i])
			}
		}
	}
}

// askLeave asks for the field where a title names what may be one, or who gave permission: Permission: Hollow; and no
// other part names it.
func (d *decoder) askLeave(t *tablePlan) {
	if !t.finds || t.plan.place != "" || t.field("permission") != nil || t.field("place.name") != nil {
		return
	}
	cells, rows := t.titles()
	var asked []func()
	for i, c := range cells {
		for _, part := range partsOf(c.Text) {
			if labelled(part) != "" {
				return
			}
			label, name, _ := strings.Cut(part, ":")
			if name = strings.TrimSpace(name); heading.RowWord("leave", label) && !heading.HasTitle(name) &&
				name != strings.ToLower(name) && !strings.ContainsAny(name, "0123456789") {
				asked = append(asked, func() { d.ask(t, rows[i], c) })
			}
		}
	}
	for _, ask := range asked {
		ask()
	}
}
