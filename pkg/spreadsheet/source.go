package spreadsheet

import (
	"context"
	"fmt"
	"io"
	"iter"
	"slices"
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
	header(r *find.Report) (notice.List, error)
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
		list.Add(notice.New(TableNote, "", fmt.Sprintf("read as %s, separated by %s", e, separatorName(opened.Comma()))))
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

func (t *textTable) header(*find.Report) (notice.List, error) { return nil, nil }

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
}

func openWorkbook(r io.ReaderAt, size int64, o Options) (source, notice.List, error) {
	w, err := xlsx.Open(r, size, o.Limits)
	if err != nil {
		return nil, nil, err
	}
	b := &workbook{w: w, sheets: w.Sheets(), most: o.Limits.WithDefaults().Header}
	var list notice.List
	if w.HasMacros() || w.HasExternalLinks() {
		list.Add(notice.New(WorkbookParts, "", "the workbook has macros or links to other files; they are ignored"))
	}
	if err := b.choose(o); err != nil {
		return nil, nil, err
	}
	for i, s := range b.sheets {
		if s.Hidden && i != b.index && !strings.HasPrefix(s.Name, "findslip") {
			n := notice.New(SheetHidden, "", "the workbook has a hidden sheet")
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
	var likely []int
	for i, s := range b.sheets {
		role := sheetRole(s.Name)
		if role == "finds" {
			b.index = i
			return nil
		}
		if role != "" || s.Hidden {
			continue
		}
		b.index = i
		d := &decoder{src: b, o: o}
		if d.locate() == nil {
			likely = append(likely, i)
		}
	}
	if len(likely) == 0 {
		return fmt.Errorf("no sheet has headings that are understood (sheets: %s); see findslip columns, or name the sheet with --sheet", strings.Join(names, ", "))
	}
	b.index = likely[0]
	return nil
}

// sheetRole tells what a sheet is by its name.
func sheetRole(name string) string {
	for role, names := range map[string][]string{
		"finds":       {"finds", "funde", "vondsten", "fund", "objets", "fynd"},
		"people":      {"people", "personen", "personer", "personnes"},
		"permissions": {"permissions", "genehmigungen", "toestemmingen", "tilladelser", "autorisations", "tillstånd"},
		"outings":     {"outings", "begehungen", "zoektochten", "ture", "sorties", "turer"},
		"report":      {"report", "bericht", "rapport"},
	} {
		if slices.Contains(names, find.FoldName(name)) {
			return role
		}
	}
	return ""
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
func (b *workbook) header(r *find.Report) (notice.List, error) {
	var list notice.List
	left := b.most
	for i, s := range b.sheets {
		role := sheetRole(s.Name)
		if i == b.index || role == "" || role == "finds" {
			continue
		}
		h := &headerSheet{sheet: s.Name, epoch1904: b.w.Epoch1904()}
		var err error
		rows := bounded(b.w.Rows(context.Background(), i), &left, b.most)
		switch role {
		case "people":
			r.People, err = readSheet[find.Person](h, rows)
		case "permissions":
			r.Permissions, err = readSheet[find.Permission](h, rows)
		case "outings":
			r.Outings, err = readSheet[find.Outing](h, rows)
		case "report":
			err = h.report(rows, r)
		}
		if err != nil {
			return nil, fmt.Errorf("sheet %q: %w", s.Name, err)
		}
		list.Add(h.notices...)
	}
	return list, nil
}
