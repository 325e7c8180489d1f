package workbook

import (
	"bytes"
	"encoding/xml"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// small keeps what a fuzzed file may cost low.
var small = grid.Limits{Expanded: 4 << 20, CellLength: 64 << 10, SharedStrings: 10_000}

// exercise reads everything there is of a file and checks what every row promises.
func exercise(t *testing.T, data []byte) {
	w, err := OpenXLSX(bytes.NewReader(data), int64(len(data)), small)
	if err != nil {
		return
	}
	for i := range w.Sheets {
		last := 0
		for row, err := range w.Sheets[i].Rows() {
			if err != nil {
				break
			}
			if row.Number <= last || row.Number > grid.MaxRows || len(row.Cells) == 0 {
				t.Fatalf("row %d with %d cells follows row %d", row.Number, len(row.Cells), last)
			}
			last = row.Number
			column := 0
			for _, c := range row.Cells {
				if c.Column <= column || c.Column > grid.MaxColumns || (c.Text == "") != (c.Kind == grid.Empty) ||
					c.Kind == grid.Empty && c.More == nil {
					t.Fatalf("cell %+v follows column %d", c, column)
				}
				if c.Kind == grid.Number && !grid.IsNumber(c.Raw) {
					t.Fatalf("%q is no number", c.Text)
				}
				column = c.Column
			}
		}
		if _, err := w.Sheets[i].Layout(); err != nil {
			continue
		}
	}
}

func FuzzFile(f *testing.F) {
	f.Add(usual(`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`, `<si><t>bell</t></si>`).zipped(f))
	f.Add([]byte("PK\x05\x06" + zeros(18)))
	f.Fuzz(func(t *testing.T, data []byte) { exercise(t, data) })
}

func FuzzSheet(f *testing.F) {
	f.Add(`<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" s="2"><v>45543</v></c></row>`, `<si><t>bell</t></si>`)
	f.Add(`<row><c t="inlineStr"><is><r><t>a</t></r></is></c><c><f>1</f></c></row><row hidden="1"/>`,
		`<si><r><t>_x000D_</t></r><rPh/></si>`)
	f.Fuzz(func(t *testing.T, rows, shared string) {
		exercise(t, usual(rows, shared).zipped(t))
	})
}

// FuzzScanner compares the scanner with encoding/xml: what both take has the same tags and the same
// text.
func FuzzScanner(f *testing.F) {
	taken := []string{"<a/>", "<a></a >", `<x:a b="c&lt;" d='>'><b>t&#65;</b><!-- c - --><![CDATA[<d>&]]></x:a>`,
		"<?xml version=\"1.0\"?><a>\r\n\r</a>\n<!-- -->", "<a>½<b /></a>", "<a\n b = \"1\"\tc='2' />"}
	for _, s := range append(taken, "<a>½<b/ ></a>", "<:00/>") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, in string) {
		want, err := standard(in)
		if err != nil {
			return
		}
		got, err := scanned(in)
		if err == nil && got != want || err != nil && slices.Contains(taken, in) {
			t.Fatalf("%q is read as %q (%v), and as %q by encoding/xml", in, got, err, want)
		}
	})
}

// standard returns the tags, attributes and text of a document as encoding/xml reads them.
func standard(in string) (string, error) {
	d := xml.NewDecoder(strings.NewReader(in))
	var b strings.Builder
	depth := 0
	for {
		token, err := d.RawToken()
		if err == io.EOF {
			return b.String(), nil
		}
		if err != nil {
			return "", err
		}
		switch token := token.(type) {
		case xml.StartElement:
			depth++
			b.WriteString("<" + token.Name.Local)
			for _, a := range token.Attr {
				b.WriteString(" " + a.Value)
			}
			b.WriteString(">")
		case xml.EndElement:
			depth--
			b.WriteString("</>")
		case xml.CharData:
			if depth > 0 {
				b.Write(token)
			}
		}
	}
}

// scanned returns the same as the scanner reads it.
func scanned(in string) (string, error) {
	s := newScanner(strings.NewReader(in))
	var text []byte
	for {
		token, err := s.next()
		if err != nil {
			return "", err
		}
		switch token {
		case startTag:
			text = append(append(text, '<'), s.name...)
			for {
				key, value, err := s.attr()
				if err != nil {
					return "", err
				}
				if key == nil {
					break
				}
				if text, err = appendText(append(text, ' '), value, false); err != nil {
					return "", err
				}
			}
			text = append(text, '>')
		case endTag:
			text = append(text, "</>"...)
		case textRun:
			if text, err = appendText(text, s.text, s.cdata); err != nil {
				return "", err
			}
		case endOfPart:
			return string(text), nil
		}
	}
}
