package pipeline

import (
	"bufio"
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"sync"

	"github.com/findslip/findslip/pkg/internal/scratch"
)

// ErrExists says that the file to write is there already.
var ErrExists = errors.New("the file exists already")

// An Output is where something is to be written, whole or not at all. One with a name alone is a new
// file.
type Output struct {
	Name    string
	Force   bool     // replaces a file that is there
	Private bool     // only its owner is to read it, whoever could read the file that it replaces
	Public  bool     // it holds no exact place: made for everybody, or a report of notices
	Inputs  []string // files that are being read, which are never replaced
	// To, if not nil, takes what is written in place of a file: whoever reads it never sees half of it.
	To io.Writer
	// Unfinished, if not nil, keeps the name of what is begun until it is finished.
	Unfinished *Unfinished
}

// Unfinished are the names of files, and folders for them, that are begun and not finished, for a program that
// must end at once. The zero value is ready for use, and it is safe for concurrent use.
type Unfinished struct{ names sync.Map }

// Remove removes what is begun and not finished; nothing may be written after it.
func (u *Unfinished) Remove() {
	u.names.Range(func(name, _ any) bool {
		os.RemoveAll(name.(string)) // a file, or the folder of the pictures of a hand-over
		return true
	})
}

// Folder lets fill make a new folder beside the place it is to have, and puts it there when it is whole.
func (u *Unfinished) Folder(name string, fill func(name string) error) error {
	name = filepath.Clean(name)
	if _, err := os.Lstat(name); err == nil {
		return &fs.PathError{Op: "mkdir", Path: name, Err: fs.ErrExist}
	}
	part, err := os.MkdirTemp(filepath.Dir(name), ".findslip-*.part")
	if err != nil {
		return err
	}
	u.begin(part)
	defer u.end(part)
	defer os.RemoveAll(part)
	whole := filepath.Join(part, filepath.Base(name))
	if err := fill(whole); err != nil {
		return err
	}
	if _, err := os.Lstat(name); err == nil { // came meanwhile; an empty one would be replaced
		return &fs.PathError{Op: "mkdir", Path: name, Err: fs.ErrExist}
	}
	return os.Rename(whole, name)
}

func (u *Unfinished) begin(name string) {
	if u != nil && name != "" {
		u.names.Store(name, nil)
	}
}

func (u *Unfinished) end(name string) {
	if u != nil {
		u.names.Delete(name)
	}
}

// Write lets write write, beside the place of the file, and puts it there when it is whole, so that
// no half file is ever seen. It refuses to replace a file unless Force is set, which is ErrExists, and
// always refuses one of the inputs. A file that is replaced keeps its permissions, unless Private is set; a
// new one is for its owner alone, for it may hold exact places, and where Public is set has the permissions that
// the user's own mask leaves. An error of write is returned as it is.
func (o Output) Write(write func(io.Writer) error) error {
	if o.To != nil {
		h := &held{unfinished: o.Unfinished}
		defer h.close()
		if err := write(h); err != nil {
			return err
		}
		return h.pass(o.To)
	}
	if err := o.Check(); err != nil {
		return err
	}
	mode := fs.FileMode(0o600)
	if o.Public && !o.Private {
		mode = 0o666
	}
	part := filepath.Join(filepath.Dir(o.Name), ".findslip-"+rand.Text()+".part")
	f, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return fmt.Errorf("writing %s: %w", o.Name, plain(err))
	}
	o.Unfinished.begin(part)
	defer func() {
		os.Remove(part) // there is none when it has been put in its place
		o.Unfinished.end(part)
	}()
	if err := writeAll(f, o.Name, write); err != nil {
		return err
	}
	if err := place(part, o); err != nil {
		return fmt.Errorf("writing %s: %w", o.Name, plain(err))
	}
	return nil
}

// writeAll writes a part file and closes it.
func writeAll(f *os.File, name string, write func(io.Writer) error) error {
	out := bufio.NewWriterSize(f, 1<<16)
	err := write(out)
	if err == nil {
		if err = out.Flush(); err != nil {
			err = fmt.Errorf("writing %s: %w", name, plain(err))
		}
	}
	if err == nil { // on the disk before it gets its name: a crash leaves the old file or the new one
		if serr := f.Sync(); serr != nil && !errors.Is(serr, errors.ErrUnsupported) && !errors.Is(serr, fs.ErrInvalid) {
			err = fmt.Errorf("writing %s: %w", name, plain(serr))
		}
	}
	if cerr := f.Close(); err == nil && cerr != nil {
		err = fmt.Errorf("writing %s: %w", name, plain(cerr))
	}
	return err
}

// place puts a part file in its place. Without force a link does it, which fails where somebody
// has made the file meanwhile; where there are no links, the last look decides.
func place(part string, o Output) error {
	name := o.Name
	info, err := os.Stat(name)
	switch {
	case err == nil && !o.Force:
		return ErrExists
	case err == nil && o.Private: // whoever could read the file before is not to read this
	case err == nil:
		if err := os.Chmod(part, info.Mode().Perm()); err != nil {
			return err
		}
	case !o.Force:
		if err := os.Link(part, name); err == nil || errors.Is(err, fs.ErrExist) {
			if err != nil {
				return ErrExists
			}
			return nil
		}
	}
	return os.Rename(part, name)
}

// plain takes the operation and the name of a part file out of an error of the system.
func plain(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return path.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}

// Check tells before the work begins what Write would refuse at its end.
func (o Output) Check() error {
	if o.To != nil {
		return nil
	}
	name := o.Name
	info, err := os.Stat(name)
	if errors.Is(err, fs.ErrNotExist) {
		if folder := filepath.Dir(name); folder != "." {
			if _, err := os.Stat(folder); errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("writing %s: there is no folder %s; make it first, or choose another place", name, folder)
			}
		}
		return nil
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if info.IsDir() {
		return fmt.Errorf("writing %s: this is a folder; name a file in it", name)
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("writing %s: this is a pipe or a device, not a file; choose another name, or write to standard "+
			"output with -o -", name)
	}
	for _, in := range o.Inputs {
		if other, err := os.Stat(in); err == nil && os.SameFile(info, other) {
			return fmt.Errorf("writing %s: it is the file that is being read; choose another name", name)
		}
	}
	if !o.Force {
		return fmt.Errorf("writing %s: %w; choose another name, or add --force", name, ErrExists)
	}
	return nil
}

// held keeps what is written in memory, and in a temporary file when it is much.
type held struct {
	unfinished *Unfinished
	memory     []byte
	file       *scratch.File
	out        *bufio.Writer
}

func (h *held) Write(p []byte) (int, error) {
	if h.file == nil && len(h.memory)+len(p) <= spoolMemory {
		h.memory = append(h.memory, p...)
		return len(p), nil
	}
	if h.file == nil {
		f, err := scratch.New()
		if err != nil { // no folder for it, as in a browser: memory then
			h.memory = append(h.memory, p...)
			return len(p), nil
		}
		h.unfinished.begin(f.Left())
		h.file, h.out = f, bufio.NewWriterSize(f, 1<<16)
	}
	return h.out.Write(p)
}

func (h *held) pass(w io.Writer) error {
	if _, err := w.Write(h.memory); err != nil || h.file == nil {
		return err
	}
	if err := h.out.Flush(); err != nil {
		return err
	}
	if _, err := h.file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err := io.Copy(w, h.file)
	return err
}

// open returns what was written, to be read; nothing may be written any more.
func (h *held) open() (io.ReadCloser, error) {
	if h.file == nil {
		return io.NopCloser(bytes.NewReader(h.memory)), nil
	}
	if err := h.out.Flush(); err != nil {
		return nil, err
	}
	return io.NopCloser(io.MultiReader(bytes.NewReader(h.memory), io.NewSectionReader(h.file, 0, math.MaxInt64))), nil
}

func (h *held) close() {
	if h.file == nil {
		return
	}
	h.file.Close()
	h.unfinished.end(h.file.Left())
}
