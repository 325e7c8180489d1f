package pipeline

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// ErrExists says that the file to write is there already.
var ErrExists = errors.New("the file exists already")

// WriteFile writes a file beside its place and puts it there when it is whole, so that no half
// file is ever seen. It refuses to replace a file unless force is set, and always refuses one of
// the inputs.
func WriteFile(name string, force bool, inputs []string, write func(io.Writer) error) error {
	if err := mayWrite(name, force, inputs); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".findslip-*.part")
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	part := f.Name()
	keep := false
	defer func() {
		if !keep {
			f.Close()
			os.Remove(part)
		}
	}()
	out := bufio.NewWriterSize(f, 1<<16)
	if err := write(out); err != nil {
		return err
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if err := f.Chmod(0o644); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	if !force { // somebody may have made it meanwhile
		if err := mayWrite(name, force, inputs); err != nil {
			return err
		}
	}
	if err := os.Rename(part, name); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	keep = true
	return nil
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
