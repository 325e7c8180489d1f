package pipeline

import (
	"bufio"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
)

// ErrExists says that the file to write is there already.
var ErrExists = errors.New("the file exists already")

// WriteFile writes a file beside its place and puts it there when it is whole, so that no half
// file is ever seen. It refuses to replace a file unless force is set, and always refuses one of
// the inputs. A file that is replaced keeps its permissions; a new one has those that the user's
// own mask leaves.
func WriteFile(name string, force bool, inputs []string, write func(io.Writer) error) error {
	return writeFile(name, force, inputs, 0o666, write)
}

// WritePrivate is WriteFile for what only its owner is to read, such as proposals, which hold
// positions.
func WritePrivate(name string, force bool, inputs []string, write func(io.Writer) error) error {
	return writeFile(name, force, inputs, 0o600, write)
}

func writeFile(name string, force bool, inputs []string, mode fs.FileMode, write func(io.Writer) error) error {
	if err := mayWrite(name, force, inputs); err != nil {
		return err
	}
	part := filepath.Join(filepath.Dir(name), ".findslip-"+rand.Text()+".part")
	f, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, plain(err))
	}
	parts.Store(part, nil)
	defer func() {
		os.Remove(part) // there is none when it has been put in its place
		parts.Delete(part)
	}()
	if err := writeAll(f, name, write); err != nil {
		return err
	}
	if err := place(part, name, force); err != nil {
		return fmt.Errorf("writing %s: %w", name, plain(err))
	}
	return nil
}

// parts are the names of the files that are being written.
var parts sync.Map

// RemoveParts removes what WriteFile has begun and not finished. It is for a program that must end
// at once; nothing may be written after it.
func RemoveParts() {
	parts.Range(func(name, _ any) bool {
		os.Remove(name.(string))
		return true
	})
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
	if cerr := f.Close(); err == nil && cerr != nil {
		err = fmt.Errorf("writing %s: %w", name, plain(cerr))
	}
	return err
}

// place puts a part file in its place. Without force a link does it, which fails where somebody
// has made the file meanwhile; where there are no links, the last look decides.
func place(part, name string, force bool) error {
	info, err := os.Stat(name)
	switch {
	case err == nil && !force:
		return ErrExists
	case err == nil:
		if err := os.Chmod(part, info.Mode().Perm()); err != nil {
			return err
		}
	case !force:
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

// CanWrite tells before the work begins what WriteFile would refuse at its end.
func CanWrite(name string, force bool, inputs []string) error { return mayWrite(name, force, inputs) }

func mayWrite(name string, force bool, inputs []string) error {
	info, err := os.Stat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if info.IsDir() {
		return fmt.Errorf("writing %s: this is a folder; name a file in it", name)
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("writing %s: this is a pipe or a device, not a file; choose another name, or write to standard output with -o -", name)
	}
	for _, in := range inputs {
		if other, err := os.Stat(in); err == nil && os.SameFile(info, other) {
			return fmt.Errorf("writing %s: it is the file that is being read; choose another name", name)
		}
	}
	if !force {
		return fmt.Errorf("writing %s: %w; choose another name, or add --force", name, ErrExists)
	}
	return nil
}

// WriteTo passes on what write has written when all of it is written, and nothing when write fails:
// whoever reads w never sees half of a file.
func WriteTo(w io.Writer, write func(io.Writer) error) error {
	h := &held{}
	defer h.close()
	if err := write(h); err != nil {
		return err
	}
	return h.pass(w)
}

// held keeps what is written in memory, and in a temporary file when it is much.
type held struct {
	memory []byte
	file   *os.File
	out    *bufio.Writer
}

func (h *held) Write(p []byte) (int, error) {
	if h.file == nil && len(h.memory)+len(p) <= spoolMemory {
		h.memory = append(h.memory, p...)
		return len(p), nil
	}
	if h.file == nil {
		f, err := os.CreateTemp("", "findslip-*.spool")
		if err != nil { // no folder for it, as in a browser: memory then
			h.memory = append(h.memory, p...)
			return len(p), nil
		}
		parts.Store(f.Name(), nil)
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

func (h *held) close() {
	if h.file == nil {
		return
	}
	h.file.Close()
	os.Remove(h.file.Name())
	parts.Delete(h.file.Name())
}
