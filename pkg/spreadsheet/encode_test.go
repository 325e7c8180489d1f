package spreadsheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/text"
)

var languages = []string{"en", "de", "nl", "da", "fr", "sv"}

func number(t *testing.T, s string) find.Number {
	t.Helper()
	n, err := find.ParseNumber(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// awkward is a report with what is hard to put into a table.
func awkward(t *testing.T) *find.Report {
	return reportOf(t, cases.Table[json.RawMessage](t, "Awkward"))
}

func example(t *testing.T) *find.Report {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "valid", "full.findslip.json"))
	if err != nil {
		t.Fatal(err)
	}
	return reportOf(t, raw)
}

func reportOf(t *testing.T, raw []byte) *find.Report {
	t.Helper()
	s, err := find.DecodeJSON(bytes.NewReader(raw), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, _, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// writeCSV returns the records of a CSV file of a report.
func writeCSV(t *testing.T, r *find.Report, o WriteOptions) [][]string {
	t.Helper()
	var b bytes.Buffer
	if err := EncodeCSV(&b, find.StreamOf(r), o); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// writeXLSX opens the workbook of a report with another program's reader.
func writeXLSX(t *testing.T, r *find.Report, o WriteOptions) *excelize.File {
	t.Helper()
	var b bytes.Buffer
	if err := EncodeXLSX(&b, find.StreamOf(r), o); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func sheetRows(t *testing.T, f *excelize.File, sheet string) [][]string {
	t.Helper()
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func TestColumnsInOrder(t *testing.T) {
	rows := writeCSV(t, awkward(t), WriteOptions{})
	want := []string{"number", "finder", "finder.handle", "found.date", "found.verbatim",
		"position.longitude", "position.latitude", "position.uncertainty", "position.verbatim",
		"depth", "depth.min [cm]", "depth.max [cm]", "depth.said", "depth.resolution [cm]", "depth.basis.code",
		"name", "count.min", "materials.1", "materials.1.code", "materials.1.certainty", "materials.2.code",
		"weight.min [g]", "weight.max [g]", "weight.said", "weight.resolution [g]", "dating.date", "dating.earliest",
		"dating.latest", "dating.verbatim", "notes", "absent",
		"columns.Number", "Odd", "columns.columns.Odd", "columns.depth", "id"}
	// Members are in the order of SPEC.md section 3; within one, in that of the table of fields.
	if d := cmp.Diff(want, rows[0]); d != "" {
		t.Error(d)
	}
	first := map[string]string{}
	for i, h := range rows[0] {
		first[h] = rows[1][i]
	}
	for h, want := range map[string]string{"number": "007", "position.longitude": "-1.2203476", "depth": "7-9",
		"depth.min [cm]": "17.78", "materials.2.code": "iron",
		"Odd": "x", "columns.columns.Odd": "y", "columns.Number": "old 7", "columns.depth": "8", "name": "crotal bell",
		"id": "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11"} {
		if first[h] != want {
			t.Errorf("%s: %q, want %q", h, first[h], want)
		}
	}
}

func TestPositionsInListsAscend(t *testing.T) {
	f := &find.Find{ID: "x", Number: "1"}
	for i := range 12 {
		f.Materials = append(f.Materials, find.Material{Term: find.Term{Verbatim: fmt.Sprint("m", i+1)}, Part: "edge"})
	}
	var want []string
	for i := range 12 {
		want = append(want, fmt.Sprintf("materials.%d", i+1), fmt.Sprintf("materials.%d.part", i+1))
	}
	got := writeCSV(t, &find.Report{Finds: []*find.Find{f}}, WriteOptions{})[0]
	if d := cmp.Diff(append(append([]string{"number"}, want...), "id"), got); d != "" {
		t.Error(d)
	}
}

// Every heading is unique and is taken, on reading, for the column it stands over.
func TestHeadingsComeBack(t *testing.T) {
	for name, r := range map[string]*find.Report{"awkward": awkward(t), "full": example(t)} {
		for _, plain := range []bool{false, true} {
			check := func(kind string, heads []string) {
				t.Helper()
				seen, fields := map[string]bool{}, map[string]string{}
				for _, h := range heads {
					if h == "" || seen[h] {
						t.Errorf("%s, %s, plain %v: the heading %q is empty or stands twice", name, kind, plain, h)
					}
					seen[h] = true
					if m := heading.Understand(h); m.Field != "" && !strings.HasPrefix(h, m.Field+".") { // not what an id is called
						if before := fields[m.Field]; before != "" {
							t.Errorf("%s, %s: %q and %q are both taken for %s", name, kind, before, h, m.Field)
						}
						fields[m.Field] = h
					}
				}
				if heads[len(heads)-1] != "id" && heading.Understand(heads[len(heads)-1]).Field != "id" {
					t.Errorf("%s, %s: the last column is %q", name, kind, heads[len(heads)-1])
				}
			}
			heads := writeCSV(t, r, WriteOptions{Plain: plain})[0]
			check("csv", heads)
			for _, lang := range languages {
				shown := sheetRows(t, writeXLSX(t, r, WriteOptions{Plain: plain, Language: lang}), "Finds")[0]
				check("xlsx "+lang, shown)
				for i, h := range shown {
					if key, show := heading.Understand(heads[i]),
						heading.Understand(h); key.Field != show.Field || key.Keep != show.Keep {
						t.Errorf("%s, %s: %q is taken for %q, %q for %q", name, lang, heads[i], key.Field, h, show.Field)
					}
				}
			}
		}
	}
}

func TestCSVBytes(t *testing.T) {
	r := awkward(t)
	var plainStart, marked, again bytes.Buffer
	for b, o := range map[*bytes.Buffer]WriteOptions{&plainStart: {}, &again: {}, &marked: {BOM: true}} {
		if err := EncodeCSV(b, find.StreamOf(r), o); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(plainStart.Bytes(), again.Bytes()) {
		t.Error("two runs differ")
	}
	// RFC 3629 section 6: the signature is EF BB BF.
	if want := append([]byte{0xEF, 0xBB, 0xBF}, plainStart.Bytes()...); !bytes.Equal(want, marked.Bytes()) {
		t.Error("the byte order mark is not in front of the same bytes")
	}
	text := plainStart.String()
	// RFC 4180 section 2, 5 to 7: line breaks, commas and quotes are enclosed, quotes doubled.
	if !strings.Contains(text, `"two`+"\n"+`lines, ""quoted"""`) || strings.Contains(text, "\r") ||
		!strings.HasSuffix(text, "\n") {
		t.Errorf("the text is not quoted as it should be:\n%s", text)
	}
	if !strings.Contains(text, ",'=1+1,") {
		t.Errorf("a formula is let through:\n%s", text)
	}
}

// Signs that begin a formula: OWASP, "CSV Injection". The apostrophe is the way of spreadsheets to
// mark text (common practice, no source).
func TestGuardComesBack(t *testing.T) {
	for text, want := range map[string]string{
		"": "", "plain": "plain", "it's": "it's", "'": "'", "'t Zand": "'t Zand", "''": "'''", "''hello": "'''hello",
		"'''":  "''''",
		"=1+1": "'=1+1", "+44": "'+44", "+44 1632": "'+44 1632", "-1.2": "-1.2", "-12": "-12", "-": "'-",
		"-1.2, 52": "'-1.2, 52", "--1": "'--1",
		"@home": "'@home", "\tx": "'\tx", "\rx": "'\rx", "'=x": "''=x", "''-x": "'''-x", "'@": "''@", "7-9": "7-9",
		" =x": " =x",
	} {
		if got := guard(text); got != want {
			t.Errorf("guard(%q) is %q, want %q", text, got, want)
		}
		if got := table.Unguard(guard(text)); got != text {
			t.Errorf("%q comes back as %q", text, got)
		}
	}
}

func FuzzGuard(f *testing.F) {
	for _, s := range []string{"'=", "''", "-1", "+", "'\t'"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := guard(s)
		if table.Unguard(got) != text.Visible(s) { // which the losses say
			t.Errorf("%q comes back as %q", s, table.Unguard(got))
		}
		if got != "" && strings.ContainsAny(string([]rune(got)[0]), "=+-@\t\r\n＝＋－＠") {
			if _, err := find.ParseNumber(got); err != nil {
				t.Errorf("%q is let through", got)
			}
		}
	})
}

// A plain table has no canonical parts, and says the same.
func TestPlain(t *testing.T) {
	rows := writeCSV(t, awkward(t), WriteOptions{Plain: true})
	cell := func(row int, name string) string {
		i := slices.Index(rows[0], name)
		if i < 0 {
			return "no column"
		}
		return rows[row][i]
	}
	for _, c := range cases.Table[[]struct {
		Row        int
		Name, Want string
	}](t, "Plain") {
		if got := cell(c.Row, c.Name); got != c.Want {
			t.Errorf("row %d, %s: %q, want %q", c.Row, c.Name, got, c.Want)
		}
	}
	for i, h := range rows[0] {
		if !slices.ContainsFunc(rows[1:], func(row []string) bool { return row[i] != "" }) {
			t.Errorf("the column %s is empty", h)
		}
	}
}

func TestWorkbook(t *testing.T) {
	r := awkward(t)
	f := writeXLSX(t, r, WriteOptions{})
	if d := cmp.Diff([]string{"Finds", "People", "Permissions", "Report"}, f.GetSheetList()); d != "" {
		t.Error(d)
	}
	finds := sheetRows(t, f, "Finds")
	column := func(head string) string {
		i := slices.Index(finds[0], head)
		if i < 0 {
			t.Fatalf("no column %q in %q", head, finds[0])
		}
		return find.ColumnLetters(i + 1)
	}
	for _, c := range []struct {
		head, want string
		kind       excelize.CellType
	}{
		{"Number", "007", excelize.CellTypeInlineString}, {"Find", "crotal bell", excelize.CellTypeInlineString},
		{"Date found", "2026-04-12", excelize.CellTypeUnset}, // a number that is shown as a day
		{"Depth", "7-9", excelize.CellTypeInlineString}, {"depth.min [cm]", "17.78", excelize.CellTypeUnset},
		{"count.min", "12", excelize.CellTypeUnset}, {"Odd", "x", excelize.CellTypeInlineString},
	} {
		cell := column(c.head) + "2"
		got, err := f.GetCellValue("Finds", cell)
		if err != nil || got != c.want {
			t.Errorf("%s: %q, want %q, %v", c.head, got, c.want, err)
		}
		if kind, err := f.GetCellType("Finds", cell); err != nil || kind != c.kind {
			t.Errorf("%s: kind %v, want %v, %v", c.head, kind, c.kind, err)
		}
	}
	name := column("Find") + "3"
	if got, _ := f.GetCellValue("Finds", name); got != "=1+1" {
		t.Errorf("text that looks like a formula: %q", got)
	}
	if formula, _ := f.GetCellFormula("Finds", name); formula != "" {
		t.Errorf("text has become the formula %q", formula)
	}
	if last := finds[0][len(finds[0])-1]; heading.Understand(last).Field != "id" {
		t.Errorf("the last column is %q", last)
	}
	if d := cmp.Diff([][]string{{"id", "handle"}, {"person-1", "finder-a"}, {"person-2", "finder-b"}},
		sheetRows(t, f, "People")); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([][]string{{"member", "value"}, {"findslip", "1.0"}, {"id", r.ID}, {"title", "Long Furlong"},
		{"accepted.1.code", "deeper-than-guessed"}, {"accepted.1.reason", "the dial was off"}},
		sheetRows(t, f, "Report")); d != "" {
		t.Error(d)
	}
	panes, err := f.GetPanes("Finds")
	if err != nil || !panes.Freeze || panes.YSplit != 1 {
		t.Errorf("the headings are not frozen: %+v, %v", panes, err)
	}
	dimension, err := f.GetSheetDimension("Finds")
	if want := "A1:" + find.ColumnLetters(len(finds[0])) + "3"; err != nil || dimension != want {
		t.Errorf("the sheet claims %s, want %s, %v", dimension, want, err)
	}
}

func TestWorkbookBytes(t *testing.T) {
	var want []byte
	for range 3 {
		var b bytes.Buffer
		if err := EncodeXLSX(&b, find.StreamOf(example(t)), WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = b.Bytes()
		} else if !bytes.Equal(want, b.Bytes()) {
			t.Fatal("two runs differ")
		}
	}
}

// A cell of a workbook holds 32,767 characters (Excel specifications and limits, support.microsoft.com).
func TestTooLongForACell(t *testing.T) {
	r := &find.Report{Finds: []*find.Find{{ID: "x", Number: "TL-1", Notes: strings.Repeat("ä", 32767)}}}
	var b bytes.Buffer
	if err := EncodeXLSX(&b, find.StreamOf(r), WriteOptions{}); err != nil {
		t.Errorf("text that just fits: %v", err)
	}
	r.Finds[0].Notes += "x"
	err := EncodeXLSX(&b, find.StreamOf(r), WriteOptions{})
	if err == nil || !strings.Contains(err.Error(), "TL-1") || !strings.Contains(err.Error(), "notes") {
		t.Errorf("text that is too long: %v", err)
	}
	if err := EncodeCSV(&b, find.StreamOf(r), WriteOptions{}); err != nil {
		t.Errorf("a CSV file has no such limit: %v", err)
	}
}

func TestNoFinds(t *testing.T) {
	r := &find.Report{Findslip: find.Version}
	if d := cmp.Diff([][]string{{"number", "name", "id"}}, writeCSV(t, r, WriteOptions{})); d != "" {
		t.Error(d)
	}
	if rows := sheetRows(t, writeXLSX(t, r, WriteOptions{}), "Finds"); len(rows) != 1 || len(rows[0]) != 3 {
		t.Errorf("%q", rows)
	}
}

// What does not fit into memory goes through a file of its own, which is gone afterwards.
func TestSpoolFile(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	const finds = 40
	notes := strings.Repeat("still rattles. ", spoolMemory/finds/12)
	in := func() *find.Stream {
		return find.NewStream(&find.Report{}, func(yield func(*find.Entry, error) bool) {
			for i := range finds {
				f := &find.Find{ID: fmt.Sprint("id-", i), Number: fmt.Sprint(i), Notes: notes}
				if !yield(&find.Entry{Find: f}, nil) {
					return
				}
			}
			yield(&find.Entry{Find: &find.Find{ID: "last", Name: "jetton"}}, nil)
		})
	}
	s := newSpool()
	if err := s.fill(in(), func(find.Field) bool { return true }); err != nil {
		t.Fatal(err)
	}
	if s.file == nil || s.memory.Len() > 0 {
		t.Errorf("no file holds the finds; memory holds %d bytes", s.memory.Len())
	}
	s.close()
	var b bytes.Buffer
	if err := EncodeCSV(&b, in(), WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("%d files are left behind, %v", len(left), err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != finds+2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	if d := cmp.Diff([]string{"number", "name", "notes", "id"}, rows[0]); d != "" {
		t.Error(d)
	}
	for i, row := range rows[1 : finds+1] {
		if row[0] != fmt.Sprint(i) || row[2] != notes || row[3] != fmt.Sprint("id-", i) {
			t.Fatalf("row %d is damaged", i)
		}
	}
}

// An error of the source ends the work and leaves no file.
func TestSourceFails(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	in := find.NewStream(&find.Report{}, func(yield func(*find.Entry, error) bool) {
		if yield(&find.Entry{Find: &find.Find{ID: "x", Notes: strings.Repeat("x", spoolMemory+1)}}, nil) {
			yield(nil, fmt.Errorf("the file is cut short"))
		}
	})
	var b bytes.Buffer
	if err := EncodeCSV(&b, in, WriteOptions{}); err == nil || b.Len() > 0 {
		t.Errorf("%v, %d bytes written", err, b.Len())
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// A table with another delimiter holds the same cells and is read the same.
func TestDelimiter(t *testing.T) {
	want := writeCSV(t, awkward(t), WriteOptions{})
	for name, sign := range map[string]rune{"semicolon": ';', "tab": '\t'} {
		var b bytes.Buffer
		if err := EncodeCSV(&b, find.StreamOf(awkward(t)), WriteOptions{Delimiter: name}); err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(&b)
		r.Comma = sign
		got, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
	if err := EncodeCSV(new(bytes.Buffer), find.StreamOf(awkward(t)), WriteOptions{Delimiter: "bar"}); err == nil {
		t.Error("a delimiter that is not known is taken")
	}
}
