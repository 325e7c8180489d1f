package spreadsheet

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// DecodeXLSX reads a workbook.
func DecodeXLSX(r io.ReaderAt, size int64, o Options) (*find.Stream, error) {
	book, err := open(r, size, o)
	if err != nil {
		return nil, err
	}
	return decode(book, o, "xlsx")
}

// DecodeCSV reads a text table, separated by commas, semicolons, tabs or bars.
func DecodeCSV(r io.ReadSeeker, o Options) (*find.Stream, error) {
	book, err := openTable(r, o)
	if err != nil {
		return nil, err
	}
	return decode(book, o, "csv")
}

func decode(book *grid.Book, o Options, format string) (*find.Stream, error) {
	d := &decoder{book: book, o: o, report: &find.Report{Findslip: find.Version}}
	if err := d.plan(); err != nil {
		return nil, err
	}
	beside, err := d.header()
	if err != nil {
		return nil, err
	}
	d.references = beside.settle()
	if err := d.survey(); err != nil {
		return nil, err
	}
	if o.Map != nil && d.report.ID == "" {
		d.report.ID = o.Map.ReportID
	}
	d.report.Findslip = cmp.Or(d.report.Findslip, find.Version)
	for i := range d.notices {
		d.notices[i].File = o.File
	}
	s := &find.Stream{Report: d.report, File: o.File, Format: format, Notices: d.notices, Origins: beside.origins,
		Language: d.language, Count: d.finds()}
	s.SetEntries(d.entries)
	return s, nil
}

// finds is how many rows the survey took for finds.
func (d *decoder) finds() (n int) {
	for _, t := range d.reading {
		n += t.kinds[rowFind]
	}
	return n
}

// decoder reads the sheets of finds of a book.
type decoder struct {
	book       *grid.Book
	o          Options
	report     *find.Report
	notices    notice.List
	references *intake.References
	refused    map[string]bool // people who said no to a question for their consent
	sheets     []*sheetPlan    // those of finds, in the order of the book
	language   string          // by whose words the headings were read, where the report states none
	own        bool            // a program wrote the book
	key        legend
	shared     map[string]int // on how many sheets labels stand that may be those of a form
	keySheets  []*grid.Sheet  // sheets that explain short words
	noted      int64          // bytes of notes that the report holds
	unnoted    int            // notes for which there was no room
	besideAt   map[string]int // columns that say what ids are called
	audienceAt int            // column that says for whom a copy is, 0 if none
	changedAt  int            // column that says when a copy was made, 0 if none
	aside      []int          // all of these
	reading    map[*tablePlan]*tally
	looked     int                    // rows of the survey so far
	copies     map[*grid.Sheet]string // sheets that are left out, and why
}

// tally is what was met in a table.
type tally struct {
	kinds [rowOther + 1]int
	where [rowOther + 1][]int // the rows that are no finds, as far as they are named
}

// plan makes the plan of each sheet that may hold finds.
func (d *decoder) plan() (err error) {
	wanted := d.o.Sheet
	if wanted == "" && d.o.Map != nil && len(d.o.Map.Tables) == 0 {
		wanted = d.o.Map.Sheet
	}
	d.bookNotices()
	for _, s := range d.book.Sheets {
		if part, _ := sheetRole(s.Name); part == "report" {
			d.own = d.own || isOwn(s)
		}
	}
	if err := d.bookKey(); err != nil {
		return err
	}
	d.shareLabels()
	defer func() {
		if err == nil {
			err = d.join()
		}
	}()
	if wanted != "" {
		i := d.sheetNamed(wanted)
		if i < 0 {
			return fmt.Errorf("there is no sheet %q; the workbook has %s", wanted, d.names())
		}
		return d.planOne(i, true)
	}
	finds := -1
	for i, s := range d.book.Sheets {
		if part, _ := sheetRole(s.Name); part == "finds" && finds < 0 {
			finds = i
		}
	}
	if d.own && finds >= 0 {
		return d.planOne(finds, true)
	}
	for i, s := range d.book.Sheets {
		part, _ := sheetRole(s.Name)
		if part == "report" || strings.HasPrefix(s.Name, "findslip") || s.Hidden && len(d.book.Sheets) > 1 ||
			slices.Contains(d.keySheets, s) {
			continue
		}
		if part != "" && part != "finds" && finds >= 0 {
			continue // the sheet of finds says that the others are what they are called
		}
		if err := d.planOne(i, false); err != nil {
			return err
		}
	}
	d.choose()
	if len(d.sheets) == 0 {
		return fmt.Errorf("there is nothing in it: no row has any text")
	}
	return nil
}

// choose keeps the sheets that hold finds. Where no sheet does for sure, the first that holds anything is
// read, so that a log is never refused for its headings.
func (d *decoder) choose() {
	all := d.sheets
	d.sheets = nil
	if slices.ContainsFunc(all, func(p *sheetPlan) bool { return p.tables[0].certain() }) {
		for _, p := range all { // pictures of the finds of another sheet
			p.tables[0].finds = p.tables[0].finds && (len(all) == 1 || !p.tables[0].ofPictures())
		}
	}
	for _, p := range all {
		if slices.ContainsFunc(p.tables, func(t *tablePlan) bool { return t.finds }) {
			d.sheets = append(d.sheets, p)
		}
	}
	plain := slices.ContainsFunc(d.sheets, func(p *sheetPlan) bool {
		part, _ := sheetRole(p.sheet.Name)
		return part == "" || part == "finds"
	})
	if plain { // a log may be called after the land that it is of, but not where others are logs without doubt
		d.sheets = slices.DeleteFunc(d.sheets, func(p *sheetPlan) bool {
			part, _ := sheetRole(p.sheet.Name)
			return part != "" && part != "finds" && !p.tables[0].certain()
		})
	}
	if len(d.sheets) > 1 && (d.o.Map == nil || len(d.o.Map.Tables) == 0) {
		d.leaveOut()
	}
	if len(d.sheets) > 0 || len(all) == 0 {
		return
	}
	best := all[0]
	for _, p := range all {
		if part, _ := sheetRole(p.sheet.Name); part == "" && len(p.head) > len(best.head) {
			best = p
		}
	}
	message := "no heading is understood, and the columns do not show what they are"
	prose := best.isProse()
	if prose {
		message = "this is prose, and no table: nothing of it is read as a find; all of it is kept as notes of the report"
	}
	for _, t := range best.tables {
		t.finds = !prose
	}
	d.sheets = []*sheetPlan{best}
	n := notice.New(headingsNone, "", message)
	n.Sheet = best.sheet.Name
	d.notices.Add(n)
}

// certain reports whether a table has all that a log has.
func (t *tablePlan) certain() bool {
	return t.field("name") != nil && (t.field("depth") != nil || t.field("materials.1") != nil ||
		t.field("found.date") != nil && t.field("number") != nil)
}

func (d *decoder) planOne(i int, surely bool) error {
	p, err := planSheet(d.book.Sheets[i], d.o, d.own, d.key, d.shared)
	if err != nil {
		return err
	}
	if len(p.tables) == 0 {
		if surely {
			return fmt.Errorf("there is nothing in it: no row has any text")
		}
		return nil
	}
	if surely {
		p.tables[0].finds = true
	}
	p.lookForWide()
	d.sheets = append(d.sheets, p)
	return nil
}

func (d *decoder) names() string {
	var names []string
	for _, s := range d.book.Sheets {
		names = append(names, fmt.Sprintf("%q", s.Name))
	}
	return strings.Join(names, ", ")
}

func (d *decoder) sheetNamed(name string) int {
	return slices.IndexFunc(d.book.Sheets, func(s *grid.Sheet) bool {
		return s.Name == name || find.FoldName(s.Name) == find.FoldName(name)
	})
}

// survey goes through all rows once: what people, land and outings are named, the order of dates, what
// is no find.
func (d *decoder) survey() error {
	d.reading = map[*tablePlan]*tally{}
	if finder := d.o.Defaults["finder"]; finder != "" {
		d.references.AddPerson(finder)
	}
	d.places()
	d.shareYear()
	d.daysOfNames()
	d.askNames()
	d.shareOrder()
	for _, p := range d.sheets {
		if err := d.surveySheet(p); err != nil {
			return err
		}
		d.tableNotices(p)
		d.sheetNotices(p)
	}
	if d.unnoted > 0 {
		d.notices.Add(notice.New(notesLeft, "",
			fmt.Sprintf("rows that are no finds and for whose text there was no room in the notes of the report: %d",
				d.unnoted)))
	}
	return nil
}

func (d *decoder) surveySheet(p *sheetPlan) error {
	s := sheetSurvey{d, p, map[*tablePlan][]string{}, nil}
	d.findAside(p)
	for _, row := range p.keyRows {
		d.note(p, row)
	}
	err := p.walk(d.o, func(w *walker, row grid.Row, kind rowKind) bool {
		if d.looked++; d.looked%1024 == 0 && d.o.Looked != nil {
			d.o.Looked(d.looked)
		}
		t := w.t
		if t == nil {
			d.note(p, row)
			return true
		}
		count := d.reading[t]
		if count == nil {
			count = new(tally)
			d.reading[t] = count
		}
		if count.kinds[kind]++; kind != rowFind && len(count.where[kind]) < mostNotes && !p.keyed[row.Number] {
			count.where[kind] = append(count.where[kind], row.Number)
		}
		s.row(w, row, kind)
		return true
	})
	if err != nil {
		return err
	}
	p.surveyed = true
	for _, t := range p.tables {
		d.proveOrder(t, s.days[t])
		d.askLand(t)
		d.askLeave(t)
	}
	return nil
}

// sheetSurvey is what the survey of one sheet holds from row to row.
type sheetSurvey struct {
	d     *decoder
	p     *sheetPlan
	days  map[*tablePlan][]string // as they are written, for the order of day and month
	alone *grid.Row               // the last that may be the name of land
}

func (s *sheetSurvey) row(w *walker, row grid.Row, kind rowKind) {
	switch d, t := s.d, w.t; kind {
	case rowFind:
		if s.alone != nil && s.alone.Number == row.Number-1 {
			t.alone = append(t.alone, s.alone)
		}
		d.collect(w, row)
		d.noteGroups(t, row)
		w.countYears(row)
		d.copyOf(row)
		d.takeBesideIDs(row)
		for _, c := range t.columns {
			if isDayField(c.Field) && len(s.days[t]) < 100_000 {
				if cell := row.Cell(c.column); cell.Kind == grid.Text && w.wrote(c) {
					s.days[t] = append(s.days[t], cell.Text)
				}
			}
		}
	case rowHeadings:
		d.noteBeside(s.p, row)
	case rowSection:
		t.sections = append(t.sections, row.Number)
		d.note(s.p, row)
		if day := figuresOfDay().FindString(w.section.found); day != "" {
			s.days[t] = append(s.days[t], day)
		} else if w.section.unread {
			n := notice.New(tableNote, "", fmt.Sprintf("%q looks like a heading of the rows below and is not understood; "+
				"what the heading above it says ends here", w.section.text))
			n.Sheet, n.Row = s.p.sheet.Name, row.Number
			d.notices.Add(n)
		}
		if w.section.place != "" {
			d.references.AddPermission(w.section.place)
		}
	default:
		if d.noteKind(w, row, kind); kind == rowNote && mayBeLand(row) {
			s.alone = &grid.Row{Number: row.Number, Cells: slices.Clone(row.Cells)}
		}
		if text := rowText(row); kind == rowNote && filled(row) == 1 && t.finds && !t.plan.listed &&
			len(strings.Fields(text)) <= 12 {
			if day, _, _, whole := w.dayIn(text); day != "" && whole && !hasRowWord("aside", text) && !beginsWithNothing(text) {
				d.ask(t, row.Number, row.Cells[0])
			}
		}
	}
}

// proveOrder settles the order of day and month of a table by all its dates.
func (d *decoder) proveOrder(t *tablePlan, samples []string) {
	order, evidence := edtf.ProveOrder(wholeDays(slices.Values(samples)))
	if order != edtf.OrderUnknown {
		t.order, t.proven = order, evidence
	}
	day, month := evidence.DayMonthYear.Count, evidence.MonthDayYear.Count
	if t.pointedSlip(samples, evidence) {
		t.order = edtf.DayMonthYear
	} else if min(day, month) == 1 && max(day, month) >= 2 {
		if t.order = edtf.DayMonthYear; month > day { // the one is a slip, and is told as a day that is not there
			t.order = edtf.MonthDayYear
		}
	} else if is := t.plan.orderByWeekdays(samples); order == edtf.OrderUnknown && is != edtf.OrderUnknown {
		t.order = is
	} else if evidence.Contradictory {
		t.order = edtf.OrderUnknown
		for _, c := range t.columns {
			if isDayField(c.Field) {
				d.say(orderContradicts, t, c, fmt.Sprintf("%d dates have the day first and %d the month",
					evidence.DayMonthYear.Count, evidence.MonthDayYear.Count))
				break
			}
		}
	}
	t.makeLayouts(d.o)
	for _, l := range t.layout {
		l.Epoch = d.book.Epoch
	}
}

// collect makes people, permissions and outings of the names in a row.
func (d *decoder) collect(w *walker, row grid.Row) {
	for _, cell := range row.Cells {
		c := w.t.at(cell.Column)
		if c == nil || c.Field != "finder" && c.Field != "permission" && c.Field != "outing" &&
			(d.own || w.p.own || !isPerson(c.Field)) {
			continue
		}
		text := cellText(cell)
		if text == "" || c.named[text] {
			continue
		}
		if word := w.t.explained(c, text); word != "" {
			text = word
		} else if !d.own && saysNothing(text) {
			continue
		}
		switch c.Field {
		case "finder":
			for _, name := range c.findersIn(text) {
				d.references.AddPerson(name)
			}
		case "permission":
			d.references.AddPermission(text)
		case "outing":
			d.references.AddOuting(text, w.dayOf(row))
		default:
			d.references.AddPerson(text)
		}
		if c.named == nil {
			c.named = map[string]bool{}
		}
		if len(c.named) < mostNamed && len(text) <= longestNamed {
			c.named[strings.Clone(text)] = true
		}
	}
	for group := 1; group <= w.t.groups && len(w.t.lands) > 0; group++ {
		d.references.AddPermission(w.t.lands[group])
	}
	if w.section.place != "" && w.section.row < w.t.first {
		d.references.AddPermission(w.section.place) // of a title
	}
	if w.titled != "" {
		d.references.AddPermission(w.titled)
	}
	if w.finder != "" {
		d.references.AddPerson(w.finder)
	}
	if w.p.place != "" && w.t.field("permission") == nil {
		d.references.AddPermission(w.p.place)
	}
	for _, m := range w.marks {
		if m.column.dittos++; m.column.dittos == 1 {
			m.column.ditto = grid.Cell{Column: m.column.column}.Ref(row.Number)
		}
	}
	d.giver(w, row)
	d.ofLand(w, row)
	d.consent(w, row)
}

// dayOf is the day of finding of a row in ISO 8601, where it is a whole one.
func (w *walker) dayOf(row grid.Row) string {
	c := w.t.field("found.date")
	if c == nil {
		return ""
	}
	return w.isoDay(cellText(row.Cell(c.column)))
}

// isoDay is the whole day that a text is, in ISO 8601; empty for any other text.
func (w *walker) isoDay(text string) string {
	day, err := w.t.foundDay(text, edtf.Options{Order: pointedOrder(text, w.t.order), Pivot: w.pivot()})
	if text := day.Date.String(); err == nil && len(text) == len("2024-04-13") && !strings.ContainsAny(text, "/~?%X") {
		return text
	}
	return ""
}

// isPerson reports whether a field names a person by an id, in whose place sheets have a name.
func isPerson(field string) bool {
	return field == "keeper" || strings.HasSuffix(field, ".by") || strings.HasPrefix(field, "custody.") &&
		(strings.HasSuffix(field, ".to") || strings.HasSuffix(field, ".from")) || strings.HasPrefix(field, "owners.") &&
		strings.HasSuffix(field, ".person")
}

// consent takes over that the recorder may have the name of the finder of the row. One no among several answers
// is a no.
func (d *decoder) consent(w *walker, row grid.Row) {
	c, finder := w.t.field(heading.Consent), w.t.field("finder")
	if c == nil {
		return
	}
	yes, known := heading.Answer(cellText(row.Cell(c.column)))
	name := d.o.Defaults["finder"]
	if finder != nil {
		name = cellText(row.Cell(finder.column))
	}
	if !known || name == "" || saysNothing(name) {
		return
	}
	p := d.report.Person(d.references.Person(name))
	if p == nil || d.refused[p.ID] {
		return
	}
	is := func(c find.Consent) bool { return c.Audience == consentTo }
	switch there := slices.ContainsFunc(p.Consents, is); {
	case yes && !there:
		p.Consents = append(p.Consents, find.Consent{Audience: consentTo})
	case !yes:
		if d.refused == nil {
			d.refused = map[string]bool{}
		}
		d.refused[p.ID] = true
		if p.Columns == nil {
			p.Columns = map[string]string{}
		}
		p.Columns[c.heading] = cellText(row.Cell(c.column)) // another log may have a yes
		if p.Consents = slices.DeleteFunc(p.Consents, is); len(p.Consents) == 0 {
			p.Consents = nil
		}
	}
}

// consentTo is the audience that the question of a column asks for.
const consentTo = "recorder"

// giver takes who owns the land over into the permission of the row, the first that is named.
func (d *decoder) giver(w *walker, row grid.Row) {
	c, land := w.t.field(heading.LandGiver), w.t.field("permission")
	if c == nil || land == nil {
		return
	}
	name, field := cellText(row.Cell(c.column)), cellText(row.Cell(land.column))
	if name == "" || field == "" || saysNothing(name) || saysNothing(field) {
		return
	}
	id, known := d.references.Lookup("permission", field)
	p := d.report.Permission(id)
	if !known || p == nil || p.GrantedBy != "" {
		return
	}
	d.references.AddPerson(name)
	p.GrantedBy = d.references.Person(name)
}

// ofLand takes over into the permission of the row by what leave the find was made, the first that is said of a field.
// Other words stay beside their find.
func (d *decoder) ofLand(w *walker, row grid.Row) {
	land := w.t.field("permission")
	if land == nil {
		return
	}
	for _, name := range []string{heading.LandBasis, heading.LandFrom, heading.LandTo} {
		c := w.t.field(name)
		if c == nil {
			continue
		}
		text, field := cellText(row.Cell(c.column)), cellText(row.Cell(land.column))
		id, known := d.references.Lookup("permission", field)
		p := d.report.Permission(id)
		path, err := find.PathTo[find.Permission](strings.TrimPrefix(name, "permission."))
		if text == "" || field == "" || !known || p == nil || err != nil {
			continue
		}
		switch have := find.Get(path, p); {
		case have == "":
			if c.said == nil {
				c.said = map[string]string{}
			}
			_ = find.Set(path, p, text) // text fits every one of them
			c.said[find.FoldName(field)] = strings.Clone(text)
		case have != text && !c.differs:
			c.differs = true
			d.say(cellUnreadable, w.t, c,
				fmt.Sprintf("two answers for the field %q; the first was taken, the others are kept under the heading", field))
			d.notices[len(d.notices)-1].Help = "Give each permission a name of its own, such as the field and the year."
		}
	}
}

// mostNamed bounds how many texts of a column are remembered, and longestNamed how long they are.
const (
	mostNamed    = 1000
	longestNamed = 200
)
