package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// exportLog is the owner's log of copies and what it held before.
type exportLog struct {
	name    string // empty: none is kept
	earlier []share.Export
}

// openLog reads the log that lies beside the source, or that is named.
func openLog(in string, f shareFlags, a share.Audience, limits limit.Limits) (*exportLog, error) {
	l := &exportLog{name: f.log}
	if f.noLog || a == share.Self || l.name == "" && in == "-" {
		return &exportLog{}, nil
	}
	if l.name == "" {
		stem, _, _ := strings.Cut(filepath.Base(in), ".")
		l.name = filepath.Join(filepath.Dir(in), stem+".exports.jsonl")
	}
	r, err := pipeline.OpenSide(l.name)
	if errors.Is(err, fs.ErrNotExist) {
		return l, nil
	}
	if err != nil {
		return nil, fmt.Errorf("--log: %w", err)
	}
	defer r.Close()
	if l.earlier, err = share.ReadLog(r, limits); err != nil {
		return nil, fmt.Errorf("reading %s: %w; name another with --log, or leave it out with --no-log", l.name, err)
	}
	return l, nil
}

// keepLog warns where copies together tell more than one, and adds the new one to the log.
func (p *program) keepLog(l *exportLog, r *pipeline.Shared, out, day string) error {
	if l.name == "" {
		return nil
	}
	e := r.Copy.Grades()
	sum := sha256.Sum256(r.Data)
	e.Day, e.SHA256 = day, hex.EncodeToString(sum[:])
	if out != "-" {
		e.File = filepath.Base(out)
	}
	list := share.Narrowings(l.earlier, e)
	for i, n := range list {
		if i == 20 {
			p.say("  and %d more", len(list)-i)
			break
		}
		p.say("warning: %s, with the copy for %s of %s (%s): %s", render.Clean(nameOf(n)), n.With.Audience, render.Clean(n.With.Day), render.Clean(n.With.File), n.Text)
	}
	f, err := os.OpenFile(l.name, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		p.say("warning: the log of exports cannot be kept, so that later copies are not compared with this one: %v", err)
		return nil
	}
	err = e.Append(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", l.name, err)
	}
	return nil
}

// nameOf names a find as its finder does.
func nameOf(n share.Narrowing) string {
	if n.Find == "" {
		return n.ID
	}
	return "find " + n.Find
}

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
