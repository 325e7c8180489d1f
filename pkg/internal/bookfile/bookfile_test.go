package bookfile

import (
	"archive/zip"
	"bytes"
	"testing"

	"github.com/xuri/excelize/v2"
)

func TestWriteGivesTheSameBytes(t *testing.T) {
	var want []byte
	for range 10 {
		f := excelize.NewFile()
		for _, name := range []string{"Finds", "People", "Outings", "Report"} {
			if _, err := f.NewSheet(name); err != nil {
				t.Fatal(err)
			}
			if err := f.SetCellStr(name, "A1", "Thornmere"); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := Write(&b, f); err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = b.Bytes()
		} else if !bytes.Equal(want, b.Bytes()) {
			t.Fatal("two runs differ")
		}
	}
	in, err := zip.NewReader(bytes.NewReader(want), int64(len(want)))
	if err != nil {
		t.Fatal(err)
	}
	// Common practice, no source: readers that stream look for the list of parts at the start.
	if in.File[0].Name != contentTypes {
		t.Errorf("the first part is %s", in.File[0].Name)
	}
	for _, part := range in.File {
		// APPNOTE 4.4.6: the first day that an archive can state. A month 0 is none, and some tools say so.
		if y, m, d := part.Modified.Date(); y != 1980 || m != 1 || d != 1 || len(part.Extra) > 0 {
			t.Errorf("%s carries the clock %v", part.Name, part.Modified)
		}
	}
}
