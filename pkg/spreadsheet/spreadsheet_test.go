package spreadsheet

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

func csvReport(t *testing.T, text string, o Options) (*find.Report, notice.List) {
	t.Helper()
	s, err := DecodeCSV(strings.NewReader(text), o)
	if err != nil {
		t.Fatal(err)
	}
	r, list, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return r, list
}

// book makes a workbook in memory; set fills it.
func book(t *testing.T, set func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	set(f)
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func xlsxReport(t *testing.T, data []byte, o Options) (*find.Report, notice.List) {
	t.Helper()
	s, err := DecodeXLSX(bytes.NewReader(data), int64(len(data)), o)
	if err != nil {
		t.Fatal(err)
	}
	r, list, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return r, list
}

func rows(t *testing.T, f *excelize.File, sheet string, rows ...[]any) {
	t.Helper()
	for i, row := range rows {
		if err := f.SetSheetRow(sheet, fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
}

func codes(list notice.List) []string {
	out := []string{}
	for _, n := range list {
		out = append(out, strings.TrimSpace(n.Kind.Code+" "+n.Cell))
	}
	return out
}

func TestCellsOfAWorkbook(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		inches, day := `0" in"`, "d/m/yyyy"
		unit, err := f.NewStyle(&excelize.Style{CustomNumFmt: &inches})
		if err != nil {
			t.Fatal(err)
		}
		date, err := f.NewStyle(&excelize.Style{CustomNumFmt: &day})
		if err != nil {
			t.Fatal(err)
		}
		rows(t, f, "Sheet1", []any{"No", "Find", "Depth", "Date found", "Notes"}, []any{1, "bell", 8, 46124, "x"},
			[]any{2, "nail", 46273, 46124, ""}, []any{3, "pin", 5, 46124, "#"})
		for cell, style := range map[string]int{"C2": unit, "C3": date, "D2": date, "D3": date, "D4": date} {
			if err := f.SetCellStyle("Sheet1", cell, cell, style); err != nil {
				t.Fatal(err)
			}
		}
		if err := f.SetRowVisible("Sheet1", 4, false); err != nil {
			t.Fatal(err)
		}
	})
	r, list := xlsxReport(t, data, Options{})
	// Serial 46124 is 12 April 2026, 46273 is 8 September 2026: days since 30 December 1899.
	for i, want := range []string{"8 in|2026-04-12|12/4/2026", "2026-09-08|2026-04-12|12/4/2026",
		"5|2026-04-12|12/4/2026"} {
		if got := r.Finds[i].Depth.Verbatim + "|" + r.Finds[i].Found.Date + "|" + r.Finds[i].Found.Verbatim; got != want {
			t.Errorf("row %d: %s, want %s", i+2, got, want)
		}
	}
	if d := cmp.Diff([]string{"hidden-read"}, codes(list)); d != "" {
		t.Error(d)
	}
}

func TestSheetsBesideTheFinds(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		for _, s := range []string{"People", "Permissions", "Report", "Secret"} {
			if _, err := f.NewSheet(s); err != nil {
				t.Fatal(err)
			}
		}
		rows(t, f, "Sheet1", []any{"Number", "Find", "Finder", "Permission"}, []any{"1", "bell", "Finder-A", "Long Furlong"},
			[]any{"2", "nail", "somebody else", "permission-1"})
		rows(t, f, "People", []any{"id", "handle"}, []any{"person-1", "finder-a"})
		rows(t, f, "Permissions", []any{"id", "place.name", "maxDepth"}, []any{"permission-1", "Long Furlong", "12 in"})
		rows(t, f, "Report", []any{"member", "value"}, []any{"title", "Season"},
			[]any{"id", "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"})
		if err := f.SetSheetVisible("Secret", false); err != nil {
			t.Fatal(err)
		}
	})
	r, list := xlsxReport(t, data, Options{})
	want := &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", Title: "Season",
		People: []find.Person{{ID: "person-1", Handle: "finder-a"}, {ID: "person-2", Name: "somebody else"}},
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"},
			MaxDepth: &find.Quantity{Verbatim: "12 in"}}},
		Finds: []*find.Find{{Number: "1", Name: "bell", Finder: "person-1", Permission: "permission-1"},
			{Number: "2", Name: "nail", Finder: "person-2", Permission: "permission-1"}}}
	if d := cmp.Diff(want, r, cmp.AllowUnexported(find.Number{})); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]string{"hidden-read"}, codes(list)); d != "" {
		t.Error(d)
	}
}

func TestWhatCannotBeRead(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"only blanks": {"\n\n ,\n", "nothing in it"},
		"nul":         {"No,Find\n1,be\x00ll\n", "NUL"},
	} {
		s, err := DecodeCSV(strings.NewReader(c.text), Options{})
		if err == nil {
			_, _, err = find.Collect(s)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	data := book(t, func(f *excelize.File) { rows(t, f, "Sheet1", []any{"Number", "Find"}, []any{1, "bell"}) })
	if _, err := DecodeXLSX(bytes.NewReader(data), int64(len(data)), Options{Sheet: "Nope"}); err == nil ||
		!strings.Contains(err.Error(), `"Sheet1"`) {
		t.Errorf("an unknown sheet: %v", err)
	}
	for n := 0; n < len(data); n += 331 {
		if _, err := DecodeXLSX(bytes.NewReader(data[:n]), int64(n), Options{}); err == nil {
			t.Errorf("a workbook cut after %d bytes is read", n)
		}
	}
}

func TestColumnMap(t *testing.T) {
	text := "A1,Fnd,Deep\n1,bell,8\n"
	m := &ColumnMap{Version: "1.0", Row: 1, Unit: "in", ReportID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Columns: []MapColumn{{Column: "A", Field: "number"}, {Column: "B", Field: "name"}, {Column: "C", Field: "depth"}}}
	var b bytes.Buffer
	if err := WriteMap(&b, m); err != nil {
		t.Fatal(err)
	}
	back, err := ReadMap(&b, limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(m, back); d != "" {
		t.Error(d)
	}
	r, _ := csvReport(t, text, Options{Map: m})
	if f := r.Finds[0]; f.Number != "1" || f.Name != "bell" || f.Depth == nil || r.ID != m.ReportID {
		t.Errorf("%+v", f)
	}
	for _, bad := range []string{"", "{}", `{"columnMap":"1.0","columns":[{"column":"A","field":"depht"}]}`,
		`{"columnMap":"1.0","unit":"furlong","columns":[]}`, `{"columnMap":"1.0","more":1,"columns":[]}`} {
		if _, err := ReadMap(strings.NewReader(bad), limit.Limits{}); err == nil {
			t.Errorf("the map %s is accepted", bad)
		}
	}
}

func TestTemplateHoldsNoFinds(t *testing.T) {
	for _, lang := range []string{"en", "de", "nl", "da", "fr", "sv"} {
		for _, full := range []bool{false, true} {
			var b, again bytes.Buffer
			o := TemplateOptions{Language: lang, Full: full, Unit: "in"}
			if err := Template(&b, o); err != nil {
				t.Fatal(err)
			}
			if err := Template(&again, o); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
				t.Errorf("%s: two templates differ", lang)
			}
			s, err := DecodeXLSX(bytes.NewReader(b.Bytes()), int64(b.Len()), Options{})
			if err != nil {
				t.Fatalf("%s: %v", lang, err)
			}
			r, list, err := find.Collect(s)
			if err != nil || len(r.Finds) != 0 || len(list) != 0 {
				t.Errorf("%s: %d finds, %v, %v", lang, len(r.Finds), codes(list), err)
			}
		}
	}
}

func FuzzDecodeCSV(f *testing.F) {
	f.Add([]byte("No,Date,Find,Depth (in)\n1,25/3/2026,bell,7-9\n"))
	f.Add([]byte("Nr;Fund;Tiefe (cm)\r\n1;Knopf;\"8\"\r\n"))
	f.Add([]byte("id,depth.min [cm],absent,materials.3.code\nx,deep,depth=not-measured,iron\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := DecodeCSV(bytes.NewReader(data), Options{})
		if err != nil {
			return
		}
		r, _, err := find.Collect(s)
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := EncodeCSV(&b, find.StreamOf(r), WriteOptions{}); err != nil {
			t.Fatal(err)
		}
	})
}

// TestPackageSaysWhatIsInIt: each table has the columns that datapackage.json (Data Package, Table Schema) and
// csv-metadata.json (W3C, Metadata Vocabulary for Tabular Data, 2015) name, in their order.
func TestPackageSaysWhatIsInIt(t *testing.T) {
	var b bytes.Buffer
	if err := EncodePackage(&b, find.StreamOf(example(t)), WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var said struct {
		Resources []struct {
			Path   string
			Schema struct {
				Fields      []struct{ Name string }
				ForeignKeys []any
			}
		}
		Tables []struct {
			TableSchema struct {
				Columns []struct{ Titles, Name string }
			}
		}
	}
	for _, name := range []string{"datapackage.json", "csv-metadata.json"} {
		if f, err := z.Open(name); err != nil || json.NewDecoder(f).Decode(&said) != nil {
			t.Fatal(name, err)
		}
	}
	// names of URI templates, which CSV on the Web takes (RFC 6570, section 2.3)
	varname := regexp.MustCompile(`^([A-Za-z0-9_]|%[0-9A-F]{2})(\.?([A-Za-z0-9_]|%[0-9A-F]{2}))*$`)
	for i, res := range said.Resources {
		f, err := z.Open(res.Path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		web := said.Tables[i].TableSchema.Columns
		if err != nil || len(rows[0]) != len(res.Schema.Fields) || len(rows[0]) != len(web) {
			t.Fatalf("%s: %d columns are described, %v", res.Path, len(res.Schema.Fields), err)
		}
		for j, h := range rows[0] {
			if h != res.Schema.Fields[j].Name || h != web[j].Titles || !varname.MatchString(web[j].Name) {
				t.Errorf("%s, column %d: %q is described as %q and %v", res.Path, j+1, h, res.Schema.Fields[j].Name, web[j])
			}
		}
	}
	if len(said.Resources) < 4 || len(said.Resources[0].Schema.ForeignKeys) < 2 {
		t.Errorf("%d tables, of finds %v lead to another", len(said.Resources), said.Resources[0].Schema.ForeignKeys)
	}
}
