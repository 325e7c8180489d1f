package spreadsheet

import (
	"cmp"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// The reading plan: before the first find is read, the first rows of each sheet settle which tables it
// has, where their headings stand, what each column is, and how that is known. All rows are then read by it.

// lookAhead is how many rows of a sheet the plan is made of.
const lookAhead = 300

// sheetPlan is how one sheet is to be read.
type sheetPlan struct {
	sheet        *grid.Sheet
	layout       grid.Layout
	onSide       bool   // rows and columns change places
	listed       bool   // a notebook, made a table of
	cards        int    // of a label for each thing that is said
	talk         int    // lines of it that are kept as notes
	sender       string // of the letter that it is
	head         []grid.Row
	tables       []*tablePlan
	place        string  // the field that the sheet is named after
	day          section // the day that it is named after
	year         int     // the year that days without one are of
	yearFrom     string  // where it stands
	legend       legend
	keyRows      []grid.Row   // of a key or a list beside the table
	keyFrom      int          // the first column of it, 0 for none
	keyLast      int          // and its last row
	keyed        map[int]bool // rows of the table that are a key
	lists        []besideList
	month        string   // the month that the sheet is named after
	own          bool     // a program wrote it: flat names, with an id in each row
	places       []string // fields that sections name
	wideSections bool     // headings between the finds are merged over several columns
	surveyed     bool
	kinds        []rowKind // what the survey took each row for
}

// tablePlan is one table of a sheet, with headings of its own.
type tablePlan struct {
	plan     *sheetPlan
	number   int // from 1
	first    int // its first row, of the headings where there are any
	headings []int
	units    int  // row of units, 0 for none
	finds    bool // whether its rows are finds
	columns  []*column
	byNumber []*column
	groups   int            // finds in a row, 1 for nearly all tables
	numbered bool           // several things in a cell have numbers that run on
	lands    map[int]string // the field that stands above each group of columns
	language string
	unread   string            // the language of the headings where it is none that is read
	foreign  bool              // and it is surely not English
	taught   map[string]string // what headings are taken for that reading does not know
	order    edtf.Order
	proven   edtf.Evidence
	layout   []*find.Layout  // by find of a row
	fills    map[int]bool    // columns in which a blank is the cell above
	takes    bool            // a row of it takes a value from above
	isAbove  map[string]bool // the word for the line above, by the columns in which it stands
	totals   []int           // rows
	sections []int
	notes    []int
	alone    []*grid.Row // notes of a few words straight above a find

	spokenDay   string  // a day that the language of the headings puts in order
	byMonth     bool    // the days are numbers, and headings between the finds name the month
	month, year *column // of a day that stands in three columns
	yearsTaken  int     // days whose year was taken from around
}

// column is one column and what it feeds.
type column struct {
	heading.Meaning
	column  int
	heading string
	folded  string // the heading, to be compared with
	group   int    // which find of the row it is about, from 1; 0 for all
	path    *find.Path
	cost    int64               // of a cell that can make a list
	named   map[string]bool     // texts that are in the lists of the report already, as long as there are few
	absent  map[string]bool     // texts that say nothing
	people  map[string][]string // finders that texts name
	content heading.Content
	samples []string
	known   bool // the heading is understood, if only as something that has no field
	mapped  bool // a column map says what it is
	rivals  int  // the number of the column that has the field that this one asked for, 0 for none
	tally   bool // its heading is the name of things, its cells say how many
	grain   bool // gr in its heading may be grain or gram
	keyed   bool // and a key says which
	list    *codeList
	key     map[string]string // the part of the legend that is for it
	keyFor  string            // as this field
	coded   int8              // whether its names of things are codes of the key: 1 yes, -1 no
	square  string            // the letters of the square that its grid references are of
	dittos  int
	axis    byte              // of a position: E, N, X or Y, as the headings or a title say
	differs bool              // cells that give two answers for one field were told of
	said    map[string]string // of permissions, the first answer
	ditto   string            // the first cell of a ditto
}

// meanings are the ways in which the heading can be understood; a column without one is called by its letter, which
// says nothing.
func (c *column) meanings() []heading.Meaning {
	if c.folded == "" {
		return nil
	}
	return heading.All(c.heading)
}

// keep is the heading under which the text of a column is kept.
func (c *column) keep() string { return cmp.Or(c.Keep, c.heading) }

// at returns the column with a number, nil for one that the table does not know.
func (t *tablePlan) at(number int) *column {
	if number < len(t.byNumber) {
		return t.byNumber[number]
	}
	return nil
}

// field returns the column that feeds a field, nil for none.
func (t *tablePlan) field(field string) *column {
	for _, c := range t.columns {
		if c.Field == field {
			return c
		}
	}
	return nil
}

// perhapsDepth reports whether a column that is not understood speaks of depth or of measuring, so that it may be one.
func (t *tablePlan) perhapsDepth() bool {
	return slices.ContainsFunc(t.columns, func(c *column) bool {
		return c.Field == "" && (heading.Says("depth", c.heading) || heading.Says("measured", c.heading))
	})
}

// headingRow is the last row of the headings, 0 for none.
func (t *tablePlan) headingRow() int {
	if len(t.headings) == 0 {
		return 0
	}
	return max(0, t.headings[len(t.headings)-1])
}

// planSheet makes the plan of a sheet.
func planSheet(s *grid.Sheet, o Options, own bool, key legend, shared map[string]int) (*sheetPlan, error) {
	p := &sheetPlan{sheet: s, own: own, legend: legend{}}
	head, err := s.Head(lookAhead)
	if err != nil {
		return nil, err
	}
	if p.layout, err = s.Layout(); err != nil {
		return nil, err
	}
	p.head = slices.Clone(head)
	asked := mapOf(o, s.Name, 0) == nil
	if asked && o.Map == nil {
		p.takeBlocks(shared)
	}
	lines := make([]grid.Row, len(head))
	for i, r := range head {
		lines[i] = p.keyRow(r)
	}
	for _, more := range []legend{key, keyIn(lines)}[:map[bool]int{true: 1, false: 2}[p.listed]] { // a card is no key
		for column, words := range more {
			p.legend.add(column, words)
		}
	}
	if asked && !own && !p.listed {
		p.takeBeside()
	}
	if asked && o.Map == nil && !p.listed {
		if err := p.takeList(); err != nil {
			return nil, err
		}
	}
	if !s.Large() && !own && !p.listed && onItsSide(p.head) {
		p.onSide = true
		p.head = slices.DeleteFunc(p.head, func(r grid.Row) bool {
			if filled(r) == 1 && !heading.IsField(strings.TrimRight(rowText(r), ": ")) { // a title, a line below
				p.keyRows = append(p.keyRows, r)
				return true
			}
			return false
		})
		p.head = turn(p.head)
	}
	p.takeKeyRows()
	p.cut(o)
	p.around(o)
	return p, nil
}

// cut finds the tables of the first rows.
func (p *sheetPlan) cut(o Options) {
	rows := p.head
	at := 0
	if m := mapOf(o, p.sheet.Name, 0); m != nil && m.Row > 0 {
		at = slices.IndexFunc(rows, func(r grid.Row) bool { return r.Number >= m.Row })
		if at >= 0 && rows[at].Number == m.Row {
			p.open(p.headingsAt(rows, at, true), rows, o)
		}
	} else if found, ok := p.findHeadings(rows); ok {
		p.open(found, rows, o)
	} else if widest(rows) > 0 {
		p.open(headRows{at: p.firstOfData(rows), none: true}, rows, o)
	}
}

// headRows are the rows of the headings of a table.
type headRows struct {
	at    int // index of the last of them; of the first row of data where there are none
	rows  []int
	cells []grid.Cell
	none  bool
}

const (
	searchRows     = 40 // rows in which the first headings are looked for
	longestHeading = 80 // bytes; longer ones are notes, unless they ask a question
)

// findHeadings returns the headings of the first table: the first row of which enough is understood,
// else one that looks like headings over what stands below it, in whatever language.
func (p *sheetPlan) findHeadings(rows []grid.Row) (headRows, bool) {
	best, score := -1, 0
	scores := make([]int, min(len(rows), searchRows))
	for i := range scores {
		scores[i] = headingScore(rows[i])
		if scores[i] > score {
			best, score = i, scores[i]
		}
	}
	if score >= 2 || score == 1 && widest(rows) <= 2 {
		for i, s := range scores[:best] {
			if s >= 3 && s*5 >= score*3 {
				best = i // the headings of the first table, not those of a fuller one below
				break
			}
		}
		return p.headingsAt(rows, best, false), true
	}
	for i := range scores {
		if p.headingByContent(rows, i) {
			return headRows{at: i, rows: []int{rows[i].Number}, cells: rows[i].Cells}, true
		}
	}
	return headRows{}, false
}

// headingScore counts the cells of a row that are understood as headings, twice those of a field; 0 for
// a row that cannot be one of headings.
func headingScore(row grid.Row) int {
	words, known := 0, 0
	seen := map[string]bool{}
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		words++
		if c.Kind != grid.Text || len(text) > 2*longestHeading {
			continue
		}
		if isUnderstood(text) {
			if key := heading.Fold(text); !seen[key] {
				known += 1
			}
			seen[heading.Fold(text)] = true
		}
	}
	if known*3 < words || words < 2 && known < 1 {
		return 0
	}
	return known
}

func widest(rows []grid.Row) int {
	most := 0
	for _, r := range rows {
		most = max(most, filled(r))
	}
	return most
}

func filled(row grid.Row) int {
	n := 0
	for _, c := range row.Cells {
		if strings.TrimSpace(c.Text) != "" {
			n++
		}
	}
	return n
}

// headingByContent reports whether a row is words of which the rows below show that they are headings:
// below at least two of them stand days, numbers or places.
func (p *sheetPlan) headingByContent(rows []grid.Row, at int) bool {
	row := rows[at]
	if filled(row) < 3 || len(rows) < at+3 {
		return false
	}
	other := 0
	for _, c := range row.Cells {
		if text := strings.TrimSpace(c.Text); text == "" {
			continue
		} else if c.Kind != grid.Text || len(text) > longestHeading || strings.Trim(text, "0123456789.,-/ ") == "" {
			return false
		}
		look := heading.Look(samplesBelow(rows[at+1:], c.Column), edtf.OrderUnknown)
		if look.Cells >= 2 && (look.Days+look.Numbers+look.Places+look.Measures)*10 >= look.Cells*8 {
			other++
		}
		if own := heading.Look([]string{c.Text}, edtf.OrderUnknown); own.Days+own.Places+own.Measures+own.Pairs > 0 {
			return false // a day, a place or a measure is no heading
		}
	}
	return other >= 2
}

func samplesBelow(rows []grid.Row, column int) (out []string) {
	for _, r := range rows {
		if text := cellText(r.Cell(column)); text != "" {
			if out = append(out, text); len(out) >= 60 {
				break
			}
		}
	}
	return out
}

// firstOfData is the first row of a sheet without headings that has as many cells as most have.
func (p *sheetPlan) firstOfData(rows []grid.Row) int {
	most := widest(rows)
	for i, r := range rows {
		if filled(r)*2 > most {
			return i
		}
	}
	return 0
}

// headingsAt returns the headings of the row that was found, joined with those of the row above or below
// it where they stand in two rows.
func (p *sheetPlan) headingsAt(rows []grid.Row, at int, lower bool) headRows {
	for _, upper := range []int{at, at - 1} {
		if upper < 0 || upper+1 >= len(rows) || lower && upper == at {
			continue
		}
		if cells, ok := p.twoRows(rows[upper], rows[upper+1]); ok {
			h := headRows{at: upper + 1, rows: []int{rows[upper].Number, rows[upper+1].Number}, cells: cells}
			if upper+2 < len(rows) {
				h.third(rows[upper+2])
			}
			return h
		}
	}
	return headRows{at: at, rows: []int{rows[at].Number}, cells: rows[at].Cells}
}

// onItsSide reports whether the headings stand below each other in the first column, and a find in each
// column beside it.
func onItsSide(rows []grid.Row) bool {
	if len(rows) < 3 || len(rows) > 60 {
		return false
	}
	down, words := 0, 0
	for i, r := range rows {
		if i < searchRows && headingScore(r) >= 3 {
			return false
		}
		if len(r.Cells) == 0 {
			continue
		}
		first := r.Cells[0]
		if text := strings.TrimSpace(first.Text); first.Column <= 2 && first.Kind == grid.Text && text != "" {
			words++
			if heading.IsField(text) && len(r.Cells) > 1 {
				down++
			}
		}
	}
	return down >= 3 && down*2 > words && widest(rows) >= 3
}

// turn lets rows and columns change places.
func turn(rows []grid.Row) []grid.Row {
	byColumn := map[int]*grid.Row{}
	for _, r := range rows {
		for _, c := range r.Cells {
			to := byColumn[c.Column]
			if to == nil {
				to = &grid.Row{Number: c.Column}
				byColumn[c.Column] = to
			}
			c.Column = r.Number
			to.Cells = append(to.Cells, c)
		}
	}
	out := make([]grid.Row, 0, len(byColumn))
	for _, r := range byColumn {
		out = append(out, *r)
	}
	slices.SortFunc(out, func(a, b grid.Row) int { return a.Number - b.Number })
	return out
}

var yearInName = text.Pattern(`(?:^|[^0-9])((?:19|20)[0-9]{2})(?:$|[^0-9])`)

// yearOf returns the year in the name of a sheet, 0 where there is none, or two.
func yearOf(name string) int {
	all := yearInName().FindAllStringSubmatch(name, -1)
	if len(all) != 1 {
		return 0
	}
	year, _ := strconv.Atoi(all[0][1])
	return year
}

// sheetPlace returns the field that a sheet is named after: where its name has a word for land, or its
// title begins with it, or another sheet has it in a column of fields. A name of anything else, such as of
// a person, is no field.
func (p *sheetPlan) sheetPlace(named map[string]bool, alone bool) string {
	name := strings.TrimSpace(p.sheet.Name)
	words := heading.Words(name)
	if !p.mayBePlace() {
		return ""
	}
	if named[find.FoldName(name)] {
		return name
	}
	for _, w := range words {
		if heading.RowWords("land")[w] {
			return name
		}
	}
	if title := find.FoldName(p.title()); title != "" {
		before, rest, ok := strings.Cut(" "+title+" ", " "+find.FoldName(name)+" ")
		if !ok { // a sign behind it: Long Acre, spring 2024
			before, rest, ok = strings.Cut(" "+title, " "+find.FoldName(name))
			ok = ok && rest != "" && strings.ContainsAny(rest[:1], ",;:-(|")
		} else if rest = strings.TrimSpace(rest); rest != "" && !strings.ContainsAny(rest[:1], "0123456789-\u2013(|") {
			ok = false // the name is the first word of a sentence
		}
		ok = ok && !(alone && strings.Trim(rest, "0123456789 -\u2013") == "") // Hunts 2024
		return map[bool]string{true: name}[ok && len(strings.Fields(before)) <= 2]
	}
	return ""
}

// places settles which sheets are named after a field.
func (d *decoder) places() {
	named := map[string]bool{}
	for _, s := range d.book.Sheets { // a summary may list the fields
		head, _ := s.Head(60)
		for _, r := range head {
			for _, c := range r.Cells {
				for _, other := range d.sheets {
					if s != other.sheet && c.Kind == grid.Text && find.FoldName(c.Text) == find.FoldName(other.sheet.Name) {
						named[find.FoldName(c.Text)] = true
					}
				}
			}
		}
	}
	d.placeOfFile()
	land, open := "", []*sheetPlan{}
	for _, p := range d.sheets {
		if part, _ := sheetRole(p.sheet.Name); part != "" || p.own || p.sheet.Name == "" {
			continue
		}
		p.place = p.sheetPlace(named, len(d.sheets) == 1)
		switch {
		case !p.bare() || !p.mayBePlace():
		case p.place == "" && heading.EndsInLand(p.sheet.Name):
			p.place = strings.TrimSpace(p.sheet.Name)
			land = p.place
		case p.place == "":
			open = append(open, p)
		case isLandHeading(p.place) || heading.EndsInLand(p.place):
			land = p.place
		}
	}
	for i, p := range open { // of sheets of one shape all are fields, or none
		if land == "" {
			break
		}
		if p.place = strings.TrimSpace(p.sheet.Name); i == 0 {
			n := notice.New(sectionsRead, "", fmt.Sprintf("the sheets are taken for fields, as %q is one: %q too", land,
				p.place))
			n.Sheet = p.sheet.Name
			d.notices.Add(n)
		}
	}
}

// placeOfFile takes the field that the file of one table is named after: Long Furlong.csv.
func (d *decoder) placeOfFile() {
	if len(d.sheets) != 1 || d.sheets[0].sheet.Name != "" || d.own || d.sheets[0].own {
		return
	}
	base := path.Base(strings.ReplaceAll(d.o.File, `\`, "/"))
	name := strings.TrimSuffix(base, path.Ext(base))
	p := d.sheets[0]
	if !isUpper(name) || !strings.Contains(name, " ") || !isLandHeading(name) || hasRowWord("generic", name) ||
		p.tables[0].field("permission") != nil || p.tables[0].field("place.name") != nil || p.namesPlace() {
		return
	}
	p.place = name
	d.notices.Add(notice.New(sectionsRead, "", "the file is taken for named after the field of its finds"))
}

// mayBePlace reports whether the name of a sheet is not surely that of something else.
func (p *sheetPlan) mayBePlace() bool {
	words := heading.Words(p.sheet.Name)
	return len(words) > 0 && len(words) <= 6 && yearOf(p.sheet.Name) == 0 && p.month == "" && p.sheet.Name != "" &&
		!slices.ContainsFunc(words, func(w string) bool {
			return heading.RowWords("generic")[w] || heading.RowWords("total")[w] || strings.Trim(w, "0123456789") == ""
		})
}

// title is the first text above the headings.
func (p *sheetPlan) title() string {
	for _, r := range p.head {
		for _, c := range r.Cells {
			if text := strings.TrimSpace(c.Text); text != "" && len(p.tables) > 0 && r.Number < p.tables[0].first {
				return text
			}
		}
	}
	return ""
}

// describe says what a table is, for messages.
func (t *tablePlan) describe() string {
	if t.plan.sheet.Name == "" {
		return fmt.Sprintf("the table from row %d on", t.first)
	}
	return fmt.Sprintf("the table from row %d on of sheet %q", t.first, t.plan.sheet.Name)
}
