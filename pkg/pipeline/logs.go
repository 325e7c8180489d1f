package pipeline

import (
	"archive/zip"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/bag"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/text"
)

// A Log is one file of finds among those that were named: a file, one in a folder, or one in an archive.
type Log struct {
	Name   string // of the file
	Member string // of an archive, that is meant; empty: the file itself
	Source string // how finds say where they come from, the same for no two logs
	found  bool   // in a folder, and not named
	// the folder of the hand-over that it lies in, from the folder or in the archive that was named; else empty
	bag string
}

// Logs returns the logs that names stand for, in their order: a file is one, a folder those in it and in the
// folders within, by name, with numbers by their value; an archive of several logs each of them. What lies in a
// folder and is no log is passed over and returned by name.
func Logs(ctx context.Context, names []string, o Options) (logs []Log, passed []string, err error) {
	o.ctx = ctx
	most := o.Limits.WithDefaults().Entries
	for _, name := range names {
		var info fs.FileInfo // of what is not there, its reader says so
		if name != "-" {
			info, _ = o.stat(name)
		}
		switch {
		case info != nil && info.IsDir():
			found, other, err := o.inFolder(name, most)
			if err != nil {
				return nil, nil, err
			}
			if len(found) == 0 {
				return nil, nil, &InputError{File: name, Code: "folder-without-logs", Msg: "there is no log in this folder",
					Help: "name a folder with workbooks, CSV, GPX, KML, GeoJSON or find reports in it"}
			}
			logs, passed = append(logs, found...), append(passed, other...)
		case info != nil && info.Mode().IsRegular() && isArchive(name):
			found, err := o.inArchive(name)
			if err != nil {
				return nil, nil, err
			}
			if logs = append(logs, found...); len(found) == 0 { // its reader says so
				logs = append(logs, Log{Name: name, Source: Base(name)})
			}
		default:
			logs = append(logs, Log{Name: name, Source: Base(name)})
		}
		if int64(len(logs)) > most {
			return nil, nil, tooLarge(name, limit.Over("entries", most))
		}
	}
	tellApart(logs)
	return logs, passed, nil
}

func isArchive(name string) bool { return strings.EqualFold(path.Ext(filepath.ToSlash(name)), ".zip") }

// tellApart gives logs of one name their path.
func tellApart(logs []Log) {
	seen := map[string]int{}
	for _, l := range logs {
		seen[l.Source]++
	}
	for i := range logs {
		l := &logs[i]
		if seen[l.Source] > 1 {
			l.Source = strings.TrimSuffix(path.Join(filepath.ToSlash(l.Name), l.Member), "/")
		}
	}
}

// isLogName reports whether a file of this name in a folder or an archive is taken for a log.
func isLogName(name string) bool {
	base := path.Base(name)
	return !strings.HasPrefix(base, ".") && !strings.HasPrefix(base, "~$") && FormatOfName(base) != "" &&
		!register.IsName(base) && !IsSettingsName(base) && !strings.HasSuffix(strings.ToLower(base), "-profile.json")
}

// inFolder returns the logs in a folder, and the names of what is none.
func (o *Options) inFolder(name string, most int64) (logs []Log, passed []string, err error) {
	files, done, err := o.folder(name)
	if err != nil {
		return nil, nil, err
	}
	defer done()
	var found []Log
	seen := int64(0)
	err = fs.WalkDir(files, ".", func(at string, d fs.DirEntry, err error) error {
		if err == nil {
			err = o.context().Err()
		}
		base := path.Base(at)
		hidden := base != "." && strings.HasPrefix(base, ".") || base == "__MACOSX"
		switch {
		case err != nil:
			return err
		case d.IsDir() && hidden:
			return fs.SkipDir
		case d.IsDir() && isBag(files, at):
			if at == "." || o.Bags { // it was named itself, or came in
				reports, _ := fs.Glob(files, path.Join(at, "data/report/*.findslip.json"))
				for _, report := range reports {
					found = append(found, Log{Name: report, Source: cmp.Or(strings.TrimPrefix(at, "."), Base(name)), bag: at})
				}
			} else {
				passed = append(passed, path.Join(name, at))
			}
			return fs.SkipDir
		case d.IsDir() || hidden:
			return nil
		}
		if seen++; seen > most {
			return limit.Over("entries", most)
		}
		if d.Type().IsRegular() && (isLogName(at) && showsALog(files, at) || o.Bags && isArchive(at)) {
			found = append(found, Log{Name: at, Source: at})
		} else {
			passed = append(passed, path.Join(filepath.ToSlash(name), at))
		}
		return nil
	})
	if over := limit.Of(err); over != nil {
		return nil, nil, tooLarge(name, over)
	}
	if err != nil {
		return nil, nil, unreadable(name, err)
	}
	slices.SortFunc(found, func(a, b Log) int { return byName(a.Name, b.Name) })
	for _, l := range found {
		inside, err := o.opened(name, l)
		if err != nil {
			return nil, nil, err
		}
		if len(inside) == 0 {
			passed = append(passed, path.Join(filepath.ToSlash(name), l.Name))
		}
		logs = append(logs, inside...)
	}
	return logs, passed, nil
}

// opened gives a log that was found in a folder its whole name, and for an archive the logs in it.
func (o *Options) opened(folder string, l Log) ([]Log, error) {
	at := l.Name
	if l.Name, l.found = path.Join(folder, at), true; o.FS == nil {
		l.Name = filepath.Join(folder, filepath.FromSlash(at))
	}
	if l.bag != "" {
		l.bag = filepath.Join(folder, filepath.FromSlash(l.bag))
		return []Log{l}, nil
	}
	if !isArchive(at) {
		return []Log{l}, nil
	}
	inside, err := o.inArchive(l.Name)
	for i := range inside {
		inside[i].Source, inside[i].found = strings.TrimSuffix(path.Join(at, inside[i].Member), "/"), true
	}
	return inside, err
}

var (
	reportOfBag  = text.Pattern(`^[^/]+/data/report/[^/]+\.findslip\.json$`) // what pack makes has one
	reportMember = text.Pattern(`"findslip"\s*:\s*"|"Feature(Collection)?"`)
	separators   = text.Pattern(`^\s*[^\n]*[\t;|]`)
	tableOfPage  = text.Pattern(`(?i)<table`)
)

// showsALog looks into a file whose name leaves open whether it is a log: plans and notices are JSON too, and a
// text may be no table.
func showsALog(files fs.FS, at string) bool {
	var shows *regexp.Regexp
	switch strings.ToLower(path.Ext(at)) {
	case ".json":
		shows = reportMember()
	case ".txt":
		shows = separators()
	case ".html", ".htm":
		shows = tableOfPage()
	default:
		return true
	}
	f, err := files.Open(at)
	if err != nil {
		return true // its reader says what is wrong
	}
	defer f.Close()
	head := make([]byte, 64<<10)
	n, _ := io.ReadFull(f, head)
	return shows.Match(head[:n])
}

func (o *Options) folder(name string) (fs.FS, func() error, error) {
	if o.FS != nil {
		sub, err := fs.Sub(o.FS, name)
		return sub, func() error { return nil }, err
	}
	root, err := os.OpenRoot(name)
	if err != nil {
		return nil, nil, unreadable(name, err)
	}
	return root.FS(), root.Close, nil
}

// isBag reports whether a folder is a hand-over: what lies in it was made from a log, and is not read with it.
func isBag(files fs.FS, at string) bool {
	_, err := fs.Stat(files, path.Join(at, "bagit.txt"))
	return err == nil
}

// byName orders names as people do: 2.csv before 10.csv.
func byName(a, b string) int {
	x, y := strings.ToLower(a), strings.ToLower(b)
	for x != "" && y != "" {
		m, n := figures(x), figures(y)
		if m > 0 && n > 0 {
			one, two := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
			if c := cmp.Or(cmp.Compare(len(one), len(two)), strings.Compare(one, two)); c != 0 {
				return c
			}
			x, y = x[m:], y[n:]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

func figures(s string) int { return len(s) - len(strings.TrimLeft(s, "0123456789")) }

// inArchive returns the logs in an archive: itself where it holds one, or is a workbook or a hand-over.
func (o *Options) inArchive(name string) ([]Log, error) {
	src, err := openSource(name, *o)
	if err != nil {
		return nil, err
	}
	defer src.close()
	alone := []Log{{Name: name, Source: Base(name)}}
	z, err := zip.NewReader(io.NewSectionReader(src, 0, src.size), src.size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return alone, nil // its reader says what is wrong
	}
	found, whole := logsIn(z, o.Limits.WithDefaults().Entries)
	switch {
	case whole:
		return alone, nil
	case len(found) == 0:
		return nil, nil
	case len(found) == 1:
		if reportOfBag().MatchString(found[0].Name) {
			alone[0].bag, _, _ = strings.Cut(found[0].Name, "/")
		}
		return alone, nil
	}
	slices.SortFunc(found, func(a, b *zip.File) int { return byName(a.Name, b.Name) })
	logs := make([]Log, 0, len(found))
	for _, f := range found {
		logs = append(logs, Log{Name: name, Member: f.Name, Source: path.Clean(strings.ReplaceAll(f.Name, `\`, "/"))})
	}
	return logs, nil
}

// logsIn returns the files of an archive that may be logs. Whole reports whether the archive is a thing of its
// own, such as a workbook.
func logsIn(z *zip.Reader, most int64) (found []*zip.File, whole bool) {
	if int64(len(z.File)) > most {
		return nil, true
	}
	if at := slices.IndexFunc(z.File, func(f *zip.File) bool { return reportOfBag().MatchString(f.Name) }); at >= 0 {
		return z.File[at : at+1], false
	}
	for _, f := range z.File {
		switch name := strings.ReplaceAll(f.Name, `\`, "/"); {
		case isWorkbookPart(f.Name):
			return nil, true
		case strings.HasSuffix(name, "/"), strings.Contains(name, "__MACOSX/"):
		case isLogName(name):
			found = append(found, f)
		}
	}
	return found, false
}

// OpenLog opens one of several logs. What lies in a hand-over that was changed on the way is not read.
func OpenLog(ctx context.Context, l Log, o Options) (*Input, error) {
	if l.bag != "" {
		if err := o.isWhole(ctx, l); err != nil {
			return nil, err
		}
	}
	o.member, o.found = l.Member, l.found
	in, err := Open(ctx, l.Name, o)
	if err != nil && l.Member != "" {
		return nil, fmt.Errorf("%s in %w", l.Member, err)
	}
	return in, err
}

// isWhole proves the hand-over that a log lies in.
func (o *Options) isWhole(ctx context.Context, l Log) (err error) {
	var files fs.FS
	if isArchive(l.Name) {
		src, err := openSource(l.Name, *o)
		if err != nil {
			return err
		}
		defer src.close()
		z, err := zip.NewReader(io.NewSectionReader(src, 0, src.size), src.size)
		if err != nil {
			return nil // its reader says what is wrong
		}
		files, _ = fs.Sub(z, l.bag)
	} else {
		var done func() error
		if files, done, err = o.folder(l.bag); err != nil {
			return err
		}
		defer done()
	}
	problems, err := bag.Verify(ctx, files, bagLimits(o.Limits.WithDefaults()))
	if err != nil {
		return bagLimit(err)
	}
	if len(problems) > 0 {
		return &InputError{File: l.Name, Code: "bag-changed",
			Msg:  fmt.Sprintf("this hand-over is not as it was packed: %v", problems[:min(len(problems), 3)]),
			Help: "do not rely on what is in it; ask whoever sent it to send it again"}
	}
	return nil
}
