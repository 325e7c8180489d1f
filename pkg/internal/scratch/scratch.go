// Package scratch makes temporary files that nobody finds again: a file is without a name as soon as it is
// open, so that not even a process that is killed leaves one behind. Systems that keep the name of an open
// file remove it when the file is closed.
package scratch

import (
	"errors"
	"os"
)

// A File is a temporary file, for its owner alone.
type File struct {
	*os.File
	name string // that is still there; empty: none
}

// New makes a file.
func New() (*File, error) {
	f, err := os.CreateTemp("", "findslip-*.spool") // readable by its owner alone
	if err != nil {
		return nil, err
	}
	if os.Remove(f.Name()) == nil {
		return &File{File: f}, nil
	}
	return &File{f, f.Name()}, nil
}

// Left returns the name under which the file would be left if the process ended now; empty if there is none.
func (f *File) Left() string { return f.name }

// Close closes the file, which is gone then.
func (f *File) Close() error {
	err := f.File.Close()
	if f.name != "" {
		err = errors.Join(err, os.Remove(f.name))
	}
	return err
}
