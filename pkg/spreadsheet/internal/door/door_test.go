package door

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

const workbooks = "../../../../testdata/workbooks/"

// read opens a file under the given name and returns what its cells say.
func read(t *testing.T, file, name string) (*grid.Book, map[string]string) {
	t.Helper()
	data, err := os.ReadFile(workbooks + file)
	if err != nil {
		t.Fatal(err)
	}
	book, err := Open(bytes.NewReader(data), int64(len(data)), Options{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for _, s := range book.Sheets {
		for row, err := range s.Rows() {
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range row.Cells {
				text := c.Text
				for _, comment := range c.Extra().Comments {
					text += " {" + comment.Text + "}"
				}
				said[c.Ref(row.Number)] = text
			}
		}
	}
	return book, said
}

// TestSameLog: one log of testdata (made with openpyxl, formulas without results among it) says the same as a
// workbook, and as LibreOffice saved it as an OpenDocument spreadsheet and as a web page.
func TestSameLog(t *testing.T) {
	_, want := read(t, "paddocks.xlsx", "paddocks.xlsx")
	book, got := read(t, "libreoffice-paddocks.ods", "paddocks.ods")
	if diff := cmp.Diff(want, got); diff != "" || book.Format != "ods" || len(book.Notes) > 0 {
		t.Errorf("%s, notes %v: %s", book.Format, book.Notes, diff)
	}
	// A web page has numbers as they were shown, some of them rounded.
	book, got = read(t, "libreoffice-paddocks.html", "paddocks.xls")
	rounded := 0
	for ref, text := range want {
		if got[ref] != text {
			rounded++
			if len(got[ref]) >= len(text) || !strings.ContainsAny(text, ".") {
				t.Errorf("%s is %q, want %q", ref, got[ref], text)
			}
		}
	}
	if book.Format != "html" || rounded > 10 || len(got) != len(want) {
		t.Errorf("%s, %d rounded, %d cells of %d", book.Format, rounded, len(got), len(want))
	}
}

// TestOtherNames: what a file is decides, and is said where the name promises something else.
func TestOtherNames(t *testing.T) {
	for _, test := range []struct{ file, name, note string }{
		{"paddocks.xlsx", "season.csv", "the name ends in .csv, and the file is a workbook; it was read as that"},
		{"paddocks.xlsx", "season", ""},
		{"libreoffice-paddocks.ods", "season.xlsx",
			"the name ends in .xlsx, and the file is an OpenDocument spreadsheet; it was read as that"},
		{"libreoffice-paddocks.html", "season.xls", "the name ends in .xls, and the file is a web page; it was read as that"},
	} {
		book, said := read(t, test.file, test.name)
		note := ""
		if len(book.Notes) > 0 {
			note = book.Notes[0].Text
		}
		if note != test.note || len(said) < 100 {
			t.Errorf("%s as %s: %q, %d cells", test.file, test.name, note, len(said))
		}
	}
	book, err := Open(strings.NewReader("no,name\n1,bell\n"), 15, Options{Name: "season.xlsx"})
	if err != nil || fmt.Sprint(book.Notes[0].Text) != "the name ends in .xlsx, and the file is a text table; it was read as that" {
		t.Errorf("%v %v", book, err)
	}
}

func TestNotRead(t *testing.T) {
	old, err := os.ReadFile(workbooks + "libreoffice-paddocks.xls")
	if err != nil {
		t.Fatal(err)
	}
	compound := "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + strings.Repeat("\x00", 504)
	for content, want := range map[string]error{
		"": errEmpty, string(old): errOldXLS, "\x09\x08\x10\x00\x00\x06\x05\x00": errOldXLS, compound: errOther,
		compound + "E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00\x00\x00": errLocked,
		`<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet">`:                errXML,
	} {
		if _, err := Open(strings.NewReader(content), int64(len(content)), Options{}); err != want {
			t.Errorf("%.20q: %v, want %v", content, err, want)
		}
	}
}
