// Package spreadsheet reads the logs that people keep in workbooks and CSV files, and writes find
// reports as such.
//
// Reading finds the headings by meaning, in six languages, and puts the text of each cell beside
// the field it belongs to, as it was written; it judges nothing. What no field understands is kept
// under its heading. Writing puts every field under a heading that reading takes for that field.
//
//	in, err := spreadsheet.DecodeXLSX(file, size, spreadsheet.Options{File: "season.xlsx"})
//
// This package is unstable: it may change between any two versions.
package spreadsheet

import (
	"archive/zip"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/door"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// Options steer reading. The zero value finds everything out by itself.
type Options struct {
	File     string            // name for messages
	Sheet    string            // name of the sheet with the finds; empty: "Finds", else the one that looks like it
	Encoding string            // of a CSV file; empty: found out
	Map      *ColumnMap        // what columns are to be taken for; nil: by their headings
	Order    edtf.Order        // of dates, where the column proves none
	Supplied bool              // Order is stated by the keeper of the log, which is marked in the find
	Defaults map[string]string // by flat name: what is stated of all finds where no column says it
	Pivot    int               // first year that two digits may mean
	Limits   limit.Limits      // zero: sane defaults
	// Headings are what headings that reading does not know are taken for: text to flat name.
	Headings map[string]string
	cover    string         // the grid that another sheet of the book names
	front    []grid.Cell    // what stands on a sheet of a few lines and nothing else
	Looked   func(rows int) // if not nil, is told now and then how many rows were looked through before the reading
}

// Kinds of notice that reading gives.
var (
	headingUnknown   = &kinds.HeadingUnknown
	headingClaimed   = &kinds.HeadingClaimedTwice
	orderContradicts = &kinds.DateOrderMixed
	cellError        = &kinds.CellError
	cellUnreadable   = &kinds.FieldUnreadable
	cellBeside       = &kinds.CellKeptBeside
	nameFrom         = &kinds.HeadingTakenForName
	headingsJoined   = &kinds.TableFormFound
	languageRead     = &kinds.LanguageWorkedOut
	headingsNone     = &kinds.HeadingsNotUnderstood
	headingsMissing  = &kinds.HeadingsMissing
	columnByContent  = &kinds.ColumnByContent
	dittoRead        = &kinds.DittoRead
	blanksFilled     = &kinds.BlankIsAbove
	blockBeside      = &kinds.BlockBeside
	cellSeveral      = &kinds.CellSeveral
	sectionsRead     = &kinds.TableFormFound
	weekdayOther     = &kinds.EchoDisagrees
	totalDiffers     = &kinds.TotalDiffers
	findsInRow       = &kinds.FindsInRow
	tableOnSide      = &kinds.TableFormFound
	tableBeside      = &kinds.SheetBeside
	tableSecond      = &kinds.TableFormFound
	formulaUnworked  = &kinds.CellError
	rowDoubtful      = &kinds.RowDoubtful
	notesLeft        = &kinds.NotesNotKept
	rowNotAFind      = &kinds.RowNotAFind
	sectionUnread    = &kinds.SectionUnread
	rowHidden        = &kinds.HiddenRead
	rowStruck        = &kinds.RowStruckThrough
	findersTwo       = &kinds.FindersTwo
	tallyRead        = &kinds.TallyRead
	yearTaken        = &kinds.YearTaken
	sheetHidden      = &kinds.HiddenRead
	sheetNotRead     = &kinds.SheetNotRead
	sheetBeside      = &kinds.SheetBeside
	cellsMerged      = &kinds.CellsMerged
	columnsHidden    = &kinds.HiddenRead
	tableNote        = &kinds.TableFormFound
	unitAmbiguous    = &kinds.UnitAmbiguous
	unitsRow         = &kinds.TableFormFound
	workbookParts    = &kinds.WorkbookPartsIgnored
)

// open opens a file of rows, whatever its name says that it is.
func open(r io.ReaderAt, size int64, o Options) (*grid.Book, error) {
	return door.Open(r, size, door.Options{Name: o.File, Encoding: o.Encoding, Limits: o.Limits, Known: isKnown})
}

// openTable opens what may be read from any place, but only by going there first.
func openTable(r io.ReadSeeker, o Options) (*grid.Book, error) {
	size, err := r.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, err
	}
	at, ok := r.(io.ReaderAt)
	if !ok {
		at = seeker{r}
	}
	return open(at, size, o)
}

type seeker struct{ io.ReadSeeker }

func (s seeker) ReadAt(p []byte, at int64) (int, error) {
	if _, err := s.Seek(at, io.SeekStart); err != nil {
		return 0, err
	}
	n, err := io.ReadFull(s, p)
	if err == io.ErrUnexpectedEOF {
		err = io.EOF
	}
	return n, err
}

// isOwn reports whether a Report sheet says that a program wrote the workbook.
func isOwn(s *grid.Sheet) bool {
	head, _ := s.Head(lookAhead)
	version, template := false, false
	for _, row := range head {
		if len(row.Cells) > 0 {
			version = version || strings.TrimSpace(row.Cells[0].Text) == "findslip"
			template = template || strings.TrimSpace(row.Cells[0].Text) == "template"
		}
	}
	return version && !template
}

// header reads the sheets beside the finds into the report: people, permissions, outings and what the
// report says of itself. What is on any other sheet is kept as notes.
func (d *decoder) header() (*recordBook, error) {
	r := d.report
	all := &recordBook{report: r, origins: map[string]find.Origin{}}
	if len(d.book.Sheets) == 1 {
		return all, nil
	}
	most := d.o.Limits.WithDefaults().Header
	left := most
	seen := map[string]bool{}
	order := slices.Clone(d.book.Sheets) // what the report says of itself goes first
	slices.SortStableFunc(order, func(a, b *grid.Sheet) int {
		rank := func(s *grid.Sheet) int {
			if part, _ := sheetRole(s.Name); part == "report" {
				return 0
			}
			return 1
		}
		return rank(a) - rank(b)
	})
	for _, s := range order {
		part, role := sheetRole(s.Name)
		if slices.ContainsFunc(d.sheets, func(p *sheetPlan) bool { return p.sheet == s }) {
			continue
		}
		if part == "" || part == "finds" || part != "people" && seen[part] {
			if err := d.besides(s); err != nil {
				return nil, err
			}
			continue
		}
		seen[part] = true
		h := &headerSheet{sheet: s.Name}
		rows := bounded(s.Rows(), &left, most)
		var err error
		switch part {
		case "people":
			r.People, err = readRecords(&recordSheet[find.Person]{headerSheet: h, recordBook: all, part: part, stem: "person",
				role: role, file: d.o.File, list: r.People}, rows)
		case "permissions":
			r.Permissions, err = readRecords(&recordSheet[find.Permission]{headerSheet: h, recordBook: all, part: part,
				stem: "permission", file: d.o.File}, rows)
		case "outings":
			r.Outings, err = readRecords(&recordSheet[find.Outing]{headerSheet: h, recordBook: all, part: part, stem: "outing",
				file: d.o.File}, rows)
		case "report":
			err = h.report(rows, r)
			all.own = h.version && !h.template
		}
		if err != nil {
			return nil, fmt.Errorf("sheet %q: %w", s.Name, err)
		}
		d.notices.Add(h.notices...)
	}
	return all, nil
}

// besides keeps what stands on a sheet that holds no finds, and says so.
func (d *decoder) besides(s *grid.Sheet) error {
	if strings.HasPrefix(s.Name, "findslip") {
		return nil
	}
	rows := 0
	p := &sheetPlan{sheet: s}
	for row, err := range s.Rows() {
		if err != nil {
			return err
		}
		if rowText(row) != "" {
			rows++
			d.note(p, row)
		}
	}
	if rows == 0 {
		return nil
	}
	n := notice.New(sheetBeside, "",
		fmt.Sprintf("the sheet %q holds no finds; its %d rows are kept as notes of the report", s.Name, rows))
	if wanted := d.o.Sheet; wanted != "" || s.Hidden || d.own {
		n = notice.New(sheetNotRead, "",
			fmt.Sprintf("the sheet %q was not read for finds; its %d rows are kept as notes of the report", s.Name, rows))
	}
	if why := d.copies[s]; why != "" {
		n = notice.New(sheetNotRead, "",
			fmt.Sprintf("the sheet %q was not read for finds: %s; its %d rows are kept as notes of the report", s.Name, why,
				rows))
	}
	n.Sheet = s.Name
	d.notices.Add(n)
	return nil
}

// EncodePackage writes a report as a zip archive of the tables that a workbook has as sheets, each a CSV file under
// flat names, with two descriptions of them: datapackage.json, a Data Package with Table Schemas, and
// csv-metadata.json, metadata of CSV on the Web. The same report gives the same bytes.
func EncodePackage(w io.Writer, in *find.Stream, o WriteOptions) error {
	sign, err := comma(o.Delimiter)
	if err != nil {
		return err
	}
	r := in.Report
	p := &tables{zip: zip.NewWriter(w), comma: sign,
		rows: map[string]int{"people": len(r.People), "permissions": len(r.Permissions), "outings": len(r.Outings)}}
	if err := encodeSheets(&bookWriter{o: o, tables: p}, in, keyHeading); err != nil {
		return err
	}
	top := object{"profile": "tabular-data-package", "resources": p.resources, "id": r.ID}
	if r.Title != "" {
		top["title"] = r.Title
	}
	if r.Reuse != "" {
		top["licenses"] = []object{{"name": r.Reuse}} // as SPDX calls it
	}
	if err := p.write("datapackage.json", top); err != nil {
		return err
	}
	if err := p.write("csv-metadata.json", object{"@context": "http://www.w3.org/ns/csvw", "tables": p.web}); err != nil {
		return err
	}
	return p.zip.Close()
}

// tables takes sheets as files of an archive, and says of each what is in it.
type tables struct {
	zip            *zip.Writer
	comma          rune
	rows           map[string]int // of the tables that columns lead to
	now            *csv.Writer
	resources, web []object
}

type object = map[string]any

// leads are the tables whose ids the members of a name hold, whatever they stand in; a number behind the name is the
// position in a list.
var leads = map[string]string{"finder": "people", "keeper": "people", "by": "people", "person": "people",
	"from": "people", "to": "people", "grantedBy": "people", "occupier": "people", "people": "people",
	"permission": "permissions", "outing": "outings"}

func leadsTo(h string) string {
	name := h[strings.LastIndexByte(h, '.')+1:]
	if _, err := strconv.Atoi(name); err == nil {
		owner := ownerOf(h)
		name = owner[strings.LastIndexByte(owner, '.')+1:]
	}
	if (name == "from" || name == "to") && !strings.HasPrefix(h, "custody.") { // whom a find was reported to is in words
		return ""
	}
	return leads[name]
}

// isWhole reports whether a number is a whole one by the schema: a row, a year, a count.
func isWhole(f find.Field) bool {
	member := f.Name[strings.LastIndexByte(f.Name, '.')+1:]
	return f.Kind == find.Decimal && (member == "row" || member == "earliest" || member == "latest" ||
		strings.HasSuffix(ownerOf(f.Name), "count"))
}

// types are the names of kinds of field in a Table Schema and in CSV on the Web.
var types = map[find.FieldKind][2]string{find.Decimal: {"number", "decimal"}, find.Flag: {"boolean", "boolean"}}

func (p *tables) sheet(name string, headings []string, of []find.Field) (rowWriter, error) {
	name = strings.ToLower(name)
	file := name + ".csv"
	f, err := p.zip.CreateHeader(&zip.FileHeader{Name: file, Method: zip.Deflate, Modified: bookTime})
	if err != nil {
		return rowWriter{}, err
	}
	p.now = csv.NewWriter(f)
	p.now.Comma = p.comma
	key := "id"
	if name == "report" {
		key = headings[0]
	}
	cells := make([]any, len(headings))
	fields, columns, keys, webKeys := []object{}, []object{}, []object{}, []object{}
	titles := map[string]string{}
	for i, h := range headings {
		cells[i] = h
		var is find.Field
		if i < len(of) {
			is = of[i]
		}
		kind, ok := types[is.Kind]
		if !ok {
			kind = [2]string{"string", "string"}
		}
		if isWhole(is) {
			kind = [2]string{"integer", "integer"}
		}
		title := titleOf(name, h, is, titles)
		field := object{"name": h, "type": kind[0], "title": title}
		if h == key {
			field["constraints"] = object{"required": true, "unique": true}
		}
		fields = append(fields, field)
		columns = append(columns, object{"titles": h, "name": columnName(h), "datatype": kind[1], "dc:title": title})
		if to := leadsTo(h); i < len(of) && p.rows[to] > 0 && to != name {
			keys = append(keys, object{"fields": h, "reference": object{"resource": to, "fields": "id"}})
			webKeys = append(webKeys, object{"columnReference": h,
				"reference": object{"resource": to + ".csv", "columnReference": "id"}})
		}
	}
	dialect := object{"delimiter": string(p.comma)}
	one, web := object{"fields": fields, "primaryKey": key}, object{"columns": columns, "primaryKey": key}
	if len(keys) > 0 { // neither standard takes an empty list
		one["foreignKeys"], web["foreignKeys"] = keys, webKeys
	}
	if name == "finds" {
		web["aboutUrl"] = "{+id}" // a row is about the find, whose id is a name in itself
	}
	p.resources = append(p.resources, object{"name": name, "path": file, "profile": "tabular-data-resource",
		"encoding": "utf-8", "dialect": dialect, "schema": one})
	p.web = append(p.web, object{"url": file, "dialect": dialect, "tableSchema": web})
	return rowWriter{p.SetRow, p.Flush}, p.SetRow("", cells)
}

// titleOf says in words what a column holds, and remembers it for the parts of the same thing.
func titleOf(table, h string, f find.Field, titles map[string]string) string {
	name, unit, measured := strings.Cut(h, " [")
	title := heading.LabelIn(table, name, "en")
	if table == "finds" {
		title = heading.Label(name, "en")
	}
	title, _, _ = strings.Cut(title, " [")
	if owner := ownerOf(name); title == "" {
		title = cmp.Or(f.Title, strings.TrimPrefix(name, owner+"."))
		if owner != name && f.Name != "columns" {
			title = cmp.Or(titles[owner], owner) + ": " + title
		}
	}
	if titles[name] = title; measured {
		title += " [" + unit
	}
	return title
}

// SetRow writes a row.
func (p *tables) SetRow(_ string, cells []any) error {
	record := make([]string, len(cells))
	for i, c := range cells {
		if cell, ok := c.(excelize.Cell); ok {
			c = cell.Value
		}
		switch c := c.(type) {
		case string:
			record[i] = guard(c)
		case float64:
			record[i] = strconv.FormatFloat(c, 'f', -1, 64)
		}
	}
	return p.now.Write(record)
}

// Flush ends a table.
func (p *tables) Flush() error {
	p.now.Flush()
	return p.now.Error()
}

// columnName is a name of CSV on the Web, where only letters, digits, points and _ may stand as they are.
func columnName(heading string) string {
	name, _, _ := strings.Cut(heading, " [")
	return strings.NewReplacer("-", "%2D", "~", "%7E", "+", "%20").Replace(url.QueryEscape(name))
}

func (p *tables) write(name string, v any) error {
	f, err := p.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: bookTime})
	if err != nil {
		return err
	}
	enc := json.NewEncoder(f)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
