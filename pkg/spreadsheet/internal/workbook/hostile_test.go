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
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func TestRefused(t *testing.T) {
	const row = `<row r="1"><c r="A1"><v>1</v></c></row>`
	type refused struct {
		name  string
		parts parts
		want  string // part of the message
	}
	tests := []refused{ // no text that JSON holds, and other archives
		{"invalid UTF-8", usual("<row><c t=\"str\"><v>gr\xFCn</v></c></row>", ""), "the byte 0xFC"},
		{"long tag", usual(row, "").with("xl/worksheets/sheet1.xml", `<worksheet a="`+strings.Repeat("x", 2<<20)+`"/>`),
			"longer than"},
		{"OpenDocument", parts{{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, {"content.xml", ""}},
			"OpenDocument"},
		{"binary", usual(row, "").replaced("workbook.xml", "workbook.bin"), "binary workbook"},
		{"letter", usual(row, "").replaced("xl/workbook.xml", "word/document.xml"), "is not an XLSX workbook"},
		{"any archive", parts{{"a.txt", "a"}}, "is not an XLSX workbook"},
	}
	for _, test := range cases.Table[[]struct {
		Name string
		With parts
		Want string
	}](t, "Refused") {
		tests = append(tests, refused{test.Name, usual("", "").withAll(test.With), test.Want})
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
		fmt.Fprintf(&long, `<row r="%d"><c r="A%d" t="inlineStr"><is><t>crotal bell %d</t></is></c><c r="XFD%d"><v>%d</v>`+
			`</c></row>`, i, i, i, i, i)
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
