package spreadsheet

import (
	"context"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/xlsx"
)

// source is a sheet that can be read more than once.
type source interface {
	name() string // of the sheet; empty for a text table
	rows() iter.Seq2[grid.Row, error]
	epoch() int // 1900, 1904, 0 for none
	header(r *find.Report) (*recordBook, notice.List, error)
}

// textTable is a CSV file.
type textTable struct {
	r io.ReadSeeker
	o Options
}

func openTable(r io.ReadSeeker, o Options) (source, notice.List, error) {
	t := &textTable{r, o}
	opened, err := t.open()
	if err != nil {
		return nil, nil, err
	}
	var list notice.List
	if e := opened.Encoding(); e != "utf-8" {
		list.Add(notice.New(tableNote, "", fmt.Sprintf("read as %s, separated by %s", e, separatorName(opened.Comma()))))
	}
	return t, list, nil
}

func separatorName(r rune) string {
	switch r {
	case '\t':
		return "tabs"
	case ';':
		return "semicolons"
	case '|':
		return "bars"
	}
	return "commas"
}

func (t *textTable) open() (*table.Table, error) {
	if _, err := t.r.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return table.Open(t.r, table.Options{Encoding: t.o.Encoding, Limits: t.o.Limits})
}

func (t *textTable) name() string { return "" }
func (t *textTable) epoch() int   { return 0 }

func (t *textTable) header(r *find.Report) (*recordBook, notice.List, error) {
	return &recordBook{report: r}, nil, nil
}

func (t *textTable) rows() iter.Seq2[grid.Row, error] {
	return func(yield func(grid.Row, error) bool) {
		opened, err := t.open()
		if err != nil {
			yield(grid.Row{}, err)
			return
		}
		for row, err := range opened.Rows(context.Background()) {
			for i := range row.Cells {
				row.Cells[i].Text = unguard(row.Cells[i].Text)
			}
			if !yield(row, err) {
				return
			}
		}
	}
}

// unguard takes off the apostrophe that keeps a spreadsheet from taking text for a formula.
func unguard(s string) string {
	if len(s) >= 2 && s[0] == '\'' && strings.IndexByte("=+-@\t\r'", s[1]) >= 0 {
		return s[1:]
	}
	return s
}

// workbook is one sheet of an XLSX file.
type workbook struct {
	w      *xlsx.Workbook
	sheets []grid.Sheet
	index  int
	most   int64 // bytes that the sheets beside the finds may hold
	file   string
}

func openWorkbook(r io.ReaderAt, size int64, o Options) (source, notice.List, error) {
	w, err := xlsx.Open(r, size, o.Limits)
	if err != nil {
		return nil, nil, err
	}
	b := &workbook{w: w, sheets: w.Sheets(), most: o.Limits.WithDefaults().Header, file: o.File}
	var list notice.List
	if w.HasMacros() || w.HasExternalLinks() {
		list.Add(notice.New(workbookParts, "", "the workbook has macros or links to other files; they are ignored"))
	}
	if err := b.choose(o); err != nil {
		return nil, nil, err
	}
	for i, s := range b.sheets {
		if s.Hidden && i != b.index && !strings.HasPrefix(s.Name, "findslip") {
			n := notice.New(sheetHidden, "", "the workbook has a hidden sheet")
			n.Sheet = s.Name
			list.Add(n)
		}
	}
	return b, list, nil
}

// choose picks the sheet with the finds: the one asked for, the one called Finds, else the only one
// with headings that are understood, else the first of those.
func (b *workbook) choose(o Options) error {
	wanted := o.Sheet
	if wanted == "" && o.Map != nil {
		wanted = o.Map.Sheet
	}
	var names []string
	for i, s := range b.sheets {
		if wanted != "" && (s.Name == wanted || find.FoldName(s.Name) == find.FoldName(wanted)) {
			b.index = i
			return nil
		}
		names = append(names, fmt.Sprintf("%q", s.Name))
	}
	if wanted != "" {
		return fmt.Errorf("there is no sheet %q; the workbook has %s", wanted, strings.Join(names, ", "))
	}
	var likely, roled []int
	for i, s := range b.sheets {
		part, _ := sheetRole(s.Name)
		switch {
		case part == "finds":
			b.index = i
			return nil
		case s.Hidden || part == "report":
		case !b.likeFinds(i, o):
		case part == "":
			likely = append(likely, i)
		default: // a log may be called after the land that it is of
			roled = append(roled, i)
		}
	}
	if likely = append(likely, roled...); len(likely) == 0 {
		return fmt.Errorf("no sheet has headings that are understood (sheets: %s); see findslip columns, or name the sheet with --sheet", strings.Join(names, ", "))
	}
	b.index = likely[0]
	return nil
}

// likeFinds tells whether a sheet has the headings of a log.
func (b *workbook) likeFinds(i int, o Options) bool {
	at := b.index
	defer func() { b.index = at }()
	b.index = i
	d := &decoder{src: b, o: o}
	return d.locate() == nil
}

func (b *workbook) name() string { return b.sheets[b.index].Name }

func (b *workbook) epoch() int {
	if b.w.Epoch1904() {
		return 1904
	}
	return 1900
}

func (b *workbook) rows() iter.Seq2[grid.Row, error] { return b.w.Rows(context.Background(), b.index) }

// header reads the sheets beside the finds into the report.
func (b *workbook) header(r *find.Report) (*recordBook, notice.List, error) {
	var list notice.List
	all := &recordBook{report: r, origins: map[string]find.Origin{}}
	left := b.most
	seen := map[string]bool{}
	order := make([]int, 0, len(b.sheets)) // what the report says of itself goes first
	for i, s := range b.sheets {
		if part, _ := sheetRole(s.Name); part == "report" {
			order = slices.Insert(order, 0, i)
		} else {
			order = append(order, i)
		}
	}
	for _, i := range order {
		s := b.sheets[i]
		part, role := sheetRole(s.Name)
		if i == b.index {
			continue
		}
		if part == "" || part == "finds" || part != "people" && seen[part] {
			if !s.Hidden { // which is said already
				list.Add(b.beside(i)...)
			}
			continue
		}
		seen[part] = true
		h := &headerSheet{sheet: s.Name, epoch1904: b.w.Epoch1904()}
		rows := bounded(b.w.Rows(context.Background(), i), &left, b.most)
		var err error
		switch part {
		case "people":
			r.People, err = readRecords(&recordSheet[find.Person]{headerSheet: h, recordBook: all, part: part, stem: "person", role: role, file: b.file, list: r.People}, rows)
		case "permissions":
			r.Permissions, err = readRecords(&recordSheet[find.Permission]{headerSheet: h, recordBook: all, part: part, stem: "permission", file: b.file}, rows)
		case "outings":
			r.Outings, err = readRecords(&recordSheet[find.Outing]{headerSheet: h, recordBook: all, part: part, stem: "outing", file: b.file}, rows)
		case "report":
			err = h.report(rows, r)
			all.own = h.version && !h.template
		}
		if err != nil {
			return nil, nil, fmt.Errorf("sheet %q: %w", s.Name, err)
		}
		list.Add(h.notices...)
	}
	return all, list, nil
}

// beside says that a sheet is not read, as far as it holds anything.
func (b *workbook) beside(i int) (list notice.List) {
	name := b.sheets[i].Name
	if strings.HasPrefix(name, "findslip") {
		return nil
	}
	filled := false
	for row, err := range b.w.Rows(context.Background(), i) {
		if filled = err == nil && len(row.Cells) > 0; filled || err != nil {
			break
		}
	}
	if !filled {
		return nil
	}
	n := notice.New(sheetBeside, "", "the sheet is none that is known, and is not read")
	if b.likeFinds(i, Options{}) {
		n = notice.New(sheetNotRead, "", fmt.Sprintf("the sheet looks like finds as well, and is not read; the finds are those of the sheet %q", b.name()))
	}
	n.Sheet = name
	list.Add(n)
	return list
}

// layoutNotices says what the form of the sheet of finds may mean and a table loses: cells that are merged
// below the headings, whose value is that of the first alone, and hidden columns, which are read all the same.
func (b *workbook) layoutNotices(headingRow int) (list notice.List) {
	sheet := b.w.Sheets()[b.index] // the whole sheet has been read by now
	n := 0
	first := ""
	for _, r := range sheet.Merged {
		if r.FirstRow > headingRow {
			if n++; first == "" {
				first = find.ColumnLetters(r.FirstColumn) + strconv.Itoa(r.FirstRow)
			}
		}
	}
	if n > 0 {
		x := notice.New(cellsMerged, "", fmt.Sprintf("merged cells below the headings: %d; the value is taken for the first row and column of each alone", n))
		x.Sheet, x.Cell = sheet.Name, first
		list.Add(x)
	}
	if len(sheet.HiddenColumns) > 0 {
		x := notice.New(columnsHidden, "", fmt.Sprintf("hidden columns: %d; they were read all the same", len(sheet.HiddenColumns)))
		x.Sheet, x.Column = sheet.Name, sheet.HiddenColumns[0]
		list.Add(x)
	}
	return list
}
