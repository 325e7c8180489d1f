package spreadsheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// The canonical text that stands in for words is read as the same quantity again.
func TestPlainQuantitiesAreRead(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Unit, Said, Min, Max, Best, Step string
		About                            bool
		Want                             string
	}](t, "PlainQuantitiesAreRead") {
		q := find.Quantity{Unit: c.Unit, Said: c.Said, Approximate: c.About, Min: number(t, c.Min), Max: number(t, c.Max),
			Best: number(t, c.Best), Resolution: number(t, c.Step)}
		got := quantityInWords("", q.Value(), c.Unit)
		if got != c.Want {
			t.Errorf("%+v is written %q, want %q", c, got, c.Want)
		}
		var r quantity.Reading
		var err error
		switch c.Unit {
		case "":
			r, err = quantity.NormaliseCount(got, quantity.Options{})
		case "g":
			r, err = quantity.NormaliseMass(got, quantity.Options{Into: quantity.G})
		case "mm":
			r, err = quantity.NormaliseLength(got, quantity.Options{Into: quantity.MM})
		default:
			r, err = quantity.NormaliseLength(got, quantity.Options{Into: quantity.CM})
		}
		if want := q.Value(); err != nil || r.Min != want.Min || r.Max != want.Max || r.Best != want.Best ||
			r.Said != want.Said || r.Approximate != want.Approximate {
			t.Errorf("%q is read as %+v, %v", got, r.Quantity, err)
		}
	}
}

func TestUnitOfAHeadingGoesIntoThePlainCell(t *testing.T) {
	for _, c := range cases.Table[[]struct{ Words, Unit, Said, Min, Max, Want string }](t,
		"UnitOfAHeadingGoesIntoThePlainCell") {
		q := find.Quantity{Unit: c.Unit, Said: c.Said, Min: number(t, c.Min), Max: number(t, c.Max), Verbatim: c.Words}
		if got := quantityInWords(c.Words, q.Value(), c.Unit); got != c.Want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

func TestCanonicalValueIsLeftOutWhereTheWordsSayIt(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Field, Words, Value string
		Want                bool
	}](t, "CanonicalValueIsLeftOutWhereTheWordsSayIt") {
		if got := saysItself(c.Field, c.Words, c.Value); got != c.Want {
			t.Errorf("%s %q beside %q: %v", c.Field, c.Value, c.Words, got)
		}
	}
}

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

// FuzzDecodeXLSX reads whole workbooks. Sheet and texts are put into a sound archive, so that what
// is tried is not lost at its door; whole archives are tried too.
func FuzzDecodeXLSX(f *testing.F) {
	books, err := filepath.Glob("../../testdata/workbooks/*.xlsx")
	if err != nil {
		f.Fatal(err)
	}
	const head = `<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>No</t></is></c><c r="B1" ` +
		`t="inlineStr"><is><t>Depth (in)</t></is></c></row>`
	for _, name := range append(books, "../../examples/thornmere/season.xlsx") {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, "", "")
	}
	f.Add([]byte(nil),
		head+`<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2"><f>1+1</f><v>2</v></c></row></sheetData></worksheet>`,
		`<sst><si><t>7</t></si></sst>`)
	f.Add([]byte(nil),
		head+`<row r="1048576" hidden="1"><c r="XFD1048576" t="e"><v>#REF!</v></c></row></sheetData></worksheet>`, "")
	f.Fuzz(func(t *testing.T, data []byte, sheet, texts string) {
		if sheet != "" {
			data = booked(t, sheet, texts)
		}
		o := Options{Limits: limit.Limits{Expanded: 4 << 20, Header: 64 << 10, CellLength: 64 << 10}}
		s, err := DecodeXLSX(bytes.NewReader(data), int64(len(data)), o)
		if err == nil {
			_, _, _ = find.Collect(s)
		}
		_, _, _ = ColumnsXLSX(bytes.NewReader(data), int64(len(data)), o)
	})
}

// booked packs a sheet of finds and a list of texts as a workbook.
func booked(t *testing.T, sheet, texts string) []byte {
	t.Helper()
	const rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, part := range [][2]string{
		{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`},
		{"_rels/.rels",
			`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` +
				rel + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns:r="` + rel +
			`"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/><sheet name="People" sheetId="2" r:id="r1"/></sheets>` +
			`</workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="r1" Type="` + rel +
			`/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="` + rel +
			`/sharedStrings" Target="sharedStrings.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", sheet}, {"xl/sharedStrings.xml", texts},
	} {
		w, err := z.Create(part[0])
		if err == nil {
			_, err = w.Write([]byte(part[1]))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// FuzzReadMap: a map that is taken is written and taken again, and steers the reading of a table
// without breaking it.
func FuzzReadMap(f *testing.F) {
	f.Add([]byte(`{"columnMap":"1.0","headingRow":1,"columns":[{"column":"A","field":"number"},{"column":"B",` +
		`"heading":"Depth","field":"depth","unit":"in"}]}`))
	f.Add([]byte(`{"columnMap":"1.0","reportId":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","unit":"cm",` +
		`"dateOrder":"dmy","system":"EPSG:27700","columns":[{"column":"XFD","field":"position.easting"},{"column":"?",` +
		`"field":"materials.1000"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadMap(bytes.NewReader(data), limit.Limits{})
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := WriteMap(&b, m); err != nil {
			t.Fatal(err)
		}
		back, err := ReadMap(&b, limit.Limits{})
		if err != nil {
			t.Fatalf("what was written is not read: %v", err)
		}
		if diff := cmp.Diff(m, back); diff != "" && len(m.Columns) > 0 {
			t.Error(diff)
		}
		if s, err := DecodeCSV(bytes.NewReader([]byte("No,Depth,Found\n1,8,12/4/2026\n2,7-9 in,\n")),
			Options{Map: m}); err == nil {
			_, _, _ = find.Collect(s)
		}
	})
}
