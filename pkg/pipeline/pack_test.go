package pipeline

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/share"
)

const twoPictures = `{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-4a0e-9c3f-0f6a3c1d2b4e","finds":[{"id":"urn:uuid:5a7a1d8e-6f0c-4a0e-9c3f-0f6a3c1d2b4f","number":"1","name":"crotal bell",
"media":[{"file":"pictures/1-front.jpg","view":{"code":"front"}},{"file":"pictures/1-back.jpg","view":{"code":"back"}},{"file":"../outside.jpg"},{"file":"pictures/link.jpg"}]}]}`

func packTwoPictures(t *testing.T) (zipFile string, p *Packed) {
	t.Helper()
	dir := t.TempDir()
	in := filepath.Join(dir, "in")
	for name, text := range map[string]string{"in/season.findslip.json": twoPictures, "in/pictures/1-front.jpg": "front",
		"outside.jpg": "outside"} {
		file := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(filepath.Join(dir, "outside.jpg"), filepath.Join(in, "pictures/link.jpg")); err != nil {
		t.Fatal(err)
	}
	p, err := Pack(context.Background(), filepath.Join(in, "season.findslip.json"), Options{}, PackOptions{Name: "season"},
		ShareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	zipFile = filepath.Join(dir, "season.zip")
	if err := (Output{Name: zipFile}).Write(func(w io.Writer) error { return p.WriteZip(t.Context(), w) }); err != nil {
		t.Fatal(err)
	}
	return zipFile, p
}

func TestPackAndUnpack(t *testing.T) {
	zipFile, p := packTwoPictures(t)
	if p.Pictures != 1 || strings.Join(p.Missing, " ") != "../outside.jpg pictures/1-back.jpg pictures/link.jpg" {
		t.Errorf("%d pictures go, missing are %q", p.Pictures, p.Missing)
	}
	into := filepath.Join(t.TempDir(), "received")
	u, err := Unpack(t.Context(), zipFile, into, limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if len(u.Problems) > 0 || u.Finds != 1 || len(u.Missing) != 3 || len(u.Reports) != 1 {
		t.Errorf("unpacked: %+v", u)
	}
	for _, name := range []string{"data/notices.json", "data/README.txt", "data/START-HERE.html",
		"data/report/season.xlsx", "data/report/pictures/1-front.jpg"} {
		if _, err := os.Stat(filepath.Join(u.Folder, name)); err != nil {
			t.Error(err)
		}
	}
	if err := os.WriteFile(filepath.Join(u.Folder, "data/report/pictures/1-front.jpg"), []byte("other"),
		0o644); err != nil {
		t.Fatal(err)
	}
	if u, err = Unpack(t.Context(), u.Folder, "", limit.Limits{}); err != nil || len(u.Problems) != 1 {
		t.Errorf("a picture that was changed is not found: %+v %v", u, err)
	}
	if _, err := Unpack(t.Context(), zipFile, into, limit.Limits{}); err == nil {
		t.Error("a folder that is there is unpacked into")
	}
}

func TestUnpackRefuses(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "a.zip")
	if err := os.WriteFile(file, []byte("PK\x03\x04 no zip at all"), 0o644); err != nil {
		t.Fatal(err)
	}
	into := filepath.Join(dir, "a")
	for _, name := range []string{file, filepath.Join(dir, "none.zip"), dir} {
		if _, err := Unpack(t.Context(), name, into, limit.Limits{}); err == nil {
			t.Errorf("%s is unpacked", filepath.Base(name))
		}
		if _, err := os.Lstat(into); err == nil {
			t.Error("something was left behind")
		}
	}
}

// A program that must end at once takes the pictures of a hand-over away too.
func TestUnfinishedHandOver(t *testing.T) {
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	o := Options{Unfinished: new(Unfinished)}
	begun := func() int {
		t.Helper()
		entries, err := os.ReadDir(temp)
		if err != nil {
			t.Fatal(err)
		}
		return len(entries)
	}
	for _, end := range []func(*Packed){func(*Packed) { o.Unfinished.Remove() }, func(p *Packed) {
		if err := p.Close(); err != nil {
			t.Error(err)
		}
		o.Unfinished.names.Range(func(name, _ any) bool { t.Errorf("%v is still taken for unfinished", name); return true })
	}} {
		p, err := Pack(t.Context(), "../../examples/thornmere/season.findslip.json", o, PackOptions{Name: "season"},
			ShareOptions{Options: share.Options{Audience: share.Recorder}})
		if err != nil {
			t.Fatal(err)
		}
		if begun() == 0 {
			t.Fatal("nothing was begun")
		}
		if end(p); begun() != 0 {
			t.Errorf("%d folders are left", begun())
		}
		p.Close()
	}
}
