package door

import (
	"archive/zip"
	"bytes"
	"io"
	"math/rand"
	"os"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

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
	wide := strings.Replace(content, body, `<office:body><office:spreadsheet><table:table table:name="a"><table:table-row table:number-rows-repeated="1048576">`+
		`<table:table-cell table:number-columns-repeated="16384" office:value-type="string"><text:p>x</text:p></table:table-cell></table:table-row>`+
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
