package workbook

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
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
