package bag

import (
	"archive/zip"
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// A Problem is something wrong with a bag.
type Problem struct {
	File string // slash path in the bag; empty: the bag itself
	Text string
}

// String names the file and what is wrong.
func (p Problem) String() string {
	if p.File == "" {
		return p.Text
	}
	return p.File + ": " + p.Text
}

// Limits of unpacking.
const (
	maxFiles = 100_000
	maxBytes = 8 << 30
	maxTag   = 64 << 20
)

// Verify proves a bag: that it says what it is, that every file listed is there with its sum, and
// that nothing else is in the payload. It follows no links and fetches nothing.
func Verify(bag fs.FS) ([]Problem, error) {
	v := &verifier{bag: bag}
	text, err := v.tag("bagit.txt")
	if err != nil {
		return nil, fmt.Errorf("this is not a bag: %w", err)
	}
	if !strings.Contains(text, "BagIt-Version:") {
		v.say("bagit.txt", "it does not tell a version of BagIt")
	}
	if _, err := fs.Stat(bag, "fetch.txt"); err == nil {
		v.say("fetch.txt", "the bag names files to be fetched; they are not fetched")
	}
	manifest, err := v.manifest("manifest-sha256.txt")
	if err != nil {
		return nil, err
	}
	if err := v.payload(manifest); err != nil {
		return nil, err
	}
	if _, err := fs.Stat(bag, "tagmanifest-sha256.txt"); err == nil {
		tags, err := v.manifest("tagmanifest-sha256.txt")
		if err != nil {
			return nil, err
		}
		for name, sum := range tags {
			v.sum(name, sum)
		}
	} else {
		v.say("tagmanifest-sha256.txt", "it is missing: the lists themselves are not sealed")
	}
	slices.SortFunc(v.problems, func(a, b Problem) int { return strings.Compare(a.File+"\x00"+a.Text, b.File+"\x00"+b.Text) })
	return v.problems, nil
}

type verifier struct {
	bag      fs.FS
	problems []Problem
}

func (v *verifier) say(file, text string) { v.problems = append(v.problems, Problem{file, text}) }

// tag reads a small file beside the payload.
func (v *verifier) tag(name string) (string, error) {
	f, err := v.bag.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxTag+1))
	if err == nil && len(b) > maxTag {
		err = fmt.Errorf("%s is larger than %d bytes", name, maxTag)
	}
	return string(b), err
}

// manifest reads the sums of files.
func (v *verifier) manifest(name string) (map[string]string, error) {
	text, err := v.tag(name)
	if err != nil {
		return nil, fmt.Errorf("the bag has no %s: %w", name, err)
	}
	out := map[string]string{}
	lines := bufio.NewScanner(strings.NewReader(text))
	lines.Buffer(nil, 1<<20)
	for n := 1; lines.Scan(); n++ {
		sum, file, ok := strings.Cut(strings.TrimSpace(lines.Text()), " ")
		file = decodeName(strings.TrimLeft(file, " *"))
		switch {
		case lines.Text() == "":
		case !ok || len(sum) != 64:
			v.say(name, fmt.Sprintf("line %d is not a SHA-256 sum and a name", n))
		case !cleanName(file):
			v.say(name, fmt.Sprintf("line %d names a file outside the bag", n))
		default:
			out[file] = strings.ToLower(sum)
		}
	}
	return out, lines.Err()
}

// payload compares the list with what is there.
func (v *verifier) payload(manifest map[string]string) error {
	for name, sum := range manifest {
		if !strings.HasPrefix(name, "data/") {
			v.say(name, "it is listed as payload but does not lie below data/")
			continue
		}
		v.sum(name, sum)
	}
	return fs.WalkDir(v.bag, "data", func(name string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			v.say("data", "the payload is missing")
			return nil
		}
		if err != nil || d.IsDir() {
			return err
		}
		if !d.Type().IsRegular() {
			v.say(name, "it is a link or a device, not a file")
		} else if manifest[name] == "" {
			v.say(name, "it is not listed in the manifest")
		}
		return nil
	})
}

func (v *verifier) sum(name, want string) {
	info, err := fs.Stat(v.bag, name)
	if err != nil {
		v.say(name, "it is listed but missing")
		return
	}
	if !info.Mode().IsRegular() {
		v.say(name, "it is not a file")
		return
	}
	f, err := v.bag.Open(name)
	if err != nil {
		v.say(name, "it cannot be read")
		return
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		v.say(name, "it cannot be read to its end")
		return
	}
	if hex.EncodeToString(h.Sum(nil)) != want {
		v.say(name, "its sum differs: it was changed or damaged")
	}
}

// Unzip unpacks a zip file into a new folder, which it names. It refuses names that lead outside,
// links, and more than the limits; what it refuses leaves nothing behind.
func Unzip(r io.ReaderAt, size int64, into string) (err error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return fmt.Errorf("this is not a whole zip file: %w", err)
	}
	if len(z.File) > maxFiles {
		return fmt.Errorf("the zip file has more than %d files", maxFiles)
	}
	if err := os.Mkdir(into, 0o755); err != nil {
		return fmt.Errorf("unpacking: %w", err)
	}
	defer func() {
		if err != nil {
			os.RemoveAll(into)
		}
	}()
	left := int64(maxBytes)
	for _, part := range z.File {
		if strings.HasSuffix(part.Name, "/") && cleanName(strings.TrimSuffix(part.Name, "/")) {
			continue
		}
		if !cleanName(part.Name) {
			return fmt.Errorf("a name in the zip file leads outside its folder")
		}
		if !part.Mode().IsRegular() {
			return fmt.Errorf("%s is a link or a device", part.Name)
		}
		n, err := unzipOne(part, filepath.Join(into, filepath.FromSlash(part.Name)), left)
		if err != nil {
			return fmt.Errorf("unpacking %s: %w", part.Name, err)
		}
		left -= n
	}
	return nil
}

func unzipOne(part *zip.File, file string, left int64) (int64, error) {
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return 0, err
	}
	r, err := part.Open()
	if err != nil {
		return 0, err
	}
	defer r.Close()
	w, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return 0, err
	}
	n, err := io.Copy(w, io.LimitReader(r, left+1))
	if cerr := w.Close(); err == nil {
		err = cerr
	}
	if err == nil && n > left {
		err = fmt.Errorf("unpacked, it is larger than %d bytes", int64(maxBytes))
	}
	return n, err
}
