// Package bag seals files for hand-over in a folder or zip file as BagIt 1.0 (RFC 8493), and
// verifies such bags. It knows nothing of finds.
//
//	err := bag.WriteZip(ctx, w, bag.Bag{Name: "season", Files: files})
//	problems, err := bag.Verify(ctx, os.DirFS("season"), bag.Limits{})
//
// # Terms
//
// The payload is what is handed over, below data/. A manifest lists the SHA-256 of each file of the
// payload, a tag manifest those of the files beside it.
//
// This package is unstable: it may change between any two versions.
package bag

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// A File is one file of the payload. Name is a slash path below data/. Open is called once, when the
// turn of the file has come; what it returns is closed.
type File struct {
	Name string
	Open func() (io.ReadCloser, error)
}

// Text returns a file of the payload that holds text.
func Text(name string, content []byte) File {
	return File{Name: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(content)), nil }}
}

// A Bag is what is to be sealed.
type Bag struct {
	Name  string      // of the folder that holds all; one plain name
	Info  [][2]string // labels and values of bag-info.txt, in their order
	Files []File
}

// sink is where a bag is written to: a folder or a zip file.
type sink interface {
	create(name string) (io.WriteCloser, error)
}

// WriteZip writes a bag as a zip file. The same bag gives the same bytes.
func WriteZip(ctx context.Context, w io.Writer, b Bag) error {
	z := zip.NewWriter(w)
	if err := write(ctx, zipSink{z}, b); err != nil {
		return err
	}
	return z.Close()
}

// WriteFolder writes a bag as a new folder within parent. It refuses a folder that is there; a bag
// that cannot be written whole leaves none.
func WriteFolder(ctx context.Context, parent string, b Bag) error {
	if !plainName(b.Name) {
		return fmt.Errorf("the name %q of the bag is not one plain name", b.Name)
	}
	top := filepath.Join(parent, b.Name)
	if err := os.Mkdir(top, 0o755); err != nil {
		return fmt.Errorf("writing the bag: %w", err)
	}
	if err := write(ctx, folderSink(parent), b); err != nil {
		os.RemoveAll(top)
		return err
	}
	return nil
}

type zipSink struct{ z *zip.Writer }

func (s zipSink) create(name string) (io.WriteCloser, error) {
	w, err := s.z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate,
		Modified: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)})
	return nopCloser{w}, err
}

type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }

type folderSink string

func (s folderSink) create(name string) (io.WriteCloser, error) {
	file := filepath.Join(string(s), filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return nil, err
	}
	return os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
}

func plainName(s string) bool {
	return s != "" && s != "." && s != ".." && !strings.ContainsAny(s, `/\:`+"\x00\r\n")
}

// cleanName reports whether a slash path stays below its folder.
func cleanName(s string) bool {
	return s != "" && path.Clean(s) == s && fs.ValidPath(s) && s != "." && !strings.ContainsAny(s, "\\:\x00")
}

// write writes payload, manifests and tags. RFC 8493 section 2.
func write(ctx context.Context, to sink, b Bag) error {
	if !plainName(b.Name) {
		return fmt.Errorf("the name %q of the bag is not one plain name", b.Name)
	}
	files := slices.Clone(b.Files)
	slices.SortFunc(files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	manifest, total := "", int64(0)
	for i, f := range files {
		if !cleanName(f.Name) || i > 0 && files[i-1].Name == f.Name {
			return fmt.Errorf("the file name %q cannot stand in a bag, or stands twice", f.Name)
		}
		sum, size, err := copyFile(ctx, to, b.Name+"/data/"+f.Name, f.Open)
		if err != nil {
			return fmt.Errorf("sealing %s: %w", f.Name, err)
		}
		manifest += sum + "  data/" + encodeName(f.Name) + "\n"
		total += size
	}
	info := ""
	for _, p := range append(slices.Clone(b.Info), [2]string{"Payload-Oxum", fmt.Sprintf("%d.%d", total, len(files))}) {
		info += p[0] + ": " + strings.Join(strings.Fields(p[1]), " ") + "\n"
	}
	tags := ""
	for _, t := range [][2]string{{"bag-info.txt", info},
		{"bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"}, {"manifest-sha256.txt", manifest}} {
		sum, _, err := copyFile(ctx, to, b.Name+"/"+t[0], Text("", []byte(t[1])).Open)
		if err != nil {
			return fmt.Errorf("sealing %s: %w", t[0], err)
		}
		tags += sum + "  " + t[0] + "\n"
	}
	_, _, err := copyFile(ctx, to, b.Name+"/tagmanifest-sha256.txt", Text("", []byte(tags)).Open)
	return err
}

func copyFile(ctx context.Context, to sink, name string, open func() (io.ReadCloser, error)) (sum string, size int64,
	err error) {
	r, err := open()
	if err != nil {
		return "", 0, err
	}
	defer r.Close()
	w, err := to.create(name)
	if err != nil {
		return "", 0, err
	}
	h := sha256.New()
	if size, err = io.Copy(io.MultiWriter(w, h), stopping{ctx, r}); err != nil {
		w.Close()
		return "", 0, err
	}
	return hex.EncodeToString(h.Sum(nil)), size, w.Close()
}

// stopping is a reader that ends with the error of its context.
type stopping struct {
	ctx context.Context
	r   io.Reader
}

func (s stopping) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}

// encodeName and decodeName: RFC 8493 section 2.1.3 encodes CR, LF and the per cent sign.
func encodeName(s string) string {
	return strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A").Replace(s)
}

func decodeName(s string) string {
	return strings.NewReplacer("%25", "%", "%0D", "\r", "%0d", "\r", "%0A", "\n", "%0a", "\n").Replace(s)
}

// Limits of Unzip and of Verify. A member that is 0 has the default named beside it.
type Limits struct {
	Files int64 // and names in one list: 100,000
	Bytes int64 // of all files, unpacked: 8 GiB; of Unzip alone
	// times its packed size that a file, and all of them, may unpack to, the first 4 MiB aside: 200; of Unzip alone
	Ratio int64
	List  int64 // bytes of a list beside the payload: 32 MiB, the sums of 100,000 files by the longest algorithm
}

func (l Limits) filled() Limits {
	return Limits{cmp.Or(l.Files, 100_000), cmp.Or(l.Bytes, 8<<30), cmp.Or(l.Ratio, 200), cmp.Or(l.List, 32<<20)}
}

// freely is how much is unpacked before the ratio is asked.
const freely = 4 << 20

// A LimitError says that a bag, or the zip file of one, went over one of the Limits.
type LimitError struct {
	Limit string // files, bytes, ratio or list
	Most  int64  // what was allowed
}

// Error names the limit in words.
func (e *LimitError) Error() string {
	switch e.Limit {
	case "files":
		return fmt.Sprintf("there are more than %d files", e.Most)
	case "list":
		return fmt.Sprintf("a list beside the payload has more than %d bytes", e.Most)
	case "bytes":
		return fmt.Sprintf("unpacked, it is larger than %d bytes", e.Most)
	}
	return fmt.Sprintf("it unpacks to more than %d times its packed size", e.Most)
}

// Unzip unpacks a zip file into a new folder, which it names. It refuses names that lead outside,
// links, and more than the limits, which is a *LimitError; what it refuses leaves nothing behind.
func Unzip(ctx context.Context, r io.ReaderAt, size int64, into string, limits Limits) (err error) {
	limits = limits.filled()
	// The list of files may be as long as the zip file. It is read with a budget, so that it cannot
	// take more memory than the number of files allowed would.
	budget := &budgetReader{r: r, left: 1<<20 + min(limits.Files, 1<<40)*512}
	z, err := zip.NewReader(budget, size)
	switch {
	case errors.Is(err, errBudget):
		return &LimitError{"files", limits.Files}
	case errors.Is(err, zip.ErrInsecurePath):
		// Each name is looked at below.
	case err != nil:
		return fmt.Errorf("this is not a whole zip file: %w", err)
	}
	budget.off = true
	if int64(len(z.File)) > limits.Files {
		return &LimitError{"files", limits.Files}
	}
	if err := os.Mkdir(into, 0o755); err != nil {
		return fmt.Errorf("unpacking: %w", err)
	}
	defer func() {
		if err != nil {
			os.RemoveAll(into)
		}
	}()
	u := unzipper{ctx: ctx, limits: limits, size: size}
	for _, part := range z.File {
		if strings.HasSuffix(part.Name, "/") && cleanName(strings.TrimSuffix(part.Name, "/")) {
			continue
		}
		if !cleanName(part.Name) {
			return fmt.Errorf("a name in the zip file leads outside its folder")
		}
		if !part.Mode().IsRegular() {
			return fmt.Errorf("%.80q is a link or a device", part.Name)
		}
		if err := u.one(part, filepath.Join(into, filepath.FromSlash(part.Name))); err != nil {
			return fmt.Errorf("unpacking %.80q: %w", part.Name, err)
		}
	}
	return nil
}

var errBudget = errors.New("the list of files is too long")

// budgetReader stops after a number of bytes, until it is switched off.
type budgetReader struct {
	r    io.ReaderAt
	left int64
	off  bool
}

func (b *budgetReader) ReadAt(p []byte, at int64) (int, error) {
	if !b.off {
		if b.left -= int64(len(p)); b.left < 0 {
			return 0, errBudget
		}
	}
	return b.r.ReadAt(p, at)
}

// unzipper counts what is unpacked. Parts that lie over each other in the zip file count as often
// as they are unpacked.
type unzipper struct {
	ctx    context.Context // of the one call of Unzip
	limits Limits
	size   int64 // of the zip file
	total  int64
}

func (u *unzipper) one(file *zip.File, name string) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return err
	}
	r, err := file.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	w, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = io.Copy(w, &part{r: r, u: u, packed: int64(min(file.CompressedSize64, uint64(u.size)))})
	if cerr := w.Close(); err == nil {
		err = cerr
	}
	return err
}

// part counts what is read of one part.
type part struct {
	r      io.Reader
	u      *unzipper
	packed int64
	read   int64
}

func (p *part) Read(b []byte) (int, error) {
	if err := p.u.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := p.r.Read(b)
	p.read += int64(n)
	p.u.total += int64(n)
	l := p.u.limits
	switch {
	case p.u.total > l.Bytes:
		return 0, &LimitError{"bytes", l.Bytes}
	case p.read > freely && p.read/max(1, p.packed) > l.Ratio, p.u.total > freely && p.u.total/max(1, p.u.size) > l.Ratio:
		return 0, &LimitError{"ratio", l.Ratio}
	}
	return n, err
}
