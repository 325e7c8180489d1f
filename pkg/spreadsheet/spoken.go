package spreadsheet

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/text"
)

// What the headings alone show of a log, so that no added row changes how another is read: the language, and with it
// the order of the days and what gr weighs; the letters of the square of bare figures.

// speaks settles the language in which most of the headings can be read, empty where two have as many; and whether
// they are surely not in English: at least three are of it, and twice as many as are English.
func (t *tablePlan) speaks() {
	votes := map[string]int{}
	var texts []string
	for _, c := range t.columns {
		if len(t.headings) == 0 || t.plan.isNotebook() {
			break // there are no words of the keeper
		}
		texts = append(texts, c.heading)
		seen := map[string]bool{}
		for _, m := range c.meanings() {
			if m.Language != "" && !seen[m.Language] {
				seen[m.Language] = true
				votes[m.Language]++
			}
		}
	}
	best, most, tie := "", 1, false
	for language, n := range votes {
		switch {
		case n > most:
			best, most, tie = language, n, false
		case n == most:
			tie = true
		}
	}
	t.foreign = (most >= 3 || most == 2 && votes["en"] == 0) && votes["en"]*2 <= most
	if t.language = best; tie {
		t.language = ""
	}
	if name, n := heading.Unread(texts); name != "" && n > most {
		t.language, t.foreign, t.unread = "", false, name
	}
}

// dayFirst reads the days of a log in a language of day before month so, where nothing else shows their order.
func (t *tablePlan) dayFirst() {
	c := t.field("found.date")
	if !t.foreign || t.plan.own || t.order != edtf.OrderUnknown || c == nil {
		return
	}
	for _, s := range c.samples {
		if _, err := edtf.NormaliseFound(s, edtf.Options{Pivot: firstOfHobby}); err == nil {
			continue
		}
		if r, err := edtf.NormaliseFound(s, edtf.Options{Order: edtf.DayMonthYear, Pivot: firstOfHobby}); err == nil &&
			r.Absent == "" {
			t.order, t.spokenDay = edtf.DayMonthYear, s
			return
		}
	}
}

// pointedSlip reports whether all that speaks for the month first are days between points, which nobody writes so, in a
// column in which as many days prove the opposite; or one of them alone in a sheet that is surely not English.
func (t *tablePlan) pointedSlip(samples []string, e edtf.Evidence) bool {
	day, month := e.DayMonthYear.Count, e.MonthDayYear.Count
	if month == 0 || month > day && (month > 1 || e.Open == 0 || !t.foreign) {
		return false
	}
	_, others := edtf.ProveOrder(wholeDays(func(yield func(string) bool) {
		for _, s := range samples {
			if strings.Count(s, ".") < 2 && !yield(s) {
				return
			}
		}
	}))
	return others.MonthDayYear.Count == 0 && (day > 0 || others.Dates == 0)
}

// foundDay reads a day. V and I are months in a Polish sheet, and words in others; between points every Roman number is
// a month, but that V is a week in Sweden.
func (t *tablePlan) foundDay(text string, o edtf.Options) (edtf.Found, error) {
	if m := romanDay(text); m != nil {
		month := slices.Index(romans[:], strings.ToUpper(m[3])) + 1
		if month > 0 && (t.language == "pl" || m[2] == "." && m[4] == "." && (month != 5 || t.language != "sv")) {
			text, o.Order = m[1]+"."+strconv.Itoa(month)+"."+m[5], edtf.DayMonthYear
		}
	}
	return edtf.NormaliseFound(text, o)
}

func romanDay(text string) []string {
	return romanMonth().FindStringSubmatch(strings.TrimRight(text, "."))
}

var romans = [...]string{"I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII"}

var (
	northern   = text.Pattern(`^([0-9]{1,2})[/.]([0-9]{1,2})\.?(?:\s*[-–]\s*|\s+)([0-9]{2}|[0-9]{4})$`)
	romanMonth = text.Pattern(`^((?:\pL{2,}[.,]?\s+)?[0-9]{1,2})([. -])\s*([IVXivx]{1,4})([. -])\s*([0-9]{2}|` +
		`[0-9]{4})$`)
	sixes = text.Pattern(`^[0-9]{6}$`)
)

// dayOfHabit reads a day in a form that only the language of the headings, or the other days of the column, make sure:
// 3/5-25 and 250517. Empty for any other text.
func (t *tablePlan) dayOfHabit(c *column, text string) string {
	if c == nil || t.plan.own {
		return ""
	}
	o := edtf.Options{Order: t.order}
	day := text
	if m := northern().FindStringSubmatch(text); m != nil {
		if o.Order != edtf.MonthDayYear && o.Order != edtf.DayMonthYear && (t.foreign ||
			slices.ContainsFunc(c.samples, beyondTwelve)) {
			o.Order = edtf.DayMonthYear
		}
		if o.Order != edtf.DayMonthYear {
			return ""
		}
		day = m[1] + "." + m[2] + "." + m[3]
	} else if sixes().MatchString(text) {
		if o.Order = t.orderOfSixes(c.samples); o.Order == edtf.OrderUnknown {
			return ""
		}
		day = inSix(text)
	} else if romanDay(text) == nil {
		return ""
	}
	o.Pivot = t.century()
	if r, err := t.foundDay(day, o); err == nil && r.Absent == "" && r.Time == "" {
		return r.Date.String()
	}
	return ""
}

func inSix(text string) string { return text[:2] + "-" + text[2:4] + "-" + text[4:] }

// beyondTwelve reports whether the first number of 13/5-25 is no month.
func beyondTwelve(text string) bool {
	m := northern().FindStringSubmatch(text)
	return m != nil && atoi(m[1]) > 12 && atoi(m[2]) <= 12
}

// orderOfSixes tells how the days of a column of six figures are written: 250517 is 17 May in Sweden, and in any log of
// which all days are days so and not the other way round.
func (t *tablePlan) orderOfSixes(samples []string) edtf.Order {
	fits := map[edtf.Order]int{}
	all := 0
	for _, s := range samples {
		if !sixes().MatchString(s) {
			continue
		}
		all++
		for _, order := range []edtf.Order{edtf.YearMonthDay, edtf.DayMonthYear} {
			if _, err := edtf.NormaliseFound(inSix(s), edtf.Options{Order: order, Pivot: firstOfHobby}); err == nil {
				fits[order]++
			}
		}
	}
	first, last := fits[edtf.YearMonthDay] == all, fits[edtf.DayMonthYear] == all
	switch {
	case all < 2 || all*10 < len(samples)*6:
		return edtf.OrderUnknown
	case first && (!last || t.foreign && t.language == "sv"):
		return edtf.YearMonthDay
	case last && !first:
		return edtf.DayMonthYear
	}
	return edtf.OrderUnknown
}

// grams settles what gr is in the heading and the cells of a column of weights: what a key says, else the gram outside
// English; in English, and where the language is not known, it is asked.
func (t *tablePlan) grams() {
	for _, c := range t.columns {
		if c.Field != "weight" || t.plan.own || c.mapped {
			continue
		}
		unit, ok := quantity.NoUnit, false
		for word := range strings.FieldsFuncSeq(t.plan.legend[""]["gr"],
			func(r rune) bool { return r == ' ' || r == ',' || r == '(' }) {
			if !ok {
				unit, ok = quantity.UnitOfHeading("x (" + word + ")")
			}
		}
		if ok {
			if c.Hints.Unit = unit.String(); saysGr(c.heading) {
				c.keyed = true
			}
			continue
		}
		cells := 0
		for _, s := range c.samples {
			if saysGr(s) {
				cells++
			}
		}
		switch {
		case t.foreign && cells*10 >= len(c.samples)*8 && cells > 0 && c.Hints.Unit == "":
			c.Hints.Unit = quantity.G.String()
		case saysGr(c.heading) && !t.foreign && (t.language == "en" || t.language == ""):
			c.Hints.Unit, c.grain = "", true
		}
	}
}

var grAlone = text.Pattern(`(?:^|[^\pL])[gG][rR]s?\.?(?:$|[^\pL])`)

func saysGr(text string) bool { return grAlone().MatchString(text) }

var (
	letteredHeading = text.Pattern(`[(\[]\s*([A-HJ-Z]{2})\s*[)\]]`)
	letteredTitle   = text.Pattern(`(?i:\b(?:all|alle|refs?|references?|squares?|ngrs?)\b)(?:\s+(?i:all|are|is|in|` +
		`refs?|of|the|start|begin|with))*\s+([HNOST][A-HJ-Z])\b`)
	letteredCell = text.Pattern(`^([A-Za-z]{2}) ?[0-9]`)
	bareSquare   = text.Pattern(`^[0-9]{2,5}[ ,/]+[0-9]{2,5}$|^(?:[0-9]{2}){2,5}$`)
)

// squareOf returns the letters of the square of grid references that are figures alone: those that all the other
// cells have, else those that the heading, OS ref (NO), or a title names.
func (t *tablePlan) squareOf(c *column) string {
	if c.Field != "position.verbatim" || c.content.Cells == 0 || t.plan.own {
		return ""
	}
	bare, others, found := 0, 0, map[string]bool{}
	for _, r := range t.plan.head {
		s := strings.TrimSpace(r.Cell(c.column).Text)
		switch m := letteredCell().FindStringSubmatch(s); {
		case r.Number <= t.headingRow():
		case bareSquare().MatchString(s):
			bare++
		case m != nil && coordinateOf(s):
			found[strings.ToUpper(m[1])] = true
		case strings.ContainsAny(s, "0123456789"):
			others++ // as LM5, or a position of another sort
		}
	}
	stated := squareIn(c.heading)
	cells, _ := t.titles()
	for _, title := range cells {
		if stated == "" {
			stated = squareIn(title.Text)
		}
	}
	if found[stated] = true; stated == "" {
		delete(found, "")
	}
	if bare <= others || len(found) != 1 {
		return ""
	}
	for square := range found {
		stated = square
	}
	return stated
}

// squareIn returns the letters of the square that a heading or a title names.
func squareIn(text string) string {
	m := letteredHeading().FindStringSubmatch(text)
	if m == nil {
		m = letteredTitle().FindStringSubmatch(text)
	}
	if m == nil || !coordinateOf(m[1]+" 1234 5678") {
		return ""
	}
	return m[1]
}

func coordinateOf(text string) bool {
	r, err := coordinate.Normalise(text, coordinate.Options{})
	return err == nil && r.Absent == ""
}

// sayShown says what the headings showed.
func (d *decoder) sayShown(t *tablePlan, count *tally) {
	if t.unread != "" {
		d.say(languageRead, t, nil,
			"the headings seem to be in "+t.unread+", which is not read: what is not understood is kept under its heading")
	}
	if l := lexicon.ByTag(t.language); l != nil && l.Tag != "en" && d.report.Language == "" &&
		count != nil && (count.kinds[rowFind] > 2 || t.spokenDay != "") {
		message := "read as " + l.English + ", by the headings"
		if t.spokenDay != "" && t.order == edtf.DayMonthYear {
			message += "; so the day goes first in " + t.spokenDay
		}
		d.say(languageRead, t, nil, message)
		d.language = l.Tag
	}
	for _, c := range t.columns {
		switch {
		case c.square != "":
			d.say(sectionsRead, t, c, "figures without letters are read in the square "+c.square+
				", which the heading, a title or the other cells name")
		case c.keyed:
			d.say(sectionsRead, t, c, "the unit is the one that the key names: "+t.plan.legend[""]["gr"])
		case c.grain:
			d.say(unitAmbiguous, t, c, `"gr" is the grain to some and the gram to others; no weight of this column is read `+
				`before the heading says grain or g`)
		}
	}
}

// monthly finds the column of days that are numbers alone, below headings that name the month, or in a sheet of one.
func (t *tablePlan) monthly() {
	months, have := 0, cmp.Or(t.field("found.date"), t.field("found.verbatim"))
	for _, r := range t.plan.head {
		if filled(r) == 1 && monthIn(rowText(r)) != "" {
			months++
		}
	}
	if t.plan.own || months == 0 && t.plan.month == "" || have != nil && t.plan.month == "" {
		return
	}
	for _, c := range t.columns {
		means := slices.ContainsFunc(c.meanings(), func(m heading.Meaning) bool { return m.Field == "found.date" })
		days := slices.DeleteFunc(slices.Clone(c.samples), func(s string) bool { return monthIn(s) != "" || isTotalText(s) })
		others := 0
		for _, s := range days {
			if n := atoi(strings.TrimRight(strings.TrimSpace(s), ".sthndrT")); n < 1 || n > 31 {
				others++
			}
		}
		if !means || have != nil && c != have || c.mapped || len(days) == 0 ||
			others > 0 && (months > 0 || others == len(days)) {
			continue
		}
		c.Field, c.Taken, c.known, c.rivals = "found.date", heading.TakenLabel, true, 0
		t.byMonth = true
		return
	}
}

// monthIn returns the month that a text is, with or without a year; empty for any other text.
func monthIn(text string) string {
	month, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	if month = strings.TrimRight(month, ".,:"); isMonth(month) && (rest == "" || yearAlone(rest) > 0) {
		return month
	}
	return ""
}

// takeUnit gives the columns of a field, or of a side or an end of it, a unit where their headings name none.
func (t *tablePlan) takeUnit(field, unit string) {
	for _, c := range t.columns {
		alike := c.Field == field || field == "depth" && slices.Contains([]string{heading.DepthFrom,
			heading.DepthTo, "otherDepths.1"}, c.Field) || field == heading.Size &&
			strings.HasPrefix(c.Field, "dimensions.")
		if alike && !c.mapped {
			c.Hints.Unit = cmp.Or(c.Hints.Unit, unit)
		}
	}
}

// yearsSaid are the years in a title, which measure nothing: 2025, 2024/25.
var yearsSaid = text.Pattern(`\b(?:19|20)[0-9]{2}(?:[-–/][0-9]{2,4})?\b`)

// unitSaid returns the field and the unit of a part of a sentence that names one of each, the unit last.
func unitSaid(part string) (field, unit string) {
	part = yearsSaid().ReplaceAllString(part, " ")
	words := heading.Words(part)
	if len(words) < 2 || len(words) > 10 || strings.ContainsAny(part, "0123456789?") {
		return "", ""
	}
	for i, word := range words {
		if u, ok := quantity.UnitOfHeading("x (" + word + ")"); ok && (word != "in" || i == len(words)-1) {
			if unit != "" || field == "" {
				return "", ""
			}
			unit = u.String()
			continue
		}
		for _, form := range []string{word, strings.TrimSuffix(word, "s"), strings.TrimSuffix(word, "n"),
			strings.TrimSuffix(word, "r"), strings.TrimSuffix(word, "e")} {
			if is := heading.Understand(form).Field; field == "" && (is == "depth" || is == "weight" || is == heading.Size) {
				field = is
			}
		}
	}
	if unit == "" {
		return "", ""
	}
	return field, unit
}
