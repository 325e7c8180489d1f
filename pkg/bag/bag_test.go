package bag

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
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
		"sha512": "a4abd4448c49562d828115d13a1fccea927f52b4d5459297f8b43e42da89238b" +
			"c13626e43dcb38ddb082488927ec904fb42057443983e88585179d50551afe62",
		"sha1": "11f6ad8ec52a2984abaafd7c3b516503785c2072",
		"md5":  "9dd4e461268c8034f5c8564e155c67a6",
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

// counted is a context that is cancelled once it has been asked so many times.
type counted struct {
	context.Context
	left  int
	asked int
}

func (c *counted) Err() error {
	c.asked++
	if c.left--; c.left < 0 {
		return context.Canceled
	}
	return nil
}

// large is a bag of some files that take several reads each.
func large() Bag {
	b := Bag{Name: "season"}
	for _, name := range []string{"a.bin", "b.bin", "c/d.bin"} {
		b.Files = append(b.Files, File{Name: name, Open: func() (io.ReadCloser, error) {
			return io.NopCloser(io.LimitReader(zeros{}, 300_000)), nil
		}})
	}
	return b
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// Each work stops in the middle of a file when it is told to, and leaves no folder behind.
func TestStopped(t *testing.T) {
	var z bytes.Buffer
	if err := WriteZip(t.Context(), &z, large()); err != nil {
		t.Fatal(err)
	}
	whole := filepath.Join(t.TempDir(), "whole")
	if err := Unzip(t.Context(), bytes.NewReader(z.Bytes()), int64(z.Len()), whole, Limits{Ratio: 1 << 20}); err != nil {
		t.Fatal(err)
	}
	for name, work := range map[string]func(ctx context.Context, into string) error{
		"write a zip file": func(ctx context.Context, _ string) error { return WriteZip(ctx, io.Discard, large()) },
		"write a folder":   func(ctx context.Context, into string) error { return WriteFolder(ctx, into, large()) },
		"unzip": func(ctx context.Context, into string) error {
			return Unzip(ctx, bytes.NewReader(z.Bytes()), int64(z.Len()), filepath.Join(into, "season"), Limits{Ratio: 1 << 20})
		},
		"verify": func(ctx context.Context, _ string) error {
			problems, err := Verify(ctx, os.DirFS(filepath.Join(whole, "season")), Limits{})
			if err != nil && problems != nil {
				t.Error("what was not looked at to its end has problems")
			}
			return err
		},
		"verify a folder": func(ctx context.Context, _ string) error {
			_, err := VerifyFolder(ctx, filepath.Join(whole, "season"), Limits{})
			return err
		},
	} {
		all := &counted{Context: t.Context(), left: 1 << 30}
		if err := work(all, t.TempDir()); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if all.asked < 12 {
			t.Errorf("%s asks %d times whether it is to go on", name, all.asked)
		}
		for n := range all.asked {
			into := t.TempDir()
			if err := work(&counted{Context: t.Context(), left: n}, into); !errors.Is(err, context.Canceled) {
				t.Errorf("%s, stopped when asked for the %dth time: %v", name, n+1, err)
			}
			if left, _ := os.ReadDir(into); len(left) > 0 {
				t.Errorf("%s, stopped when asked for the %dth time, leaves %s", name, n+1, left[0].Name())
			}
		}
	}
}

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

// What RFC 8493 forbids or warns of, each by its section: a bag with one such fault is never taken
// for whole, and nothing outside it is read.
func TestHostileBags(t *testing.T) {
	zeros := strings.Repeat("0", 64)
	// SHA-256 of "x", sha256sum of coreutils 9.1
	const x = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"
	rows, err := os.ReadFile("testdata/hostile.txt")
	if err != nil {
		t.Fatal(err)
	}
	for row := range strings.Lines(string(rows)) {
		c := strings.Split(strings.TrimSpace(row), "\t")
		if len(c) != 5 {
			continue
		}
		name, section, want := c[0], c[1], c[4]
		text, err := strconv.Unquote(`"` + strings.NewReplacer("SUM", x, "ZEROS", zeros).Replace(c[3]) + `"`)
		if err != nil {
			t.Fatal(name, err)
		}
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		if err := os.WriteFile(filepath.Join(folder, c[2]), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		problems, err := VerifyFolder(t.Context(), folder, Limits{})
		if err != nil || !slices.ContainsFunc(problems,
			func(p Problem) bool { return strings.Contains(p.String(), want) }) {
			t.Errorf("%s (section %s): %v %v, want %q", name, section, problems, err, want)
		}
	}
	for _, file := range []string{"bagit.txt", "manifest-sha256.txt"} {
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		if err := os.Remove(filepath.Join(folder, file)); err != nil {
			t.Fatal(err)
		}
		if problems, err := VerifyFolder(t.Context(), folder, Limits{}); err == nil {
			t.Errorf("without %s it is still a bag: %v", file, problems)
		}
	}
	folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
	if err := os.Remove(filepath.Join(folder, "tagmanifest-sha256.txt")); err != nil {
		t.Fatal(err)
	}
	if problems, err := VerifyFolder(t.Context(), folder, Limits{}); err != nil || len(problems) != 1 {
		t.Errorf("lists that are not sealed: %v %v", problems, err)
	}
}

// What a bag lists is bounded, however short its lines: no problem is kept for each of millions.
func TestVerifyLimits(t *testing.T) {
	for _, c := range []struct {
		name, list string
		limits     Limits
		want       string // of the limit
	}{
		{"names", strings.Repeat("x\n", 101), Limits{Files: 100}, "files"},
		{"as many as may be", strings.Repeat("x\n", 100), Limits{Files: 100}, ""},
		{"blank lines", strings.Repeat("\n", 500), Limits{Files: 100}, ""},
		{"bytes", strings.Repeat("\n", 500), Limits{List: 499}, "list"},
		{"as many bytes as may be", strings.Repeat("\n", 500), Limits{List: 500}, ""},
		{"one long line", strings.Repeat("x", 3<<20), Limits{}, ""},
		{"one longer line", strings.Repeat("x", 33<<20), Limits{}, "list"},
	} {
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		if err := os.WriteFile(filepath.Join(folder, "manifest-sha256.txt"), []byte(c.list), 0o644); err != nil {
			t.Fatal(err)
		}
		problems, err := VerifyFolder(t.Context(), folder, c.limits)
		var over *LimitError
		if c.want != "" && (!errors.As(err, &over) || over.Limit != c.want || problems != nil) || c.want == "" &&
			(err != nil || len(problems) == 0) {
			t.Errorf("%s: %d problems, %v", c.name, len(problems), err)
		}
	}
	folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
	var over *LimitError
	if _, err := VerifyFolder(t.Context(), folder, Limits{Files: 4}); !errors.As(err, &over) || over.Limit != "files" ||
		!strings.Contains(err.Error(), "more than 4 files") {
		t.Errorf("more files than are looked at: %v", err)
	}
	// bagit, bag-info, the lists, x
	if problems, err := VerifyFolder(t.Context(), folder, Limits{Files: 5}); err != nil || len(problems) > 0 {
		t.Errorf("as many files as may be: %v %v", problems, err)
	}
}
