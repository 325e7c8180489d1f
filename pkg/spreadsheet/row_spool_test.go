package spreadsheet

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// keptAndBack puts rows into a spool and takes them out again.
func keptAndBack(t *testing.T, most int, rows []grid.Row) (back []grid.Row, full bool) {
	t.Helper()
	s := newRowSpool(most)
	for _, row := range rows {
		s.add(row)
	}
	if s.held > most {
		t.Errorf("%d bytes are held, and %d may be", s.held, most)
	}
	for row := range s.rows {
		row.Cells = slices.Clone(row.Cells)
		back = append(back, row)
	}
	for range s.rows {
		t.Error("rows are given back twice")
	}
	return back, s.full
}

// sameRows holds what a spool gives back to what was put in: all of it, or as much as it had room for.
func sameRows(t *testing.T, most int, rows []grid.Row) {
	t.Helper()
	back, full := keptAndBack(t, most, rows)
	if len(back) > len(rows) || full != (len(back) < len(rows)) {
		t.Fatalf("%d rows of %d came back; full: %v", len(back), len(rows), full)
	}
	for i := range back {
		if diff := cmp.Diff(rows[i], back[i]); diff != "" {
			t.Fatalf("row %d: %s", rows[i].Number, diff)
		}
	}
}

// sheetFiles are all the workbooks and text tables among the test data and the examples.
func sheetFiles(t *testing.T) (names []string) {
	t.Helper()
	for _, pattern := range []string{"testdata/workbooks/*.xlsx", "testdata/reference/*.csv", "examples/*/*.xlsx", "examples/*/*.csv"} {
		found, err := filepath.Glob("../../" + pattern)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, found...)
	}
	if len(names) < 10 {
		t.Fatalf("only %d sheets to try", len(names))
	}
	return names
}

// sheetsOf returns every sheet of a file, each with its rows.
func sheetsOf(t *testing.T, name string, data []byte) (sheets [][]grid.Row) {
	t.Helper()
	read := func(src source) {
		var rows []grid.Row
		for row, err := range src.rows() {
			if err != nil {
				t.Fatal(err)
			}
			row.Cells = slices.Clone(row.Cells)
			rows = append(rows, row)
		}
		sheets = append(sheets, rows)
	}
	if filepath.Ext(name) == ".csv" {
		src, _, err := openTable(bytes.NewReader(data), Options{})
		if err != nil {
			t.Fatal(err)
		}
		read(src)
		return sheets
	}
	src, _, err := openWorkbook(bytes.NewReader(data), int64(len(data)), Options{Sheet: firstSheet(t, data)})
	if err != nil {
		t.Fatal(err)
	}
	book := src.(*workbook)
	for book.index = range book.sheets {
		read(book)
	}
	return sheets
}

// firstSheet is the name of a sheet that there is, whatever its headings.
func firstSheet(t *testing.T, data []byte) string {
	t.Helper()
	_, _, err := openWorkbook(bytes.NewReader(data), int64(len(data)), Options{Sheet: "\x00"})
	if err == nil {
		t.Fatal("there is a sheet without a name")
	}
	_, names, _ := strings.Cut(err.Error(), `the workbook has "`)
	name, _, _ := strings.Cut(names, `"`)
	return name
}

// What the spool gives back of a sheet is what reading it again gives, with room for all and with room for a part.
func TestKeptRowsOfFiles(t *testing.T) {
	for _, name := range sheetFiles(t) {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, rows := range sheetsOf(t, name, data) {
			if _, full := keptAndBack(t, rowSpoolMemory, rows); full {
				t.Errorf("%s: there was no room", name)
			}
			for _, most := range []int{rowSpoolMemory, 0, firstChunk, 3 * firstChunk} {
				sameRows(t, most, rows)
			}
		}
	}
}

// randomRows are rows in which texts come again, differ in their middle, are long, and stand in columns near and far.
func randomRows(r *rand.Rand) []grid.Row {
	words := []string{"", "bell", "row 1 of the book", "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "½", "\x00", "\xff", strings.Repeat("a", 64), strings.Repeat("a", 65), strings.Repeat("long ", 60), "12.5", "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"}
	formats := []string{"", "", "0.00", "yyyy-mm-dd"}
	columns := []int{1, 2, 3, 127, 128, 129, 130, 257, 16384}
	var rows []grid.Row
	number, line := 0, 0
	for range r.IntN(300) {
		number += 1 + r.IntN(3)*r.IntN(1000)
		if r.IntN(2) == 0 {
			line += r.IntN(4)
		}
		row := grid.Row{Number: number, Line: line, Hidden: r.IntN(5) == 0}
		for _, column := range columns {
			if r.IntN(4) == 0 {
				continue
			}
			c := grid.Cell{Column: column, Kind: grid.Kind(r.IntN(6)), Formula: r.IntN(6) == 0, Format: formats[r.IntN(len(formats))]}
			switch r.IntN(3) {
			case 0:
				c.Text = words[r.IntN(len(words))]
			case 1:
				c.Text = fmt.Sprintf("row %d of %d", r.IntN(400), r.IntN(3))
			default:
				c.Text = strings.Repeat("b", r.IntN(40)) + strings.Repeat("a", r.IntN(30))
			}
			row.Cells = append(row.Cells, c)
		}
		if len(row.Cells) > 0 {
			rows = append(rows, row)
		}
	}
	return rows
}

func TestKeptRowsAtRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for range 200 {
		rows := randomRows(r)
		sameRows(t, rowSpoolMemory, rows)
		sameRows(t, r.IntN(64<<10), rows)
	}
}

// A lane that would hold more forms than it can, a row that is too long: the spool is full, and says so.
func TestKeptRowsBeyondMeasure(t *testing.T) {
	var formats []grid.Row
	for i := range 300 {
		formats = append(formats, grid.Row{Number: i + 1, Cells: []grid.Cell{{Column: 1, Kind: grid.Number, Text: strconv.Itoa(i), Format: strings.Repeat("0", i)}}})
	}
	long := []grid.Row{{Number: 1, Cells: []grid.Cell{{Column: 1, Text: "x"}}}, {Number: 2, Cells: []grid.Cell{{Column: 1, Text: strings.Repeat("x", longestRow+1)}}}, {Number: 3, Cells: []grid.Cell{{Column: 1, Text: "x"}}}}
	for _, try := range []struct {
		rows []grid.Row
		kept int
	}{{formats, 256}, {long, 1}} {
		sameRows(t, rowSpoolMemory, try.rows)
		if back, full := keptAndBack(t, rowSpoolMemory, try.rows); len(back) != try.kept || !full {
			t.Errorf("%d rows are kept, want %d; full: %v", len(back), try.kept, full)
		}
	}
}

// entriesWith reads a file as Decode does, with a spool of so many bytes; none for less than nought.
func entriesWith(t *testing.T, name string, data []byte, most int) (all []*find.Entry) {
	t.Helper()
	var src source
	var err error
	if filepath.Ext(name) == ".csv" {
		src, _, err = openTable(bytes.NewReader(data), Options{})
	} else {
		src, _, err = openWorkbook(bytes.NewReader(data), int64(len(data)), Options{})
	}
	if err != nil {
		t.Fatal(err)
	}
	d := &decoder{src: src, report: &find.Report{Findslip: find.Version}}
	if err := d.locate(); err != nil {
		t.Fatal(err)
	}
	beside, _, err := src.header(d.report)
	if err != nil {
		t.Fatal(err)
	}
	d.references = beside.settle()
	if most >= 0 {
		d.held = newRowSpool(most)
	}
	if err := d.survey(); err != nil {
		t.Fatal(err)
	}
	for e, err := range d.entries {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

// The finds are the same whether their rows were kept, read again, or half of each; also with a row of
// units below the headings, headings that come again, rows that are hidden and blank lines.
func TestEntriesOfKeptRows(t *testing.T) {
	files := map[string][]byte{}
	for _, name := range []string{"../../examples/thornmere/season.xlsx", "../../examples/thornmere/season.csv"} {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = data
	}
	var long strings.Builder
	long.WriteString("Number,Find,Depth,Date,Notes\n,,(in),(d/m/y),\n")
	for i := range 2000 {
		if i%300 == 299 {
			long.WriteString("\nNumber,Find,Depth,Date,Notes\n")
		}
		fmt.Fprintf(&long, "%d,button,%d,%d/4/2026,\"row %d,\nof the book\"\n", i+1, i%9, i%28+1, i)
	}
	files["long.csv"] = []byte(long.String())
	for name, data := range files {
		want := entriesWith(t, name, data, -1)
		if len(want) == 0 {
			t.Errorf("%s: no finds", name)
		}
		for _, most := range []int{0, firstChunk, 5 * firstChunk, rowSpoolMemory} {
			got := entriesWith(t, name, data, most)
			if len(got) != len(want) {
				t.Errorf("%s with %d bytes: %d finds, want %d", name, most, len(got), len(want))
				continue
			}
			for i := range want {
				if !reflect.DeepEqual(want[i], got[i]) {
					t.Errorf("%s with %d bytes: find %d: %+v, want %+v", name, most, i, got[i], want[i])
				}
			}
		}
	}
}

// A stream that is ranged over again reads the file again: the rows are kept for the first time only.
func TestKeptRowsAreGivenOnce(t *testing.T) {
	in := []byte("Number,Find,Depth\n1,button,4 in\n2,bell,5 in\n")
	s, err := DecodeCSV(bytes.NewReader(in), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for round := range 2 {
		n := 0
		for _, err := range s.Entries {
			if err != nil {
				t.Fatal(err)
			}
			n++
		}
		if n != 2 {
			t.Errorf("round %d: %d finds, want 2", round+1, n)
		}
	}
}

// FuzzKeptRows packs rows made of the bytes: a byte for the column, one for kind and form, and a text up to the next bar.
func FuzzKeptRows(f *testing.F) {
	f.Add([]byte("\x01\x01bell|\x02\x12row 1 of the book|\n\x01\x01bell|\x02\x12row 2 of the book|"), uint16(0))
	f.Add([]byte("\x01\x01bell|\n\x01\x01bell|\n\x01\x01bell|\n\xff\x01bell|\x7f\x01aaaa|"), uint16(5000))
	f.Fuzz(func(t *testing.T, data []byte, most uint16) {
		var rows []grid.Row
		for i, line := range bytes.Split(data, []byte("\n")) {
			row := grid.Row{Number: 2*i + 1, Line: i, Hidden: i%3 == 1}
			for _, field := range bytes.Split(line, []byte("|")) {
				if len(field) > 2 {
					row.Cells = append(row.Cells, grid.Cell{Column: int(field[0]), Kind: grid.Kind(field[1] & 7), Formula: field[1]&8 != 0, Format: strings.Repeat("0", int(field[1]>>4)), Text: string(field[2:])})
				}
			}
			if len(row.Cells) > 0 { // as readers have it
				rows = append(rows, row)
			}
		}
		sameRows(t, rowSpoolMemory, rows)
		sameRows(t, int(most), rows)
	})
}
