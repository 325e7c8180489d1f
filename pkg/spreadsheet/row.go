package spreadsheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// entries reads the finds, sheet after sheet.
func (d *decoder) entries(yield func(*find.Entry, error) bool) {
	index := 0
	on := true
	for _, p := range d.sheets {
		err := p.walk(d.o, func(w *walker, row grid.Row, kind rowKind) bool {
			if kind != rowFind {
				return true
			}
			things := w.t.thingsIn(row)
			for i := 0; i < max(w.t.groups, len(things)) && on; i++ {
				r := rowReader{d: d, w: w, t: w.t, f: new(find.Find), row: row, group: 1, things: things}
				if len(things) > 0 {
					r.thing = &things[i]
				} else {
					r.group += i
				}
				e := &find.Entry{Index: index, Origin: find.Origin{File: d.o.File, Row: row.Number, Layout: w.t.layout[r.group-1]}}
				if r.e = e; p.onSide {
					e.Origin.Row = 0
				}
				if !r.read() {
					continue
				}
				index++
				on = yield(e, nil)
			}
			return on
		})
		if !on {
			return
		}
		if err != nil {
			yield(nil, err)
			return
		}
	}
}

// rowReader makes a find of a row, or of a part of one.
type rowReader struct {
	d     *decoder
	w     *walker
	t     *tablePlan
	e     *find.Entry
	f     *find.Find
	v     intake.Parts
	row   grid.Row
	group int

	things []thing // those of its cell, of which it is one
	thing  *thing

	struck bool // its number or its name is struck through

	depthFrom, depthTo   string
	datingFrom, datingTo string
}

// read sets the members of the find. It returns false where there is none.
func (r *rowReader) read() bool {
	if r.t.groups > 1 && !r.t.inGroup(r.row, r.group) {
		return false
	}
	for i := range r.row.Cells {
		cell := &r.row.Cells[i]
		c := r.t.at(cell.Column)
		r.e.Size += len(cell.Text)
		if r.d.isBeside(cell.Column) {
			continue
		}
		if c == nil {
			r.keep(find.ColumnLetters(cell.Column), strings.TrimSpace(cell.Text))
			r.beside(find.ColumnLetters(cell.Column), cell)
			continue
		}
		if c.group != 0 && c.group != r.group {
			continue
		}
		r.e.Size += int(c.cost)
		r.cell(c, cell)
	}
	r.joinParts()
	r.v.Own = r.f.ID != ""
	for _, field := range r.v.Join(r.f, r.headingOf) {
		r.sayKept(field)
	}
	if !r.v.Own {
		r.fromAround()
		r.supply()
	}
	if len(r.f.Notified) > 0 { // it says something, and not all of it
		delete(r.f.Absent, "/notified")
	}
	r.e.Find = r.f
	defer func() { r.keep(find.UnseenColumn, r.e.Origin.Unseen) }()
	if r.t.plan.sheet.Hidden {
		r.e.Origin.Unseen = "in a hidden sheet"
	}
	if r.row.Hidden {
		r.e.Origin.Unseen = "hidden"
		r.e.Notices.Add(notice.New(rowHidden, "", "the row is hidden in the sheet; it was read all the same"))
	}
	if r.row.Struck || r.struck {
		r.e.Origin.Unseen = "struck through"
		r.e.Notices.Add(notice.New(rowStruck, "", "the row is struck through in the sheet; does it still count?"))
	}
	if r.row.Doubt != "" {
		r.e.Notices.Add(notice.New(rowDoubtful, "", r.row.Doubt))
	}
	return true
}

// cell takes one cell.
func (r *rowReader) cell(c *column, cell *grid.Cell) {
	r.struck = r.struck || cell.Struck && (c.Field == "number" || c.Field == "name")
	if cell.More != nil {
		r.beside(c.heading, cell)
	}
	for _, m := range r.w.marks {
		if m.column == c {
			r.keep(c.heading, m.text)
		}
	}
	switch cell.Kind {
	case grid.Error:
		r.sayCell(cellError, c, "the cell holds a failed formula; its text is kept under the heading")
		r.keep(c.keep(), cell.Text)
		r.noValue(c)
		return
	case grid.Empty:
		return
	}
	text := cellText(*cell)
	if text == "" {
		return
	}
	if c.Field == "" {
		r.keep(c.keep(), strings.TrimSpace(cell.Text))
		return
	}
	if r.t.plan.own || c.Taken == heading.TakenKey {
		r.set(c, cell, text)
		return
	}
	r.foreign(c, cell, text)
}

// foreign takes a cell that a person wrote: what says that nothing is known keeps its word.
func (r *rowReader) foreign(c *column, cell *grid.Cell, text string) {
	word := r.t.explained(c, text)
	if cell.Kind == grid.Text && word == "" && len(text) <= 40 && c.asked() && !strings.ContainsAny(text, "0123456789") &&
		c.saysNothing(text) {
		if strings.Trim(text, " -–—.") != "" || namesNothing(c.Field) {
			r.keep(c.heading, text)
		}
		if namesNothing(c.Field) {
			if reason, ok := vocabulary.Absent(text); ok {
				r.lacks(c.Field, reason)
			}
			return
		}
	}
	if reason, ok := r.t.absentByKey(c, text); ok {
		r.keep(c.heading, text)
		r.without(c, reason)
		return
	}
	if word != "" {
		r.keep(c.heading, text)
		text = word
	} else if c.list != nil && namesOne(c.Field) && c.list.odd(text) {
		r.sayCell(cellUnreadable, c, fmt.Sprintf("%q is not in %s, where the others of this column are", text, c.list.where))
		r.e.Notices[len(r.e.Notices)-1].Help = "Write the code that was meant, or add this one to the list."
	}
	if cell.Kind == grid.Text && c.dittoed() {
		switch is, clashes := heading.Clashes(text, r.t.names()); {
		case clashes && is == "absent":
			r.keep(c.heading, text)
			r.without(c, "not-applicable")
			return
		case clashes && is == "":
			r.sayCell(cellUnreadable, c,
				fmt.Sprintf("%s is the line above in one language and nothing in another; it is kept under the heading", text))
			r.keep(c.heading, text)
			return
		}
	}
	text = r.ofThing(c, text)
	switch {
	case c.Field == "name" && r.thing != nil:
		r.keep(c.heading, text)
		if text = r.thing.name; len(r.things) > 1 && r.thing == &r.things[0] {
			r.sayCell(cellSeveral, c, fmt.Sprintf("there are %d things in this cell, and each is read as a find", len(r.things)))
		}
		r.f.Notes = strings.TrimPrefix(r.f.Notes+"; "+r.thing.rest, "; ")
		if r.f.Notes = strings.TrimSuffix(r.f.Notes, "; "); r.t.numbered {
			r.f.Number = r.thing.number
		}
	case c.Field == "name" && severalThings(text):
		r.sayCell(cellSeveral, c, "there is more than one thing in this cell, and it is read as one find")
	}
	if c.Field == "name" && r.f.Depth == nil && namesDepthToo(c.heading) && !strings.Contains(text, ";") {
		words, depth := intake.SplitWords(text)
		if depth != "" {
			r.keep(c.heading, text)
			text, r.f.Depth = words, &find.Depth{Quantity: find.Quantity{Verbatim: depth}}
		}
	}
	r.set(c, cell, text)
}

// namesNothing reports whether a field of a cell that says that nothing is known stays empty: it would name a person, a
// picture or one more thing of a list.
func namesNothing(field string) bool {
	switch field {
	case "finder", "permission", heading.DepthFrom, heading.DepthTo, heading.DatingFrom, heading.DatingTo, heading.Size:
		return true
	}
	return isPerson(field) || slices.ContainsFunc([]string{"media.", "notified.", "condition.missing.", "owners.",
		"custody."},
		func(list string) bool { return strings.HasPrefix(field, list) })
}

// lacks notes why a find names no person, no permission, or nothing of a list.
func (r *rowReader) lacks(field, reason string) {
	list, _, _ := strings.Cut(field, ".1")
	switch list {
	case "finder", "permission", "keeper", "notified", "condition.missing", "owners", "custody":
		if r.f.Absent == nil {
			r.f.Absent = map[string]string{}
		}
		r.f.Absent[find.PointerOf(list)] = reason
	}
}

// asked reports whether a column may say that nothing is known; in free words that is no answer.
func (c *column) asked() bool {
	switch c.Field {
	case "name", "number", "notes", "description", "question", "storagePlace":
		return false
	}
	return true
}

// saysNothing reports whether a text says that nothing is known or there is none.
func saysNothing(text string) bool {
	_, absent := vocabulary.Absent(text)
	return absent || heading.RowWord("nothing", text) || strings.Trim(text, " ?-–—.") == ""
}

// saysNothing remembers the answers for the texts of a column.
func (c *column) saysNothing(text string) bool {
	says, known := c.absent[text]
	if known {
		return says
	}
	if says = saysNothing(text); len(c.absent) < mostNamed {
		if c.absent == nil {
			c.absent = map[string]bool{}
		}
		c.absent[strings.Clone(text)] = says
	}
	return says
}

// beside keeps what a cell has beside its value: comments, links, a formula without a result.
func (r *rowReader) beside(name string, cell *grid.Cell) {
	if cell.More == nil {
		return
	}
	for _, comment := range cell.More.Comments {
		r.keep(name+" (comment)", strings.TrimSpace(comment.Text))
	}
	for _, link := range cell.More.Links {
		if link != strings.TrimSpace(cell.Text) {
			r.keep(name+" (link)", link)
		}
	}
	for _, picture := range cell.More.Pictures {
		r.keep(name+" (picture)", picture)
	}
	if cell.More.Formula != "" && cell.Kind == grid.Empty {
		r.keep(name+" (formula)", "="+cell.More.Formula)
		if c := r.t.at(cell.Column); c != nil {
			r.sayCell(formulaUnworked, c, "the cell has a formula whose result was not saved, and which could not be worked "+
				"out here")
		}
	}
}

func (r *rowReader) keep(name, text string) {
	if text != "" {
		intake.Column(r.f, name, text)
	}
}

// noValue notes that a member has no value because its cell failed.
func (r *rowReader) noValue(c *column) { r.without(c, "not-known") }

// without notes why a member has no value.
func (r *rowReader) without(c *column, reason string) {
	if c.path == nil || c.Field == "name" || c.Field == "number" || c.Field == "id" || strings.Contains(c.Field, ".") {
		return
	}
	if r.f.Absent == nil {
		r.f.Absent = map[string]string{}
	}
	r.f.Absent[c.path.Pointer] = reason
}

// set puts the text of a cell where its column says.
func (r *rowReader) set(c *column, cell *grid.Cell, text string) {
	if words := r.words(c.Field); words != nil {
		*words = text
		return
	}
	f, v := r.f, &r.v
	switch c.Field {
	case "id":
		r.setID(c, text)
	case "found.date":
		r.setFound(cell, text)
	case heading.Easting:
		v.Easting, v.Axes[0] = text, c.axis
	case heading.Northing:
		v.Northing, v.Axes[1] = text, c.axis
	case "position.verbatim":
		r.setPosition(c, text)
	case "finder":
		r.setFinder(c, text)
	case "permission":
		f.Permission = r.d.references.Permission(text)
	case "outing":
		f.Outing = r.d.references.Outing(text)
	case heading.Consent:
		if _, known := heading.Answer(text); !known || f.Finder == "" && r.t.field("finder") != nil {
			r.keep(c.heading, text)
		}
	case heading.LandBasis, heading.LandFrom, heading.LandTo:
		if land := r.t.field("permission"); land == nil || c.said[find.FoldName(cellText(r.row.Cell(land.column)))] != text {
			r.keep(c.heading, text)
		}
	case heading.Size:
		r.setSize(c, text)
	case "found.time":
		r.setTime(c, text)
	case "position.referenceSystem":
		r.setSystem(c, text)
	case "media.1.file", "media.2.file", "media.3.file":
		r.setPictures(c, text)
	case "notes":
		if f.Notes != "" {
			text = f.Notes + "; " + text
		}
		f.Notes = text
	default:
		if c.tally {
			f.Name = c.heading
		}
		if isPerson(c.Field) {
			text = r.d.references.Person(text)
		}
		r.setMember(c, text)
	}
}

// words is where the text of a field waits as it stands until the whole row is read.
func (r *rowReader) words(field string) *string {
	switch field {
	case "found.verbatim":
		return &r.v.FoundVerbatim
	case "dating.date":
		return &r.v.Dating
	case "dating.verbatim":
		return &r.v.DatingVerbatim
	case "position.latitude":
		return &r.v.Latitude
	case "position.longitude":
		return &r.v.Longitude
	case heading.DepthFrom:
		return &r.depthFrom
	case heading.DepthTo:
		return &r.depthTo
	case heading.DatingFrom:
		return &r.datingFrom
	case heading.DatingTo:
		return &r.datingTo
	}
	return nil
}

func (r *rowReader) setMember(c *column, text string) {
	if c.path == nil { // an outing or a permission has it, which the row does not name
		r.keep(c.heading, text)
		return
	}
	if err := find.Set(c.path, r.f, text); err != nil {
		r.sayCell(cellUnreadable, c, fmt.Sprintf("the cell does not fit the field %s; its text is kept under the heading",
			c.Field))
		r.keep(c.heading, text)
		return
	}
	if c.Basis == "signal-guess" && !r.t.plan.own && c.Field == "otherDepths.1" && len(r.f.OtherDepths) > 0 {
		r.f.OtherDepths[0].Basis = &find.Term{Code: "signal-guess"}
	}
}

// setFound takes the day: a cell that holds a date says it without doubt, and what it shows are the words.
func (r *rowReader) setFound(cell *grid.Cell, text string) {
	shown, completed := strings.TrimSpace(cell.Text), ""
	if (cell.Kind == grid.Text || r.t.byMonth) && r.t.month == nil {
		var other bool
		if completed, other = r.w.withYear(text); other && r.w.weekdaysFit(r.t.at(cell.Column)) {
			r.sayCell(weekdayOther, r.t.at(cell.Column), "in "+completed[:4]+" that was another day of the week")
		}
	}
	switch {
	case r.t.month != nil:
		r.v.FoundVerbatim = strings.Join([]string{text, cellText(r.row.Cell(r.t.month.column)),
			cellText(r.row.Cell(r.t.year.column))}, ".")
		if day, err := edtf.NormaliseFound(r.v.FoundVerbatim, edtf.Options{Order: edtf.DayMonthYear}); err == nil {
			r.v.Found = day.Date.String()
		}
	case cell.Kind == grid.Date && shown != cell.Value && !r.t.plan.own:
		r.v.Found, r.v.FoundVerbatim = cell.Value, shown
	case cell.Kind == grid.Number && cell.More != nil && cell.More.Formula != "" && r.t.plan.sheet.Day(*cell) != "":
		r.v.Found = r.t.plan.sheet.Day(*cell) // worked out of another day, and without the format of one
	case completed != "":
		r.v.Found, r.v.FoundVerbatim = completed, text
	case cell.Kind == grid.Text && isMonthAndDay(text) && r.t.at(cell.Column).yearless():
		r.v.FoundVerbatim = text
	case cell.Kind == grid.Text && isMonthAndDay(text):
		r.v.Found, _ = r.w.monthOrDay(text)
		r.v.FoundVerbatim = text
	default:
		if r.v.Found = text; cell.Kind == grid.Text || cell.Kind == grid.Number {
			if day := r.t.dayOfHabit(r.t.at(cell.Column), text); day != "" {
				r.v.Found, r.v.FoundVerbatim = day, text
			}
		}
	}
}

// joinParts makes one text of two columns: from and to.
func (r *rowReader) joinParts() {
	if text := r.span(heading.DepthFrom, r.depthFrom, heading.DepthTo, r.depthTo, "+", "≤ "); text != "" {
		if r.f.Depth == nil {
			r.f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: text}}
		} else {
			r.keep("depth.from", text)
		}
	}
	if text := r.span(heading.DatingFrom, r.datingFrom, heading.DatingTo, r.datingTo, "from ", "until "); text != "" {
		if period := r.v.DatingVerbatim; period != "" {
			if d, err := edtf.NormaliseDating(period, edtf.Options{}); err == nil && d.Period != "" && d.Date.String() == "" {
				text = period + ", " + text
			} else {
				if h := r.headingOf("dating.verbatim"); r.f.Columns[h] == "" {
					r.keep(h, period)
				} // not known, a date of its own, or not read: the years count
			}
		}
		r.v.DatingVerbatim = text
	}
	if !r.t.plan.own && r.f.Depth == nil && len(r.f.OtherDepths) > 0 && !r.t.perhapsDepth() {
		// The depth is given whenever any is known.
		d := r.f.OtherDepths[0]
		if c := r.t.field("otherDepths.1"); c != nil { // its unit, and not that of the column of depths
			d.Said = cmp.Or(d.Said, c.Hints.Unit)
		}
		r.f.Depth, r.f.OtherDepths = &d, r.f.OtherDepths[1:]
		if len(r.f.OtherDepths) == 0 {
			r.f.OtherDepths = nil
		}
	}
}

// span makes one text of two cells, from and to. One of them alone leaves the other end open where the table has a
// column for that: nobody knows that the two are the same.
func (r *rowReader) span(low, from, high, to, open, until string) string {
	from, to = beforeChrist(from, to)
	switch both := r.t.field(low) != nil && r.t.field(high) != nil; {
	case from == "" && !both && high == heading.DepthTo && to != "":
		return until + to // the greatest that it can have been
	case from == to, from == "" && !both:
		return to
	case to == "" && !both:
		return from
	case from == "":
		r.keep(r.headingOf(high), to)
		return until + to
	case to == "" && strings.HasSuffix(open, " "):
		r.keep(r.headingOf(low), from)
		return open + from
	case to == "":
		r.keep(r.headingOf(low), from)
		return from + open
	}
	return from + "-" + to
}

// beforeChrist writes years with a minus sign as people say them.
func beforeChrist(from, to string) (string, string) {
	year := func(s string) string {
		if n := strings.TrimLeft(s, "-−"); n != s && n != "" && len(n) < 5 && strings.Trim(n, "0123456789") == "" {
			return n + " BC"
		}
		return s
	}
	a, b := year(from), year(to)
	if a != from && b == to && b != "" {
		b = "AD " + b
	}
	return a, b
}

// fromAround takes what a heading between the finds, or the name of the sheet, says of all below it.
func (r *rowReader) fromAround() {
	s := &r.w.section
	if f := r.f.Found; s.found != "" && (f == nil || f.Verbatim == "" && f.Date == "") {
		if f == nil {
			f = new(find.Found)
		}
		f.Verbatim, r.f.Found = s.found, f
		order := pointedOrder(s.found, r.t.order)
		if day, err := r.t.foundDay(s.found, edtf.Options{Order: order, Pivot: r.w.pivot()}); err == nil &&
			(s.words != "" || order != r.t.order || romanDay(s.found) != nil) {
			f.Date, f.Verbatim = day.Date.String(), cmp.Or(s.words, s.found)
		}
	}
	if r.f.Finder == "" && r.w.finder != "" {
		r.f.Finder = r.d.references.Person(r.w.finder)
	}
	if r.f.Permission != "" || r.t.field("permission") != nil && s.place == "" {
		return
	}
	if place := cmp.Or(r.t.lands[r.group], s.place, r.w.titled, r.t.plan.place); place != "" {
		r.f.Permission = r.d.references.Permission(place)
	}
}

// setID takes an id, also one without its urn:uuid:. What else stands under that heading is the number of
// somebody's own log, unless another column has the numbers.
func (r *rowReader) setID(c *column, text string) {
	if strings.HasPrefix(text, "urn:") {
		r.f.ID = text
		return
	}
	urn := "urn:uuid:" + strings.ToLower(text)
	switch {
	case find.IsURN(urn):
		r.f.ID = urn
	case r.t.field("number") == nil:
		r.f.Number = text
	default:
		r.keep(c.heading, text)
	}
}

// headingOf returns the heading of the column that feeds a field.
func (r *rowReader) headingOf(field string) string {
	if c := r.t.field(field); c != nil {
		return c.heading
	}
	return field
}

// sayKept says that a cell of a position stands beside other words for it and was kept under its heading.
func (r *rowReader) sayKept(field string) {
	if c := r.t.field(field); c != nil {
		r.sayCell(cellBeside, c, "another column has the words of the position; this text is kept under its heading")
	}
}

func (r *rowReader) sayCell(k *notice.Kind, c *column, message string) {
	n := notice.New(k, "", message)
	n.Column, n.Heading = c.column, c.heading
	n.Pointer = r.t.pointersOf(c)[0]
	r.e.Notices.Add(n)
}
