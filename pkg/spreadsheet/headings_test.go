package spreadsheet

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
)

// asCSV is the same table as comma-separated text: merged cells become empty ones.
func asCSV(t *testing.T, table [][]any) *find.Stream {
	t.Helper()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	for _, row := range table {
		out := make([]string, len(row))
		for i, v := range row {
			out[i], _ = v.(string)
		}
		if err := w.Write(out); err != nil {
			t.Fatal(err)
		}
	}
	w.Flush()
	s, err := DecodeCSV(bytes.NewReader(b.Bytes()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Headings in two rows, as in printed forms: groups in merged cells, headings below them. The unit
// of a group holds for what it can measure; a group that makes a heading say something else does so.
func TestHeadingsInTwoRows(t *testing.T) {
	table := [][]any{
		{"Log of Long Furlong"},
		{"No", "Object", "", "Where", "", "", "Size (mm)", "", "Depth", "Detector", ""},
		{"", "What", "Material", "Field", "Parish", "Grid ref", "Length", "Weight (g)", "in", "Reading", "Zogg"},
		{"1", "bell", "bronze", "Long Furlong", "Thornmere", "SP 5270 9011", "20", "3", "8", "64", "good"},
		{"2", "jetton", "", "", "", "", "", "", "7-9", "", ""},
	}
	book := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", table...)
		for _, merged := range [][2]string{{"A1", "K1"}, {"A2", "A3"}, {"B2", "C2"}, {"D2", "F2"}, {"G2", "H2"},
			{"J2", "K2"}} {
			if err := f.MergeCell("Sheet1", merged[0], merged[1]); err != nil {
				t.Fatal(err)
			}
		}
	})
	xlsx, err := DecodeXLSX(bytes.NewReader(book), int64(len(book)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*find.Stream{"xlsx": xlsx, "csv": asCSV(t, table)} {
		r, list := told(t, s, normalise.Options{})
		if len(r.Finds) != 2 {
			t.Fatalf("%s: %d finds", name, len(r.Finds))
		}
		f := r.Finds[0]
		if f.Number != "1" || f.Name != "bell" || f.Materials[0].Code != "bronze" || f.Place.Parish != "Thornmere" ||
			f.Position == nil || f.Position.Verbatim != "SP 5270 9011" ||
			f.Dimensions.Length.Max.String() != "20" || f.Weight.Max.String() != "3" || f.Depth.Max.String() != "20.32" ||
			f.Signal.Reading != "64" || f.Columns["Zogg"] != "good" {
			t.Errorf("%s: %+v", name, f)
		}
		if d := r.Finds[1].Depth; d.Min.String() != "17.78" || d.Max.String() != "22.86" {
			t.Errorf("%s: the second depth is %+v", name, d)
		}
		if got := strings.Join(list, "; "); !strings.Contains(got, "headings-in-two-rows") || !strings.Contains(got,
			"heading-unknown K3 Zogg") {
			t.Errorf("%s: %s", name, got)
		}
	}

	// The map of such a sheet, given back, finds the same headings.
	m, _, err := ColumnsXLSX(bytes.NewReader(book), int64(len(book)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	of := m.Tables[0]
	if of.Row != 3 || of.Columns[8].Heading != "Depth (in)" || of.Columns[8].Field != "depth" {
		t.Errorf("%+v", m)
	}
	of.Columns[10].Field = "notes"
	s, err := DecodeXLSX(bytes.NewReader(book), int64(len(book)), Options{Map: m})
	if err != nil {
		t.Fatal(err)
	}
	r, _ := told(t, s, normalise.Options{})
	if f := r.Finds[0]; len(r.Finds) != 2 || f.Notes != "good" || f.Name != "bell" || f.Depth.Max.String() != "20.32" {
		t.Errorf("with a map: %+v", f)
	}
}

// Two rows that are not two rows of headings: a title, a first find below headings with a gap, and
// units, which have their own reading.
func TestOneRowOfHeadings(t *testing.T) {
	for name, c := range map[string]struct {
		table [][]any
		name  string
	}{
		"a title": {[][]any{{"Finds (in)", "", "", ""}, {"No", "Find", "Depth", "Material"},
			{"1", "bell", "8", "iron"}}, "bell"},
		"a find below a gap":    {[][]any{{"No", "Find", "", "Material"}, {"1", "Ring", "Depth", "iron"}}, "Ring"},
		"a find that is a word": {[][]any{{"Find", "", "Notes"}, {"Number", "", "Field"}, {"bell", "", ""}}, "Number"},
		"a row of units": {[][]any{{"No", "Find", "Depth", "Weight"}, {"", "", "in", "g"}, {"1", "bell", "8", "3"}},
			"bell"},
		"groups that say nothing": {[][]any{{"Part one", "", "Part two", ""}, {"No", "Find", "Depth", "Material"},
			{"1", "bell", "8", "iron"}}, "bell"},
	} {
		r, _ := told(t, asCSV(t, c.table), normalise.Options{})
		if len(r.Finds) == 0 || r.Finds[0].Name != c.name {
			t.Errorf("%s: %+v", name, r.Finds)
		}
		if d := r.Finds[0].Depth; name == "a title" && (d == nil || d.Max.Known()) {
			t.Errorf("the unit of a title is taken for that of a depth: %+v", d)
		}
	}
}

// Where no column has the name of the find, descriptions are the finder's words for it.
func TestDescriptionIsTakenForTheName(t *testing.T) {
	r, list := told(t, asCSV(t, [][]any{{"No", "Description", "Depth (in)"}, {"1", "small bell", "8"}}),
		normalise.Options{})
	if f := r.Finds[0]; f.Name != "small bell" || f.Description != "" {
		t.Errorf("%+v", f)
	}
	if d := cmp.Diff([]string{"heading-taken-for-name B1 Description"}, list); d != "" {
		t.Error(d)
	}
	r, list = told(t, asCSV(t, [][]any{{"No", "Find", "Description"}, {"1", "bell", "small"}}), normalise.Options{})
	if f := r.Finds[0]; f.Name != "bell" || f.Description != "small" || len(list) > 0 {
		t.Errorf("%+v %q", f, list)
	}
	// A table that a program wrote says what it means.
	r, _ = told(t, asCSV(t, [][]any{{"number", "description", "id"},
		{"1", "small", "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11"}}), normalise.Options{})
	if f := r.Finds[0]; f.Name != "" || f.Description != "small" {
		t.Errorf("%+v", f)
	}
}

// A row with an id that only a program gives is a find, whatever else it says.
func TestRowsWithAnIDAreFinds(t *testing.T) {
	id := func(n string) string { return "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a" + n }
	r, list := told(t, asCSV(t, [][]any{{"number", "name", "notes", "depth", "id"},
		{"Total", "", "", "", id("11")}, {"", "Summe", "", "", id("12")}, {"Example", "x", "", "", id("13")},
		{"Number", "Name", "", "", id("14")}, {"", "", "a note", "", id("15")},
		{"Total", "", "", "", ""}, {"Example", "", "", "", ""}, {"", "", "a note", "", ""}}), normalise.Options{})
	if len(r.Finds) != 5 {
		t.Errorf("%d finds; %q", len(r.Finds), list)
	}
}
