package pipeline

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/register"
)

// A RegisterFile is the register of a finder where it lies: in the folder of a log, or in the nearest folder
// above it that has one, short of folders that everybody may write into.
type RegisterFile struct {
	*register.Register
	Name   string   // of the file
	Fresh  bool     // there was none
	United []string // copies of it, as cloud folders make them, that were taken into it
	lock   string
}

// ErrNoRegister says that copies of a log were handed out, and that the register of what they told is not
// there.
var ErrNoRegister = errors.New("copies of this log were handed out before, and the register of what they told is not " +
	"there")

// OpenRegister finds and reads the register of a log. Where there is none it begins one, which is written
// with the first copy. In a Git work tree it refuses to, unless Git is told to pass the register over: its
// secret leads back from every copy.
func OpenRegister(log, at string, limits limit.Limits) (*RegisterFile, error) {
	folder, err := filepath.Abs(filepath.Dir(log))
	if err != nil {
		return nil, fmt.Errorf("looking for the register: %w", err)
	}
	r := &RegisterFile{Register: &register.Register{}, Name: filepath.Join(folder, register.Name)}
	for up := folder; ; {
		if _, err := os.Stat(filepath.Join(up, register.Name)); err == nil {
			r.Name = filepath.Join(up, register.Name)
			break
		}
		next := filepath.Dir(up)
		if next == up || isForAll(next) {
			break
		}
		up = next
	}
	if err := refuseGit(r.Name); err != nil {
		return nil, err
	}
	switch err := r.read(r.Name, limits); {
	case errors.Is(err, fs.ErrNotExist):
		r.Fresh = true
	case err != nil:
		return nil, fmt.Errorf("reading %s: %w", r.Name, err)
	}
	if err := r.unite(limits); err != nil {
		return nil, err
	}
	r.Fresh = r.Fresh && r.United == nil
	r.Renew(at)
	return r, nil
}

// isForAll reports whether a folder is one that everybody may write into, such as the one for temporary files:
// what lies there may be anybody's register.
func isForAll(folder string) bool {
	info, err := os.Stat(folder)
	return err == nil && info.Mode()&fs.ModeSticky != 0
}

func (r *RegisterFile) read(name string, limits limit.Limits) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	return r.Read(f, limits)
}

// unite takes in what lies beside the register under a name that a cloud folder gives to a second copy.
func (r *RegisterFile) unite(limits limit.Limits) error {
	entries, err := os.ReadDir(filepath.Dir(r.Name))
	if err != nil {
		return nil // the folder cannot be listed: there is nothing to unite
	}
	for _, e := range entries {
		if e.Name() == filepath.Base(r.Name) || !register.IsName(e.Name()) || !e.Type().IsRegular() ||
			!strings.HasSuffix(strings.ToLower(e.Name()), ".jsonl") {
			continue
		}
		other := &RegisterFile{Register: &register.Register{}}
		if err := other.read(filepath.Join(filepath.Dir(r.Name), e.Name()), limits); err != nil {
			return fmt.Errorf("reading %s, which looks like a second copy of the register: %w", e.Name(), err)
		}
		if r.Union(other.Register) > 0 {
			r.United = append(r.United, e.Name())
		}
	}
	return nil
}

// Keep adds the events that are not in the file yet, under a lock, and sees that they are on the disk.
func (r *RegisterFile) Keep(limits limit.Limits) error {
	if err := r.locked(); err != nil {
		return err
	}
	defer os.Remove(r.lock)
	data, err := r.Register.Fresh()
	if err != nil || len(data) == 0 {
		return err
	}
	if old, err := os.ReadFile(r.Name); err == nil && len(old) > 0 && !bytes.HasSuffix(old, []byte("\n")) {
		data = append([]byte("\n"), data...) // a line that was cut short stays one of its own
	}
	f, err := os.OpenFile(r.Name, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return fmt.Errorf("writing the register: %w", err)
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Chmod(0o600)
	}
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return fmt.Errorf("writing the register: %w", err)
	}
	r.Kept()
	return nil
}

// locked waits until no other run writes to the register.
func (r *RegisterFile) locked() error {
	r.lock = r.Name + ".lock"
	for range 200 {
		f, err := os.OpenFile(r.lock, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err == nil {
			return f.Close()
		}
		if !errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("writing the register: %w", err)
		}
		if info, err := os.Stat(r.lock); err == nil && time.Since(info.ModTime()) > 2*time.Minute {
			os.Remove(r.lock) // left by a run that was ended
			continue
		}
		time.Sleep(50 * time.Millisecond)
	}
	return fmt.Errorf("another run writes to the register; if none does, delete %s", r.lock)
}

// refuseGit refuses a register in a Git work tree that does not pass it over.
func refuseGit(name string) error {
	for folder := filepath.Dir(name); ; {
		if _, err := os.Stat(filepath.Join(folder, ".git")); err == nil {
			if ignores(folder, name) {
				return nil
			}
			return &InputError{File: filepath.Base(name), Code: "register-in-git",
				Msg:  "the register would lie in a Git work tree that does not pass it over; its secret leads back from every copy",
				Help: "Add a line " + register.Name + "* to .gitignore in that folder, or keep your log elsewhere."}
		}
		next := filepath.Dir(folder)
		if next == folder {
			return nil
		}
		folder = next
	}
}

// ignores reads the files that tell Git what to pass over, from the folder of the register up to that of
// the work tree, for a line that names the register.
func ignores(top, name string) bool {
	files := []string{filepath.Join(top, ".git", "info", "exclude")}
	for folder := filepath.Dir(name); ; folder = filepath.Dir(folder) {
		files = append(files, filepath.Join(folder, ".gitignore"))
		if folder == top || folder == filepath.Dir(folder) {
			break
		}
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			continue
		}
		for line := range strings.Lines(string(data)) {
			pattern := strings.TrimPrefix(strings.TrimPrefix(strings.TrimSpace(line), "**/"), "/")
			if ok, err := filepath.Match(pattern, register.Name); err == nil && ok {
				return true
			}
		}
	}
	return false
}

// SharedBefore reports whether files beside a log show that copies of it were handed out: the log of exports
// of an earlier version, or a copy itself.
func SharedBefore(log string) bool {
	folder, base := filepath.Dir(log), filepath.Base(log)
	stem, _, _ := strings.Cut(base, ".")
	if _, err := os.Stat(filepath.Join(folder, stem+".exports.jsonl")); err == nil {
		return true
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		return false
	}
	for i, e := range entries {
		if i > 500 || e.Name() == base || !e.Type().IsRegular() {
			continue
		}
		if !slices.Contains([]string{".json", ".jsonl", ".geojson", ".csv"}, strings.ToLower(filepath.Ext(e.Name()))) {
			continue
		}
		if isCopy(filepath.Join(folder, e.Name())) {
			return true
		}
	}
	return false
}

// isCopy reports whether the beginning of a file says that it is a copy for others, with an id that was
// made anew for it.
func isCopy(name string) bool {
	f, err := os.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 4096)
	n, _ := f.Read(head)
	text := strings.ReplaceAll(string(head[:n]), " ", "")
	for _, a := range []string{"partner", "club", "landowner", "expert", "recorder", "public"} {
		if strings.Contains(text, `"audience":"`+a+`"`) {
			return true
		}
	}
	return strings.HasPrefix(text, "report.audience,report.changed")
}
