package pipeline

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/bag"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// Unpacked is a hand-over that was unpacked or looked at.
type Unpacked struct {
	Folder   string        // of the bag
	Problems []bag.Problem // what is changed, missing or not listed; empty: whole
	Reports  []string      // names of the reports in it, from Folder
	Missing  []string      // pictures that a report names and that are not there
	Finds    int
	limits   limit.Limits
}

// Unpack verifies a hand-over: a folder where it lies, a zip file unpacked into the new folder
// into. Every sum is compared. A zip file with path tricks or links is refused and leaves nothing
// behind; one that is only damaged is unpacked, and Problems says what is wrong.
//
// Of the limits BagFiles, BagBytes, BagList, Ratio and those of the reader of JSON are looked at.
func (u *Unfinished) Unpack(ctx context.Context, name, into string, limits limit.Limits) (*Unpacked, error) {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &InputError{File: name, Code: "file-missing", Msg: "there is no such file or folder",
			Help: "look at the spelling and the folder"}
	case err != nil:
		return nil, fmt.Errorf("unpacking %s: %w", name, err)
	case !info.IsDir() && !info.Mode().IsRegular(): // which would be waited for
		return nil, &InputError{File: name, Code: "file-is-device",
			Msg:  "this is a pipe or a device, neither a folder nor a file",
			Help: "name the folder or the zip file of a hand-over"}
	}
	out := &Unpacked{Folder: name, limits: limits}
	switch {
	case info.IsDir():
		err = out.verify(ctx)
	case into == "":
		err = errors.New("it is not said into which new folder")
	default:
		err = u.Folder(into, func(part string) error {
			folder, err := unzipBag(ctx, name, info.Size(), part, limits.WithDefaults())
			if err != nil {
				return err
			}
			out.Folder = folder
			if err := out.verify(ctx); err != nil {
				return err
			}
			out.Folder = into
			if folder != part {
				out.Folder = filepath.Join(into, filepath.Base(folder))
			}
			return nil
		})
	}
	if err != nil {
		return nil, fmt.Errorf("unpacking %s: %w", name, err)
	}
	return out, nil
}

// verify compares the sums and looks at the reports.
func (u *Unpacked) verify(ctx context.Context) (err error) {
	if u.Problems, err = bag.VerifyFolder(ctx, u.Folder, bagLimits(u.limits.WithDefaults())); err != nil {
		return bagLimit(err)
	}
	u.look(ctx)
	return ctx.Err()
}

// unzipBag unpacks a zip file and finds the bag in it.
func unzipBag(ctx context.Context, name string, size int64, into string, limits limit.Limits) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	err = bag.Unzip(ctx, f, size, into, bagLimits(limits))
	if err != nil {
		return "", bagLimit(err)
	}
	if _, err := os.Stat(filepath.Join(into, "bagit.txt")); err == nil {
		return into, nil
	}
	entries, err := os.ReadDir(into)
	if err == nil && len(entries) == 1 && entries[0].IsDir() {
		return filepath.Join(into, entries[0].Name()), nil
	}
	return "", errors.Join(errors.New("there is no bag in the zip file: it has not one folder with bagit.txt in it"),
		os.RemoveAll(into))
}

func bagLimits(l limit.Limits) bag.Limits {
	return bag.Limits{Files: l.BagFiles, Bytes: l.BagBytes, Ratio: l.Ratio, List: l.BagList}
}

// bagLimit gives the error of a limit the name by which it is raised.
func bagLimit(err error) error {
	var over *bag.LimitError
	if errors.As(err, &over) {
		names := map[string]string{"files": "bag-files", "bytes": "bag-bytes", "ratio": "ratio", "list": "bag-list"}
		return limit.Over(names[over.Limit], over.Most)
	}
	return err
}

// look reads the reports of the payload and says which pictures they name and lack. A report that
// cannot be read is one more problem.
func (u *Unpacked) look(ctx context.Context) {
	// the pattern is sound
	names, _ := filepath.Glob(filepath.Join(u.Folder, "data", strings.TrimSuffix(packReport, "/"), "*.findslip.json"))
	for _, name := range names {
		short, err := filepath.Rel(u.Folder, name)
		if err != nil {
			short = filepath.Base(name)
		}
		short = filepath.ToSlash(short)
		if err := u.report(ctx, name); err != nil {
			u.Problems = append(u.Problems, bag.Problem{File: short, Text: "the report cannot be read: " + err.Error()})
			continue
		}
		u.Reports = append(u.Reports, short)
	}
	if len(u.Reports) == 0 && len(u.Problems) == 0 {
		u.Problems = append(u.Problems, bag.Problem{Text: "there is no find report in it"})
	}
}

func (u *Unpacked) report(ctx context.Context, name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	s, err := find.DecodeJSON(watched{f, ctx}, find.Options{File: filepath.Base(name), Limits: u.limits})
	if err != nil {
		return err
	}
	pictures := map[string]bool{}
	for e, err := range namingPictures(s, pictures, new(front)).Entries {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return err
		}
		if e.Find != nil {
			u.Finds++
		}
	}
	root, err := os.OpenRoot(filepath.Dir(name))
	if err != nil {
		return err
	}
	defer root.Close()
	for picture := range pictures {
		if info, err := root.Lstat(filepath.FromSlash(picture)); err != nil || !info.Mode().IsRegular() {
			u.Missing = append(u.Missing, picture)
		}
	}
	slices.Sort(u.Missing)
	return nil
}
