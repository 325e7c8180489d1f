package spreadsheet

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// Rows that were held come back as they were, cell by cell: in columns with gaps, with texts that came before,
// in the same row too, that share a slot, that are long, empty or like an id.
func TestHeldRows(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	words := []string{"", "a", "12", "-1.2234732", "GPS", "copper alloy", strings.Repeat("long ", 30), "urn:uuid:5c7cdae9-2669-523e-aa93-f3ce472466a4",
		"urn:uuid:5C7cdae9-2669-523e-aa93-f3ce472466a4", "urn:uuid:5c7cdae9-2669-523e-aa93-f3ce472466ag", "urn:uuid:5c7cdae9x2669-523e-aa93-f3ce472466a4", "Tür\x00\xff"}
	for i := range 20_000 { // more than there are slots
		words = append(words, fmt.Sprint("word ", i))
	}
	formats := []string{"", "", "", "0.00", "d/m/yyyy"}
	for i := range 30 { // more than are looked for one by one
		formats = append(formats, "", fmt.Sprintf(`0" no. %d"`, i))
	}
	var rows []grid.Row
	number := 0
	for range 20_000 {
		number += 1 + random.IntN(3)*random.IntN(400)
		row := grid.Row{Number: number, Hidden: random.IntN(9) == 0}
		column := 0
		for range random.IntN(30) {
			column += 1 + random.IntN(2)*random.IntN(300)
			most := 12
			if random.IntN(3) == 0 {
				most = len(words)
			}
			row.Cells = append(row.Cells, grid.Cell{Column: column, Kind: grid.Kind(random.IntN(6)), Formula: random.IntN(5) == 0,
				Text: words[random.IntN(most)], Format: formats[random.IntN(len(formats))]})
		}
		rows = append(rows, row)
	}
	h := newHeldRows()
	for _, r := range rows {
		h.add(r)
	}
	if h.full {
		t.Fatal("there was no room")
	}
	i := 0
	for got := range h.rows() {
		if want := rows[i]; got.Number != want.Number || got.Hidden != want.Hidden || !slices.Equal(got.Cells, want.Cells) {
			t.Fatalf("row %d: got %v, want %v", i, got, want)
		}
		i++
	}
	if i != len(rows) {
		t.Errorf("%d rows came back of %d", i, len(rows))
	}
}

// Every workbook of testdata gives the same rows of finds held and read again, and with no room but for a few.
func TestHeldIsReadAgain(t *testing.T) {
	books := map[string][]byte{}
	files, _ := filepath.Glob("../../testdata/*/*.xlsx")
	more, _ := filepath.Glob("../../examples/*/*.xlsx")
	for _, file := range append(files, more...) {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		books[file] = raw
	}
	reports, _ := filepath.Glob("../../testdata/valid/*.findslip.json")
	for _, file := range reports {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		in, err := find.DecodeJSON(bytes.NewReader(raw), find.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var book bytes.Buffer
		if err := EncodeXLSX(&book, in, WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		books[file] = book.Bytes()
	}
	looked := 0
	for file, raw := range books {
		read := func(held bool, most int) (rows []grid.Row, err error) {
			src, _, err := openWorkbook(bytes.NewReader(raw), int64(len(raw)), Options{Limits: limit.Limits{}})
			if err != nil {
				return nil, err
			}
			d := &decoder{src: src}
			if err := d.locate(); err != nil {
				return nil, err
			}
			if held {
				d.held = newHeldRows()
				d.held.size = heldMost - most
			}
			if err := d.survey(); err != nil {
				return nil, err
			}
			for row, err := range d.finds() {
				if err != nil {
					return nil, err
				}
				row.Cells = slices.Clone(row.Cells)
				rows = append(rows, row)
			}
			return rows, nil
		}
		want, wantErr := read(false, 0)
		for _, room := range []int{heldMost, 700, 0} {
			got, err := read(true, room)
			if (err == nil) != (wantErr == nil) || !reflect.DeepEqual(got, want) {
				t.Errorf("%s, %d bytes: got %d rows, %v; want %d, %v", file, room, len(got), err, len(want), wantErr)
			}
		}
		if len(want) > 0 {
			looked++
		}
	}
	if looked < 6 {
		t.Errorf("%d workbooks were looked at", looked)
	}
}
