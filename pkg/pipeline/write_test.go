package pipeline_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/pipeline"
)

// names lists what is in a folder.
func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return strings.Join(out, " ")
}

// A file that somebody makes while we write is not replaced, and nothing else is left.
func TestFileMadeMeanwhile(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "out.json")
	err := (pipeline.Output{Name: file}).Write(func(w io.Writer) error {
		if err := os.WriteFile(file, []byte("theirs"), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := io.WriteString(w, "ours")
		return err
	})
	if !errors.Is(err, pipeline.ErrExists) {
		t.Errorf("%v", err)
	}
	if got, err := os.ReadFile(file); err != nil || string(got) != "theirs" {
		t.Errorf("the file holds %q, %v", got, err)
	}
	if got := names(t, dir); got != "out.json" {
		t.Errorf("the folder holds %s", got)
	}
}

// A private file that is replaced stays private.
func TestPermissionsStay(t *testing.T) {
	file := filepath.Join(t.TempDir(), "out.json")
	if err := os.WriteFile(file, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := (pipeline.Output{Name: file, Force: true}).Write(func(w io.Writer) error {
		_,
			err := io.WriteString(w, "new")
		return err
	}); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(file); err != nil || string(got) != "new" || info.Mode().Perm() != 0o600 {
		t.Errorf("%q with %v, %v", got, info.Mode(), err)
	}
}

// What only its owner is to read is so also where it takes the place of a file that others could read, and
// from its first byte.
func TestPrivateIsPrivate(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "proposals.json")
	if err := os.WriteFile(file, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	mode := func(name string) os.FileMode {
		t.Helper()
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		return info.Mode().Perm()
	}
	err := (pipeline.Output{Name: file, Force: true, Private: true}).Write(func(w io.Writer) error {
		for name := range strings.FieldsSeq(names(t, dir)) {
			if got := mode(filepath.Join(dir, name)); name != "proposals.json" && got != 0o600 {
				t.Errorf("while it is written its mode is %o", got)
			}
		}
		_, err := io.WriteString(w, "new")
		return err
	})
	if got := mode(file); err != nil || got != 0o600 {
		t.Errorf("its mode is %o, %v", got, err)
	}
}

// An input is refused under any of its names, also with force.
func TestInputsAreNeverWritten(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "in.csv")
	if err := os.WriteFile(file, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.csv")
	if err := os.Symlink(file, other); err != nil {
		t.Fatal(err)
	}
	hard := filepath.Join(dir, "hard.csv")
	if err := os.Link(file, hard); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{file, other, hard} {
		called := false
		if err := (pipeline.Output{Name: name, Force: true,
			Inputs: []string{file}}).Write(func(io.Writer) error { called = true; return nil }); err == nil || called {
			t.Errorf("%s is written: %v", name, err)
		}
		if err := (pipeline.Output{Name: name, Force: true, Inputs: []string{file}}).Check(); err == nil {
			t.Errorf("%s may be written", name)
		}
	}
	if got, err := os.ReadFile(file); err != nil || string(got) != "old" {
		t.Errorf("%q, %v", got, err)
	}
}

// A message names the file that was asked for and no part file.
func TestErrorsNameTheFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "none", "out.json")
	err := (pipeline.Output{Name: file}).Write(func(io.Writer) error { return nil })
	if err == nil || strings.Contains(err.Error(), ".part") || !strings.HasPrefix(err.Error(), "writing "+file+": ") {
		t.Errorf("%v", err)
	}
}

// A new file is for its owner alone, unless it is made for everybody.
func TestNewFilesAreForTheirOwner(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no such permissions there")
	}
	for _, o := range []pipeline.Output{{Name: "own"}, {Name: "private", Private: true}, {Name: "public", Public: true}} {
		file := filepath.Join(t.TempDir(), o.Name)
		want := os.FileMode(0o600)
		if o.Public {
			if err := os.WriteFile(file+".mask", nil, 0o666); err != nil {
				t.Fatal(err)
			}
			info, err := os.Stat(file + ".mask")
			if err != nil {
				t.Fatal(err)
			}
			want = info.Mode().Perm()
		}
		o.Name = file
		if err := o.Write(func(w io.Writer) error { _, err := io.WriteString(w, "x"); return err }); err != nil {
			t.Fatal(err)
		}
		if info, err := os.Stat(file); err != nil || info.Mode().Perm() != want {
			t.Errorf("%+v: %v, %v", o, info.Mode(), err)
		}
	}
}

const (
	packedCSV = "Number,Object,Depth (cm)\n1,crotal bell,20\n2,button,5\n"
	packedGPX = `<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt ` +
		`lat="52.5" lon="-1.2"><name>bell</name></wpt></gpx>`
	packedKML = `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>bell</name>` +
		`<Point><coordinates>-1.2,52.5</coordinates></Point></Placemark></Document></kml>`
)

func zipped(t *testing.T, files ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(files); i += 2 {
		w, err := z.Create(files[i])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(files[i+1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestPackedFiles: the one log inside an archive is read.
func TestPackedFiles(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write([]byte(packedCSV))
	z.Close()
	for name, test := range map[string]struct {
		data   []byte
		format pipeline.Format
		finds  int
		fails  string
	}{
		"season.csv.gz": {packed.Bytes(), pipeline.CSV, 2, ""},
		"season.zip": {zipped(t, "__MACOSX/._log.csv", "x", "folder/", "", "folder/log.csv", packedCSV, "notes.docx",
			"x"), pipeline.CSV, 2, ""},
		"waypoints.zip":  {zipped(t, "points.gpx", packedGPX), pipeline.GPX, 1, ""},
		"map.kmz":        {zipped(t, "doc.kml", packedKML, "files/photo.jpg", "x"), pipeline.KML, 1, ""},
		"two.zip":        {zipped(t, "a.csv", packedCSV, "b.csv", packedCSV), "", 0, `"a.csv", "b.csv"`},
		"cut.csv.gz":     {packed.Bytes()[:20], "", 0, "unexpected EOF"},
		"season.numbers": {zipped(t, "Index/Document.iwa", "x"), "", 0, "a Numbers document"},
		"photo.csv":      {[]byte("\xff\xd8\xff\xe0\x00"), "", 0, "a photo"},
		"field.gpkg":     {[]byte("SQLite format 3\x00"), "", 0, "a GeoPackage"},
	} {
		in, err := pipeline.Open(context.Background(), name, pipeline.Options{FS: fstest.MapFS{name: {Data: test.data}}})
		if test.fails != "" {
			var input *pipeline.InputError
			if err == nil || !strings.Contains(err.Error(), test.fails) || !errors.As(err, &input) && !strings.Contains(name,
				"cut") {
				t.Errorf("%s: error %v", name, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		n := 0
		for _, err := range in.Stream.Entries {
			if err != nil {
				t.Errorf("%s: %v", name, err)
				break
			}
			n++
		}
		if in.Format != test.format || n != test.finds || !strings.HasPrefix(in.Stream.File,
			strings.TrimSuffix(name, ".gz")) {
			t.Errorf("%s: %d finds of the format %s in %s", name, n, in.Format, in.Stream.File)
		}
		if err := in.Close(); err != nil {
			t.Error(err)
		}
	}
}
