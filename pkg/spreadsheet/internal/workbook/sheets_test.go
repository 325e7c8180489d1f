package workbook

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/xuri/excelize/v2"
)

func TestLayout(t *testing.T) {
	f := excelize.NewFile()
	must(t,
		f.SetSheetName("Sheet1", "Finds & more"),
		f.SetSheetRow("Finds & more", "A1", &[]any{"no", "name", "depth"}),
		f.MergeCell("Finds & more", "A2", "C3"),
		f.MergeCell("Finds & more", "E5", "E9"),
		f.SetColVisible("Finds & more", "B:C", false),
		f.SetColVisible("Finds & more", "XFD", false),
		f.SetRowVisible("Finds & more", 1, false),
		f.SetPanes("Finds & more", &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 2, TopLeftCell: "B3",
			ActivePane: "bottomRight"}))
	_, err := f.NewSheet("Notes")
	must(t, err, f.SetSheetVisible("Notes", false))
	_, err = f.NewSheet("Deep")
	must(t, err, f.SetSheetVisible("Deep", false, true))
	w := open(t, save(t, f))

	for i, want := range []grid.Sheet{{Name: "Finds & more"}, {Name: "Notes", Hidden: true},
		{Name: "Deep", Hidden: true}} {
		if s := w.Sheets[i]; s.Name != want.Name || s.Hidden != want.Hidden {
			t.Errorf("sheet %q, hidden %v", s.Name, s.Hidden)
		}
	}
	want := grid.Layout{
		HiddenColumns: []int{2, 3, 16384}, FrozenRows: 2, FrozenColumns: 1,
		Merged: []grid.Range{{FirstColumn: 1, FirstRow: 2, LastColumn: 3, LastRow: 3},
			{FirstColumn: 5, FirstRow: 5, LastColumn: 5, LastRow: 9}},
	}
	got, err := w.Sheets[0].Layout()
	must(t, err)
	if diff := cmp.Diff(want, got, cmpopts.IgnoreUnexported(grid.Layout{})); diff != "" {
		t.Error(diff)
	}
	if rows := readAll(t, w, 0); len(rows) != 1 || !rows[0].Hidden {
		t.Errorf("rows %+v", rows)
	}
}

// TestFormats: the formats and dates that another implementation writes come back as what they are,
// in both date systems.
func TestFormats(t *testing.T) {
	day := time.Date(2024, 9, 8, 0, 0, 0, 0, time.UTC)
	for _, epoch1904 := range []bool{false, true} {
		f := excelize.NewFile()
		must(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &epoch1904}))
		styled := func(cell string, value any, builtIn int, custom string) {
			style := excelize.Style{NumFmt: builtIn}
			if custom != "" {
				style.CustomNumFmt = &custom
			}
			id, err := f.NewStyle(&style)
			must(t, err, f.SetCellValue("Sheet1", cell, value), f.SetCellStyle("Sheet1", cell, cell, id))
		}
		styled("A1", day, 14, "")
		styled("B1", day.Add(14*time.Hour+30*time.Minute), 0, `dd/mm/yyyy hh:mm`)
		styled("C1", 17.78, 0, `0" in"`)
		styled("D1", 1.5, 0, `[h]:mm`)
		styled("E1", 0.5, 9, "")
		styled("F1", "text", 14, "")
		styled("G1", 52.1234567, 2, "")
		styled("H1", true, 0, "")
		data := save(t, f)
		same(t, data)
		w := open(t, data)
		if (w.Epoch == 1904) != epoch1904 {
			t.Errorf("date system: %d", w.Epoch)
		}
		var kinds, shown []string
		for _, c := range readAll(t, w, 0)[0].Cells {
			kinds = append(kinds, c.Kind.String())
			shown = append(shown, c.Text)
		}
		if diff := cmp.Diff("date date number time number text number bool", strings.Join(kinds, " ")); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff([]string{"2024-09-08", "2024-09-08T14:30", "17.78 in", "36:00:00", "50%", "text", "52.1234567",
			"TRUE"}, shown); diff != "" {
			t.Error(diff)
		}
	}
}

// TestLibreOffice reads workbooks that LibreOffice saved from CSV and from a workbook of excelize.
func TestLibreOffice(t *testing.T) {
	files, err := filepath.Glob("../../../../testdata/workbooks/libreoffice-*.xlsx")
	must(t, err)
	if len(files) == 0 {
		t.Fatal("no workbooks")
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		must(t, err)
		same(t, data)
	}
	data, err := os.ReadFile("../../../../testdata/workbooks/libreoffice-cells.xlsx")
	must(t, err)
	got, err := written(data, grid.Limits{})
	must(t, err)
	want := []string{
		`1 | A1 text "No" | B1 text "Found" | C1 text "When" | D1 text "Depth" | E1 text "Material" | F1 text "Share" | G1 text "Note"`,
		`2 | A2 text "LF-001" | B2 date "45543" as yyyy\-mm\-dd | C2 date "45543.6041666667" as yyyy\-mm\-dd\ hh:mm:ss | D2 number "17.78" | E2 text "copper alloy" | F2 number "0.5" as 0.00% | G2 text "two\nlines, ½ \"quoted\""`,
		`3 | A3 text "LF-002" | B3 date "61" as yyyy\-mm\-dd | C3 time "1.10416666666667" as [hh]:mm:ss | D3 number "0.1" | E3 text "lead" | F3 number "0.125" as 0.00% | G3 text " blanks "`,
		`4 | A4 text "LF-003" | B4 date "45513" as mm/dd/yy | C4 time "0.604166666666667" as hh:mm:ss\ AM/PM | D4 number "0.333333333333333" by formula | E4 text "silver" | F4 bool "1" as "TRUE";"TRUE";"FALSE" | G4 error "#DIV/0!" by formula`,
	}
	if diff := cmp.Diff(want, got, cmpopts.IgnoreUnexported(grid.Layout{})); diff != "" {
		t.Error(diff)
	}
}

func TestMacrosAndLinks(t *testing.T) {
	const link = `</Relationships>`
	rel := func(kind, target string) string {
		return `<Relationship Id="r9" Type="` + relations + "/" + kind + `" Target="` + target + `"/>` + link
	}
	tests := []struct {
		name          string
		parts         parts
		macros, links bool
	}{
		{"neither", usual("", ""), false, false},
		{"macros by part", usual("", "").with("xl/vbaProject.bin", "x"), true, false},
		{"macros by relationship", usual("", "").replaced(link, rel("vbaProject", "code.bin")), true, false},
		{"macro sheet", usual("", "").with("xl/macrosheets/sheet1.xml", "x"), true, false},
		{"link by part", usual("", "").with("xl/externalLinks/externalLink1.xml", "x"), false, true},
		{"link by relationship", usual("", "").replaced(link, rel("externalLink", "other.xml")), false, true},
		{"link by reference", usual("", "").replaced("</workbook>", "<externalReferences/></workbook>"), false, true},
		{"connection", usual("", "").replaced(link, rel("connections", "connections.xml")), false, true},
	}
	for _, test := range tests {
		w := open(t, test.parts.zipped(t))
		if said := len(w.Notes) > 0; said != (test.macros || test.links) {
			t.Errorf("%s: notes %v", test.name, w.Notes)
		}
	}
}

func TestOtherSheets(t *testing.T) {
	// A chart sheet has a tab and no cells.
	p := usual(`<row><c><v>1</v></c></row>`, "").
		replaced(`<sheets>`, `<sheets><sheet name="Chart" sheetId="2" r:id="r8"/>`).
		replaced(`</Relationships>`, `<Relationship Id="r8" Type="`+relations+
			`/chartsheet" Target="chartsheets/sheet1.xml"/></Relationships>`)
	w := open(t, p.zipped(t))
	if sheets := w.Sheets; len(sheets) != 1 || sheets[0].Name != "Finds" {
		t.Errorf("sheets %+v", sheets)
	}
}

// TestStopped: a pass that ends early costs the next one nothing.
func TestStopped(t *testing.T) {
	w := open(t, streamed(t, 100))
	for range w.Sheets[0].Rows() {
		break
	}
	if n := len(readAll(t, w, 0)); n != 100 {
		t.Errorf("%d rows after stopping early", n)
	}
}

// TestLibreOfficeLayout reads a workbook that LibreOffice saved without a window, and so without the
// frozen panes that it had before.
func TestLibreOfficeLayout(t *testing.T) {
	data, err := os.ReadFile("../../../../testdata/workbooks/libreoffice-layout.xlsx")
	must(t, err)
	w := open(t, data)
	got, err := w.Sheets[0].Layout()
	must(t, err)
	want := grid.Layout{Merged: []grid.Range{{FirstColumn: 5, FirstRow: 2, LastColumn: 6, LastRow: 3}},
		HiddenColumns: []int{4}}
	if diff := cmp.Diff(want, got, cmpopts.IgnoreUnexported(grid.Layout{})); diff != "" {
		t.Error(diff)
	}
	if sheets := w.Sheets; len(sheets) != 2 || !sheets[1].Hidden || w.Epoch != 1904 {
		t.Errorf("sheets %+v, date system %d", sheets, w.Epoch)
	}
	rows := readAll(t, w, 0)
	var hidden []int
	for _, row := range rows {
		if row.Hidden {
			hidden = append(hidden, row.Number)
		}
	}
	if diff := cmp.Diff([]int{4}, hidden); diff != "" {
		t.Error(diff)
	}
	var shown []string
	for _, c := range rows[1].Cells {
		shown = append(shown, c.Text)
	}
	if diff := cmp.Diff([]string{"1", "crotal bell", "9/8/2024", "6.5 in", "Long Furlong"}, shown); diff != "" {
		t.Error(diff)
	}
}
