package spreadsheet

import (
	"cmp"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// DecodeXLSX reads a workbook. It goes over the sheet of finds more than once: to find the
// headings, to see what a whole column proves, and to read the rows.
func DecodeXLSX(r io.ReaderAt, size int64, o Options) (*find.Stream, error) {
	src, list, err := open(r, size, o)
	if err != nil {
		return nil, err
	}
	return decode(src, list, o, "xlsx")
}

// DecodeCSV reads a text table, separated by commas, semicolons, tabs or bars.
func DecodeCSV(r io.ReadSeeker, o Options) (*find.Stream, error) {
	src, list, err := openTable(r, o)
	if err != nil {
		return nil, err
	}
	return decode(src, list, o, "csv")
}

func decode(src *source, list notice.List, o Options, format string) (*find.Stream, error) {
	d := &decoder{src: src, o: o, report: &find.Report{Findslip: find.Version}}
	if err := d.locate(); err != nil {
		return nil, err
	}
	beside, more, err := src.header(d.report)
	if err != nil {
		return nil, err
	}
	list.Add(more...)
	d.references = beside.settle()
	if err := d.survey(); err != nil {
		return nil, err
	}
	if o.Map != nil && d.report.ID == "" {
		d.report.ID = o.Map.ReportID
	}
	if d.report.Findslip == "" {
		d.report.Findslip = find.Version
	}
	list.Add(d.notices...)
	list.Add(src.layoutNotices(d.headingRow)...)
	for i := range list {
		list[i].File = o.File
	}
	s := &find.Stream{Report: d.report, File: o.File, Format: format, Notices: list, Origins: beside.origins}
	s.SetEntries(d.entries)
	return s, nil
}

// decoder reads one sheet of finds.
type decoder struct {
	src        *source
	o          Options
	report     *find.Report
	notices    notice.List
	references *intake.References

	headingRow int
	unitsRow   int // number of a row of units below the headings, 0 if none
	columns    []*column
	byNumber   []*column // by the number of the column, nil for those without a heading
	order      edtf.Order
	layout     *find.Layout
	numberAt   int // column of the number, 0 if none
	audienceAt int // column that says for whom a copy is, 0 if none
	changedAt  int // column that says when a copy was made, 0 if none
	idAt       int // column of the id, 0 if none
	hasFound   bool
	hasDating  bool
	hasPlace   bool // a column feeds position.verbatim
}

// column is one column and what it feeds.
type column struct {
	heading.Meaning
	column  int
	heading string
	folded  string // the heading, to be compared with
	path    *find.Path
	cost    int64           // of a cell that can make a list
	named   map[string]bool // texts that are in the lists of the report already, as long as there are few
}

// at returns the column with a number, nil for one without a heading.
func (d *decoder) at(number int) *column {
	if number < len(d.byNumber) {
		return d.byNumber[number]
	}
	return nil
}

const searchRows = 30 // rows in which the headings are looked for

// locate finds the row of headings: the one of the first rows with the most that are understood.
func (d *decoder) locate() error {
	if m := d.o.Map; m != nil && m.Row > 0 {
		return d.locateAt(m.Row)
	}
	best, bestAt := 0, -1
	var seen []string
	var rows []grid.Row // one more than is searched: it may be the lower of two rows of headings
	filled := 0
	for row, err := range d.src.rows() {
		if err != nil {
			return err
		}
		row.Cells = slices.Clone(row.Cells)
		rows = append(rows, row)
		if len(rows) > searchRows {
			break
		}
		score, words := 0, 0
		for _, c := range row.Cells {
			if strings.TrimSpace(c.Text) != "" {
				filled++
			}
			if c.Kind != grid.Text || strings.TrimSpace(c.Text) == "" {
				continue
			}
			words++
			if heading.IsField(c.Text) {
				score++
			}
		}
		if words > 1 && len(seen) == 0 {
			for _, c := range row.Cells {
				if len(seen) < 8 && c.Kind == grid.Text {
					seen = append(seen, fmt.Sprintf("%q", clip(c.Text)))
				}
			}
		}
		if score > best && score*3 >= words {
			best, bestAt = score, len(rows)-1
		}
	}
	if filled == 0 {
		return fmt.Errorf("there is nothing in it: no row has any text")
	}
	if best < 2 && (d.o.Map == nil || len(d.o.Map.Columns) == 0) {
		if len(seen) == 0 {
			seen = []string{"only one cell in each of them, or none"}
		}
		return fmt.Errorf("no row of headings is understood within the first %d rows; found %s; at least two headings such as Number, Find, Depth or Date are needed, or a column map (findslip columns)",
			searchRows, strings.Join(seen, ", "))
	}
	if bestAt < 0 {
		d.setColumns(nil)
		return nil
	}
	d.setColumns(d.headingsAt(rows, bestAt))
	return nil
}

// clip shortens a heading for a message.
func clip(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "..."
	}
	return s
}

// locateAt takes the row that a column map names.
func (d *decoder) locateAt(number int) error {
	var above grid.Row
	for row, err := range d.src.rows() {
		if err != nil {
			return err
		}
		if row.Number == number {
			d.headingRow = number
			cells := slices.Clone(row.Cells)
			if joined, ok := twoRows(above, row); ok {
				cells = joined
				d.joined()
			}
			d.setColumns(cells)
			return nil
		}
		above = grid.Row{Number: row.Number, Cells: slices.Clone(row.Cells)}
		if row.Number > number {
			break
		}
	}
	return fmt.Errorf("row %d, which the column map names as the row of headings, is empty", number)
}

// setColumns settles what each column is.
func (d *decoder) setColumns(cells []grid.Cell) {
	d.byNumber = nil
	claimed := map[string]*column{}
	for _, cell := range cells {
		text := strings.TrimSpace(cell.Text)
		if text == "" || d.isCopyColumn(cell) {
			continue
		}
		c := &column{Meaning: heading.Understand(text), column: cell.Column, heading: text, folded: heading.Fold(text)}
		d.mapped(c)
		if c.Field != "" {
			d.claim(c, claimed)
		} else if c.Keep == "" {
			d.unknown(c)
		}
		d.columns = append(d.columns, c)
		for len(d.byNumber) <= c.column {
			d.byNumber = append(d.byNumber, nil)
		}
		d.byNumber[c.column] = c
	}
	d.nameless(claimed)
	for _, c := range d.columns {
		switch c.Field {
		case "number":
			d.numberAt = c.column
		case "id":
			d.idAt = c.column
		case "found.verbatim":
			d.hasFound = true
		case "dating.verbatim":
			d.hasDating = true
		case "position.verbatim":
			d.hasPlace = true
		}
	}
}

// mapped lets a column map win over the heading.
func (d *decoder) mapped(c *column) {
	if d.o.Map == nil {
		return
	}
	letters := find.ColumnLetters(c.column)
	for _, m := range d.o.Map.Columns {
		if m.Column != letters || m.Heading != "" && heading.Fold(m.Heading) != heading.Fold(c.heading) {
			continue
		}
		if m.Field != c.Field {
			c.Taken = heading.TakenMap
		}
		c.Field, c.Keep = m.Field, ""
		if m.Unit != "" {
			c.Hints.Unit = m.Unit
		}
		if m.Order != "" {
			c.Hints.Order = m.Order
		}
		if m.System != "" {
			c.Hints.System = m.System
		}
	}
}

// claim gives a field to the first column that asks for it.
func (d *decoder) claim(c *column, claimed map[string]*column) {
	if first := claimed[c.Field]; first != nil {
		d.say(headingClaimed, c, fmt.Sprintf("this column and column %s are both taken for %q; this one is kept under its heading",
			find.ColumnLetters(first.column), cmp.Or(heading.Label(c.Field, "en"), c.Field)))
		c.Field, c.Taken = "", heading.TakenNone
		return
	}
	claimed[c.Field] = c
	if c.Field != "position.easting" && c.Field != "position.northing" {
		c.path, _ = find.PathTo[find.Find](c.Field)
	}
}

func (d *decoder) unknown(c *column) {
	message := "the column is not understood; its text is kept under its heading"
	if near := heading.Nearest(c.heading); near != "" {
		message += fmt.Sprintf("; did you mean %q?", near)
	}
	d.say(headingUnknown, c, message)
}

func (d *decoder) say(k *notice.Kind, c *column, message string) {
	n := notice.New(k, "", message)
	n.Sheet, n.Row, n.Column, n.Heading = d.src.name(), d.headingRow, c.column, c.heading
	n.Cell = grid.Cell{Column: c.column}.Ref(d.headingRow)
	d.notices.Add(n)
}

// survey looks at whole columns: the order of dates, the people and permissions named.
func (d *decoder) survey() error {
	if d.report == nil {
		d.report = new(find.Report)
		d.references = intake.NewReferences(d.report)
	}
	if d.headingRow == 0 {
		return fmt.Errorf("no row of headings is known")
	}
	var dates []*column
	for _, c := range d.columns {
		if c.Field == "found.date" || c.Field == "found.verbatim" {
			dates = append(dates, c)
		}
	}
	var failed error
	samples := func(yield func(string) bool) {
		on := true
		for row, err := range d.src.rows() {
			if err != nil {
				failed = err
				return
			}
			if d.isUnitsRow(row) {
				continue
			}
			if !d.isFind(row) {
				continue
			}
			d.collect(row)
			d.copyOf(row)
			for _, c := range dates {
				if cell := row.Cell(c.column); on && cell.Kind == grid.Text {
					on = yield(cell.Text)
				}
			}
		}
	}
	order, evidence := edtf.ProveOrder(iter.Seq[string](samples))
	if failed != nil {
		return failed
	}
	d.order = order
	if evidence.Contradictory && len(dates) > 0 {
		d.say(orderContradicts, dates[0], fmt.Sprintf("%d dates have the day first and %d the month", evidence.DayMonthYear.Count, evidence.MonthDayYear.Count))
	}
	d.makeLayout()
	return nil
}

// collect makes people, permissions and outings of the names in a row.
func (d *decoder) collect(row grid.Row) {
	for _, cell := range row.Cells {
		c := d.at(cell.Column)
		if c == nil || c.Field != "finder" && c.Field != "permission" && c.Field != "outing" {
			continue
		}
		text := cellText(cell)
		if text == "" || c.named[text] {
			continue
		}
		switch c.Field {
		case "finder":
			d.references.AddPerson(text)
		case "permission":
			d.references.AddPermission(text)
		case "outing":
			d.references.AddOuting(text)
		}
		if c.named == nil {
			c.named = map[string]bool{}
		}
		if len(c.named) < mostNamed && len(text) <= longestNamed {
			c.named[strings.Clone(text)] = true
		}
	}
}

// mostNamed bounds how many texts of a column are remembered, and longestNamed how long they are.
const (
	mostNamed    = 1000
	longestNamed = 200
)

// isUnitsRow recognises a row of units below the headings and takes their units over.
func (d *decoder) isUnitsRow(row grid.Row) bool {
	if d.unitsRow > 0 {
		return row.Number == d.unitsRow
	}
	if row.Number != d.headingRow+1 || len(row.Cells) == 0 {
		return false
	}
	for _, c := range row.Cells {
		if c.Kind != grid.Text || !isUnitWord(c.Text) {
			return false
		}
	}
	d.unitsRow = row.Number
	for _, c := range row.Cells {
		if col := d.at(c.Column); col != nil {
			if u, ok := quantity.UnitOfHeading("x (" + strings.Trim(c.Text, "()[] ") + ")"); ok && col.Hints.Unit == "" {
				col.Hints.Unit = u.String()
			}
			if o, ok := edtf.OrderOfHeading("date (" + strings.Trim(c.Text, "()[] ") + ")"); ok && col.Hints.Order == "" {
				col.Hints.Order = o.String()
			}
		}
	}
	n := notice.New(unitsRow, "", "the row below the headings is taken for units")
	n.Sheet, n.Row = d.src.name(), row.Number
	d.notices.Add(n)
	return true
}

func isUnitWord(s string) bool {
	s = strings.Trim(s, "()[] ")
	if s == "" || s == "-" {
		return true
	}
	if _, ok := quantity.UnitOfHeading("x (" + s + ")"); ok {
		return true
	}
	_, ok := edtf.OrderOfHeading("date (" + s + ")")
	return ok
}

// isFind tells a row of finds from what stands above them, repeats of the headings, and the
// example of our own template.
func (d *decoder) isFind(row grid.Row) bool {
	if row.Number <= d.headingRow || row.Number == d.unitsRow {
		return false
	}
	if d.idAt > 0 && find.IsURN(row.Cell(d.idAt).Text) {
		return true // whatever else it says: a program wrote it
	}
	if d.numberAt > 0 && isExample(row.Cell(d.numberAt).Text) {
		return false
	}
	same, filled := 0, 0
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			continue
		}
		filled++
		if col := d.at(c.Column); col != nil && col.isHeading(text) {
			same++
		}
	}
	return filled > 0 && (same < 2 || same*2 < filled)
}

// isHeading tells whether a cell repeats the heading of its column. Most cells differ in their
// first letters, so that nothing has to be folded.
func (c *column) isHeading(text string) bool {
	if first := text[0]; first < utf8.RuneSelf && c.heading[0] < utf8.RuneSelf && (first|0x20) != (c.heading[0]|0x20) {
		return false
	}
	// Letters and figures of ASCII at the start of a text stay in their places when it is folded.
	for i := 0; ; i++ {
		switch {
		case i == len(text):
			return i == len(c.folded)
		case text[i] == ' ' && i > 0 && i+1 < len(text) && isPlain(text[i+1]):
			if i == len(c.folded) || c.folded[i] != ' ' { // one blank between such letters stays one
				return false
			}
		case !isPlain(text[i]), i+1 < len(text) && text[i+1] >= utf8.RuneSelf:
			return c.folded == heading.Fold(text)
		case i == len(c.folded) || lower(text[i]) != c.folded[i]:
			return false
		}
	}
}

func isPlain(c byte) bool { return lower(c)-'a' < 26 || c-'0' < 10 }

// lower brings a letter of ASCII to lower case.
func lower(c byte) byte {
	if c-'A' < 26 {
		return c | 0x20
	}
	return c
}

func isExample(number string) bool {
	if number == "" || number[0]-'0' < 10 {
		return false // folded, it begins with a figure
	}
	switch find.FoldName(number) {
	case "example", "beispiel", "voorbeeld", "eksempel", "exemple", "exempel":
		return true
	}
	return false
}

// makeLayout says where each field stands.
func (d *decoder) makeLayout() {
	d.layout = &find.Layout{Sheet: d.src.name(), Epoch: d.src.epoch(), Hints: find.Hints{Order: d.order.String()}}
	if m := d.o.Map; m != nil {
		d.layout.Hints.Unit, d.layout.Hints.Pivot, d.layout.Hints.System = m.Unit, m.Pivot, m.System
		if m.DateOrder != "" {
			d.layout.Hints.Order = m.DateOrder
		}
	}
	for _, c := range d.columns {
		d.layout.Columns = append(d.layout.Columns, find.LayoutColumn{Column: c.column, Heading: c.heading, Pointers: d.pointersOf(c), Hints: c.Hints})
	}
	if h := d.hintsOfPosition(); h != "" {
		d.layout.Hints.System = h
	}
}

// pointersOf returns the pointers that a column feeds, with the number where ids stand for it.
func (d *decoder) pointersOf(c *column) []string {
	if c.Field == "id" && d.numberAt == 0 {
		return []string{"/id", "/number"}
	}
	return pointersOf(c)
}

// hintsOfPosition returns the system that any column of the position names.
func (d *decoder) hintsOfPosition() string {
	for _, c := range d.columns {
		if strings.HasPrefix(c.Field, "position.") && c.Hints.System != "" {
			return c.Hints.System
		}
	}
	return ""
}

// pointersOf returns the pointers that a column feeds.
func pointersOf(c *column) []string {
	if c.Field != "" {
		return intake.PointersOf(c.Field)
	}
	name := c.Keep
	if name == "" {
		name = c.heading
	}
	return []string{"/columns/" + notice.Escape(name)}
}
