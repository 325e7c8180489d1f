package bag

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
)

// FuzzUnzip: whatever the zip file, nothing is written outside the folder, and what is refused leaves
// nothing behind.
func FuzzUnzip(f *testing.F) {
	var z bytes.Buffer
	if err := WriteZip(f.Context(), &z, sample()); err != nil {
		f.Fatal(err)
	}
	f.Add(z.Bytes())
	f.Add(bytes.ReplaceAll(z.Bytes(), []byte("season/data/media"), []byte("../../../../media")))
	f.Add(bytes.ReplaceAll(z.Bytes(), []byte("season/bagit.txt"), []byte("/season/bagittxt")))
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		into := filepath.Join(dir, "in", "out")
		if err := os.Mkdir(filepath.Dir(into), 0o755); err != nil {
			t.Fatal(err)
		}
		err := Unzip(t.Context(), bytes.NewReader(data), int64(len(data)), into, Limits{Files: 100, Bytes: 1 << 20})
		entries, rerr := os.ReadDir(dir)
		inner, ierr := os.ReadDir(filepath.Dir(into))
		if rerr != nil || ierr != nil || len(entries) != 1 || len(inner) > 1 {
			t.Fatalf("beside the folder: %v %v", entries, inner)
		}
		if err != nil {
			if _, err := os.Lstat(into); !errors.Is(err, fs.ErrNotExist) {
				t.Fatalf("something is left of what was refused: %v", err)
			}
			return
		}
		_, _ = VerifyFolder(t.Context(), into, Limits{})
	})
}

// FuzzVerify: lists of any sort never break the check, and never make a file that is not listed, or
// is changed, pass as whole.
func FuzzVerify(f *testing.F) {
	const sum = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"
	f.Add("BagIt-Version: 1.0\n", sum+"  data/x\n", "Payload-Oxum: 1.1\n", "")
	f.Add("", strings.ToUpper(sum)+" *data/x\r\n"+sum+" ../y\n", "Payload-Oxum: -1\n", sum+"  bagit.txt\n")
	f.Add("x", sum+"  data/%0A\n\n"+sum+"\n", "", "http://thornmere.example/x - data/y\n")
	f.Fuzz(func(t *testing.T, bagit, manifest, info, sealed string) {
		bag := fstest.MapFS{"bagit.txt": {Data: []byte(bagit)}, "manifest-sha256.txt": {Data: []byte(manifest)},
			"bag-info.txt":           {Data: []byte(info)},
			"tagmanifest-sha256.txt": {Data: []byte(sealed)}, "data/x": {Data: []byte("x")},
			"data/not listed": {Data: []byte("y")}}
		problems, err := Verify(t.Context(), bag, Limits{})
		if err != nil {
			return
		}
		listed := strings.Contains(manifest, "data/not listed") || strings.Contains(manifest, "%")
		if len(problems) == 0 && !listed {
			t.Fatal("a file that no list names passes")
		}
	})
}
