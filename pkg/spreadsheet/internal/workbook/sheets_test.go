package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/unicode"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/testkit/cases"
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
		`1 | A1 text "No" | B1 text "Found" | C1 text "When" | D1 text "Depth" | E1 text "Material" | F1 text "Share" | G1 ` +
			`text "Note"`,
		`2 | A2 text "LF-001" | B2 date "45543" as yyyy\-mm\-dd | C2 date "45543.6041666667" as yyyy\-mm\-dd\ hh:mm:ss | ` +
			`D2 number "17.78" | E2 text "copper alloy" | F2 number "0.5" as 0.00% | G2 text "two\nlines, ½ \"quoted\""`,
		`3 | A3 text "LF-002" | B3 date "61" as yyyy\-mm\-dd | C3 time "1.10416666666667" as [hh]:mm:ss | D3 number "0.1" |` +
			` E3 text "lead" | F3 number "0.125" as 0.00% | G3 text " blanks "`,
		`4 | A4 text "LF-003" | B4 date "45513" as mm/dd/yy | C4 time "0.604166666666667" as hh:mm:ss\ AM/PM | D4 number ` +
			`"0.333333333333333" by formula | E4 text "silver" | F4 bool "1" as "TRUE";"TRUE";"FALSE" | G4 error "#DIV/0!" by ` +
			`formula`,
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

// TestUnseenODS: rows that OpenDocument 1.3 part 3 hides (19.745 table:visibility), folds away (19.624 table:display of
// a group) or strikes through (20.390 style:text-line-through-style; the clauses from memory).
func TestUnseenODS(t *testing.T) {
	row := func(attributes, style string) string {
		return `<table:table-row ` + attributes + `><table:table-cell table:style-name="` + style +
			`" office:value-type="string"><text:p>x</text:p></table:table-cell></table:table-row>`
	}
	content := `<office:document-content xmlns:office="o" xmlns:table="t" xmlns:text="x" xmlns:style="s">` +
		`<office:automatic-styles>` +
		`<style:style style:name="s" style:family="table-cell"><style:text-properties ` +
		`style:text-line-through-style="solid"/></style:style>` +
		`</office:automatic-styles><office:body><office:spreadsheet><table:table table:name="a">` + row("", "") +
		row(`table:visibility="filter"`, "") + row("", "s") + `<table:table-row-group table:display="false">` + row("", "") +
		`<table:table-row-group>` + row("", "") + `</table:table-row-group></table:table-row-group>` + row("", "") +
		`</table:table></office:spreadsheet></office:body></office:document-content>`
	data := parts{{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, {"content.xml", content}}.zipped(t)
	w, err := OpenODS(bytes.NewReader(data), int64(len(data)), grid.Limits{})
	must(t, err)
	got := ""
	for _, r := range readAll(t, w, 0) {
		got += fmt.Sprint(r.Hidden, r.Struck, ", ")
	}
	if got != "false false, true false, false true, true false, true false, false false, " {
		t.Error(got)
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

// parts are the files of a workbook written by hand, in order.
type parts [][2]string

const (
	transitional = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	strict       = "http://purl.oclc.org/ooxml/spreadsheetml/main"
	relations    = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
)

// usual returns a workbook with one sheet of the given rows and the shared texts.
func usual(rows, shared string) parts {
	return parts{
		{"_rels/.rels",
			`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` +
				relations + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="` + transitional + `" xmlns:r="` + relations +
			`"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels",
			`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
				`<Relationship Id="r1" Type="` + relations + `/worksheet" Target="worksheets/sheet1.xml"/>` +
				`<Relationship Id="r2" Type="` + relations + `/styles" Target="styles.xml"/>` +
				`<Relationship Id="r3" Type="` + relations + `/sharedStrings" Target="sharedStrings.xml"/></Relationships>`},
		{"xl/styles.xml", `<styleSheet xmlns="` + transitional +
			`"><numFmts count="2"><numFmt numFmtId="164" formatCode="0.0&quot; in&quot;"/><numFmt numFmtId="165" ` +
			`formatCode="[$-809]d mmmm yyyy"/></numFmts>` +
			`<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf ` +
			`numFmtId="165"/><xf numFmtId="14"/><xf numFmtId="46"/></cellXfs></styleSheet>`},
		{"xl/sharedStrings.xml", `<sst xmlns="` + transitional + `">` + shared + `</sst>`},
		{"xl/worksheets/sheet1.xml", `<worksheet xmlns="` + transitional + `"><sheetData>` + rows +
			`</sheetData></worksheet>`},
	}
}

// with returns the parts with one replaced or added.
func (p parts) with(name, content string) parts {
	out := parts{}
	found := false
	for _, part := range p {
		if part[0] == name {
			part[1], found = content, true
		}
		out = append(out, part)
	}
	if !found {
		out = append(out, [2]string{name, content})
	}
	return out
}

// withAll returns the parts with several replaced or added.
func (p parts) withAll(more parts) parts {
	for _, part := range more {
		p = p.with(part[0], part[1])
	}
	return p
}

// replaced returns the parts with a text replaced in all of them, names included.
func (p parts) replaced(old, new string) parts {
	out := parts{}
	for _, part := range p {
		out = append(out, [2]string{strings.ReplaceAll(part[0], old, new), strings.ReplaceAll(part[1], old, new)})
	}
	return out
}

// zipped returns the archive.
func (p parts) zipped(t testing.TB) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, part := range p {
		w, err := z.Create(part[0])
		must(t, err)
		_, err = io.WriteString(w, part[1])
		must(t, err)
	}
	must(t, z.Close())
	return buf.Bytes()
}

// written returns the rows of the first sheet as one line each.
func written(data []byte, limits grid.Limits) ([]string, error) {
	w, err := OpenXLSX(bytes.NewReader(data), int64(len(data)), limits)
	if err != nil {
		return nil, err
	}
	var lines []string
	for row, err := range w.Sheets[0].Rows() {
		if err != nil {
			return lines, err
		}
		var b strings.Builder
		fmt.Fprint(&b, row.Number)
		if row.Hidden {
			fmt.Fprint(&b, " hidden")
		}
		for _, c := range row.Cells {
			fmt.Fprintf(&b, " | %s %s %q", c.Ref(row.Number), c.Kind, c.Raw)
			if c.Format != nil {
				fmt.Fprintf(&b, " as %s", c.Format.Code)
			}
			if c.Extra().Formula != "" {
				fmt.Fprint(&b, " by formula")
			}
		}
		lines = append(lines, b.String())
	}
	return lines, nil
}

// TestParts reads what other programs may write, by ISO/IEC 29500-1 clauses 18.3.1.4 (c), 18.3.1.73
// (row), 18.4 (texts) and 18.8 (formats), and ISO/IEC 29500-2 (names of parts, relationships).
func TestParts(t *testing.T) {
	const bell = `<row r="1"><c r="A1" t="inlineStr"><is><t>bell</t></is></c><c r="C1"><v>7</v></c></row>`
	wantBell := []string{`1 | A1 text "bell" | C1 number "7"`}
	utf16 := func(order unicode.Endianness, policy unicode.BOMPolicy, s string) string {
		out, err := unicode.UTF16(order, policy).NewEncoder().String(s)
		must(t, err)
		return out
	}
	sheet := `<worksheet xmlns="` + transitional + `"><sheetData>` + bell + `</sheetData></worksheet>`
	type read struct {
		name  string
		parts parts
		want  []string
	}
	tests := []read{ // no text that JSON holds, and other names of parts
		{"UTF-16LE", usual("", "").with("xl/worksheets/sheet1.xml",
			utf16(unicode.LittleEndian, unicode.UseBOM, `<?xml version="1.0" encoding="UTF-16"?>`+sheet)), wantBell},
		{"backslashes", usual(bell, "").with("xl/worksheets/sheet1.xml", "").replaced("xl/worksheets/sheet1.xml",
			"other").with(`xl\worksheets\sheet1.xml`, sheet), wantBell},
		{"no relationships of the package", usual(bell, "").replaced("_rels/.rels", "nothing"), wantBell},
		{"no styles", usual(bell, "").replaced("/styles", "/other"), wantBell},
	}
	for _, test := range cases.Table[[]struct {
		Name string
		With parts
		Want []string
	}](t, "Parts") {
		tests = append(tests, read{test.Name, usual("", "").withAll(test.With), test.Want})
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := written(test.parts.zipped(t), grid.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestLongTexts reads texts that are longer than the buffer, so that every sort of token is cut by its
// end in one of the shifts.
func TestLongTexts(t *testing.T) {
	var want strings.Builder
	for i := 0; want.Len() < 300<<10; i++ {
		fmt.Fprintf(&want, "%d ½ 🔔 <&>]] \n", i)
	}
	escaped := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "½", "&#189;", "\n",
		"\r\n").Replace(want.String())
	for shift := range 40 {
		in := `<sst><si><t>` + strings.Repeat("x", shift) + escaped + `</t></si><si><t><![CDATA[` + strings.Repeat("x",
			shift) + want.String() + `]]></t></si></sst>`
		list := textList{limits: grid.Limits{}.WithDefaults()}
		if err := list.read(newScanner(strings.NewReader(in))); err != nil {
			t.Fatal(err)
		}
		for i, text := range list.texts {
			if text[shift:] != want.String() {
				t.Fatalf("shift %d: text %d was read differently", shift, i)
			}
		}
	}
}
