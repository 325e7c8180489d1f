package spreadsheet

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// rowKind is what a row of a sheet is.
type rowKind uint8

const (
	rowFind     rowKind = iota
	rowTitle            // above the headings
	rowHeadings         // or their repetition, the row of units, the example of a template
	rowSection          // says the day, the field or the finder of the rows below
	rowTotal            // adds others up
	rowNothing          // an outing on which nothing was found
	rowTrial            // somebody tried the form
	rowUnused           // prepared, with a number and nothing else
	rowNote             // anything else that is no find
	rowOther            // of a table that holds no finds
)

// walker goes through the rows of a sheet by its plan, and tells of each what it is. The survey goes first;
// what it took for a find is one when the finds are read.
type walker struct {
	p       *sheetPlan
	o       Options
	t       *tablePlan
	next    int         // the table that comes next
	last    int         // the number of the row before
	rows    int         // how many have been
	alone   bool        // the row before was one of a single text
	grid    string      // the reference system that it names
	above   []grid.Cell // by column: what the find above has, dittos replaced
	section section
	found   bool         // there is a find below it
	titled  string       // the field that a title names
	finder  string       // who found all, by a title
	sums    map[int]*sum // of columns that are added up
	recent  []summed     // the finds since the last total
	marks   []mark       // dittos of the present row
	cells   []grid.Cell  // of the present row, dittos replaced
}

// sum adds a column up.
type sum struct {
	all, since float64
	broken     bool   // a cell was no number
	unit       string // behind the figures
}

// mark is a ditto as it was written.
type mark struct {
	column *column
	text   string
}

// walk hands each row to yield, with its kind. Of a find, Cells have the values of dittos in their place.
func (p *sheetPlan) walk(o Options, yield func(w *walker, row grid.Row, kind rowKind) bool) error {
	p.places = nil // what is known of them grows in the same way each time
	w := &walker{p: p, o: o}
	if p.onSide || p.listed {
		for _, row := range p.head {
			if !w.step(row, yield) {
				return nil
			}
		}
		return nil
	}
	for row, err := range p.sheet.Rows() {
		if err != nil {
			return err
		}
		if !w.step(row, yield) {
			return nil
		}
	}
	return nil
}

func (w *walker) step(row grid.Row, yield func(w *walker, row grid.Row, kind rowKind) bool) bool {
	row = w.p.withoutKey(row)
	w.enter(row)
	kind := rowTitle
	switch seen := w.rows < len(w.p.kinds); {
	case w.p.surveyed && seen && (w.p.kinds[w.rows] == rowFind || w.p.kinds[w.rows] == rowTotal): // by what was added up
		kind = w.p.kinds[w.rows]
	case w.t != nil:
		kind = w.classify(row) // once more after the survey: with the order of dates it may be a section
		if kind == rowFind && w.p.surveyed && seen {
			kind = w.p.kinds[w.rows]
		}
	}
	w.rows++
	if !w.p.surveyed {
		w.p.kinds = append(w.p.kinds, kind)
	}
	w.alone = kind != rowFind && kind != rowOther && kind != rowHeadings
	if w.grid = ""; w.alone && w.t != nil {
		for _, c := range row.Cells {
			w.grid = cmp.Or(w.grid, systemIn(c.Text))
		}
	}
	w.last = row.Number
	w.marks = w.marks[:0]
	switch kind {
	case rowFind:
		row, w.found = w.complete(row), true
	case rowSection:
		w.section, w.found = w.parseSection(row), false
	case rowTotal:
		w.checkTotal(row)
	}
	return yield(w, row, kind)
}

// enter goes on to the next table where the row begins one.
func (w *walker) enter(row grid.Row) {
	if w.next < len(w.p.tables) {
		if row.Number >= w.p.tables[w.next].first {
			w.begin(w.p.tables[w.next])
			w.next++
		}
		return
	}
	if w.p.surveyed || w.t == nil || w.t.plan.own || slices.Contains(w.t.headings, row.Number) {
		return
	}
	if m := mapOf(w.o, w.p.sheet.Name, len(w.p.tables)); m != nil && m.Row > 0 {
		if row.Number != m.Row {
			return // the plan says where it begins
		}
	} else if !w.beginsTable(row) {
		return
	}
	rows := []grid.Row{row}
	if at := slices.IndexFunc(w.p.head, func(r grid.Row) bool { return r.Number == row.Number }); at >= 0 {
		rows = w.p.head[at:]
	}
	w.begin(w.p.open(w.p.headingsAt(rows, 0, true), rows, w.o))
	w.next = len(w.p.tables)
}

func (w *walker) begin(t *tablePlan) {
	w.t, w.section, w.titled, w.finder, w.sums, w.recent = t, section{}, "", "", map[int]*sum{}, nil
	w.above = w.above[:0]
	w.sectionOfTitles()
	if s := &w.section; s.found == "" && t.field("found.date") == nil && t.field("found.verbatim") == nil {
		s.found, s.words = w.p.day.found, w.p.day.words
	}
	w.finderOfTitles()
}

// beginsTable reports whether a row below a table is the headings of another.
func (w *walker) beginsTable(row grid.Row) bool {
	words := 0
	for i, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		if c.Kind != grid.Text || len(text) > longestHeading || i == 0 && text[0]-'0' < 10 {
			return false
		}
		if col := w.t.at(c.Column); col != nil && (w.stands(col, text) || saysNothing(text) || isDitto(text)) {
			return false // what stands in the column elsewhere is no heading
		}
		words++
	}
	if words < 2 || w.repeats(row) && (w.grid == "" || w.grid == w.t.layout[0].Hints.System) {
		return false
	}
	if apart := w.alone || row.Number > w.last+1; !apart && words < 3 {
		return false
	} else if score := headingScore(row); apart {
		return score >= 2 && score*2 >= words || ofPeople(row.Cells)
	} else if score < 3 || score*4 < words*3 {
		return false
	}
	return true
}

// stands reports whether a text stands in a column of finds, above or in several rows.
func (w *walker) stands(c *column, text string) bool {
	if c.column < len(w.above) && strings.TrimSpace(w.above[c.column].Text) == text {
		return true
	}
	n := 0
	for _, s := range c.samples {
		if s == text {
			n++
		}
	}
	return n > 1
}

// classify tells what a row of the present table is.
func (w *walker) classify(row grid.Row) rowKind {
	t := w.t
	if slices.Contains(t.headings, row.Number) || row.Number == t.units {
		return rowHeadings
	}
	if row.Number < t.first {
		return rowTitle
	}
	if id := t.field("id"); id != nil && find.IsURN(row.Cell(id.column).Text) {
		return rowFind // whatever else it says: a program wrote it
	}
	n, only := 0, grid.Cell{}
	for _, c := range row.Cells {
		if strings.TrimSpace(c.Text) != "" {
			if n++; n == 1 {
				only = c
			}
		}
	}
	switch {
	case n == 0 || isKeyRow(row) || w.p.keyed[row.Number]:
		return rowNote
	case w.repeats(row) || isRule(row):
		return rowHeadings
	case !t.finds:
		return rowOther
	}
	if number := t.field("number"); number != nil && isExample(row.Cell(number.column).Text) {
		return rowHeadings
	}
	if name := t.field("name"); name != nil {
		word, of, _ := strings.Cut(strings.TrimSpace(row.Cell(name.column).Text), " ")
		if isExample(word) && heading.Understand(of).Field == "name" { // example find
			return rowTrial
		}
	}
	if n == 1 && !w.aloneIsFind(only) {
		return w.single(only)
	}
	if w.isTotal(row) {
		return rowTotal
	}
	if n <= 3 && n < len(t.columns) && w.isSectionOfCells(row) {
		return rowSection
	}
	return w.findOrNote(row)
}

// isRule reports whether a row is a line drawn with signs: |-----|:---:|.
func isRule(row grid.Row) bool {
	signs := 0
	for _, c := range row.Cells {
		if strings.Trim(c.Text, "-–—=_:+*. ") != "" {
			return false
		}
		signs = max(signs, len(c.Text))
	}
	return signs >= 3
}

// findOrNote tells a find from a row that has too little of one.
func (w *walker) findOrNote(row grid.Row) rowKind {
	s := w.tellings(row)
	switch {
	case s.name != "" && (heading.RowWord("trial", s.name) && w.trials(row) > 1 || s.strong == 0 && onlyTrial(s.name)):
		return rowTrial
	case s.name != "" && w.t.groups == 1 && w.saysNothing(row, s.name):
		return rowNothing
	case w.t.groups > 1 && w.anyGroup(row):
		return rowFind
	case w.t.groups > 1 && s.name != "":
		return rowNothing
	case w.t.groups > 1:
		return rowNote
	case s.name != "" && s.typed > 0:
		if s.others == 0 && w.oddNumber(row) {
			return rowNote // NB, and a sentence
		}
		if !s.number && w.measured() && !w.speaksOfThing(row) &&
			!slices.ContainsFunc(heading.Words(s.name), namesAThing) {
			return rowNote // all foil again: a day and a field, where finds have numbers and measures
		}
		if s.others == 0 && !s.number && w.numbered() && len(w.t.columns) > 3 && !namesAThing(s.name) {
			return rowNote // 12.00, lunch
		}
		return rowFind
	case s.number && s.typed == 0:
		return rowUnused
	case s.number && s.strong == 0 && w.oddNumber(row):
		return rowNote // hours walked, 14: a word where the others have numbers
	case s.number:
		return rowFind
	case s.others >= 2 && s.strong > 0, s.finder && s.words:
		return rowFind // whoever found something, wrote what under a heading that nobody knows
	}
	return rowNote
}

// telling is what the cells of a row say of whether it is a find.
type telling struct {
	name                  string
	number, finder, words bool
	others, strong, typed int // cells of any other field, of one that only a find has, that somebody typed
}

func (w *walker) tellings(row grid.Row) (s telling) {
	for i := range row.Cells {
		c := &row.Cells[i]
		text := strings.TrimSpace(c.Text)
		col := w.t.at(c.Column)
		if text == "" || col == nil {
			continue
		}
		formula := c.More != nil && c.More.Formula != ""
		switch col.Field {
		case "name":
			s.name = text
			if !formula {
				s.typed++
			}
		case "number":
			s.number = true
		case "id":
			s.number, s.typed = true, s.typed+1
		case "recorded.at", "found.time", heading.TripHours: // of every form that was opened; of lunch
			s.typed++
		case "":
			s.words = s.words || c.Kind == grid.Text
			if !formula {
				s.typed++
			}
		case "finder":
			s.finder, s.others, s.typed = true, s.others+1, s.typed+1
		case "depth", "otherDepths.1", "weight", "materials.1", "media.1.file", "position.verbatim", "position.latitude",
			heading.Easting, heading.DepthFrom, heading.DepthTo:
			if !formula && c.Kind != grid.Error {
				s.strong, s.others, s.typed = s.strong+1, s.others+1, s.typed+1
			}
		default:
			if !formula && c.Kind != grid.Error {
				s.others, s.typed = s.others+1, s.typed+1
			}
		}
	}
	return s
}

// onlyTrial reports whether a text is several words for a trial: test, please ignore.
func onlyTrial(text string) bool {
	words, n := heading.Words(text), 0
	table := heading.RowWords("trial")
	for i := 0; i < len(words); n++ {
		switch {
		case i+1 < len(words) && table[words[i]+" "+words[i+1]]:
			i += 2
		case table[words[i]]:
			i++
		default:
			return false
		}
	}
	return n > 1
}

// trials counts the words for a trial in a row.
func (w *walker) trials(row grid.Row) int {
	n := 0
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if col := w.t.at(c.Column); col == nil || col.Field == "finder" || c.Kind != grid.Text || len(text) >= 12 {
			continue
		}
		if heading.RowWord("trial", text) {
			n++
		}
	}
	return n
}

// numbered reports whether the finds of a table have numbers.
func (w *walker) numbered() bool {
	number, name := w.t.field("number"), w.t.field("name")
	return number != nil && name != nil && len(number.samples) >= 3 && len(number.samples)*10 >= len(name.samples)*7
}

// oddNumber reports whether a row has a word where the others have numbers.
func (w *walker) oddNumber(row grid.Row) bool {
	c := w.t.field("number")
	above := c != nil && c.column < len(w.above) && isFigures(w.above[c.column].Text) && w.above[c.column].Text != ""
	if c == nil || !above && !c.content.Rising && c.content.Numbers*10 < c.content.Cells*8 {
		return false
	}
	text := strings.TrimSpace(row.Cell(c.column).Text)
	return text != "" && !strings.ContainsAny(text, "0123456789?-")
}

// anyGroup reports whether a row of several finds has one, and not only words for nothing.
func (w *walker) anyGroup(row grid.Row) bool {
	for group := 1; group <= w.t.groups; group++ {
		if w.t.inGroup(row, group) {
			return true
		}
	}
	return false
}

// inGroup reports whether the columns of a group hold a find: a name for it, or whatever else is said of a
// thing and would be lost. A prepared number is no find; one of a thing that nobody knows is.
func (t *tablePlan) inGroup(row grid.Row, group int) bool {
	number, unknown := false, false
	for _, c := range row.Cells {
		col := t.at(c.Column)
		text := strings.TrimSpace(c.Text)
		if col == nil || col.group != group || text == "" || c.More != nil && c.More.Formula != "" {
			continue
		}
		if col.tally {
			return hasTally(col, &c)
		}
		switch col.Field {
		case "name":
			if !saysNothing(text) {
				return true
			}
			unknown = unknown || !heading.RowWord("nothing", text) && strings.Trim(text, " -–—.") != ""
		case "number":
			number = true
		case "found.date", "count":
		default:
			if strings.Trim(text, " ?-–—.0\"'") != "" && !saysNothing(text) {
				return true
			}
		}
	}
	return number && unknown
}

// saysNothing reports whether the name of a find says that nothing was found, or is a mark, and no other cell speaks of
// a thing.
func (w *walker) saysNothing(row grid.Row, name string) bool {
	if mark := strings.Trim(name, " 0/xX.?*·–—-"); mark == "" || strings.EqualFold(name, "n/a") {
		return !w.speaksOfThing(row)
	}
	if at := strings.LastIndexAny(name, ",;:"); at > 0 && heading.RowWord("nothing", strings.TrimSpace(name[at+1:])) {
		return filled(row) <= 3 // walked the creek, nada
	}
	words := heading.Words(name)
	for i := 1; i < len(words)-1 && len(words) <= 8; i++ {
		if heading.RowWords("nothing")[strings.Join(words[i:], " ")] {
			return filled(row) <= 3 // three hours, only junk
		}
	}
	if !heading.MayBegin("nothing", name) {
		return false
	}
	n := 0
	for i := min(3, len(words)); i > 0 && n == 0; i-- {
		if heading.RowWords("nothing")[strings.Join(words[:i], " ")] {
			n = i
		}
	}
	if n == 0 || len(words) > 8 {
		return false
	}
	for n < len(words) && lexicon.Says("day-near", words[n]) {
		n++ // nothing found today
	}
	for _, c := range row.Cells {
		col := w.t.at(c.Column)
		if col == nil {
			continue
		}
		switch text := strings.TrimSpace(c.Text); col.Field {
		case "count":
			if text != "" && text != "0" && text != "1" && text != "-" {
				return false
			}
		case "depth", "weight", "materials.1", "media.1.file":
			if strings.ContainsAny(text, "123456789") {
				return false
			}
		}
	}
	return n == len(words) || filled(row) == 1 && len(words) <= 5 || strings.ContainsAny(name, ",;:-–(.!") ||
		len(words) <= 5 && !w.speaksOfThing(row) && !slices.ContainsFunc(words[n:], namesAThing)
}

// speaksOfThing reports whether a row says something of a thing: its number, its measures, its place, what it is of.
func (w *walker) speaksOfThing(row grid.Row) bool {
	for _, c := range row.Cells {
		col, text := w.t.at(c.Column), strings.TrimSpace(c.Text)
		if col == nil || text == "" || saysNothing(text) || text == "0" || c.More != nil && c.More.Formula != "" {
			continue
		}
		switch col.Field {
		case "", "name", "found.date", "found.verbatim", "found.time", "finder", "permission", "place.name", "outing",
			"notes",
			"recorded.at", heading.TripHours, heading.TripModel, heading.TripCoil, heading.TripSetting, heading.TripRubbish:
		default:
			if !strings.HasPrefix(col.Field, "place.") {
				return true
			}
		}
	}
	return false
}

// aloneIsFind reports whether a row with one text is a find all the same: in a table of few columns, or
// where it stands under the name and rows are sparse.
func (w *walker) aloneIsFind(only grid.Cell) bool {
	col := w.t.at(only.Column)
	if col == nil || col.Field != "name" || only.Extra().Merged != (grid.Range{}) {
		return false
	}
	if m := countedWords().FindStringSubmatch(strings.TrimSpace(only.Text)); m != nil && len(w.t.columns) > 3 &&
		!namesAThing(m[1]) {
		return false // Keepers: 11, which is no thing
	}
	if countsFinds(only.Text) || isTotalText(strings.TrimSpace(only.Text)) {
		return false
	}
	if w.numbered() && len(w.t.columns) > 2 && !namesAThing(only.Text) && col.things() < 0.9 {
		return false // a word among numbered finds
	}
	return len(w.t.columns) <= 2 || col.column > w.t.columns[0].column && len(only.Text) < 60
}

var countedWords = text.Pattern(`^(\D{2,40}?)\s*[:=–-]\s*[0-9]{1,5}(?:\s+\pL{2,12})?$`)

// single tells what a row of one text is.
func (w *walker) single(c grid.Cell) rowKind {
	text := strings.TrimSpace(c.Text)
	if (w.t.field("found.date") == nil || w.t.byMonth) && w.isSection(c, text) {
		return rowSection
	}
	if col := w.t.at(c.Column); col != nil && (col.Field == "number" || col.content.Rising) &&
		(c.Kind == grid.Number || isShortCode(text)) && yearAlone(text) == 0 {
		return rowUnused
	}
	if isTotalText(text) || countsFinds(text) {
		return rowTotal
	}
	if w.isSection(c, text) || w.endsSection(c, text) {
		return rowSection
	}
	return rowNote
}

func isShortCode(s string) bool {
	return len(s) <= 12 && !strings.ContainsAny(s, " \t") && strings.ContainsAny(s, "0123456789")
}

// repeats reports whether a row has the headings once more.
func (w *walker) repeats(row grid.Row) bool {
	same, n := 0, 0
	for i := range row.Cells {
		text := strings.TrimSpace(row.Cells[i].Text)
		if text == "" {
			continue
		}
		n++
		if col := w.t.at(row.Cells[i].Column); col != nil && row.Cells[i].Kind == grid.Text && col.isHeading(text) {
			same++
		} else if n >= 3 && same == 0 {
			return false
		}
	}
	return same >= 2 && same*2 >= n || same == 1 && n == 1 && len(w.t.columns) == 1
}

// isHeading reports whether a cell repeats the heading of its column. Most cells differ in their first
// letters, so that nothing has to be folded.
func (c *column) isHeading(text string) bool {
	if c.heading == "" || len(text) > 2*len(c.heading)+8 {
		return false
	}
	if first := text[0]; first < utf8.RuneSelf && c.heading[0] < utf8.RuneSelf && (first|0x20) != (c.heading[0]|0x20) {
		return false
	}
	return heading.Fold(text) == c.folded
}

func isExample(number string) bool {
	if number == "" || number[0]-'0' < 10 {
		return false // folded, it begins with a figure
	}
	_, ok := lexicon.In("example")[lexicon.Folded(strings.TrimSpace(number))]
	return ok
}
