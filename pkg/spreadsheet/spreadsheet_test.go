package spreadsheet

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
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

// told says where the notices of a report that was read and normalised belong.
func told(t *testing.T, s *find.Stream, o normalise.Options) (*find.Report, []string) {
	t.Helper()
	o.Table = true
	r, list, err := find.Collect(normalise.Stream(s, o))
	if err != nil {
		t.Fatal(err)
	}
	list.Sort()
	out := []string{}
	for _, n := range list {
		out = append(out, strings.TrimSpace(n.Kind.Code+" "+n.Cell+" "+n.Heading))
	}
	return r, out
}

// Notices of a reading stand at the cell that was read, also below a title, a row of units and a
// hidden column.
func TestNoticesAtTheRightCell(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"Season at Thornmere"}, []any{},
			[]any{"", "No", "Find", "Depth", "Weight", "Date found", "Material", "Grid reference"},
			[]any{"", "", "", "in", "g"}, []any{"", "1", "bell", "8", "12", "12/4/2026", "brass", "SP 5270 9011"},
			[]any{"", "2", "pin", "deep", "81/2", "30/2/2026", "greyish stuff", "by the gate"},
			[]any{"", "", "nail", "3", "5", "2026-04-12", "iron", "SP 5270 9011"})
	})
	s, err := DecodeXLSX(bytes.NewReader(data), int64(len(data)), Options{File: "log.xlsx"})
	if err != nil {
		t.Fatal(err)
	}
	_, list := told(t, s, normalise.Options{Order: edtf.DayMonthYear})
	want := []string{"table-form-found", "depth-names-layer D6 Depth", "date-impossible F6 Date found",
		"term-not-listed G6 Material", "position-not-read H6 Grid reference",
		"fraction-ambiguous E6 Weight"}
	got := map[string]bool{}
	for _, x := range list {
		got[x] = true
	}
	for _, x := range want {
		if !got[x] {
			t.Errorf("%s is not told: %v", x, list)
		}
	}
	if len(list) != len(want) {
		t.Errorf("%v", list)
	}
}

// A date in a column of depths is an error at its cell that proposes what was typed.
func TestDateInAColumnOfDepths(t *testing.T) {
	for _, epoch := range []bool{false, true} {
		serial := 45543 // 8 September 2024 by the 1900 system: days since 30 December 1899
		if epoch {
			serial -= 1462 // the 1904 system counts from 1 January 1904
		}
		data := book(t, func(f *excelize.File) {
			rows(t, f, "Sheet1", []any{"No", "Find", "Depth (in)"}, []any{"1", "bell", serial})
			style, err := f.NewStyle(&excelize.Style{NumFmt: 16}) // d-mmm
			if err != nil {
				t.Fatal(err)
			}
			if err := f.SetCellStyle("Sheet1", "C2", "C2", style); err != nil {
				t.Fatal(err)
			}
			if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &epoch}); err != nil {
				t.Fatal(err)
			}
		})
		s, err := DecodeXLSX(bytes.NewReader(data), int64(len(data)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, list, err := find.Collect(normalise.Stream(s, normalise.Options{Table: true}))
		if err != nil {
			t.Fatal(err)
		}
		if len(list) != 1 || list[0].Kind != &kinds.SpreadsheetDate || list[0].Cell != "C2" ||
			!strings.Contains(strings.Join(list[0].Proposals, " "), "8-9") {
			t.Errorf("1904 %v: %+v", epoch, list)
		}
		if f := r.Finds[0]; f.Depth == nil || f.Depth.Verbatim != "2024-09-08" || f.Depth.HasValue() {
			t.Errorf("1904 %v: %+v", epoch, f.Depth)
		}
	}
}

// An empty sheet that says it has a million rows, or a cell far below, costs nothing.
func TestMillionBlankRows(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find"}, []any{"1", "bell"})
		if err := f.SetCellStr("Sheet1", "B1048576", "the last row of all"); err != nil {
			t.Fatal(err)
		}
	})
	r, list := xlsxReport(t, data, Options{})
	if len(r.Finds) != 2 || r.Finds[1].Name != "the last row of all" {
		t.Errorf("%d finds, %v", len(r.Finds), codes(list))
	}
	text := "No,Find\n1,bell\n" + strings.Repeat(",\n", 1_000_000) + "2,nail\n"
	s, err := DecodeCSV(strings.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for e, err := range s.Entries {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n == 2 && e.Origin.Row != 1_000_003 {
			t.Errorf("the last find stands in row %d", e.Origin.Row)
		}
	}
	if n != 2 {
		t.Errorf("%d entries", n)
	}
}

// A failed formula and a text in a column of canonical values are told at their cells.
func TestCellsThatDoNotFit(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"number", "name", "depth.min [cm]", "weight"}, []any{"1", "bell", "deep", "2 g"})
		if err := f.SetCellFormula("Sheet1", "D2", "1/0"); err != nil {
			t.Fatal(err)
		}
	})
	r, list := xlsxReport(t, data, Options{})
	if len(r.Finds) != 1 || r.Finds[0].Columns["depth.min [cm]"] != "deep" {
		t.Errorf("%+v", r.Finds)
	}
	if got := codes(list); len(got) == 0 || got[0] != "field-unreadable C2" {
		t.Errorf("%v", got)
	}
}

// A sheet is chosen by name, else all are read that look like finds; what is on the others is kept.
func TestChoiceOfTheSheet(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		for _, s := range []string{"Notes", "Log 2025", "Finds"} {
			if _, err := f.NewSheet(s); err != nil {
				t.Fatal(err)
			}
		}
		rows(t, f, "Notes", []any{"to do", "buy batteries"})
		rows(t, f, "Log 2025", []any{"No", "Find"}, []any{"1", "of 2025"})
		rows(t, f, "Finds", []any{"No", "Find"}, []any{"1", "of Finds"})
	})
	for sheet, want := range map[string]string{"": "of 2025, of Finds", "Log 2025": "of 2025", "log  2025": "of 2025"} {
		r, _ := xlsxReport(t, data, Options{Sheet: sheet})
		var got []string
		for _, f := range r.Finds {
			got = append(got, f.Name)
		}
		if strings.Join(got, ", ") != want || len(r.Notes) == 0 {
			t.Errorf("sheet %q: %q, notes %q", sheet, got, r.Notes)
		}
	}
}

// One place comes of easting and northing of every system, whatever the columns are called and wherever the system is
// named: the words of the headings win over the order of the registry, and x and y are its axes.
func TestOnePlaceUnderEveryHeading(t *testing.T) {
	pairs := [][2]string{{"Easting", "Northing"}, {"E", "N"}, {"X east", "Y north"}, {"Y (wschód)", "X (północ)"},
		{"Rechtswert", "Hochwert"}, {"X", "Y"}, {"Y", "X"}}
	i := 0
	for s := range coordinate.Systems() {
		middle := coordinate.Point{Longitude: (s.Extent.West + s.Extent.East) / 2,
			Latitude: (s.Extent.South + s.Extent.North) / 2}
		east, north, err := s.FromWGS84(middle)
		if s.Geographic() || err != nil {
			continue
		}
		for range 4 {
			i++
			names := pairs[i%len(pairs)]
			if names[0] == "X" && s.XIsNorthing || names[0] == "Y" && !s.XIsNorthing {
				continue
			}
			columns := []string{names[0] + "," + names[1], fmt.Sprintf("%.0f,%.0f", east, north)}
			if i%2 == 0 {
				columns = []string{names[1] + "," + names[0], fmt.Sprintf("%.0f,%.0f", north, east)}
			}
			title, heads := s.Code+"\n", columns[0]
			if i%3 == 0 {
				title, heads = "", strings.ReplaceAll(columns[0], ",", " "+s.Code+",")+" "+s.Code
			}
			text := title + "No,Find," + heads + "\n1,button," + columns[1] + "\n2,bell," + columns[1] + "\n"
			stream, err := DecodeCSV(strings.NewReader(text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			for e, err := range stream.Entries {
				if err != nil || e.Find.Position == nil {
					t.Fatalf("%s: no position, %v", text, err)
				}
				r, err := coordinate.Normalise(e.Find.Position.Verbatim, coordinate.Options{System: e.Origin.Layout.Hints.System})
				if err != nil || coordinate.Distance(r.Point, middle) > 2 {
					t.Errorf("%s%q: %v, %v, want %v", text, e.Find.Position.Verbatim, r.Point, err, middle)
				}
			}
		}
	}
}
