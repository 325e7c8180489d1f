package spreadsheet

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
)

// Numbers can be sorted and drawn on a map, and no figure changes: those that binary numbers of a
// workbook would alter stay text.
func TestNumbersInAWorkbook(t *testing.T) {
	for text, want := range map[string]excelize.CellType{
		"12.1": excelize.CellTypeUnset, "0": excelize.CellTypeUnset, "1.2203476": excelize.CellTypeUnset,
		"0.06479891": excelize.CellTypeUnset, "0.000000001": excelize.CellTypeUnset,
		"123456.789012345": excelize.CellTypeInlineString, "1234567.123456789": excelize.CellTypeInlineString,
	} {
		r := &find.Report{Findslip: find.Version,
			Finds: []*find.Find{{ID: "x", Number: "007",
				Position: &find.Position{Uncertainty: number(t, text), Verbatim: "by the oak"}}}}
		var b bytes.Buffer
		if err := EncodeXLSX(&b, find.StreamOf(r), WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		column := find.ColumnLetters(slices.Index(sheetRows(t, f, "Finds")[0], "Position uncertainty [m]") + 1)
		if kind, err := f.GetCellType("Finds", column+"2"); err != nil || kind != want {
			t.Errorf("%s: kind %v, want %v, %v", text, kind, want, err)
		}
		if kind, err := f.GetCellType("Finds", "A2"); err != nil || kind != excelize.CellTypeInlineString {
			t.Errorf("the number on the bag is kind %v, %v", kind, err)
		}
		f.Close()
		back, _ := xlsxReport(t, b.Bytes(), Options{})
		if p := back.Finds[0].Position; p == nil || p.Uncertainty.String() != text {
			t.Errorf("%s comes back as %+v", text, p)
		}
	}
}

func TestWorkbookFilter(t *testing.T) {
	f := writeXLSX(t, awkward(t), WriteOptions{})
	rows := sheetRows(t, f, "Finds")
	var filters []string
	for _, n := range f.GetDefinedName() {
		if n.Name == "_xlnm._FilterDatabase" {
			filters = append(filters, n.RefersTo)
		}
	}
	// ECMA-376 part 1, 18.2.5: _xlnm._FilterDatabase is the range of a sheet's filter.
	want := fmt.Sprintf("'Finds'!$A$1:$%s$3", find.ColumnLetters(len(rows[0])))
	if !slices.Contains(filters, want) || slices.ContainsFunc(filters,
		func(s string) bool { return strings.Contains(s, "Report") }) {
		t.Errorf("filters %q, want %s among them", filters, want)
	}
}

// Terms without words, such as the roles of people, are not lost with the canonical columns.
func TestPlainSheetsBesideTheFinds(t *testing.T) {
	r := awkward(t)
	r.People[0].Roles = []find.Term{{Code: "finder"}, {Code: "recorder", Verbatim: "writes it down"}}
	r.Permissions[0].PloughDepth = &find.Quantity{Min: number(t, "25"), Max: number(t, "25"), Unit: "cm", Said: "cm",
		Resolution: number(t, "1")}
	f := writeXLSX(t, r, WriteOptions{Plain: true})
	if d := cmp.Diff([][]string{{"id", "handle", "roles.1", "roles.2"},
		{"person-1", "finder-a", "finder", "writes it down"}, {"person-2", "finder-b"}}, sheetRows(t, f, "People")); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([][]string{{"id", "place.name", "ploughDepth", "maxDepth"},
		{"permission-1", "Chapel Piece", "25 cm", "12 in"}}, sheetRows(t, f, "Permissions")); d != "" {
		t.Error(d)
	}
}

func TestTooMuchForAWorkbook(t *testing.T) {
	long := strings.Repeat("x", maxCell+1)
	wide := map[string]string{}
	for i := range maxColumns {
		wide[fmt.Sprint("h", i)] = "x"
	}
	for want, r := range map[string]*find.Report{
		"title":   {Title: long},
		"handle":  {People: []find.Person{{ID: "person-1", Handle: long}}},
		"heading": {Finds: []*find.Find{{ID: "x", Columns: map[string]string{long: "x"}}}},
		"columns": {Finds: []*find.Find{{ID: "x", Columns: wide}}},
	} {
		var b bytes.Buffer
		if err := EncodeXLSX(&b, find.StreamOf(r), WriteOptions{}); err == nil || !strings.Contains(err.Error(), want) ||
			b.Len() > 0 {
			t.Errorf("%s: %v", want, err)
		}
	}
}
