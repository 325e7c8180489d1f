package door

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"math/rand"
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
	if err != nil ||
		fmt.Sprint(book.Notes[0].Text) != "the name ends in .xlsx, and the file is a text table; it was read as that" {
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

// TestMutations changes an OpenDocument file, a web page and a text table in many small ways: whatever comes, rows
// stand in order, and nothing panics.
func TestMutations(t *testing.T) {
	random := rand.New(rand.NewSource(3))
	page, err := os.ReadFile(workbooks + "libreoffice-paddocks.html")
	if err != nil {
		t.Fatal(err)
	}
	content := unpacked(t, "libreoffice-paddocks.ods", "content.xml")
	for range 150 {
		exercise(t, packed(t, mutated(random, content)))
		exercise(t, []byte(mutated(random, string(page))))
		exercise(t, []byte(mutated(random, "no,what,depth\n1,\"a \"\"b\"\"\",5\"\n2,\",\"\n3;c;4\n\"d\ne\",f,g\n\x1a")))
	}
	// A row and a cell that stand for very many cost no more than the limits allow.
	body := content[strings.Index(content, "<office:body>"):]
	wide := strings.Replace(content, body,
		`<office:body><office:spreadsheet><table:table table:name="a"><table:table-row table:number-rows-repeated="1048576">`+
			`<table:table-cell table:number-columns-repeated="16384" office:value-type="string"><text:p>x</text:p>`+
			`</table:table-cell></table:table-row>`+
			`</table:table></office:spreadsheet></office:body></office:document-content>`, 1)
	exercise(t, packed(t, wide))
}

func mutated(random *rand.Rand, in string) string {
	b := []byte(in)
	for range 1 + random.Intn(4) {
		at := random.Intn(len(b))
		switch random.Intn(3) {
		case 0:
			b[at] = "<>&\"'/=;:0 ,\n"[random.Intn(13)]
		case 1:
			b = append(b[:at], b[min(len(b)-1, at+random.Intn(40)):]...)
		case 2:
			end := min(len(b), at+random.Intn(200))
			b = append(b[:end:end], b[at:]...)
		}
	}
	return string(b)
}

func exercise(t *testing.T, data []byte) {
	t.Helper()
	book, err := Open(bytes.NewReader(data), int64(len(data)), Options{Limits: grid.Limits{Expanded: 8 << 20}})
	if err != nil {
		return
	}
	for _, s := range book.Sheets {
		last := 0
		for row, err := range s.Rows() {
			if err != nil {
				break
			}
			if row.Number <= last || len(row.Cells) == 0 {
				t.Fatalf("row %d with %d cells follows row %d", row.Number, len(row.Cells), last)
			}
			last = row.Number
			for i, c := range row.Cells {
				if i > 0 && c.Column <= row.Cells[i-1].Column || c.Kind == grid.Empty && c.More == nil {
					t.Fatalf("cell %+v in row %d", c, row.Number)
				}
			}
		}
		s.Layout()
	}
}

func unpacked(t *testing.T, file, part string) string {
	t.Helper()
	z, err := zip.OpenReader(workbooks + file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	f, err := z.Open(part)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// packed returns an OpenDocument file with the content.
func packed(t *testing.T, content string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, part := range [][2]string{{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"},
		{"content.xml", content}} {
		w, err := z.CreateHeader(&zip.FileHeader{Name: part[0], Method: zip.Store})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(w, part[1]); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
