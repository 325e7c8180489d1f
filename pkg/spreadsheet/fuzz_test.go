package spreadsheet

import (
	"archive/zip"
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// FuzzDecodeXLSX reads whole workbooks. Sheet and texts are put into a sound archive, so that what
// is tried is not lost at its door; whole archives are tried too.
func FuzzDecodeXLSX(f *testing.F) {
	books, err := filepath.Glob("../../testdata/workbooks/*.xlsx")
	if err != nil {
		f.Fatal(err)
	}
	const head = `<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>No</t></is></c><c r="B1" t="inlineStr"><is><t>Depth (in)</t></is></c></row>`
	for _, name := range append(books, "../../examples/thornmere/season.xlsx") {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, "", "")
	}
	f.Add([]byte(nil), head+`<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2"><f>1+1</f><v>2</v></c></row></sheetData></worksheet>`, `<sst><si><t>7</t></si></sst>`)
	f.Add([]byte(nil), head+`<row r="1048576" hidden="1"><c r="XFD1048576" t="e"><v>#REF!</v></c></row></sheetData></worksheet>`, "")
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
		{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + rel + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns:r="` + rel +
			`"><sheets><sheet name="Finds" sheetId="1" r:id="r1"/><sheet name="People" sheetId="2" r:id="r1"/></sheets></workbook>`},
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
	f.Add([]byte(`{"columnMap":"1.0","headingRow":1,"columns":[{"column":"A","field":"number"},{"column":"B","heading":"Depth","field":"depth","unit":"in"}]}`))
	f.Add([]byte(`{"columnMap":"1.0","reportId":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","unit":"cm","dateOrder":"dmy","system":"EPSG:27700","columns":[{"column":"XFD","field":"position.easting"},{"column":"?","field":"materials.1000"}]}`))
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
