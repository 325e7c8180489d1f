package spreadsheet

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// ColumnMap is the reading plan of a file: which tables it has, where their headings stand, what each column
// is taken for and how that is known. findslip columns writes one; edited and given back, it wins over the
// headings. It also keeps the id of the report, so that the same log always gives the same ids.
type ColumnMap struct {
	Version   string      `json:"columnMap"` // "1.0"
	ReportID  string      `json:"reportId,omitzero"`
	Unit      string      `json:"unit,omitzero"`      // of lengths and weights that state none
	DateOrder string      `json:"dateOrder,omitzero"` // dmy, mdy or ymd
	Pivot     int         `json:"pivot,omitzero"`
	System    string      `json:"system,omitzero"` // of bare eastings and northings
	Tables    []MapTable  `json:"tables,omitzero"`
	Beside    []string    `json:"sheetsBeside,omitzero"` // sheets that hold no finds; not read back
	Sheet     string      `json:"sheet,omitzero"`        // with Row and Columns: the short form, of one table
	Row       int         `json:"headingRow,omitzero"`   // from 1
	Columns   []MapColumn `json:"columns,omitzero"`
}

// MapTable is one table of the plan. What is read back are its place, what it is read as, the field it is of,
// and its columns; the rest says what was found.
type MapTable struct {
	Sheet     string      `json:"sheet,omitzero"`
	Row       int         `json:"headingRow,omitzero"` // the last row of the headings, from 1; missing: it has none
	Read      string      `json:"read"`                // finds or notes
	Place     string      `json:"place,omitzero"`      // the field that all its finds are of, by the name of the sheet
	Year      int         `json:"year,omitzero"`       // of days that are written without one, by the name of the sheet
	DateOrder string      `json:"dateOrder,omitzero"`
	Language  string      `json:"language,omitzero"` // of the headings
	Columns   []MapColumn `json:"columns"`
	Finds     int         `json:"rowsOfFinds,omitzero"`
	InRow     int         `json:"findsInRow,omitzero"`
	OnSide    bool        `json:"onItsSide,omitzero"`
	Headings  []int       `json:"rowsOfHeadings,omitzero"`
	Units     int         `json:"rowOfUnits,omitzero"`
	Sections  []int       `json:"rowsOfSections,omitzero"`
	Totals    []int       `json:"rowsOfTotals,omitzero"`
	Notes     []int       `json:"rowsOfNotes,omitzero"`
}

// MapColumn is one column of a map. Field is a flat name, or one of the names of pkg/heading for what makes a
// member together with others; empty: the text is kept under its heading.
type MapColumn struct {
	Column  string   `json:"column"` // letters: A, B, ...
	Heading string   `json:"heading,omitzero"`
	Field   string   `json:"field"`
	Unit    string   `json:"unit,omitzero"`
	Order   string   `json:"dateOrder,omitzero"`
	System  string   `json:"system,omitzero"`
	Taken   string   `json:"taken,omitzero"`        // how it was understood: key, heading, axis, content, map, stead, none
	Sure    string   `json:"sure,omitzero"`         // certain, likely, or only you know
	Dittos  int      `json:"dittos,omitzero"`       // marks for the line above
	Blanks  bool     `json:"blankIsAbove,omitzero"` // a blank is the line above
	Find    int      `json:"findInRow,omitzero"`    // which find of the row it is about
	Samples []string `json:"samples,omitzero"`
	Nearest string   `json:"nearest,omitzero"` // a known heading that looks like it
}

// mapOf returns what a map says of a table of a sheet, by its number from 0; nil for nothing.
func mapOf(o Options, sheet string, number int) *MapTable {
	m := o.Map
	if m == nil {
		return nil
	}
	for i, n := 0, 0; i < len(m.Tables); i++ {
		if m.Tables[i].Sheet == sheet || m.Tables[i].Sheet == "" {
			if n == number {
				return &m.Tables[i]
			}
			n++
		}
	}
	if number > 0 {
		return nil
	}
	if len(m.Columns) == 0 && m.Row == 0 || m.Sheet != "" && sheet != "" &&
		find.FoldName(m.Sheet) != find.FoldName(sheet) {
		return nil
	}
	return &MapTable{Sheet: sheet, Row: m.Row, DateOrder: m.DateOrder, Columns: m.Columns}
}

const mapVersion = "1.0"

// ReadMap reads a column map and proves it. Of the limits Side is looked at.
func ReadMap(r io.Reader, limits limit.Limits) (*ColumnMap, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, err
	}
	m := new(ColumnMap)
	if err := aside.Read(raw, m); err != nil {
		return nil, fmt.Errorf("this is not a column map: %w", err)
	}
	if m.Version != mapVersion {
		return nil, fmt.Errorf("columnMap is %q, not %q: this is not a column map of a known version", m.Version, mapVersion)
	}
	if m.ReportID != "" && !find.IsURN(m.ReportID) {
		return nil, fmt.Errorf("reportId is not a UUID URN in lower case")
	}
	return m, m.check()
}

// check proves what a map says of tables and columns.
func (m *ColumnMap) check() error {
	if err := checkHints(m.Unit, m.DateOrder, m.System); err != nil {
		return err
	}
	if err := checkColumns("columns", m.Columns); err != nil {
		return err
	}
	for i, t := range m.Tables {
		if t.Read != "finds" && t.Read != "notes" && t.Read != "" {
			return fmt.Errorf("tables[%d]: read is %q, not finds or notes", i, t.Read)
		}
		if err := checkColumns(fmt.Sprintf("tables[%d].columns", i), t.Columns); err != nil {
			return err
		}
	}
	return nil
}

func checkColumns(name string, columns []MapColumn) error {
	for i, c := range columns {
		if c.Field != "" && !heading.IsPart(c.Field) {
			if _, err := find.PathTo[find.Find](c.Field); err != nil {
				return fmt.Errorf("%s[%d]: %w", name, i, err)
			}
		}
		if err := checkHints(c.Unit, c.Order, c.System); err != nil {
			return fmt.Errorf("%s[%d]: %w", name, i, err)
		}
	}
	return nil
}

func checkHints(unit, order, system string) error {
	if unit != "" {
		if _, err := quantity.ParseUnit(unit); err != nil {
			return fmt.Errorf("unit %q is not one of mm, cm, m, in, ft, yd, mg, g, kg, gr, oz, ozt, dwt, lb", unit)
		}
	}
	if _, err := edtf.ParseOrder(order); err != nil {
		return fmt.Errorf("dateOrder %q is not dmy, mdy or ymd", order)
	}
	if system != "" {
		if _, ok := coordinate.SystemByCode(system); !ok {
			return fmt.Errorf("system %q is not known", system)
		}
	}
	return nil
}

// WriteMap writes a column map.
func WriteMap(w io.Writer, m *ColumnMap) error {
	out := *m
	out.Version = mapVersion
	b, err := json.Marshal(out, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ColumnsXLSX makes the reading plan of a workbook.
func ColumnsXLSX(r io.ReaderAt, size int64, o Options) (*ColumnMap, notice.List, error) {
	book, err := open(r, size, o)
	if err != nil {
		return nil, nil, err
	}
	return columns(book, o)
}

// ColumnsCSV makes the reading plan of a text table.
func ColumnsCSV(r io.ReadSeeker, o Options) (*ColumnMap, notice.List, error) {
	book, err := openTable(r, o)
	if err != nil {
		return nil, nil, err
	}
	return columns(book, o)
}

func columns(book *grid.Book, o Options) (*ColumnMap, notice.List, error) {
	d := &decoder{book: book, o: o, report: new(find.Report)}
	if err := d.plan(); err != nil {
		return nil, nil, err
	}
	beside, err := d.header()
	if err != nil {
		return nil, nil, err
	}
	d.references = beside.settle()
	if err := d.survey(); err != nil {
		return nil, nil, err
	}
	for i := range d.notices {
		d.notices[i].File = o.File
	}
	m := &ColumnMap{Version: mapVersion, Pivot: o.Pivot}
	if o.Map != nil {
		m.ReportID, m.Unit, m.System, m.DateOrder = o.Map.ReportID, o.Map.Unit, o.Map.System, o.Map.DateOrder
	}
	for _, p := range d.sheets {
		for _, t := range p.tables {
			m.Tables = append(m.Tables, d.mapTable(t))
		}
	}
	for _, s := range book.Sheets {
		if s.Name != "" && !slices.ContainsFunc(d.sheets, func(p *sheetPlan) bool { return p.sheet == s }) {
			m.Beside = append(m.Beside, s.Name)
		}
	}
	return m, d.notices, nil
}

func (d *decoder) mapTable(t *tablePlan) MapTable {
	out := MapTable{Sheet: t.plan.sheet.Name, Row: t.headingRow(), Read: "notes", Place: t.plan.place, Year: t.plan.year,
		DateOrder: t.order.String(), Language: t.language,
		OnSide: t.plan.onSide, Units: t.units, Sections: t.sections, Totals: t.totals, Notes: t.notes}
	if len(t.headings) > 1 {
		out.Headings = t.headings
	}
	if t.finds {
		out.Read = "finds"
		if count := d.reading[t]; count != nil {
			out.Finds = count.kinds[rowFind]
		}
	}
	if t.groups > 1 {
		out.InRow = t.groups
	}
	for _, c := range t.columns {
		field := c.Field
		if field == "id" && !t.plan.own && t.field("number") != nil && !slices.ContainsFunc(c.samples, isID) {
			field = "" // kept beside the numbers
		}
		mc := MapColumn{Column: find.ColumnLetters(c.column), Heading: c.heading, Field: field, Unit: c.Hints.Unit,
			Order: c.Hints.Order, System: c.Hints.System,
			Taken: c.Taken, Sure: c.sure(), Dittos: c.dittos, Blanks: t.fills[c.column], Find: c.group}
		for _, s := range c.samples {
			if len(mc.Samples) < 3 && !slices.Contains(mc.Samples, s) && !isDitto(s) {
				mc.Samples = append(mc.Samples, clip(s))
			}
		}
		if c.Field == "" && c.Keep == "" && !c.known {
			mc.Nearest = heading.Nearest(c.heading)
		}
		out.Columns = append(out.Columns, mc)
	}
	return out
}

// isID reports whether a text is an id of this format, with its urn:uuid: or without.
func isID(text string) bool {
	return find.IsURN("urn:uuid:" + strings.TrimPrefix(strings.ToLower(text), "urn:uuid:"))
}

// sure says how sure it is what a column is.
func (c *column) sure() string {
	switch fits := c.content.Fits(c.Field); {
	case c.mapped, c.Taken == heading.TakenKey:
		return "certain"
	case c.Field == "" && c.known && c.rivals == 0 && c.unread() == "" && c.Taken == heading.TakenNone &&
		len(c.meanings()) == 0:
		return "certain"
	case c.Field == "":
		return "only you know"
	case c.Taken == heading.TakenCells, c.Taken == heading.TakenStead:
		return "likely"
	case fits > 0 || c.content.Cells == 0:
		return "certain"
	}
	return "likely"
}

// clip shortens a text for a message or a sample.
func clip(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}

// What stands above the headings may hold for all rows below: the day, the field, the units.

// partsOf cuts a title at its signs.
func partsOf(text string) []string {
	text = strings.NewReplacer(" - ", "|", " \u2013 ", "|", ";", "|", ",", "|", ". ", "|").Replace(text)
	return strings.Split(text, "|")
}

// titles returns the texts above the headings of the first table.
func (t *tablePlan) titles() (out []grid.Cell, rows []int) {
	if t.number > 1 || t.plan.own {
		return nil, nil
	}
	above, kept := t.above()
	for _, r := range above {
		if r.Number >= t.first && !kept {
			break
		}
		for _, c := range r.Cells {
			if c.Kind == grid.Text && strings.TrimSpace(c.Text) != "" {
				out, rows = append(out, c), append(rows, r.Number)
			}
		}
	}
	return out, rows
}

// above returns the rows among which the titles of a table are; kept says that they are nothing but titles and notes.
func (t *tablePlan) above() (rows []grid.Row, kept bool) {
	if t.plan.onSide || t.plan.cards > 0 {
		return t.plan.keyRows, true
	}
	return t.plan.head, false
}

// unitsOfTitles takes over what a title, or a text that stands alone, says of the units of the columns: Depths in
// inches, weights in grams; all depths are cm unless I say.
func (t *tablePlan) unitsOfTitles(front []grid.Cell) {
	texts, _ := t.titles()
	if t.number == 1 && !t.plan.own {
		texts = append(texts, front...) // behind the titles: the nearer one wins
	}
	for _, r := range append(slices.Clip(t.plan.head), t.plan.keyRows...) {
		if r.Number >= t.first && filled(r) <= 2 && t.number == 1 && !t.plan.own {
			texts = append(texts, grid.Cell{Text: t.plan.lineOf(r)})
		}
	}
	for _, cell := range texts {
		for _, part := range partsOf(strings.ReplaceAll(cell.Text, " and ", "|")) {
			if field, unit := unitSaid(part); field != "" {
				t.takeUnit(field, unit)
				continue
			}
			for piece := range strings.FieldsFuncSeq(part, func(r rune) bool { return strings.ContainsRune("()[]/:", r) }) {
				if field, unit := unitSaid(piece); field != "" {
					t.takeUnit(field, unit)
				}
			}
		}
	}
}

// sectionOfTitles takes the day and the field that a title names, where the table has no column for them.
func (w *walker) sectionOfTitles() {
	days, lands := w.t.field("found.date") == nil && w.t.field("found.verbatim") == nil,
		w.t.field("permission") == nil && w.t.field("place.name") == nil
	cells, rows := w.t.titles()
	if !w.t.finds || !days && !lands {
		return
	}
	if days && lands && w.p.hasDayLines(w) && w.firstLine(cells, rows) {
		return
	}
	var s section
	dated := 0
	for i, cell := range cells {
		for _, part := range partsOf(cell.Text) {
			part = strings.TrimSpace(part)
			if hasRowWord("asof", part) {
				continue
			}
			if day, _, after, whole := w.dayIn(part); day != "" && whole && days &&
				(hasYear(part) || strings.Trim(day, "0123456789./-") == "") {
				dated++
				s.row, s.found = rows[i], w.bareDay(day)
				if name, ok := strings.CutPrefix(strings.TrimSpace(after), ":"); ok && lands || strings.HasSuffix(day, ":") {
					s.place = cmp.Or(s.place, w.placeIn(name))
				} else if lands && strings.Contains(part, day+":") {
					s.place = cmp.Or(s.place, w.placeIn(after))
				}
				continue
			}
			if s.row == rows[i] && s.found != "" && s.place == "" && lands && beginsWithLand(part) {
				s.place = w.placeIn(part)
			}
			if name, sure := landIn(part); lands && name != "" && (sure || s.place == "") {
				s.row, s.place = cmp.Or(s.row, rows[i]), name
			}
		}
		s.text = cell.Text
	}
	if dated > 1 { // a span, or two days: of which the rows are is not said
		s.found = ""
	}
	if lands && s.place == "" && w.t.number == 1 && !w.p.own && w.p.place == "" {
		named := map[string]bool{}
		for _, c := range w.o.front {
			named[labelled(c.Text)] = true
		}
		if delete(named, ""); len(named) == 1 {
			w.titled = slices.Collect(maps.Keys(named))[0]
		}
	}
	if s.found == "" && s.place == "" {
		return
	}
	s.place = cmp.Or(s.place, w.titled)
	w.section, w.titled = s, s.place
	if !w.p.surveyed {
		w.t.sections = append(w.t.sections, s.row)
	}
}

// firstLine takes the last title with a day for one more of the headings below that have one.
func (w *walker) firstLine(cells []grid.Cell, rows []int) bool {
	for i := len(cells) - 1; i >= 0; i-- {
		if day, _, _, whole := w.dayIn(cells[i].Text); day != "" && whole && len(strings.Fields(cells[i].Text)) <= 12 {
			w.section = w.parseSection(grid.Row{Number: rows[i], Cells: cells[i : i+1]})
			w.titled = w.section.place
			if !w.p.surveyed {
				w.t.sections = append(w.t.sections, rows[i])
			}
			return true
		}
	}
	return false
}

// landIn returns the field that a part of a title names: behind a label, which is sure, in quotation marks, or by its
// words for land.
func landIn(part string) (name string, sure bool) {
	if name = labelled(part); name != "" {
		return name, true
	}
	if name = quotedLand(part); name != "" {
		return name, false
	}
	name, _, _ = strings.Cut(part, "(")
	name = strings.TrimSpace(name)
	_, behind, _ := strings.Cut(name, " ")
	if ((isLand(name) || heading.EndsInLand(name)) && isUpper(name) || beginsWithLand(name) && isUpper(behind) &&
		!strings.ContainsAny(name, "0123456789?!")) && len(strings.Fields(name)) <= 4 &&
		!hasRowWord("generic", name) && !hasRowWord("leave", name) {
		return name, false
	}
	return "", false
}

// hasDayLines reports whether a row below the headings is nothing but a heading with a day.
func (p *sheetPlan) hasDayLines(w *walker) bool {
	return slices.ContainsFunc(p.head, func(r grid.Row) bool {
		if r.Number < w.t.first || filled(r) != 1 {
			return false
		}
		text := rowText(r)
		_, before, after, whole := w.dayIn(text)
		return whole && len(strings.Fields(before+" "+after)) <= 9
	})
}

// beginsWithLand reports whether the first word of a few is one for land: parcelle ZB 14 (Les Chaumes).
func beginsWithLand(text string) bool {
	words := heading.Words(text)
	return len(words) > 1 && len(words) <= 8 && heading.RowWords("land")[words[0]]
}

// quotedLand returns the name in quotation marks behind a word for land: Acker „Krummes Stück“.
func quotedLand(text string) string {
	const marks = "„“”\"«»‚‘’"
	at := strings.IndexAny(text, marks)
	if at <= 0 {
		return ""
	}
	before, name := heading.Words(text[:at]), strings.TrimLeft(text[at:], marks)
	end := strings.IndexAny(name, marks)
	if len(before) == 0 || end < 3 || len(strings.Fields(name[:end])) > 5 ||
		!heading.RowWords("land")[before[len(before)-1]] {
		return ""
	}
	return strings.TrimSpace(name[:end])
}

// landsAbove takes the fields that stand above tables side by side, one above each.
func (t *tablePlan) landsAbove() {
	if t.groups < 2 || t.field("permission") != nil || t.field("place.name") != nil {
		return
	}
	cells, rows := t.titles()
	for i := range cells {
		lands, land := map[int]string{}, false
		for k := i; k < len(cells) && rows[k] == rows[i]; k++ {
			group := t.groupAbove(cells[k].Column)
			text := strings.TrimSpace(cells[k].Text)
			if group == 0 || lands[group] != "" || len(text) > 60 || len(strings.Fields(text)) > 6 || !isUpper(text) {
				lands = nil
				break
			}
			lands[group] = text
			land = land || isLand(text) || labelled(text) != "" || hasRowWord("land", text) || heading.EndsInLand(text)
		}
		if len(lands) == t.groups && land {
			t.lands = lands
			return
		}
	}
}

// groupAbove is the group of columns that a cell stands above, from its first column on.
func (t *tablePlan) groupAbove(column int) int {
	group := 0
	for _, c := range t.columns {
		if c.group > 0 && c.column <= column+1 {
			group = max(group, c.group)
		}
	}
	return group
}

// bareDay leaves out words before a day that are not needed to read it: of 12 April 2026.
func (w *walker) bareDay(day string) string {
	for {
		first, rest, ok := strings.Cut(day, " ")
		if !ok || strings.ContainsAny(first, "0123456789") {
			return day
		}
		if again, before, after, whole := w.dayIn(rest); !whole || again != rest || before+after != "" {
			return day
		}
		day = rest
	}
}

// labelled returns the field that a text with a label names: Field: Long Acre.
func labelled(text string) string {
	label, name, ok := strings.Cut(text, ":")
	if before, _, cut := strings.Cut(name, "("); cut && strings.TrimSpace(before) != "" {
		name = before // Site: Old Tannery Lot (permission from the owner)
	}
	if name = strings.TrimSpace(name); !ok || name == "" || len(strings.Fields(label)) > 2 ||
		len(strings.Fields(name)) > 6 || strings.ContainsAny(name, "?!") {
		return ""
	}
	if heading.Understand(strings.TrimSpace(label)).Field != "permission" ||
		heading.RowWord("leave", label) && (heading.HasTitle(name) || !isLandHeading(name) && !heading.EndsInLand(name)) {
		return "" // Permission: Mrs Lovat, who gave it
	}
	return strings.TrimRight(name, ".")
}

// hasRowWord reports whether a text begins with a word of rows, or has one.
func hasRowWord(kind, text string) bool {
	words := heading.Words(text)
	table := heading.RowWords(kind)
	for i := range words {
		for n := 1; n <= 2 && i+n <= len(words); n++ {
			if table[strings.Join(words[i:i+n], " ")] {
				return true
			}
		}
	}
	return false
}

// isLandHeading reports whether a text that stands over all columns names a field: before its first sign it is a few
// words, and one of them is for land.
func isLandHeading(text string) bool {
	first, _, _ := strings.Cut(strings.NewReplacer("(", ",", ";", ",").Replace(text), ",")
	words := heading.Words(first)
	if len(words) < 2 || len(words) > 5 || strings.ContainsAny(first, "0123456789?!:.") {
		return false
	}
	return slices.ContainsFunc(words, func(word string) bool { return heading.RowWords("land")[word] })
}
