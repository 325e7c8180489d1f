package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

func TestRefused(t *testing.T) {
	const row = `<row r="1"><c r="A1"><v>1</v></c></row>`
	sheet := func(xml string) parts { return usual(row, "").with("xl/worksheets/sheet1.xml", xml) }
	rows := func(xml string) parts { return usual(xml, "<si><t>a</t></si>") }
	tests := []struct {
		name  string
		parts parts
		want  string // part of the message
	}{
		{"document type", sheet(`<!DOCTYPE worksheet [<!ENTITY a "b">]><worksheet/>`), "declares a document type"},
		{"document type in a text", usual(row, "").with("xl/sharedStrings.xml",
			`<!DOCTYPE sst SYSTEM "file:///etc/hostname"><sst/>`), "declares a document type"},
		{"document type in the workbook", usual(row, "").with("xl/workbook.xml", `<!doctype workbook><workbook/>`),
			"declares a document type"},
		{"declaration inside", sheet(`<worksheet><!ENTITY a "b"></worksheet>`), "declares a document type"},
		{"unknown entity", rows(`<row><c t="str"><v>&bell;</v></c></row>`), "&bell; which is no character"},
		{"character that is none", rows(`<row><c t="str"><v>&#0;</v></c></row>`), "&#0; which is no character"},
		{"bare ampersand", rows(`<row><c t="str"><v>a & b</v></c></row>`), "& that begins no character"},
		{"control character", rows("<row><c t=\"str\"><v>\x01</v></c></row>"), "the byte 0x01"},
		{"invalid UTF-8", rows("<row><c t=\"str\"><v>gr\xFCn</v></c></row>"), "the byte 0xFC"},
		{"other encoding", sheet(`<?xml version="1.0" encoding="ISO-8859-1"?><worksheet/>`), `encoding "ISO-8859-1"`},
		{"tags that do not match", sheet(`<worksheet><sheetData></worksheet></sheetData>`), "do not match"},
		{"end without start", sheet(`<worksheet/></worksheet>`), "do not match"},
		{"two roots", sheet(`<worksheet/><worksheet/>`), "second root"},
		{"text behind the root", sheet(`<worksheet/>more`), "outside the XML"},
		{"not ended", sheet(`<worksheet><sheetData>`), "ends too early"},
		{"not ended inside a tag", sheet(`<worksheet><sheetData x="`), "ends too early"},
		{"not ended inside a comment", sheet(`<worksheet><!-- `), "ends too early"},
		{"not ended inside CDATA", sheet(`<worksheet><![CDATA[ ]]`), "ends too early"},
		{"empty part", sheet(``), "ends too early"},
		{"no XML", sheet(`hello <worksheet/>`), "outside the XML"},
		{"attribute without value", rows(`<row r>`), "an attribute"},
		{"attribute without quotes", rows(`<row r=1></row>`), "an attribute"},
		{"tag in a tag", rows(`<row <c/>`), "a tag begins inside a tag"},
		{"tag without a name", rows(`<row>< c/></row>`), "no name"},
		{"deep", sheet("<worksheet>" + strings.Repeat("<a>", 300)), "nested"},
		{"long tag", sheet(`<worksheet a="` + strings.Repeat("x", 2<<20) + `"/>`), "longer than"},
		{"other root", sheet(`<html/>`), "is a <html>, expected <worksheet>"},
		{"shared text out of range", rows(`<row r="7"><c r="D7" t="s"><v>1</v></c></row>`),
			`sheet "Finds": row 7: part "xl/worksheets/sheet1.xml": cell D7: shared text "1" is wanted, and there are 1`},
		{"shared text negative", rows(`<row><c t="s"><v>-1</v></c></row>`), `shared text "-1"`},
		{"unknown type", rows(`<row><c t="x"><v>1</v></c></row>`), `the type "x"`},
		{"reference without a column", rows(`<row r="1"><c r="1"><v>1</v></c></row>`), `"1" is not a cell`},
		{"reference beyond the sheet", rows(`<row r="1"><c r="XFE1"><v>1</v></c></row>`), `"XFE1" is not a cell`},
		{"reference in another row", rows(`<row r="1"><c r="A2"><v>1</v></c></row>`), "stands in row 1"},
		{"cell twice", rows(`<row r="1"><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>`), "cell A1 is there twice"},
		{"row twice", rows(row + row), "row 1 stands behind row 1"},
		{"row zero", rows(`<row r="0"/>`), `the number "0"`},
		{"row in words", rows(`<row r="one"/>`), `the number "one"`},
		{"sheet outside", usual(row, "").replaced(`Target="worksheets/sheet1.xml"`,
			`Target="file:///tmp/sheet1.xml" TargetMode="External"`), "lies outside the workbook"},
		{"sheet without a part", usual(row, "").replaced("worksheets/sheet1.xml\"", "worksheets/sheet9.xml\""), "sheet9.xml"},
		{"sheet without a relationship", usual(row, "").replaced(`Id="r1" Type="`+relations+`/worksheet`,
			`Id="r9" Type="`+relations+`/worksheet`), `sheet "Finds" has no part`},
		{"no sheets", usual(row, "").with("xl/workbook.xml", "<workbook/>"), "no worksheet"},
		{"merged range", sheet(`<worksheet><mergeCells><mergeCell ref="A1:"/></mergeCells></worksheet>`),
			"a merged range is wrong"},
		{"OpenDocument", parts{{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, {"content.xml", ""}},
			"OpenDocument"},
		{"binary", usual(row, "").replaced("workbook.xml", "workbook.bin"), "binary workbook"},
		{"letter", usual(row, "").replaced("xl/workbook.xml", "word/document.xml"), "is not an XLSX workbook"},
		{"any archive", parts{{"a.txt", "a"}}, "is not an XLSX workbook"},
		{"part twice", append(usual(row, ""), [2]string{"XL/Workbook.xml", "<workbook/>"}), "two parts of the name"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			lines, err := written(test.parts.zipped(t), grid.Limits{})
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("rows %q, error %v, want %q", lines, err, test.want)
			}
		})
	}
}

func TestSignatures(t *testing.T) {
	for in, want := range map[string]error{
		"": errEmpty, "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1" + strings.Repeat("\x00", 504): errProtected,
		"\x09\x08\x10\x00\x00\x06\x05\x00": errOldXLS,
		"no,name\n1,bell\n":                errText, "<html><table>": errHTML, "\n<!DOCTYPE html>": errHTML,
		"%PDF-1.7":         errOther,
		"\x1F\x8B\x08\x00": errOther,
		`<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet">`: errXML2003,
		"PK\x03\x04":                 errArchive,
		"PK\x05\x06" + zeros(18):     errOther,
		"PK\x03\x04" + zeros(100000): errArchive,
	} {
		_, err := OpenXLSX(strings.NewReader(in), int64(len(in)), grid.Limits{})
		if !errors.Is(err, want) {
			t.Errorf("%.30q: error %v, want %v", in, err, want)
		}
	}
	if _, err := OpenXLSX(strings.NewReader(""), -5, grid.Limits{}); err == nil {
		t.Error("a negative size gives no error")
	}
}

func zeros(n int) string { return strings.Repeat("\x00", n) }

// TestCutShort: a workbook that ends anywhere before its end is an error, and so are damaged bytes
// in the packed cells.
func TestCutShort(t *testing.T) {
	data := shared(t, 40)
	if _, err := written(data, grid.Limits{}); err != nil {
		t.Fatal(err)
	}
	for n := 0; n < len(data); n += 97 {
		if _, err := written(data[:n], grid.Limits{}); err == nil {
			t.Fatalf("%d of %d bytes give no error", n, len(data))
		}
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	must(t, err)
	for _, f := range z.File {
		if f.Name != "xl/worksheets/sheet1.xml" && f.Name != "xl/sharedStrings.xml" {
			continue
		}
		at, err := f.DataOffset()
		must(t, err)
		for i := int64(0); i < int64(f.CompressedSize64); i += 97 {
			bad := bytes.Clone(data)
			bad[at+i] ^= 0x10
			if _, err := written(bad, grid.Limits{}); err == nil {
				t.Fatalf("a wrong byte at %d of %s gives no error", i, f.Name)
			}
		}
	}
}

func TestProtectedEntry(t *testing.T) {
	data := usual("", "").zipped(t)
	// The flags of a directory entry stand at offset 8, and bit 0 says that the entry is encrypted
	// (the ZIP application note, 4.3.12 and 4.4.4).
	for at := 0; ; {
		i := bytes.Index(data[at:], []byte("PK\x01\x02"))
		if i < 0 {
			break
		}
		at += i + 4
		flags := binary.LittleEndian.Uint16(data[at+4:])
		binary.LittleEndian.PutUint16(data[at+4:], flags|1)
	}
	if _, err := written(data, grid.Limits{}); !errors.Is(err, errProtected) {
		t.Errorf("error %v", err)
	}
}

func TestLimits(t *testing.T) {
	row := `<row r="5"><c r="E5" t="inlineStr"><is><t>` + strings.Repeat("x", 1000) +
		`</t></is></c><c r="F5" t="str"><v>` + strings.Repeat("y", 1000) + `</v></c></row>`
	data := usual(row, strings.Repeat("<si><t>text</t></si>", 10)).zipped(t)
	if _, err := written(data, grid.Limits{}); err != nil {
		t.Fatal(err)
	}
	many := usual("", "")
	for i := range 2000 {
		many = append(many, [2]string{fmt.Sprintf("more/%d", i), ""})
	}
	// A bomb: five hundred million blanks that pack into half a million bytes.
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	for _, part := range usual("", "") {
		w, err := z.Create(part[0])
		must(t, err)
		if part[0] != "xl/worksheets/sheet1.xml" {
			_, err = io.WriteString(w, part[1])
			must(t, err)
			continue
		}
		_, err = io.WriteString(w, "<worksheet><sheetData>")
		must(t, err)
		blanks := bytes.Repeat([]byte(" "), 1<<20)
		for range 500 {
			_, err = w.Write(blanks)
			must(t, err)
		}
		_, err = io.WriteString(w, "</sheetData></worksheet>")
		must(t, err)
	}
	must(t, z.Close())

	tests := []struct {
		limit  string
		data   []byte
		limits grid.Limits
	}{
		{"bytes", data, grid.Limits{Bytes: 1000}},
		{"expanded", data, grid.Limits{Expanded: 2000}},
		{"rows", data, grid.Limits{Rows: 4}},
		{"columns", data, grid.Limits{Columns: 4}},
		{"cell", data, grid.Limits{CellLength: 999}},
		{"row", data, grid.Limits{RowLength: 1999}},
		{"entries", data, grid.Limits{Entries: 5}},
		{"entries", many.zipped(t), grid.Limits{Entries: 10}},
		{"texts", data, grid.Limits{SharedStrings: 9}},
		{"ratio", bomb.Bytes(), grid.Limits{}},
		{"expanded", bomb.Bytes(), grid.Limits{Ratio: -1, Expanded: 100 << 20}},
	}
	for _, test := range tests {
		t.Run(test.limit, func(t *testing.T) {
			_, err := written(test.data, test.limits)
			var limit *grid.LimitError
			if !errors.As(err, &limit) || limit.Limit != test.limit {
				t.Fatalf("error %v", err)
			}
			if limit.Value <= limit.Max {
				t.Errorf("the error names %d and a limit of %d", limit.Value, limit.Max)
			}
		})
	}
	if _, err := written(data, grid.Limits{Bytes: int64(len(data)), Expanded: -1, Ratio: -1, Rows: 5, Columns: 6,
		CellLength: 1000, RowLength: 2000, Entries: 6, SharedStrings: 10}); err != nil {
		t.Errorf("just within the limits: %v", err)
	}
}

// TestExpandedCountsOnce: reading a sheet again does not use up the limit.
func TestExpandedCountsOnce(t *testing.T) {
	data := usual(strings.Repeat(`<row><c><v>1</v></c></row>`, 1000), "").zipped(t)
	w, err := OpenXLSX(bytes.NewReader(data), int64(len(data)), grid.Limits{Expanded: 40_000})
	must(t, err)
	for range 5 {
		if n := len(readAll(t, w, 0)); n != 1000 {
			t.Fatalf("%d rows", n)
		}
	}
}

// TestMemory: what a sheet costs does not grow with its blank rows, its far cells, or its length.
func TestMemory(t *testing.T) {
	var blank, long strings.Builder
	for i := 1; i < grid.MaxRows; i++ {
		fmt.Fprintf(&blank, `<row r="%d" spans="1:25" ht="15"/>`, i)
	}
	blank.WriteString(`<row r="1048576"><c r="A1048576"><v>1</v></c></row>`)
	for i := 1; i <= 100_000; i++ {
		fmt.Fprintf(&long, `<row r="%d"><c r="A%d" t="inlineStr"><is><t>crotal bell %d</t></is></c><c r="XFD%d"><v>%d</v></c></row>`, i, i, i, i, i)
	}
	for name, test := range map[string]struct {
		rows string
		n    int
	}{"blank": {blank.String(), 1}, "long": {long.String(), 100_000}} {
		t.Run(name, func(t *testing.T) {
			w := open(t, usual(test.rows, "").zipped(t))
			var before, during, after runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&before)
			n := 0
			for row, err := range w.Sheets[0].Rows() {
				must(t, err)
				if n++; n%20_000 == 0 || row.Number == grid.MaxRows {
					runtime.GC()
					runtime.ReadMemStats(&during)
					if grown := int64(during.HeapAlloc) - int64(before.HeapAlloc); grown > 1<<20 {
						t.Fatalf("row %d: %d bytes more in use than before", row.Number, grown)
					}
				}
			}
			runtime.ReadMemStats(&after)
			if n != test.n {
				t.Fatalf("%d rows, want %d", n, test.n)
			}
			if total := after.TotalAlloc - before.TotalAlloc; total > uint64(32<<20+64*n) {
				t.Errorf("%d bytes taken for %d rows", total, n)
			}
		})
	}
}
