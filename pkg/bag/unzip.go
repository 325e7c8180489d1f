package bag

import (
	"archive/zip"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

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
