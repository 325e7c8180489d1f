package spreadsheet

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/bookfile"
)

// Limits of a workbook: units of UTF-16 in a cell, rows and columns of a sheet (Excel specifications
// and limits), and the digits that a number keeps for sure (IEEE 754 binary64).
const (
	maxCell    = 32767
	maxRows    = 1048576
	maxColumns = 16384
	maxDigits  = 15
	mostWidths = 200 // columns that are made as wide as their heading
)

// EncodeXLSX writes a report as a workbook: the sheets Finds, People, Permissions, Outings, as far
// as there are any, and Report. The same report gives the same bytes.
func EncodeXLSX(w io.Writer, in *find.Stream, o WriteOptions) error {
	b := &bookWriter{f: excelize.NewFile(), o: o}
	defer b.f.Close()
	if err := b.styles(); err != nil {
		return err
	}
	if err := b.f.SetSheetName("Sheet1", "Finds"); err != nil {
		return err
	}
	if err := encodeSheets(b, in, labelHeading(o.language())); err != nil {
		return err
	}
	return b.write(w)
}

// encodeSheets writes the sheets that a report has, under the headings of finds that show makes.
func encodeSheets(b *bookWriter, in *find.Stream, show func(string, find.Field) string) error {
	s := newSpool()
	defer s.close()
	if err := s.fill(in, b.o.wanted); err != nil {
		return err
	}
	columns, err := s.layOut(in.Report, b.o, show)
	if err != nil {
		return err
	}
	if err := b.finds(s, columns); err != nil {
		return err
	}
	if err := records(b, "People", in.Report.People); err != nil {
		return err
	}
	if err := records(b, "Permissions", in.Report.Permissions); err != nil {
		return err
	}
	if err := records(b, "Outings", in.Report.Outings); err != nil {
		return err
	}
	return b.report(in.Report)
}

// bookWriter writes the sheets of a workbook.
type bookWriter struct {
	f       *excelize.File
	o       WriteOptions
	heading int     // style of headings
	text    int     // style of cells that are text
	day     int     // style of cells that are days
	held    bool    // some text must be escaped when the file is written
	tables  *tables // takes the sheets in the place of f
}

// A rowWriter takes the rows of a sheet. It is no interface: the linker keeps every method of what stands in one,
// and with the writer of the library all of the library, which makes the page half as large again.
type rowWriter struct {
	SetRow func(cell string, values []any) error
	Flush  func() error
}

func (b *bookWriter) styles() (err error) {
	if b.heading, err = b.f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, NumFmt: 49,
		Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}}); err != nil {
		return err
	}
	if b.text, err = b.f.NewStyle(&excelize.Style{NumFmt: 49}); err != nil {
		return err
	}
	asWritten := "yyyy-mm-dd" // which no country takes for another day
	b.day, err = b.f.NewStyle(&excelize.Style{CustomNumFmt: &asWritten})
	return err
}

// finds writes the sheet of finds.
func (b *bookWriter) finds(s *spool, columns []outColumn) error {
	headings, fields := make([]string, len(columns)), make([]find.Field, len(columns))
	for i, c := range columns {
		headings[i], fields[i] = c.heading, c.field
	}
	out, err := b.sheet("Finds", headings, fields, s.finds)
	if err != nil {
		return err
	}
	row := 1
	if err := s.each(func(f *find.Find) error {
		row++
		cells := make([]any, len(columns))
		for i, c := range columns {
			text := b.hold(c.text(f, b.o))
			if !b.fits(text) {
				return tooLong(c.name, f, maxCell)
			}
			cells[i] = b.cell(c.field, text)
		}
		return out.SetRow("A"+strconv.Itoa(row), cells)
	}); err != nil {
		return err
	}
	return out.Flush()
}

// fits reports whether a cell of what is written holds the text.
func (b *bookWriter) fits(text string) bool { return b.tables != nil || fitsCell(text) }

// fitsCell reports whether a cell of a workbook holds the text.
func fitsCell(text string) bool {
	return len(text) <= maxCell || len(utf16.Encode([]rune(text))) <= maxCell
}

// hold returns a text as the writer below can take it.
func (b *bookWriter) hold(text string) string {
	if b.tables != nil {
		return text
	}
	text, held := bookfile.Hold(text)
	b.held = b.held || held
	return text
}

// cell makes a cell: a number where the field is one and the workbook, which computes in binary,
// gives the same figure back; else text.
func (b *bookWriter) cell(f find.Field, text string) any {
	if text == "" {
		return nil
	}
	if f.Kind == find.Decimal {
		if n, err := find.ParseNumber(text); err == nil && strconv.FormatFloat(n.Float(), 'f', -1, 64) == text &&
			len(text) <= maxDigits {
			return excelize.Cell{Value: n.Float()}
		}
	}
	if n, ok := dayNumber(text); ok && b.tables == nil && holdsDays(f.Name) {
		return excelize.Cell{StyleID: b.day, Value: n}
	}
	return excelize.Cell{StyleID: b.text, Value: text}
}

// holdsDays reports whether a field holds days of the finder's time, and no dates of objects.
func holdsDays(field string) bool {
	switch field {
	case "found.date", "date", "validFrom", "validTo", "embargoUntil":
		return true
	}
	return strings.HasSuffix(field, ".on") || strings.HasSuffix(field, ".deadline")
}

// dayNumber is the number of a whole day in the 1900 system (ISO/IEC 29500-1 clause 18.17.4.1), from the first day
// that all programs count alike.
func dayNumber(text string) (float64, bool) {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil || text < "1900-03-01" {
		return 0, false
	}
	return day.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24, true
}

// sheet begins a sheet with its headings frozen and its columns made wide enough. The fields are those of the first
// headings.
func (b *bookWriter) sheet(name string, headings []string, fields []find.Field, rows int) (rowWriter, error) {
	if b.tables != nil {
		return b.tables.sheet(name, headings, fields)
	}
	if name != "Finds" {
		if _, err := b.f.NewSheet(name); err != nil {
			return rowWriter{}, err
		}
	}
	if rows >= maxRows || len(headings) > maxColumns {
		return rowWriter{}, fmt.Errorf("sheet %s: %d rows and %d columns are more than the %d and %d that a workbook "+
			"holds; write JSON or CSV instead", name, rows+1, len(headings), maxRows, maxColumns)
	}
	last, err := excelize.CoordinatesToCellName(max(1, len(headings)), rows+1)
	if err != nil {
		return rowWriter{}, err
	}
	// The stream writer leaves the dimension at A1, and some readers believe it.
	if err := b.f.SetSheetDimension(name, "A1:"+last); err != nil {
		return rowWriter{}, err
	}
	if err := printable(b.f, name, len(headings)); err != nil {
		return rowWriter{}, err
	}
	out, err := b.f.NewStreamWriter(name)
	if err != nil {
		return rowWriter{}, err
	}
	if err := b.widths(out, name, headings); err != nil {
		return rowWriter{}, err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2",
		ActivePane: "bottomLeft"}); err != nil {
		return rowWriter{}, err
	}
	cells := make([]any, len(headings))
	for i, h := range headings {
		cells[i] = excelize.Cell{StyleID: b.heading, Value: h}
	}
	if err := out.SetRow("A1", cells); err != nil {
		return rowWriter{}, err
	}
	w := rowWriter{func(cell string, values []any) error { return out.SetRow(cell, values) }, out.Flush}
	if name == "Report" || len(headings) == 0 {
		return w, nil
	}
	// Only now: before the first row it would claim that rows are filtered away.
	return w, b.f.AutoFilter(name, "A1:"+last, nil)
}

// printable lets a sheet print on A4 across, as many columns beside each other as can be read; each page has the
// headings and, where there are several beside each other, the first column and a number.
func printable(f *excelize.File, sheet string, columns int) error {
	landscape, a4, wide, high, fit := "landscape", 9, 1, 0, true
	if columns > 16 {
		wide = (columns + 11) / 12
	}
	if err := f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &landscape, Size: &a4, FitToWidth: &wide,
		FitToHeight: &high}); err != nil {
		return err
	}
	if err := f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	again := fmt.Sprintf("'%s'!$1:$1", sheet)
	if wide > 1 {
		again = fmt.Sprintf("'%s'!$A:$A,'%s'!$1:$1", sheet, sheet)
		if err := f.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{OddFooter: "&L&A&R&P"}); err != nil {
			return err
		}
	}
	return f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: again, Scope: sheet})
}

// widths holds the headings to what a cell takes, and makes each column as wide as its own.
func (b *bookWriter) widths(out *excelize.StreamWriter, name string, headings []string) error {
	for i, h := range headings {
		h = b.hold(h)
		headings[i] = h
		if !fitsCell(h) {
			return fmt.Errorf("sheet %s: a heading is longer than the %d characters that a cell of a workbook holds; write "+
				"JSON or CSV instead", name, maxCell)
		}
		if i >= mostWidths { // each one costs the library a look at all before it
			continue
		}
		width := min(max(len([]rune(h))+2, 10), 40)
		if err := out.SetColWidth(i+1, i+1, float64(width)); err != nil {
			return err
		}
	}
	if len(headings) > mostWidths {
		if err := out.SetColWidth(mostWidths+1, len(headings), 14); err != nil {
			return err
		}
	}
	return nil
}

// records writes people, permissions or outings under flat names, id first.
func records[T find.Record](b *bookWriter, name string, list []T) error {
	if len(list) == 0 {
		return nil
	}
	s := sideSheet[T]{name: name, used: map[string]find.Field{}, plain: map[string]*plainCell[T]{}}
	if err := lookAtSide(b, &s, list); err != nil {
		return err
	}
	headings, fields := make([]string, len(s.columns)), make([]find.Field, len(s.columns))
	for i, c := range s.columns {
		headings[i], fields[i] = keyHeading(c, s.used[c]), s.used[c]
	}
	for _, own := range s.kept {
		headings = append(headings, recordHeading(strings.ToLower(name), own, headings))
	}
	out, err := b.sheet(name, headings, fields, len(list))
	if err != nil {
		return err
	}
	for i := range list {
		cells, err := sideCells(b, &s, &list[i])
		if err != nil {
			return err
		}
		if err := out.SetRow("A"+strconv.Itoa(i+2), cells); err != nil {
			return err
		}
	}
	return out.Flush()
}

// sideSheet is the sheet of the people, the land or the outings. It has no methods and no writer in it: what a generic
// type reaches is kept by the linker, and the library of workbooks is then whole in the page.
type sideSheet[T find.Record] struct {
	name    string
	used    map[string]find.Field
	plain   map[string]*plainCell[T]
	columns []string // flat names, that of the id first
	kept    []string // headings that no field understands
}

// lookAtSide settles the columns by what is written in any of the records.
func lookAtSide[T find.Record](b *bookWriter, s *sideSheet[T], list []T) error {
	extra := map[string]bool{}
	for i := range list {
		for c := range find.Flat(&list[i]) {
			flat := c.Name
			if c.Field.Name == "columns" {
				extra[strings.TrimPrefix(flat, "columns.")] = true
				continue
			}
			if b.o.Plain && c.Field.Part {
				flat = ownerOf(flat)
			}
			if _, ok := s.used[flat]; ok {
				continue
			}
			path, err := find.PathTo[T](flat)
			if err != nil {
				return err
			}
			s.used[flat] = path.Field
			if b.o.Plain {
				if s.plain[flat], err = newPlainCell[T](path); err != nil {
					return err
				}
			}
		}
	}
	s.kept = slices.Sorted(maps.Keys(extra))
	s.columns = names[T](s.used)
	slices.SortStableFunc(s.columns, func(x, y string) int {
		switch {
		case x == y:
			return 0
		case x == "id":
			return -1
		case y == "id":
			return 1
		}
		return 0
	})
	return nil
}

// sideCells gives the row of one record.
func sideCells[T find.Record](b *bookWriter, s *sideSheet[T], record *T) ([]any, error) {
	cells := make([]any, 0, len(s.columns)+len(s.kept))
	put := func(of string, field find.Field, text string) error {
		text = b.hold(text)
		if !b.fits(text) {
			return fmt.Errorf("sheet %s: %s is longer than the %d characters that a cell of a workbook holds; "+
				"write JSON instead", s.name, of, maxCell)
		}
		cells = append(cells, b.cell(field, text))
		return nil
	}
	for _, c := range s.columns {
		path, err := find.PathTo[T](c)
		if err != nil {
			return nil, err
		}
		text := find.Get(path, record)
		if p := s.plain[c]; p != nil {
			text = p.text(record)
		}
		if err := put("the text of "+c, s.used[c], text); err != nil {
			return nil, err
		}
	}
	for _, own := range s.kept {
		err := put("the text under a heading that is not known", find.Field{Kind: find.Text}, (*find.ColumnsOf(record))[own])
		if err != nil {
			return nil, err
		}
	}
	return cells, nil
}

// recordHeading is the heading of a column that no field of people, permissions or outings understands:
// its own, unless reading would take that for a field or it stands there already.
func recordHeading(part, name string, taken []string) string {
	if heading.UnderstandIn(part, name).Taken != heading.TakenNone || slices.Contains(taken, name) ||
		name != strings.TrimSpace(name) || name == "" {
		return "columns." + name
	}
	return name
}

// report writes the sheet of what the report says of itself: a member and its value in each row.
func (b *bookWriter) report(r *find.Report) error {
	var rows []find.Cell
	for c := range find.Flat(r) {
		rows = append(rows, c)
	}
	out, err := b.sheet("Report", []string{"member", "value"}, nil, len(rows))
	if err != nil {
		return err
	}
	for i, c := range rows {
		c.Name, c.Text = b.hold(c.Name), b.hold(c.Text)
		if !b.fits(c.Text) {
			return fmt.Errorf("sheet Report: the text of %s is longer than the %d characters that a cell of a workbook holds; "+
				"write JSON instead", c.Name, maxCell)
		}
		cells := []any{excelize.Cell{StyleID: b.text, Value: c.Name}, excelize.Cell{StyleID: b.text, Value: c.Text}}
		if err := out.SetRow("A"+strconv.Itoa(i+2), cells); err != nil {
			return err
		}
	}
	return out.Flush()
}

// bookTime stands where a workbook must say when it was made: clocks are never stamped unasked.
var bookTime = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// write writes the workbook, whose bytes depend on nothing but what is in it.
func (b *bookWriter) write(w io.Writer) error {
	stamp := bookTime.Format(time.RFC3339)
	if err := b.f.SetDocProps(&excelize.DocProperties{Creator: "findslip", LastModifiedBy: "findslip", Created: stamp,
		Modified: stamp}); err != nil {
		return err
	}
	// Nothing may ask the library for a sheet that was streamed: it would parse it, and write it from what it parsed,
	// which took three quarters of the time. The first sheet is the one that is open without being told.
	if b.held {
		return bookfile.WriteHeld(w, b.f)
	}
	return bookfile.Write(w, b.f)
}
