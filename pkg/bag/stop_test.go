package bag

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"
)

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

// A bag may lie in any fs.FS: here in memory.
func TestVerifyInMemory(t *testing.T) {
	parent := t.TempDir()
	if err := WriteFolder(t.Context(), parent, large()); err != nil {
		t.Fatal(err)
	}
	memory := fstest.MapFS{}
	disk := os.DirFS(filepath.Join(parent, "season"))
	for _, name := range []string{"bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt",
		"data/a.bin", "data/b.bin", "data/c/d.bin"} {
		f, err := disk.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		memory[name] = &fstest.MapFile{Data: data}
	}
	if problems, err := Verify(t.Context(), memory, Limits{}); err != nil || len(problems) > 0 {
		t.Errorf("whole: %v, %v", problems, err)
	}
	memory["data/c/d.bin"].Data[17] = 1
	problems, err := Verify(t.Context(), memory, Limits{})
	if err != nil || len(problems) != 1 || problems[0].File != "data/c/d.bin" {
		t.Errorf("damaged: %v, %v", problems, err)
	}
}
