package pipeline

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// A program that must end while a folder is half made leaves no half folder; nor is one that came meanwhile replaced.
func TestFolderWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out")
	left := func() []string {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, e := range entries {
			names = append(names, e.Name())
		}
		return names
	}
	half := func(then func()) error {
		var u Unfinished
		return u.Folder(name, func(part string) error {
			if err := os.Mkdir(part, 0o755); err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(part, "a"), nil, 0o644); err != nil {
				return err
			}
			if _, err := os.Lstat(name); err == nil {
				t.Error("half a folder is seen")
			}
			if then == nil {
				u.Remove() // as a second signal does
				if names := left(); len(names) > 0 {
					t.Errorf("a program that ends leaves %v", names)
				}
				return errors.New("ended")
			}
			then()
			return nil
		})
	}
	if err := half(nil); err == nil || len(left()) > 0 {
		t.Errorf("error %v, and there is %v", err, left())
	}
	if err := half(func() { os.Mkdir(name, 0o755) }); !errors.Is(err, fs.ErrExist) {
		t.Errorf("error %v where a folder came meanwhile", err)
	}
	if entries, err := os.ReadDir(name); err != nil || len(entries) > 0 || len(left()) != 1 {
		t.Errorf("the folder that came meanwhile holds %v, %v, beside %v", entries, err, left())
	}
	if err := os.Remove(name); err != nil {
		t.Fatal(err)
	}
	if err := half(func() {}); err != nil || len(left()) != 1 {
		t.Errorf("error %v, and there is %v", err, left())
	}
}
