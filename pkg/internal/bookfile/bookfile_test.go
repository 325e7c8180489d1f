package bookfile

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
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

// ISO/IEC 29500-1 clause 22.4.2.4: a character that XML does not allow is written as _x and four
// digits and _, and an underscore that would begin such an escape as _x005F_.
func TestTextsThatAreHeld(t *testing.T) {
	for text, want := range map[string]string{
		"plain":              "plain",
		"a\u0007b":           "a_x0007_b",
		"\u0000":             "_x0000_",
		"_x0041_":            "_x005F_x0041_",
		"_x005F_x0041_":      "_x005F_x005F_x005F_x0041_",
		"_xD83D_":            "_x005F_xD83D_", // half of a pair
		"__x0041_x0042_":     "__x005F_x0041_x005F_x0042_",
		"_x004_ _xGHIJ_ _x0": "_x004_ _xGHIJ_ _x0",
		"\ufffe\uffff":       "_xFFFE__xFFFF_",
		"a\ue0f50007":        "a_xE0F5_0007",  // the mark itself
		"\ue0f6 \u00e9":      "\ue0f6 \u00e9", // begins with the same byte
		"tab\t line\n":       "tab\t line\n",
	} {
		held, any := Hold(text)
		if any != (text != want) {
			t.Errorf("%q: held %t", text, any)
		}
		var b strings.Builder
		if err := release(&b, strings.NewReader(held)); err != nil || b.String() != want {
			t.Errorf("%q is written %q, %v, want %q", text, b.String(), err, want)
		}
	}
}

// A mark may lie across the end of any buffer.
func TestMarksAcrossBuffers(t *testing.T) {
	for _, before := range []int{1<<16 - 8, 1<<16 - 7, 1<<16 - 3, 1<<16 - 1, 1 << 16, 3<<16 - 2} {
		text := strings.Repeat("a", before) + "\u0007" + strings.Repeat("b", 1<<16)
		held, _ := Hold(text)
		var b strings.Builder
		if err := release(&b, io.MultiReader(strings.NewReader(held[:before]),
			strings.NewReader(held[before:]))); err != nil || b.String() != strings.Replace(text, "\u0007", "_x0007_", 1) {
			t.Errorf("%d: %v", before, err)
		}
	}
}

// Another reader of workbooks gets the characters back.
func TestHeldTextsAreReadByOthers(t *testing.T) {
	f := excelize.NewFile()
	const text = "a\u0007b _x0041_ _xD83D_"
	held, _ := Hold(text)
	if err := f.SetCellStr("Sheet1", "A1", held); err != nil {
		t.Fatal(err)
	}
	var b, again bytes.Buffer
	if err := WriteHeld(&b, f); err != nil {
		t.Fatal(err)
	}
	if err := WriteHeld(&again, f); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("two runs differ: %v", err)
	}
	in, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range in.File {
		if y, m, d := part.Modified.Date(); y != 1980 || m != 1 || d != 1 {
			t.Errorf("%s is of %d-%d-%d", part.Name, y, m, d)
		}
	}
	book, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	// excelize v2.11.1 reads halves of pairs as nothing; the rest it must have.
	got, err := book.GetCellValue("Sheet1", "A1")
	if err != nil || !strings.HasPrefix(got, "a\u0007b _x0041_ ") {
		t.Errorf("%q, %v", got, err)
	}
}
