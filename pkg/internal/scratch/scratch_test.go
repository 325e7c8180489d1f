package scratch

import (
	"io"
	"os"
	"runtime"
	"testing"
)

func TestNothingIsLeft(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	f, err := New()
	if err != nil {
		t.Fatal(err)
	}
	if left, err := os.ReadDir(os.TempDir()); runtime.GOOS == "linux" && (err != nil || len(left) > 0 || f.Left() != "") {
		t.Errorf("%v, %d files have a name while they are open", err, len(left))
	}
	if _, err := f.WriteString("words"); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	if got, err := io.ReadAll(f); err != nil || string(got) != "words" {
		t.Errorf("%q, %v", got, err)
	}
	if err := f.Close(); err != nil {
		t.Error(err)
	}
	if left, err := os.ReadDir(os.TempDir()); err != nil || len(left) > 0 {
		t.Errorf("%v, %d files are left", err, len(left))
	}
}
