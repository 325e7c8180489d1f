package spreadsheet

import (
	"cmp"
	"fmt"
	"iter"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// Days that are written without their year, or without month and year, are completed by what stands around them: a
// heading between the finds, the name of the sheet, a title, the name of the file.

// around settles the year, and the month, that the name of a sheet, its titles or the name of its file give.
func (p *sheetPlan) around(o Options) {
	if p.listed {
		if !p.isNotebook() { // the labels are the keeper's
			p.orderTables()
		}
		return
	}
	if p.year, p.yearFrom = yearOf(p.sheet.Name), "the name of the sheet"; p.year == 0 && len(p.tables) > 0 {
		cells, _ := p.tables[0].titles()
		for _, c := range cells {
			year := yearOf(notYears().ReplaceAllString(c.Text, ""))
			if year == 0 || hasRowWord("asof", c.Text) {
				continue
			}
			if p.year > 0 && p.year != year {
				p.year = 0 // two of them: no finds are of both
				break
			}
			p.year, p.yearFrom = year, "the title"
		}
	}
	if p.year > 0 && !p.hasDaysOf(p.year) {
		p.year = 0 // the rows that say their year say another
	}
	p.takeMonth(o)
	defer p.orderTables()
	if base := path.Base(strings.ReplaceAll(o.File, `\`, "/")); p.year == 0 {
		p.year, p.yearFrom = yearOf(strings.TrimSuffix(base, path.Ext(base))), "the name of the file"
	}
}

// notYears are figures of a title that look like a year and are part of the name of a grid: MGA2020, PUWG 2000.
var notYears = text.Pattern(`(?i)\b(?:\pL*(?:mga|gda|puwg|pl-?|crs|datum|epsg|nztm|grid|zone)[\s:-]*|` +
	`sweref\s*)(?:19|20)[0-9]{2}\b`)

// hasDaysOf reports whether days of finding are of a year, or do not say that they are of others.
func (p *sheetPlan) hasDaysOf(year int) bool {
	others := 0
	for _, t := range p.tables {
		c := t.field("found.date")
		if c == nil {
			continue
		}
		for _, s := range c.samples {
			r, err := edtf.NormaliseFound(s, edtf.Options{Order: edtf.DayMonthYear, Pivot: 1950})
			if err != nil {
				r, err = edtf.NormaliseFound(s, edtf.Options{Order: edtf.MonthDayYear, Pivot: 1950})
			}
			day := r.Date.String()
			if err != nil || len(day) < 4 {
				continue
			}
			if day[:4] == strconv.Itoa(year) {
				return true
			}
			others++
		}
	}
	return others < 2
}

// takeMonth takes the month, and its year, that a sheet is named after or that its title names; and the column of days
// that are numbers alone.
func (p *sheetPlan) takeMonth(o Options) {
	if len(p.tables) == 0 {
		return
	}
	texts := []string{p.sheet.Name}
	cells, _ := p.tables[0].titles()
	for _, c := range cells {
		texts = append(texts, c.Text)
	}
	for i, text := range texts {
		month, year := monthNamed(text, i > 0)
		if month == "" {
			continue
		}
		if p.month = month; year > 0 && p.year == 0 {
			p.year, p.yearFrom = year, map[bool]string{true: "the title", false: "the name of the sheet"}[i > 0]
		}
		for _, t := range p.tables {
			if t.monthly(); t.byMonth {
				t.finds = t.finds || t.looksLikeFinds()
				t.makeLayouts(o)
			}
		}
		return
	}
}

var monthInFigures = text.Pattern(`^(?:((?:19|20)[0-9]{2})[-._ /](0[1-9]|1[0-2])|(0?[1-9]|1[0-2])[-._ /]((?:19|` +
	`20)[0-9]{2}))$`)

// monthNamed returns the month and the year of a name such as Jan 24, or of a title in which the year stands behind the
// one month of it: January 2024 - gold and coins.
func monthNamed(text string, title bool) (month string, year int) {
	if m := monthInFigures().FindStringSubmatch(strings.TrimSpace(text)); m != nil {
		return time.Month(atoi(m[2] + m[3])).String(), atoi(m[1] + m[4])
	}
	words := strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	for i, word := range words {
		if !isMonth(word) {
			continue
		}
		if month != "" {
			return "", 0
		}
		if month = word; i+1 < len(words) {
			if year = yearAlone(words[i+1]); year == 0 && len(words[i+1]) == 2 && atoi(words[i+1]) > 0 && !title {
				year = firstOfHobby + (atoi(words[i+1])+100-firstOfHobby%100)%100
			}
		}
		if !title && (i > 0 || len(words) > 1 && (year == 0 || len(words) > 2)) || title && year == 0 && len(words) > 1 {
			return "", 0
		}
	}
	return month, year
}

// orderTables settles the order of day and month by the days of the week where nothing else shows it.
func (p *sheetPlan) orderTables() {
	for _, t := range p.tables {
		if c := t.field("found.date"); c != nil && t.order == edtf.OrderUnknown {
			t.order = p.orderByWeekdays(c.samples)
			t.dayFirst()
		}
	}
}

// shareYear lets sheets without a year take that of the title of another, where there is one alone.
func (d *decoder) shareYear() {
	year := 0
	for _, p := range d.sheets {
		if p.year > 0 && year > 0 && p.year != year {
			return
		}
		year = max(year, p.year)
	}
	for _, c := range d.o.front {
		if of := yearOf(c.Text); year == 0 && of > 0 {
			year = of
		} else if of > 0 && of != year {
			return
		}
	}
	for _, p := range d.sheets {
		if p.year == 0 && year > 0 {
			p.year, p.yearFrom = year, "another sheet"
		}
	}
}

// daysOfNames takes the day, and the field beside it, that a sheet is named after: 2. marts Nørremark. One field
// alone is asked for where no word for land is in it.
func (d *decoder) daysOfNames() {
	var named []*sheetPlan
	places := map[*sheetPlan]string{}
	for _, p := range d.sheets {
		if len(p.tables) == 0 || p.own || p.sheet.Name == "" {
			continue
		}
		w := &walker{p: p, o: d.o, t: p.tables[0]}
		name := strings.TrimSpace(p.sheet.Name)
		text, fields := name, strings.Fields(name)
		for i := range fields {
			if whole := w.dayOfYear(strings.Join(fields[i:], " ")); whole != "" {
				text = strings.Join(fields[:i], " ") + " " + whole
				break
			}
		}
		day, before, after, whole := w.dayIn(text)
		if !whole || before != "" && after != "" {
			continue
		}
		if p.day.found = day; text != name {
			p.day.words = strings.TrimRight(strings.TrimSuffix(day, strconv.Itoa(p.year)), " /-")
		}
		if place := strings.Trim(before+after, " ,;:-–()"); place != "" && p.bare() {
			named, places[p] = append(named, p), place
		}
	}
	for _, p := range named {
		if words := heading.Words(places[p]); !hasRowWord("generic", places[p]) && len(words) > 0 && len(words) <= 5 &&
			(len(named) > 1 || isLand(places[p]) || heading.EndsInLand(places[p])) {
			p.place = places[p]
		}
	}
}

// bare reports whether no column of the finds of a sheet names their field.
func (p *sheetPlan) bare() bool {
	return !slices.ContainsFunc(p.tables, func(t *tablePlan) bool {
		return t.finds && (t.field("permission") != nil || t.field("place.name") != nil)
	})
}

// askNames asks whether the sheets are named after their fields, where nothing else names these.
func (d *decoder) askNames() {
	var names []string
	var first *sheetPlan
	for _, p := range d.sheets {
		if part, _ := sheetRole(p.sheet.Name); part != "" || p.own || p.place != "" || p.day.found != "" || !p.bare() ||
			!p.mayBePlace() ||
			heading.HasTitle(p.sheet.Name) || namesAThing(p.sheet.Name) || !isUpper(p.sheet.Name) || p.namesPlace() {
			continue
		}
		if names = append(names, strconv.Quote(p.sheet.Name)); first == nil {
			first = p
		}
	}
	if first == nil || len(names) == 1 && len(d.sheets) > 1 {
		return
	}
	n := notice.New(sectionUnread, "", fmt.Sprintf("is the sheet named after the field of its finds: %s?",
		strings.Join(names, ", ")))
	n.Sheet = first.sheet.Name
	n.Help = "If so, write Field: and the name in a row above the headings, or make a column Field."
	d.notices.Add(n)
}

// namesPlace reports whether a title or a heading between the finds names their field.
func (p *sheetPlan) namesPlace() bool {
	for _, t := range p.tables {
		w := &walker{p: p, t: t}
		w.sectionOfTitles()
		if w.section.place != "" || len(t.lands) > 0 || w.t.field("found.date") == nil && p.hasDayLines(w) {
			return true
		}
	}
	return false
}

// wholeDays completes days without a year, so that their order can be proven: 18/3.
func wholeDays(days iter.Seq[string]) iter.Seq[string] {
	return func(yield func(string) bool) {
		for s := range days {
			if m := dayMonth().FindStringSubmatch(strings.TrimSpace(s)); m != nil {
				s = strings.TrimRight(strings.TrimSpace(s), "./-") + m[1] + "2000"
			}
			if !yield(s) {
				return
			}
		}
	}
}

// shareOrder lets tables of which nothing shows the order of day and month take that which the days of the others
// prove, where they agree, and the habit of blanks: one keeper writes one way.
func (d *decoder) shareOrder() {
	proven := edtf.OrderUnknown
	var open []*tablePlan
	fills := slices.ContainsFunc(d.sheets, func(p *sheetPlan) bool {
		return slices.ContainsFunc(p.tables, func(t *tablePlan) bool { return len(t.fills) > 0 })
	})
	for _, p := range d.sheets {
		for _, t := range p.tables {
			if fills && len(d.sheets) > 1 && p.tables[0] == t {
				t.together(p.head[slices.IndexFunc(p.head, func(r grid.Row) bool { return r.Number >= t.headingRow() })+1:], 1)
			}
			switch {
			case t.plan.own || t.field("found.date") == nil:
			case t.order == edtf.OrderUnknown:
				open = append(open, t)
			case t.proven != edtf.Evidence{} && proven != edtf.OrderUnknown && proven != t.order:
				return
			case t.proven != edtf.Evidence{}:
				proven = t.order
			}
		}
	}
	for _, t := range open {
		if proven == edtf.OrderUnknown {
			return
		}
		t.order = proven
		t.makeLayouts(d.o)
		if slices.ContainsFunc(t.field("found.date").samples, func(s string) bool { return strings.ContainsAny(s, "/.-") }) {
			d.say(sectionsRead, t, t.field("found.date"),
				"day and month stand in the order that the days of another sheet or table prove")
		}
	}
}

// yearHint is the year that a heading between the finds, or what stands around the table, names.
func (w *walker) yearHint() int {
	if w.section.year > 0 {
		return w.section.year
	}
	if year := yearOf(w.section.found); year > 0 {
		return year
	}
	return w.p.year
}

var (
	monthAndDay = text.Pattern(`^\pL{3,}[.]?\s+([0-9]{1,2})(?:st|nd|rd|th|[.])?$`)
	dayAlone    = text.Pattern(`^(?:\pL{2,}[.]?,?\s+)?[0-9]{1,2}(?:st|nd|rd|th|[.])?$`)
	dayMonth    = text.Pattern(`^(?:\pL{2,}[.]?,?\s+)?[0-9]{1,2}([./-])[0-9]{1,2}[./-]?$`)
)

// isMonthAndDay reports whether a text is a month and a number that can be a day: Apr 16.
func isMonthAndDay(text string) bool {
	m := monthAndDay().FindStringSubmatch(text)
	return m != nil && atoi(m[1]) >= 1 && atoi(m[1]) <= 31
}

// pointedOrder is the order of day and month of a text: where nothing else shows it, points between them do, which
// nobody writes behind a month.
func pointedOrder(text string, order edtf.Order) edtf.Order {
	if order == edtf.OrderUnknown && strings.Count(text, ".") >= 2 && strings.Trim(text, "0123456789. ") == "" {
		return edtf.DayMonthYear
	}
	return order
}

// withYear reads a day that is written without its year, empty for any other text. It says too where the day of the
// week beside it is another in that year.
func (w *walker) withYear(text string) (day string, otherWeekday bool) {
	year, text := w.yearHint(), strings.TrimSpace(text)
	if month, doubt := w.monthOrDay(text); year == 0 || yearOf(text) > 0 || doubt || month != "" {
		return "", false
	}
	before, part, ok := strings.Cut(text, ",")
	if at := strings.LastIndexByte(text, ' '); !ok && at > 0 {
		before, part = text[:at], text[at:] // 2 arvo
	}
	if _, ok := lexicon.In("day-part")[strings.ToLower(strings.TrimSpace(part))]; ok {
		text = before // 17. mai, kveld
	}
	o := edtf.Options{Order: w.t.order}
	if _, err := edtf.NormaliseFound(text, o); err == nil && !isMonthAndDay(text) {
		return "", false
	}
	if m := dayMonth().FindStringSubmatch(text); m != nil {
		text = strings.TrimRight(text, "./-") + m[1]
		o.Order = pointedOrder(m[1]+m[1], o.Order)
	} else if month := cmp.Or(w.section.month, w.p.month); dayAlone().MatchString(text) && month != "" {
		text += " " + month + " "
	} else {
		text += " "
	}
	r, err := w.t.foundDay(text+strconv.Itoa(year), o)
	if err != nil || r.Absent != "" {
		return "", false
	}
	return r.Date.String(), slices.ContainsFunc(r.Notes, func(n edtf.Note) bool { return n.Code == "weekday-differs" })
}

// weekdaysFit reports whether most days of the week in a column are those of the year that was taken: if not, it is
// the year that is wrong, and not a cell.
func (w *walker) weekdaysFit(c *column) bool {
	days, others := 0, 0
	for _, s := range c.samples {
		day, other := w.withYear(s)
		if name, _, _ := strings.Cut(strings.TrimSpace(s), " "); day == "" ||
			!lexicon.Says("weekday", strings.ToLower(strings.Trim(name, ".,"))) {
			continue
		}
		days++
		if other {
			others++
		}
	}
	return days > 2*others
}

// orderByWeekdays tells the order of day and month by the days of the week beside them: Sat 4/3 is in March in 2023.
// Unknown where they do not agree with one order alone.
func (p *sheetPlan) orderByWeekdays(samples []string) edtf.Order {
	votes, all := map[edtf.Order]int{}, 0
	for _, s := range samples {
		name, rest, ok := strings.Cut(strings.TrimSpace(s), " ")
		name = strings.ToLower(strings.Trim(name, ".,"))
		if !ok || !lexicon.Says("weekday", name) {
			continue
		}
		if m := dayMonth().FindStringSubmatch(s); m != nil && p.year > 0 {
			rest = strings.TrimRight(rest, "./-") + m[1] + strconv.Itoa(p.year)
		}
		all++
		for _, order := range []edtf.Order{edtf.DayMonthYear, edtf.MonthDayYear} {
			r, err := edtf.NormaliseFound(rest, edtf.Options{Order: order, Pivot: 1950})
			if day, bad := time.Parse(time.DateOnly, r.Date.String()); err == nil && bad == nil &&
				lexicon.Means("weekday", strconv.Itoa((int(day.Weekday())+6)%7+1), name) {
				votes[order]++
			}
		}
	}
	slip := min(1, all/4) // one wrong day among several
	switch dmy, mdy := votes[edtf.DayMonthYear], votes[edtf.MonthDayYear]; {
	case dmy >= all-slip && dmy > mdy+slip:
		return edtf.DayMonthYear
	case mdy >= all-slip && mdy > dmy+slip:
		return edtf.MonthDayYear
	}
	return edtf.OrderUnknown
}

// monthOrDay reports whether a month with two figures behind it is a month of a year, in a column whose other days have
// that year and stand before their month: Nov 24 below 5 Oct 24. In doubt it may be the day of the month as well.
func (w *walker) monthOrDay(text string) (month string, doubt bool) {
	m, c := monthAndDay().FindStringSubmatch(text), w.t.field("found.date")
	if m == nil || c == nil {
		return "", false
	}
	years, before, behind := map[int]bool{}, 0, 0
	if year := w.yearHint(); year > 0 {
		years[year%100] = true
	}
	near := func(n int) bool { return years[n] || years[n-1] || years[n+1] }
	for _, s := range c.samples {
		r, err := w.t.foundDay(s, edtf.Options{Order: w.t.order, Pivot: firstOfHobby})
		if day := r.Date.String(); err == nil && len(day) >= len("2024-10-05") {
			years[atoi(day[2:4])] = true
			if word, _, _ := strings.Cut(s, " "); isMonth(strings.Trim(word, ".,")) || w.t.order == edtf.MonthDayYear {
				behind++
			} else {
				before++
			}
		}
	}
	for _, s := range c.samples {
		if of := monthAndDay().FindStringSubmatch(s); of != nil && !near(atoi(of[1])) {
			behind++
		}
	}
	figures := atoi(m[1])
	if behind > 0 && before == 0 || !near(figures) || !strings.HasSuffix(text, m[1]) || w.t.plan.own {
		return "", false
	}
	r, err := edtf.NormaliseFound(strings.TrimSuffix(text, m[1])+"'"+m[1], edtf.Options{Pivot: firstOfHobby})
	if behind > 0 || before == 0 || !years[figures] || err != nil {
		return "", true
	}
	return r.Date.String(), false
}

// yearless reports whether a column of days has some that are a month and a day, and can be nothing else: then Apr 16
// in it is no month of 2016.
func (c *column) yearless() bool {
	for _, s := range c.samples {
		if m := monthAndDay().FindStringSubmatch(s); m != nil && len(m[1]) == 1 && m[1] != "0" {
			return true
		}
	}
	return false
}

// countYears counts the days of a find that take their year from around.
func (w *walker) countYears(row grid.Row) {
	c := w.t.field("found.date")
	if c == nil || w.section.year > 0 {
		return
	}
	if cell := row.Cell(c.column); cell.Kind == grid.Text && taken(w.withYear(cell.Text)) {
		w.t.yearsTaken++
	}
}

func taken(day string, _ bool) bool { return day != "" }

// sayYears says from where the year of days without one was taken, and that a legend was used.
func (d *decoder) sayYears(t *tablePlan) {
	for _, c := range t.columns {
		if c.list != nil {
			d.say(sectionsRead, t, c, fmt.Sprintf("the codes of this column are looked up in %s", c.list.where))
		} else if slices.ContainsFunc(c.samples, func(s string) bool { return t.explained(c, s) != "" }) {
			d.say(sectionsRead, t, c, "a legend of the sheet says what its short words stand for; they are kept under the "+
				"heading")
		}
	}
	if t.yearsTaken > 0 {
		d.say(yearTaken, t, t.field("found.date"), fmt.Sprintf("%d %s no year; %d was taken from %s", t.yearsTaken,
			map[bool]string{true: "day has", false: "days have"}[t.yearsTaken == 1], t.plan.year, t.plan.yearFrom))
	}
}

// tellsDay reports whether the words beside a day let it be that of the finds below: what stands next to it is not of
// weather, work on the land, leave or plans; and where each row has a day and a field of its own, one is a field that
// they name.
func (w *walker) tellsDay(text, day, words string) bool {
	parts := strings.NewReplacer("(", ",", ")", ",", " - ", ",", " – ", ",", ";", ",").Replace(text)
	for part := range strings.SplitSeq(parts, ",") {
		if strings.Contains(part, day) && hasRowWord("aside", part) {
			return false
		}
	}
	return !beginsWithNothing(words) && (w.t.field("found.date") == nil || w.t.field("permission") == nil ||
		w.known(words) != "" || labelled(words) != "")
}

// known returns the field at the beginning of a part of some words that a heading, or the column of fields, names.
func (w *walker) known(words string) string {
	fields := w.p.places
	if c := w.t.field("permission"); c != nil {
		fields = append(slices.Clip(fields), c.samples...)
	}
	for _, part := range append([]string{words}, partsOf(words)...) {
		for _, name := range fields {
			if hasPrefixFold(strings.Trim(part, " ,;:-–|()@."), name) {
				return name
			}
		}
	}
	return ""
}
