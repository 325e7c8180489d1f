package bag

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func sample() Bag {
	return Bag{Name: "season", Info: [][2]string{{"Source-Organization", "finder-a"}},
		Files: []File{Text("report.findslip.json", []byte("{}\n")), Text("media/100%.txt", []byte("x"))}}
}

func unpacked(t *testing.T, b Bag) string {
	t.Helper()
	var z bytes.Buffer
	if err := WriteZip(t.Context(), &z, b); err != nil {
		t.Fatal(err)
	}
	into := filepath.Join(t.TempDir(), "out")
	if err := Unzip(t.Context(), bytes.NewReader(z.Bytes()), int64(z.Len()), into, Limits{}); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(into, b.Name)
}

func TestThereAndBack(t *testing.T) {
	folder := unpacked(t, sample())
	problems, err := Verify(t.Context(), os.DirFS(folder), Limits{})
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	// RFC 8493 section 2.1.1 gives this very text.
	text, err := os.ReadFile(filepath.Join(folder, "bagit.txt"))
	if err != nil || string(text) != "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n" {
		t.Errorf("bagit.txt: %q, %v", text, err)
	}
	// The SHA-256 of "x" is that of FIPS 180-4 tools (sha256sum of coreutils 9.1).
	manifest, err := os.ReadFile(filepath.Join(folder, "manifest-sha256.txt"))
	if err != nil || !strings.Contains(string(manifest),
		"2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881  data/media/100%25.txt\n") {
		t.Errorf("manifest: %s", manifest)
	}
	info, err := os.ReadFile(filepath.Join(folder, "bag-info.txt"))
	if err != nil || !strings.Contains(string(info), "Payload-Oxum: 4.2\n") {
		t.Errorf("bag-info.txt: %s", info)
	}
}

func TestSameBytes(t *testing.T) {
	var a, b bytes.Buffer
	if WriteZip(t.Context(), &a, sample()) != nil || WriteZip(t.Context(), &b, sample()) != nil || !bytes.Equal(a.Bytes(),
		b.Bytes()) {
		t.Error("two bags of the same files differ")
	}
}

func TestDamageIsFound(t *testing.T) {
	for name, damage := range map[string]func(folder string) error{
		"changed": func(f string) error {
			return os.WriteFile(filepath.Join(f, "data/report.findslip.json"), []byte("{ }\n"), 0o644)
		},
		"missing":    func(f string) error { return os.Remove(filepath.Join(f, "data/report.findslip.json")) },
		"not listed": func(f string) error { return os.WriteFile(filepath.Join(f, "data/more.txt"), nil, 0o644) },
		"link":       func(f string) error { return os.Symlink("/etc/hostname", filepath.Join(f, "data/link")) },
		"list changed": func(f string) error {
			return os.WriteFile(filepath.Join(f, "manifest-sha256.txt"), []byte(strings.Repeat("0", 64)+"  ../../secret\n"),
				0o644)
		},
	} {
		t.Run(name, func(t *testing.T) {
			folder := unpacked(t, sample())
			if err := damage(folder); err != nil {
				t.Fatal(err)
			}
			problems, err := VerifyFolder(t.Context(), folder, Limits{})
			if err == nil && len(problems) == 0 {
				t.Error("nothing is found")
			}
			if name != "link" && err != nil {
				t.Error(err)
			}
		})
	}
}

func TestPathTricksAreRefused(t *testing.T) {
	for _, name := range []string{"../evil", "/evil", "a/../../evil", `a\..\evil`, "c:evil", "a//b", ""} {
		b := sample()
		b.Files[0].Name = name
		if err := WriteZip(t.Context(), &bytes.Buffer{}, b); err == nil {
			t.Errorf("a bag takes the name %q", name)
		}
		var z bytes.Buffer
		w := zip.NewWriter(&z)
		if _, err := w.Create(name); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		into := filepath.Join(t.TempDir(), "out")
		if err := Unzip(t.Context(), bytes.NewReader(z.Bytes()), int64(z.Len()), into, Limits{}); err == nil {
			t.Errorf("the name %q is unpacked", name)
		}
		if _, err := os.Stat(into); err == nil {
			t.Error("something was left behind")
		}
	}
}

func TestFolder(t *testing.T) {
	parent := t.TempDir()
	if err := WriteFolder(t.Context(), parent, sample()); err != nil {
		t.Fatal(err)
	}
	problems, err := Verify(t.Context(), os.DirFS(filepath.Join(parent, "season")), Limits{})
	if err != nil || len(problems) > 0 {
		t.Error(err, problems)
	}
	if err := WriteFolder(t.Context(), parent, sample()); err == nil {
		t.Error("a folder that is there is written over")
	}
}

// The sums of "x" by other algorithms are those of sha512sum, sha1sum and md5sum of coreutils 9.1.
func TestOtherAlgorithms(t *testing.T) {
	for name, sum := range map[string]string{
		"sha512": "a4abd4448c49562d828115d13a1fccea927f52b4d5459297f8b43e42da89238bc13626e43dcb38ddb082488927ec904fb42057443983e88585179d50551afe62",
		"sha1":   "11f6ad8ec52a2984abaafd7c3b516503785c2072",
		"md5":    "9dd4e461268c8034f5c8564e155c67a6",
	} {
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		write := func(text string) {
			if err := os.WriteFile(filepath.Join(folder, "manifest-"+name+".txt"), []byte(text+"  data/x\n"),
				0o644); err != nil {
				t.Fatal(err)
			}
			// No list of the lists has it: it is sealed anew.
			listed, err := os.ReadFile(filepath.Join(folder, "manifest-"+name+".txt"))
			if err != nil {
				t.Fatal(err)
			}
			tags := filepath.Join(folder, "tagmanifest-sha256.txt")
			old, err := os.ReadFile(tags)
			if err != nil {
				t.Fatal(err)
			}
			lines := slices.DeleteFunc(strings.SplitAfter(string(old), "\n"),
				func(line string) bool { return strings.Contains(line, "manifest-"+name) })
			sealed := strings.Join(lines, "") + fmt.Sprintf("%x  manifest-%s.txt\n", sha256.Sum256(listed), name)
			if err := os.WriteFile(tags, []byte(sealed), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		write(sum)
		if problems, err := VerifyFolder(t.Context(), folder, Limits{}); err != nil || len(problems) > 0 {
			t.Errorf("%s: %v %v", name, problems, err)
		}
		write(strings.Repeat("0", len(sum)))
		if problems, err := VerifyFolder(t.Context(), folder, Limits{}); err != nil || len(problems) != 1 {
			t.Errorf("%s: a wrong sum gives %v %v", name, problems, err)
		}
	}
}

// The fingerprint is that of the lists, the same of a folder and of a zip file, and another once a file is.
func TestFingerprint(t *testing.T) {
	of := func(b Bag) string {
		text, err := Fingerprint(os.DirFS(unpacked(t, b)))
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	one, other := of(Bag{Name: "one", Files: []File{Text("x", []byte("x"))}}),
		of(Bag{Name: "one", Files: []File{Text("x", []byte("y"))}})
	if one == other || !regexp.MustCompile(`^([0-9A-HJKMNP-TV-Z]{4}-){2}[0-9A-HJKMNP-TV-Z]{4}$`).MatchString(one) {
		t.Errorf("%s and %s", one, other)
	}
	if again := of(Bag{Name: "one", Files: []File{Text("x", []byte("x"))}}); again != one {
		t.Errorf("%s and %s of one bag", one, again)
	}
	if _, err := Fingerprint(os.DirFS(t.TempDir())); err == nil {
		t.Error("what is no bag has a fingerprint")
	}
}

// A zip file may carry a link in the mode of an entry (APPNOTE 4.4.15, Unix mode in the upper half).
func TestLinksAreRefused(t *testing.T) {
	var z bytes.Buffer
	w := zip.NewWriter(&z)
	h := &zip.FileHeader{Name: "season/data/link"}
	h.SetMode(0o777 | os.ModeSymlink)
	part, err := w.CreateHeader(h)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := part.Write([]byte("/etc/hostname")); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	into := filepath.Join(t.TempDir(), "out")
	if err := Unzip(t.Context(), bytes.NewReader(z.Bytes()), int64(z.Len()), into, Limits{}); err == nil {
		t.Error("a link is unpacked")
	}
	if _, err := os.Lstat(into); err == nil {
		t.Error("something was left behind")
	}
}
