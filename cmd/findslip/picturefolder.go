package main

import (
	"fmt"
	"os"
	"path/filepath"
)

// pictureFolder gathers the pictures of a copy beside their place until it is known that the copy
// may be written.
type pictureFolder struct{ part, name string }

func newPictureFolder(name string) (*pictureFolder, error) {
	if _, err := os.Lstat(name); err == nil {
		return nil, fmt.Errorf("writing %s: there is a folder of that name already; move it away or choose another name for the copy", name)
	}
	part, err := os.MkdirTemp(filepath.Dir(name), ".findslip-*.part")
	if err != nil {
		return nil, fmt.Errorf("writing %s: %w", name, err)
	}
	return &pictureFolder{part, name}, nil
}

// save takes a picture by its name in the copy, which begins with that of the folder.
func (f *pictureFolder) save(name string, data []byte) error {
	return os.WriteFile(filepath.Join(f.part, filepath.Base(filepath.FromSlash(name))), data, 0o644)
}

func (f *pictureFolder) keep() error {
	entries, err := os.ReadDir(f.part)
	if err != nil || len(entries) == 0 {
		return err
	}
	if err := os.Chmod(f.part, 0o755); err != nil {
		return err
	}
	return os.Rename(f.part, f.name)
}

func (f *pictureFolder) discard() { os.RemoveAll(f.part) }
