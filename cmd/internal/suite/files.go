package suite

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// Files are those that lie in the folder of a vector before it is asked, by name.
type Files map[string]File

// A File is one of them.
type File struct {
	Text  string `json:"text"`
	More  string `json:"more,omitzero"`  // stands behind the text,
	Times int    `json:"times,omitzero"` // so many times
	Grows bool   `json:"grows,omitzero"` // somebody writes more behind it all the time
}

// A FileExpect is what is to become of a file.
type FileExpect struct {
	State    string   `json:"state"`             // untouched, or new: it was not there, or is another now
	Contains []string `json:"contains,omitzero"` // what it has in it
	Lacks    []string `json:"lacks,omitzero"`    // what it has not
}

// A Room is the folder of one vector while it is asked.
type Room struct {
	Path   string
	before map[string][]byte
	grows  map[string]bool
	busy   sync.WaitGroup
	still  func() // ends what writes to the folder
}

// NewRoom makes the folder of a vector; of one without files it is nil.
func NewRoom(files Files) (*Room, error) {
	if len(files) == 0 {
		return nil, nil
	}
	path, err := os.MkdirTemp("", "conformance-")
	if err != nil {
		return nil, err
	}
	r := &Room{Path: path, before: map[string][]byte{}, grows: map[string]bool{}}
	quit := make(chan struct{})
	r.still = sync.OnceFunc(func() { close(quit); r.busy.Wait() })
	for name, f := range files {
		text := []byte(f.Text + strings.Repeat(f.More, f.Times))
		r.before[name] = text
		if err := os.WriteFile(filepath.Join(path, filepath.Base(name)), text, 0o600); err != nil {
			return nil, err
		}
		if r.grows[name] = f.Grows; f.Grows {
			r.busy.Add(1)
			go r.grow(filepath.Join(path, filepath.Base(name)), f.More, quit)
		}
	}
	return r, nil
}

// grow writes behind a file until the room is looked at.
func (r *Room) grow(name, more string, quit chan struct{}) {
	defer r.busy.Done()
	f, err := os.OpenFile(name, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return
	}
	defer f.Close()
	tick := time.NewTicker(time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-quit:
			return
		case <-tick.C:
			if _, err := f.WriteString(more); err != nil {
				return
			}
		}
	}
}

// Close takes the folder away.
func (r *Room) Close() {
	if r != nil {
		r.still()
		os.RemoveAll(r.Path)
	}
}

// Judge compares what lies in the folder with what is expected, and returns one line for each
// difference.
func (r *Room) Judge(want map[string]FileExpect) []string {
	if r == nil {
		return nil
	}
	r.still()
	var wrong []string
	fail := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	there := map[string]bool{}
	err := filepath.WalkDir(r.Path, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == r.Path {
			return err
		}
		name, err := filepath.Rel(r.Path, path)
		name = filepath.ToSlash(name)
		within := func(file string) bool { return strings.HasPrefix(file, name+"/") }
		if !d.IsDir() || !slices.ContainsFunc(slices.Collect(maps.Keys(want)), within) {
			there[name] = true
		}
		return err
	})
	if err != nil {
		fail("the folder cannot be looked at: %v", err)
	}
	for _, name := range slices.Sorted(maps.Keys(there)) {
		if _, expected := want[name]; !expected {
			fail("the file %s lies in the folder, and was not to", name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		e := want[name]
		text, err := os.ReadFile(filepath.Join(r.Path, filepath.FromSlash(name)))
		if err != nil {
			fail("the file %s is not there", name)
			continue
		}
		switch old, had := r.before[name]; {
		case e.State == "untouched" && !(had && (bytes.Equal(text, old) || r.grows[name] && bytes.HasPrefix(text, old))):
			fail("the file %s was touched", name)
		case e.State == "new" && (had && bytes.Equal(old, text) || len(text) == 0):
			fail("the file %s is not new", name)
		}
		for _, part := range e.Contains {
			if !bytes.Contains(text, []byte(part)) {
				fail("the file %s does not have %q", name, part)
			}
		}
		for _, part := range e.Lacks {
			if bytes.Contains(text, []byte(part)) {
				fail("the file %s has %q", name, part)
			}
		}
	}
	return wrong
}
