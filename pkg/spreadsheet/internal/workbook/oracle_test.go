package workbook

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// save returns the bytes of a workbook.
func save(t testing.TB, f *excelize.File) []byte {
	t.Helper()
	buf, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// open opens a workbook that has to be good.
func open(t testing.TB, data []byte) *grid.Book {
	t.Helper()
	w, err := OpenXLSX(bytes.NewReader(data), int64(len(data)), grid.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// readAll returns all rows of a sheet, each with cells of its own.
func readAll(t testing.TB, w *grid.Book, sheet int) []grid.Row {
	t.Helper()
	var rows []grid.Row
	for row, err := range w.Sheets[sheet].Rows() {
		if err != nil {
			t.Fatal(err)
		}
		row.Cells = append([]grid.Cell(nil), row.Cells...)
		rows = append(rows, row)
	}
	return rows
}

// cells returns the texts of all filled cells by their reference.
func cells(rows []grid.Row) map[string]string {
	texts := make(map[string]string)
	for _, row := range rows {
		for _, c := range row.Cells {
			if c.Raw != "" && !c.Extra().Worked {
				texts[c.Ref(row.Number)] = c.Raw
			}
		}
	}
	return texts
}

// oracle returns the same as excelize reads it, with raw cell values.
func oracle(t testing.TB, data []byte, sheet string) map[string]string {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.Rows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	texts := make(map[string]string)
	for number := 1; rows.Next(); number++ {
		columns, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		for i, text := range columns {
			if text != "" {
				texts[grid.Cell{Column: i + 1}.Ref(number)] = text
			}
		}
	}
	return texts
}

// same compares every sheet of a workbook with what excelize reads.
func same(t testing.TB, data []byte) {
	t.Helper()
	w := open(t, data)
	for i, s := range w.Sheets {
		if diff := cmp.Diff(oracle(t, data, s.Name), cells(readAll(t, w, i))); diff != "" {
			t.Errorf("sheet %q (-excelize +ours):\n%s", s.Name, diff)
		}
	}
}

func must(t testing.TB, errs ...error) {
	t.Helper()
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
}

var values = []any{
	"crotal bell", " blanks at both ends ", "two\nlines", "a < b & c > \"d\" 'e'", "Größe, ½ in, 鐘, 🔔",
	"_x000D_ typed", "tab\there", "carriage\rreturn", "", 17.78, 0.1, 1e-9, 1e21, -3, 12345678901, true, false,
	time.Date(2024, 9, 8, 14, 30, 0, 0, time.UTC), 90 * time.Minute, float32(2.5), uint8(7), strings.Repeat("long ", 5000),
}

func TestCellsAsExcelize(t *testing.T) {
	f := excelize.NewFile()
	for i, v := range values {
		must(t,
			f.SetCellValue("Sheet1", fmt.Sprintf("A%d", i+1), v),
			f.SetCellValue("Sheet1", fmt.Sprintf("%s7", grid.ColumnName(2*i+3)), v),
			f.SetCellValue("Sheet1", fmt.Sprintf("AB%d", 100*i+50), v))
	}
	_, err := f.NewSheet("Second")
	must(t, err,
		f.SetCellFormula("Second", "A1", "1+1"),
		f.SetCellValue("Second", "B2", "text"),
		f.SetCellRichText("Second", "C3", []excelize.RichTextRun{{Text: "bold "},
			{Text: " and not", Font: &excelize.Font{Bold: true}}}),
		f.SetCellValue("Second", "XFD1048576", "far"))
	same(t, save(t, f))
}

func TestStreamWriterAsExcelize(t *testing.T) {
	same(t, streamed(t, 300))
}

// streamed returns a workbook of the stream writer, which writes inline texts, with 25 columns.
func streamed(t testing.TB, n int) []byte {
	f := excelize.NewFile()
	s, err := f.NewStreamWriter("Sheet1")
	must(t, err)
	for row := 1; row <= n; row++ {
		must(t, s.SetRow(fmt.Sprintf("A%d", row), record(row)))
	}
	must(t, s.Flush())
	return save(t, f)
}

// shared returns a workbook with shared texts, with 25 columns.
func shared(t testing.TB, n int) []byte {
	f := excelize.NewFile()
	for row := 1; row <= n; row++ {
		line := record(row)
		must(t, f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", row), &line))
	}
	return save(t, f)
}

// record is a find of the demo data, invented.
func record(i int) []any {
	return []any{
		fmt.Sprintf("LF-%06d", i), "finder-a", "2024-09-08", "Thornmere", "Long Furlong", 52.1234567 + float64(i)/1e6,
		-1.25 - float64(i)/1e6,
		17.78 + float64(i%10), "in", "crotal bell", "copper alloy", i % 7, "complete", "1690/1790", "drovers' fair",
		float64(i) / 3,
		"plough soil", "pasture", "dry & cold", "", "no mark", i, true, "green patina, loose clapper", "",
	}
}

func TestSharedAsExcelize(t *testing.T) {
	same(t, shared(t, 300))
}

// TestBesides: what another implementation writes beside the cells comes back with them.
func TestBesides(t *testing.T) {
	var picture bytes.Buffer
	must(t, png.Encode(&picture, image.NewGray(image.Rect(0, 0, 2, 2))))
	f := excelize.NewFile()
	must(t,
		f.SetSheetRow("Sheet1", "A1", &[]any{"no", "name", "map"}),
		f.SetSheetRow("Sheet1", "A2", &[]any{1, "bell", "here"}),
		f.AddComment("Sheet1", excelize.Comment{Cell: "B2", Author: "finder-a", Text: "shown to the museum"}),
		f.AddComment("Sheet1", excelize.Comment{Cell: "D7", Author: "finder-b", Text: "far from any row"}),
		f.SetCellHyperLink("Sheet1", "C2", "https://maps.example.org/?a=1&b=2", "External"),
		f.SetCellHyperLink("Sheet1", "A2", "Sheet1!B2", "Location"),
		f.MergeCell("Sheet1", "A1", "B1"),
		f.AddPictureFromBytes("Sheet1", "E2", &excelize.Picture{Extension: ".png", File: picture.Bytes(),
			Format: &excelize.GraphicOptions{AltText: "the bell"}}),
		f.AddShape("Sheet1", &excelize.Shape{Cell: "F3", Type: "rect",
			Paragraph: []excelize.RichTextRun{{Text: "a box "}, {Text: "of words"}}}),
		f.SetHeaderFooter("Sheet1", &excelize.HeaderFooterOptions{OddHeader: `&C&"Arial,Bold"Long Furlong &P`}))
	w := open(t, save(t, f))
	got := map[string]string{}
	for _, row := range readAll(t, w, 0) {
		for _, c := range row.Cells {
			m := c.Extra()
			for _, comment := range m.Comments {
				got[c.Ref(row.Number)] += comment.Author + ": " + comment.Text
			}
			got[c.Ref(row.Number)] += strings.Join(m.Links, " ")
			if m.Merged != (grid.Range{}) {
				got[c.Ref(row.Number)] += m.Merged.String()
			}
			got[c.Ref(row.Number)] += strings.Join(m.Pictures, " ")
		}
	}
	want := map[string]string{"A1": "A1:B1", "B1": "", "C1": "", "A2": "#Sheet1!B2", "B2": "finder-a: shown to the museum",
		"C2": "https://maps.example.org/?a=1&b=2", "D7": "finder-b: far from any row", "E2": "image1.png"}
	delete(want, "B1")
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	layout, err := w.Sheets[0].Layout()
	must(t, err)
	if diff := cmp.Diff([]grid.FreeText{{Cell: "F3", Text: "a box \nof words"}, {Text: "Long Furlong"}},
		layout.Texts); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]grid.Picture{{Cell: "E2", Name: "image1.png", Title: "the bell"}}, layout.Pictures); diff != "" {
		t.Error(diff)
	}
	if r, ok := layout.MergedAt(2, 1); !ok || r.String() != "A1:B1" {
		t.Errorf("B1 lies in %v", r)
	}
}

// TestConversations: a note with answers, as a workbook of 2018 and later has it ([MS-XLSX], from memory).
func TestConversations(t *testing.T) {
	p := usual(`<row r="1"><c r="A1"><v>1</v></c></row>`, "").
		with("xl/worksheets/_rels/sheet1.xml.rels",
			`<Relationships><Relationship Id="a" Type="x/comments" Target="../comments1.xml"/>`+
				`<Relationship Id="b" Type="x/threadedComment" Target="../threadedComments/t1.xml"/></Relationships>`).
		with("xl/comments1.xml", `<comments><authors><author>tc={1}</author><author>finder-b</author></authors><commentList>`+
			`<comment ref="A1" authorId="0"><text><t>[Threaded comment] your program is too old</t></text></comment>`+
			`<comment ref="B1" authorId="1"><text><r><t>finder-b:</t></r><r><t> mine</t></r></text></comment></commentList>`+
			`</comments>`).
		with("xl/persons/person.xml", `<personList><person displayName="finder-a" id="{P}"/></personList>`).
		with("xl/threadedComments/t1.xml",
			`<ThreadedComments><threadedComment ref="A1" personId="{P}" id="{1}"><text>how deep?</text></threadedComment>`+
				`<threadedComment ref="A1" personId="{Q}" id="{2}" parentId="{1}"><text>ten inches</text></threadedComment>`+
				`</ThreadedComments>`)
	rows := readAll(t, open(t, p.zipped(t)), 0)
	got := fmt.Sprint(rows[0].Cell(1).Extra().Comments, rows[0].Cell(2).Extra().Comments)
	if got != "[{finder-a how deep?} { ten inches}] [{finder-b mine}]" {
		t.Errorf("comments %s", got)
	}
}

// TestSharedFormulas: a formula that cells share is the one that another implementation gives for each.
func TestSharedFormulas(t *testing.T) {
	p := usual(`<row r="1"><c r="A1"><v>7</v></c></row><row r="2"><c r="A2"><f t="shared" si="0" `+
		`ref="A2:B3">A1+$C$1+LOG10(1)&amp;"A1"</f><v>8</v></c></row>`+
		`<row r="3"><c r="A3"><f t="shared" si="0"/><v>9</v></c><c r="B3"><f t="shared" si="0"/></c></row>`, "")
	data := p.zipped(t)
	rows := readAll(t, open(t, data), 0)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	must(t, err)
	for _, row := range rows {
		for _, c := range row.Cells {
			want, err := f.GetCellFormula("Finds", c.Ref(row.Number))
			must(t, err)
			if got := c.Extra().Formula; got != want {
				t.Errorf("%s: formula %q, want %q", c.Ref(row.Number), got, want)
			}
		}
	}
}

// TestWorked: formulas without a stored result come to what another implementation works out, or stay as they
// are.
func TestWorked(t *testing.T) {
	f := excelize.NewFile()
	must(t,
		f.SetSheetRow("Sheet1", "A1", &[]any{7, 2.5, "bell", nil, true, "3"}),
		f.SetSheetRow("Sheet1", "A2", &[]any{4, -1, "lead", "x"}))
	_, err := f.NewSheet("More & more")
	must(t, err, f.SetCellValue("More & more", "B2", 12))
	worked, kept := cases.Table[[]string](t, "Worked"), cases.Table[[]string](t, "Unworked")
	for i, formula := range worked {
		must(t, f.SetCellFormula("Sheet1", fmt.Sprintf("H%d", i+1), formula))
	}
	for i, formula := range kept {
		must(t, f.SetCellFormula("Sheet1", fmt.Sprintf("H%d", len(worked)+i+1), formula))
	}
	rows := readAll(t, open(t, save(t, f)), 0)
	texts := map[string]grid.Cell{}
	for _, row := range rows {
		texts[row.Cell(8).Ref(row.Number)] = row.Cell(8)
	}
	for i, formula := range worked {
		ref := fmt.Sprintf("H%d", i+1)
		want, _ := f.CalcCellValue("Sheet1", ref)
		c := texts[ref]
		if !c.Extra().Worked || c.Text != want {
			t.Errorf("%s comes to %s %q, want %q", formula, c.Kind, c.Text, want)
		}
	}
	for i, formula := range kept {
		if c := texts[fmt.Sprintf("H%d", len(worked)+i+1)]; c.Extra().Worked || c.Kind != grid.Empty ||
			c.Extra().Formula == "" {
			t.Errorf("%s comes to %q", formula, c.Text)
		}
	}
}
