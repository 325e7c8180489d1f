package spreadsheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// What the reading of a book has to say, beside the notices of single cells; and the notes of the report:
// everything in a log that is no find stays in its words.

// bookNotices says what the reader of the file found out.
func (d *decoder) bookNotices() {
	for _, n := range d.book.Notes {
		kind := tableNote
		if n.Code == grid.NoteActive {
			kind = workbookParts
		}
		x := notice.New(kind, "", n.Text)
		if x.Line, x.Cell = n.Line, n.Cell; strings.HasPrefix(n.Text, "read as ") {
			x.Help = "If letters look wrong, say the encoding with --encoding."
		}
		d.notices.Add(x)
	}
	if len(d.book.Sheets) < 2 {
		return
	}
	for _, s := range d.book.Sheets {
		if s.Hidden && !strings.HasPrefix(s.Name, "findslip") {
			n := notice.New(sheetHidden, "", "the workbook has a hidden sheet")
			n.Sheet = s.Name
			d.notices.Add(n)
		}
	}
}

// say says something of a column of a table.
func (d *decoder) say(k *notice.Kind, t *tablePlan, c *column, message string) {
	n := notice.New(k, "", message)
	n.Sheet = t.plan.sheet.Name
	if t.plan.listed { // nobody sees its headings
		d.notices.Add(n)
		return
	}
	n.Row = t.headingRow()
	if c != nil {
		n.Column, n.Heading = c.column, c.heading
		if n.Row > 0 {
			n.Cell = grid.Cell{Column: c.column}.Ref(n.Row)
		}
	}
	d.notices.Add(n)
}

// tableNotices says how the tables of a sheet were taken.
func (d *decoder) tableNotices(p *sheetPlan) {
	d.sayList(p)
	d.sayBeside(p)
	for i, t := range p.tables {
		count := d.reading[t]
		if !t.finds {
			d.noteHeadings(t)
			if count != nil && count.kinds[rowOther] > 0 {
				n := notice.New(tableBeside, "", fmt.Sprintf("%s holds no finds; its %d rows are kept as notes of the report",
					t.describe(), count.kinds[rowOther]))
				n.Sheet, n.Row = p.sheet.Name, t.first
				d.notices.Add(n)
			}
			continue
		}
		if count == nil || count.kinds[rowFind] == 0 {
			d.noteHeadings(t)
		}
		d.sayShown(t, count)
		if i > 0 {
			n := notice.New(tableSecond, "", fmt.Sprintf("%s has headings of its own, and is read by them", t.describe()))
			n.Sheet, n.Row = p.sheet.Name, t.first
			d.notices.Add(n)
		}
		if len(t.headings) > 1 {
			d.say(headingsJoined, t, nil, "the headings stand in this row and the one above it; they are read as one")
		}
		if t.units > 0 {
			n := notice.New(unitsRow, "", "the row below the headings is taken for units")
			n.Sheet, n.Row = p.sheet.Name, t.units
			d.notices.Add(n)
		}
		switch {
		case slices.ContainsFunc(t.columns, func(c *column) bool { return c.tally }):
			d.say(tallyRead, t, nil, "the headings name things, and the cells say how many; each is read as a find of so many")
		case t.groups > 1:
			d.say(findsInRow, t, nil, fmt.Sprintf("a row holds up to %d finds; each is one of its own", t.groups))
		}
		if len(t.headings) == 0 && t.field("name") != nil && t.field("name").Taken == heading.TakenCells {
			n := notice.New(headingsMissing, "", "no headings: the columns are taken by content")
			n.Sheet, n.Row = p.sheet.Name, t.first
			d.notices.Add(n)
		}
		d.sayYears(t)
		d.columnNotices(t)
		d.rowNotices(t, count)
	}
}

// columnNotices says what the columns of a table were taken for, where a person should look.
func (d *decoder) columnNotices(t *tablePlan) {
	var first *column // with dittos
	var dittoed []string
	marks := 0
	for _, c := range t.columns {
		letters := find.ColumnLetters(c.column)
		switch {
		case c.rivals > 0:
			d.say(headingClaimed, t, c,
				fmt.Sprintf("this column and column %s are both taken for one field; this one is kept under its heading",
					find.ColumnLetters(c.rivals)))
		case c.Taken == heading.TakenCells && len(t.headings) == 0 && t.field("name") != nil: // headings-missing says it once
		case c.Taken == heading.TakenCells:
			d.say(columnByContent, t, c, fmt.Sprintf("by what stands in it, the column is taken for %q", labelOf(c.Field)))
		case c.Taken == heading.TakenStead:
			d.say(nameFrom, t, c, "no column has the name of the find; this one is taken for it")
		case c.Field == "" && c.Keep == "" && !c.mapped && strings.HasPrefix(c.unread(), "position.") && !t.hasPosition() &&
			heading.UnderstandIn("people", c.heading).Field != "contact":
			d.say(columnByContent, t, c,
				fmt.Sprintf("the column is not read, and looks like %q: without it the finds have no position; its text is kept "+
					"under its heading",
					labelOf(c.unread())))
		case c.Field == "" && c.Keep == "" && !c.mapped && !t.plan.isNotebook() && (!c.known || len(c.meanings()) > 0):
			message := "the column is not understood; its text is kept under its heading"
			if heading.IsField(c.heading) {
				message = "what stands in the column does not look like what its heading says; its text is kept under its heading"
			}
			if near := heading.Nearest(c.heading); near != "" && near != c.heading {
				message += fmt.Sprintf("; did you mean %q?", near)
			}
			d.say(headingUnknown, t, c, message)
		case c.Field == "" && c.Keep == "" && !c.mapped && c.unread() != "":
			d.say(headingUnknown, t, c,
				fmt.Sprintf("the column is not read, and what stands in it looks like %q; its text is kept under its heading",
					labelOf(c.unread())))
		}
		if c.dittos > 0 {
			if dittoed = append(dittoed, letters); first == nil {
				first = c
			}
			marks += c.dittos
		}
		if t.fills[c.column] {
			d.say(blanksFilled, t, c,
				fmt.Sprintf("a blank in column %s is taken for the line above, as the column does it throughout", letters))
		}
	}
	d.sayGrid(t)
	if first != nil { // read as meant: once for all columns
		n := notice.New(dittoRead, "",
			fmt.Sprintf("marks for the line above in columns %s: %d; the value is taken from there, and the mark is kept",
				strings.Join(dittoed, ", "), marks))
		n.Sheet, n.Column, n.Heading, n.Cell = t.plan.sheet.Name, first.column, first.heading, first.ditto
		if t.plan.listed { // of labels, and no columns
			n.Message = fmt.Sprintf("marks for the line above: %d; the value is taken from there, and the mark is kept", marks)
			n.Row, n.Column, n.Cell = atoi(strings.TrimLeft(first.ditto, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")), 0, ""
		}
		d.notices.Add(n)
	}
}

// sayGrid names the grid that bare coordinates are likely of, so that it can be written once.
func (d *decoder) sayGrid(t *tablePlan) {
	if s, c := t.likelySystem(); s != nil {
		d.say(columnByContent, t, c, fmt.Sprintf("nothing names the grid of these coordinates. All would lie in the %s: "+
			"if they are of it, write %s (%s) above them", s.Name, c.heading, s.Code))
	}
}

// unread is the field that the cells of a column show all the same: days, positions, materials.
func (c *column) unread() string {
	switch g := c.content.Guess(); {
	case g == "found.date", g == "position.verbatim", g == "materials.1":
		return g
	case c.content.Cells > 1 && c.content.Metres*10 >= c.content.Cells*8:
		return "position.verbatim"
	case c.content.Cells > 1 && c.content.Degrees*10 >= c.content.Cells*8:
		return "position.latitude"
	}
	return ""
}

// hasPosition reports whether a column of a table is read as a position, or part of one.
func (t *tablePlan) hasPosition() bool {
	return slices.ContainsFunc(t.columns, func(c *column) bool { return strings.HasPrefix(c.Field, "position.") })
}

func labelOf(field string) string {
	if label := heading.Label(field, "en"); label != "" {
		return label
	}
	return field
}

// rowNotices says which rows are no finds.
func (d *decoder) rowNotices(t *tablePlan, count *tally) {
	if count == nil {
		return
	}
	for _, k := range []struct {
		kind    rowKind
		of      *notice.Kind
		message string
	}{
		{rowSection, sectionsRead, "a heading between the finds; the day and the field that it names hold for the rows " +
			"below it"},
		{rowTotal, rowNotAFind, "a row that adds others up; it is no find"},
		{rowNote, rowNotAFind, "a note between the finds; it is kept as a note of the report"},
		{rowNothing, sectionsRead, "a row that says that nothing was found: an outing, and no find; its words are " +
			"kept as a note of the report"},
		{rowTrial, rowNotAFind, "a row with which somebody tried the form; it is no find"},
		{rowUnused, rowNotAFind, "a row with a number and nothing else; it is not taken for a find"},
	} {
		rows := count.where[k.kind]
		if (k.kind == rowSection || k.kind == rowNothing) && len(rows) > 1 { // read as meant: once for all of them
			k.message += fmt.Sprintf(" (%d such rows, this is the first)", len(rows))
			rows = rows[:1]
		}
		for _, row := range rows { // each is named: a find may be among them
			x := notice.New(k.of, "", k.message)
			x.Sheet, x.Row = t.plan.sheet.Name, row
			d.notices.Add(x)
		}
	}
}

// sheetNotices says what the form of a sheet of finds may mean.
func (d *decoder) sheetNotices(p *sheetPlan) {
	layout, err := p.sheet.Layout() // the whole sheet has been read by now
	if err != nil {
		return
	}
	if p.onSide {
		n := notice.New(tableOnSide, "",
			"the table stands on its side: the headings below each other, a find in each column; it is read so")
		n.Sheet = p.sheet.Name
		d.notices.Add(n)
	}
	merged, first := 0, ""
	for _, r := range layout.Merged {
		if len(p.tables) > 0 && r.FirstRow > p.tables[0].headingRow() && r.FirstColumn == r.LastColumn {
			if merged++; first == "" {
				first = grid.Cell{Column: r.FirstColumn}.Ref(r.FirstRow)
			}
		}
	}
	if merged > 0 {
		x := notice.New(cellsMerged, "",
			fmt.Sprintf("cells merged over several rows: %d; the value is taken for each of the rows", merged))
		x.Sheet, x.Cell = p.sheet.Name, first
		d.notices.Add(x)
	}
	if len(layout.HiddenColumns) > 0 {
		x := notice.New(columnsHidden, "", fmt.Sprintf("hidden columns: %d; they were read all the same",
			len(layout.HiddenColumns)))
		x.Sheet, x.Column = p.sheet.Name, layout.HiddenColumns[0]
		d.notices.Add(x)
	}
	for _, n := range layout.Notes {
		x := notice.New(tableNote, "", n.Text)
		x.Sheet, x.Cell, x.Line = p.sheet.Name, n.Cell, n.Line
		d.notices.Add(x)
	}
	for _, t := range layout.Texts {
		d.addNote(strings.TrimSpace(placeOf(p, t.Cell) + ": " + t.Text))
	}
	for _, pic := range layout.Pictures {
		d.addNote(strings.TrimSpace(placeOf(p, pic.Cell) + ": " + strings.TrimSpace(pic.Name+" "+pic.Title)))
	}
}

func placeOf(p *sheetPlan, cell string) string {
	return strings.TrimSpace(p.sheet.Name + " " + cell)
}

// Notes of the report are bounded: a sheet of something else may be any size.
const (
	mostNotes      = 2000
	mostNotesBytes = 512 << 10
)

func (d *decoder) addNote(text string) {
	if len(d.report.Notes) >= mostNotes || d.noted+int64(len(text)) > mostNotesBytes {
		d.unnoted++
		return
	}
	d.noted += int64(len(text))
	d.report.Notes = append(d.report.Notes, text)
}

// note keeps the texts of a row that is no find.
func (d *decoder) note(p *sheetPlan, row grid.Row) {
	text := rowText(row)
	if p.sheet.Comma != "" && !slices.ContainsFunc(p.tables, func(t *tablePlan) bool { return t.finds }) {
		text = strings.TrimSpace(p.lineOf(row)) // prose, as it was written
	}
	if text != "" {
		where := "row " + strconv.Itoa(row.Number)
		if p.sheet.Name != "" {
			where = p.sheet.Name + ", " + where
		}
		d.addNote(where + ": " + text)
	}
}

// noteHeadings keeps the headings of a table under which no find stands.
func (d *decoder) noteHeadings(t *tablePlan) {
	for _, row := range t.plan.head {
		if slices.Contains(t.headings, row.Number) {
			d.note(t.plan, row)
		}
	}
}

// noteBeside keeps the comments and links of a row of headings, whose texts are those of the columns.
func (d *decoder) noteBeside(p *sheetPlan, row grid.Row) {
	for _, c := range row.Cells {
		more := c.Extra()
		for _, comment := range more.Comments {
			d.addNote(placeOf(p, c.Ref(row.Number)) + ": " + strings.TrimSpace(comment.Text))
		}
		for _, link := range more.Links {
			d.addNote(placeOf(p, c.Ref(row.Number)) + ": " + link)
		}
		if c.Kind == grid.Empty && more.Formula != "" {
			d.addNote(placeOf(p, c.Ref(row.Number)) + ": =" + more.Formula)
		}
	}
}

// rowText is all that a row says.
func rowText(row grid.Row) string {
	var parts []string
	for _, c := range row.Cells {
		if text := strings.TrimSpace(c.Text); text != "" {
			parts = append(parts, text)
		}
		more := c.Extra()
		for _, comment := range more.Comments {
			parts = append(parts, strings.TrimSpace(comment.Text))
		}
		parts = append(parts, more.Links...)
		if c.Kind == grid.Empty && more.Formula != "" {
			parts = append(parts, "="+more.Formula)
		}
	}
	parts = slices.DeleteFunc(parts, func(s string) bool { return s == "" })
	return strings.Join(parts, " | ")
}

// noteKind keeps a row that is no find and says what has to be said of it.
func (d *decoder) noteKind(w *walker, row grid.Row, kind rowKind) {
	d.note(w.p, row)
	switch kind {
	case rowTotal:
		w.t.totals = append(w.t.totals, row.Number)
		for _, c := range w.checkTotal(row) {
			s := w.sums[c.Column]
			if w.saysRows(c.Text) {
				s = &sum{all: cmp.Or(w.sums[rowsCounted].since, w.sums[rowsCounted].all)}
			}
			comes := strconv.FormatFloat(math.Round(s.all*1000)/1000, 'f', -1, 64)
			if strings.Contains(c.Text, ",") {
				comes = strings.Replace(comes, ".", ",", 1)
			}
			n := notice.New(totalDiffers, "", fmt.Sprintf("the total says %s; the rows above come to %s", c.Text, comes))
			n.Sheet, n.Row, n.Column, n.Cell = w.p.sheet.Name, row.Number, c.Column, c.Ref(row.Number)
			if col := w.t.at(c.Column); col != nil {
				n.Heading = col.heading
			}
			d.notices.Add(n)
		}
		for _, s := range w.sums {
			s.since = 0
		}
		w.recent = w.recent[:0]
	case rowNote, rowNothing, rowTrial:
		w.t.notes = append(w.t.notes, row.Number)
		if kind == rowNothing {
			d.emptyOuting(w, row)
		}
	}
}

// emptyOuting keeps a day on which nothing was found.
func (d *decoder) emptyOuting(w *walker, row grid.Row) {
	if len(d.report.Outings) >= mostNotes {
		return
	}
	yes := true
	o := find.Outing{NothingFound: &yes}
	o.Date = w.dayOfOuting(row)
	if o.Date == "" {
		return
	}
	place := cmp.Or(w.section.place, w.titled, w.p.place)
	if c := w.t.field("permission"); c != nil {
		if place = cellText(w.orAbove(row, c)); saysNothing(place) {
			place = ""
		}
		place = cmp.Or(w.t.explained(c, place), place)
	}
	if place != "" {
		d.references.AddPermission(place)
		o.Permission = d.references.Permission(place)
	}
	for n := len(d.report.Outings) + 1; o.ID == "" || d.report.Outing(o.ID) != nil; n++ {
		o.ID = fmt.Sprintf("outing-%d", n)
	}
	d.report.Outings = append(d.report.Outings, o)
}

// orAbove is the cell of a row in a column, or that of the find above where a ditto stands.
func (w *walker) orAbove(row grid.Row, c *column) grid.Cell {
	cell := row.Cell(c.column)
	if text := strings.TrimSpace(cell.Text); c.column < len(w.above) &&
		(w.t.isDitto(text) || text == "" && w.filledDown(c.column, row.Number)) {
		return w.above[c.column]
	}
	return cell
}

// dayOfOuting is the day of a row in which nothing was found, in ISO 8601: that of its cell, or of what stands around.
func (w *walker) dayOfOuting(row grid.Row) string {
	c := w.t.field("found.date")
	if c == nil {
		return w.isoDay(w.section.found)
	}
	cell := w.orAbove(row, c)
	if cell.Kind == grid.Date && cell.Precision >= grid.Day {
		day, _, _ := strings.Cut(cell.Value, "T")
		return day
	}
	text := cellText(cell)
	if day, _ := w.withYear(text); len(day) == len("2024-04-13") {
		return day
	}
	return w.isoDay(text)
}

// noteGroups keeps what stands in a row under the headings of a find that is none: words beside the last find of the
// table on the other side.
func (d *decoder) noteGroups(t *tablePlan, row grid.Row) {
	for group := 1; group <= t.groups && t.groups > 1; group++ {
		rest := grid.Row{Number: row.Number}
		for _, c := range row.Cells {
			if col := t.at(c.Column); col != nil && col.group == group && !col.tally &&
				strings.ContainsFunc(c.Text, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) {
				rest.Cells = append(rest.Cells, c)
			}
		}
		if len(rest.Cells) > 0 && !t.inGroup(row, group) {
			d.note(t.plan, rest)
		}
	}
}
