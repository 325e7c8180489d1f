package xlsx

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// cellsOf reads the rows of a sheet from its XML, tag by tag if slow, and tells how many cells were taken quickly.
func cellsOf(in string, slow, bytewise bool) (rows []grid.Row, fault string) {
	src := newScanner(strings.NewReader(in))
	if bytewise {
		src.src = iotest.OneByteReader(src.src)
	}
	r := &sheetReader{scanner: src, ctx: context.Background(), slow: slow, shared: []string{"bell", "", "two\nlines"}, limits: grid.Limits{CellLength: 60, Columns: 800}.WithDefaults(),
		workbook: &Workbook{styles: []style{{}, {format: "yyyy-mm-dd", date: true}, {format: "0.00"}}}}
	r.yield = func(row grid.Row) bool {
		row.Cells = append([]grid.Cell(nil), row.Cells...)
		rows = append(rows, row)
		return true
	}
	if err := r.read(); err != nil {
		fault = err.Error()
	}
	return rows, fault
}

// readBothWays holds the quick way to that of tag by tag: the same cells, and the same words for what is wrong.
func readBothWays(t *testing.T, rows string) {
	t.Helper()
	in := "<worksheet><sheetData>" + rows + "</sheetData></worksheet>"
	want, wantFault := cellsOf(in, true, false)
	for _, bytewise := range []bool{false, true} {
		got, fault := cellsOf(in, false, bytewise)
		if d := cmp.Diff(want, got); d != "" || fault != wantFault {
			t.Fatalf("%s: %s\nfault %q, tag by tag %q", rows, d, fault, wantFault)
		}
	}
}

// pieces that cells are made of, right and wrong.
var pieces = []string{`<row r="1">`, `<row>`, `</row>`, `<c r="A1"`, `<c r="B1"`, `<c r="AB1"`, `<c r="ZZZ1"`, `<c r="B01"`, `<c r="C2"`, `<c`, `<c  r="D1"`, `<x:c r="E1"`, `<c r='F1'`, ` s="1"`, ` s="2"`, ` s="9"`, ` s=""`, ` t="s"`, ` t="n"`,
	` t="str"`, ` t="inlineStr"`, ` t="b"`, ` t="e"`, ` t="d"`, ` t="q"`, ` x="1"`, `>`, `/>`, `<v>`, `</v>`, `<v/>`, `<is>`, `<t>`, `</t>`, `</is>`, `<t xml:space="preserve">`, `</c>`, `<f>A1</f>`, `0`, `1`, `2`, `7`, `45543.5`, ` 12 `, `1E5`, `bell`, `½`,
	`&amp;`, `&#x41;`, `&no;`, "\r\n", "\x01", "\xff", `_x000D_`, `]]>`, `<![CDATA[x]]>`, `<!-- -->`, `<ext>`, `</ext>`, strings.Repeat("long ", 14)}

func TestQuickCells(t *testing.T) {
	for _, cell := range []string{
		`<c r="A1" s="1" t="s"><v>0</v></c>`, `<c r="A1" t="s"><v>1</v></c>`, `<c r="A1" t="s"><v>3</v></c>`, `<c r="A1" t="s"><v> 2 </v></c>`, `<c r="A1" t="s"><v></v></c>`, `<c r="A1" s="1"><v>45543</v></c>`,
		`<c r="A1" t="inlineStr"><is><t> grün &amp; "½" </t></is></c>`, `<c r="A1" t="inlineStr"><is><t xml:space="preserve"> x </t></is></c>`, `<c r="A1" t="inlineStr"><is><t></t></is></c>`, `<c r="A1" t="str"><v>_x000D_</v></c>`,
		`<c r="A1" t="b"><v>1</v></c>`, `<c r="A1" t="e"><v>#N/A</v></c>`, `<c r="A1"><v>words</v></c>`, `<c r="B1"><v>1</v></c><c r="A1"><v>2</v></c>`, `<c r="A1"><v>1</v></c><c r="A1"><v>2</v></c>`, `<c r="A1" t="inlineStr"><v>1</v></c>`,
		`<c r="AEA1"><v>1</v></c>`, `<c r="A1"><v>1</v></c><c><v>2</v></c>`, `<c r="A1"><v>1</v></c><ext><c r="B1"><v>2</v></c></ext>`,
	} {
		readBothWays(t, `<row r="1">`+cell+`</row>`)
	}
	r := rand.New(rand.NewPCG(11, 12))
	for range 30_000 {
		var b strings.Builder
		b.WriteString(`<row r="1">`)
		for i := range 1 + r.IntN(3) {
			cell := []string{fmt.Sprintf(`<c r="%c1"`, 'A'+i), ` s="1"`, ` t="inlineStr"`, `>`, `<is><t>`, "bell", `</t></is>`, `</c>`}
			if r.IntN(2) == 0 {
				cell = []string{fmt.Sprintf(`<c r="%c1"`, 'A'+i), ` s="2"`, ` t="n"`, `>`, `<v>`, "12.5", `</v>`, `</c>`}
			}
			for range r.IntN(3) {
				cell[r.IntN(len(cell))] = pieces[r.IntN(len(pieces))]
			}
			b.WriteString(strings.Join(cell, ""))
		}
		b.WriteString(`</row>`)
		readBothWays(t, b.String())
	}
}

// Most cells of workbooks that programs write are taken quickly: else the quick way would be of no use.
func TestQuickCellsAreTaken(t *testing.T) {
	for _, cell := range []string{`<c r="B1" s="1" t="s"><v>0</v></c>`, `<c r="B1" t="inlineStr"><is><t>bell</t></is></c>`, `<c r="B1"><v>12.5</v></c>`} {
		r := &sheetReader{scanner: newScanner(strings.NewReader(cell)), shared: []string{"bell"}, row: 1, limits: grid.Limits{}.WithDefaults(), workbook: &Workbook{styles: make([]style, 2)}}
		if err := r.need(len(cell)); err != nil {
			t.Fatal(err)
		}
		if column, ok := r.quickCell(0); !ok || column != 2 || r.pos != len(cell) {
			t.Errorf("%s: column %d, taken %v, %d bytes", cell, column, ok, r.pos)
		}
	}
}

func FuzzQuickCells(f *testing.F) {
	f.Add(`<row r="1"><c r="A1" s="1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>bell</t></is></c></row>`)
	f.Fuzz(func(t *testing.T, rows string) { readBothWays(t, rows) })
}
