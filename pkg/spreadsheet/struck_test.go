package spreadsheet

import (
	"bytes"
	"testing"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/notice"
)

// TestStruckRows: a row that is struck through is read and asked about; one struck cell is the keeper's affair.
func TestStruckRows(t *testing.T) {
	f := excelize.NewFile()
	for i, row := range [][]any{{"No", "Find", "Depth (cm)"}, {1, "bell", 12}, {2, "nail", 3}, {3, "pin", 4}} {
		cell, _ := excelize.CoordinatesToCellName(1, i+1)
		if err := f.SetSheetRow("Sheet1", cell, &row); err != nil {
			t.Fatal(err)
		}
	}
	strike, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Strike: true}})
	if err != nil {
		t.Fatal(err)
	}
	for _, span := range [][2]string{{"A3", "C3"}, {"B4", "B4"}} {
		if err := f.SetCellStyle("Sheet1", span[0], span[1], strike); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	s, err := DecodeXLSX(bytes.NewReader(b.Bytes()), int64(b.Len()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var said []bool
	for e, err := range s.Entries {
		if err != nil {
			t.Fatal(err)
		}
		is := false
		for _, n := range e.Notices {
			is = is || n.Kind == rowStruck && n.Kind.Severity == notice.Warning
		}
		said = append(said, is)
	}
	if len(said) != 3 || said[0] || !said[1] || said[2] {
		t.Errorf("asked of rows %v", said)
	}
}
