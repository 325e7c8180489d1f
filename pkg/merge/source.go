package merge

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
)

// source is one file.
type source struct {
	name   string // as it was given
	label  string // as it is shown: the base name, with a part of the sum where two bear one name
	folder string // of its pictures, where two sources name one picture
	sum    string // SHA-256 of the file
	head   *find.Report
	report string            // id of the report, made anew where two files of one name are two logs
	salted bool              // its ids are made anew
	locals map[string]string // "person person-1" to the local id in the log that is made
	moved  map[string]string // ids of finds that are another find elsewhere
	seen   render.Seen
	taken  int // finds that are in the log that is made, and in no source before it
	also   int // finds that stand in another source too
	unread int
	people []string
}

// open reads the headers of the sources and puts them into an order that their contents give.
func (m *Merged) open(ctx context.Context, names []string) error {
	bySum := map[string]string{}
	for _, name := range names {
		if name == "-" {
			return errors.New("merge reads its files more than once: save standard input to a file, and name that")
		}
		sum, err := sumOf(name, m.o.Read)
		if err != nil {
			return err
		}
		if first, twice := bySum[sum]; twice {
			m.Lost = append(m.Lost, fmt.Sprintf("%s: nothing is lost, it is the same file as %s and is read once",
				filepath.Base(name), filepath.Base(first)))
			continue
		}
		bySum[sum] = name
		in, err := pipeline.Open(ctx, name, m.o.Read)
		if err != nil {
			return err
		}
		s := &source{name: name, label: filepath.Base(name), sum: sum, head: in.Stream.Report,
			locals: map[string]string{}, moved: map[string]string{}}
		s.report = s.head.ID
		if err := in.Close(); err != nil {
			return err
		}
		m.sources = append(m.sources, s)
	}
	slices.SortFunc(m.sources, func(a, b *source) int {
		return strings.Compare(a.label+"\x00"+a.sum, b.label+"\x00"+b.sum)
	})
	for _, s := range m.sources {
		base := s.label
		for _, o := range m.sources {
			if o != s && strings.EqualFold(filepath.Base(o.name), filepath.Base(s.name)) {
				s.label = base + " (" + s.sum[:6] + ")"
			}
		}
		stem, _, _ := strings.Cut(base, ".")
		s.folder = strings.Map(func(r rune) rune {
			if strings.ContainsRune(`/\:*?"<>| `, r) || r < ' ' {
				return '-'
			}
			return r
		}, stem)
		if s.label != base {
			s.folder += "-" + s.sum[:6]
		}
	}
	if len(m.sources) == 0 {
		return errors.New("there is nothing to merge")
	}
	return nil
}

func sumOf(name string, o pipeline.Options) (string, error) {
	var f io.ReadCloser
	var err error
	if o.FS != nil {
		f, err = o.FS.Open(path.Clean(name))
	} else {
		var side *os.File
		side, err = pipeline.OpenSide(name)
		f = side
	}
	if err != nil {
		return "", err
	}
	h := sha256.New()
	_, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), errors.Join(err, f.Close())
}

// sameNames asks of files that bear one name, and have no id of their own, whether they are one log. Until
// somebody says so they are two, and their ids are made anew.
func (m *Merged) sameNames() {
	byID := map[string][]*source{}
	for _, s := range m.sources {
		if s.head.IDBasis == "file-name" {
			byID[s.head.ID] = append(byID[s.head.ID], s)
		}
	}
	for _, s := range m.sources {
		list := byID[s.head.ID]
		if len(list) < 2 || list[0] != s {
			continue
		}
		q := &Question{Kind: "log", Asks: "These files have one name, and no id of their own. Are they one log?",
			Choices: []string{"one", "two"}, otherwise: "two"}
		owners := map[string]bool{}
		for _, o := range list {
			q.Sides = append(q.Sides, Side{From: []string{o.label}})
			owners[o.owner()] = true
		}
		if len(owners) == 1 {
			q.Proposed = "one" // states of the log of the same people
		}
		if m.ask.ask(q, s.head.ID) == "one" {
			continue
		}
		for _, o := range list {
			o.salted = true
			owner := o.owner()
			if len(owners) < len(list) {
				owner += "\n" + o.sum
			}
			o.report = find.UnnumberedFindID(o.head.ID, "log", owner, "", 1)
		}
	}
}

// owner tells two logs of one name apart: by the people in them, else by their contents.
func (s *source) owner() string {
	var names []string
	for i := range s.head.People {
		p := &s.head.People[i]
		if name := find.FoldName(p.Name + p.Handle); name != "" && !isNobody(name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return s.sum
	}
	slices.Sort(names)
	return strings.Join(names, "\n")
}

// rename returns the id that a find of the source has in the log that is made, empty where it keeps its own.
func (s *source) rename(id string) string {
	if to := s.moved[id]; to != "" {
		return to
	}
	if s.salted && find.IsURN(id) && id[23] == '5' { // the digit of the version (RFC 9562): made from a name
		return find.UnnumberedFindID(s.report, "merge", id, "", 1)
	}
	return ""
}

// local is the local id in the log that is made.
func (s *source) local(kind, id string) string {
	if to := s.locals[kind+" "+id]; to != "" {
		return to
	}
	return id
}

// each passes the finds of a source, with their place among them: normalised, and with ids of the log that is
// made.
func (s *source) each(ctx context.Context, o pipeline.Options, visit func(pos int, f *find.Find) error) error {
	in, err := pipeline.Open(ctx, s.name, o)
	if err != nil {
		return err
	}
	defer in.Close()
	o.Read.Table = in.Format == pipeline.XLSX || in.Format == pipeline.CSV
	pos, unread := 0, 0
	for e, err := range normalise.Stream(in.Stream, o.Read).Entries {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return fmt.Errorf("reading %s: %w", s.name, err)
		}
		if e.Find == nil {
			if e.Notices.Count(notice.Error) > 0 {
				unread++
			}
			continue
		}
		if to := s.rename(e.Find.ID); to != "" {
			e.Find.ID = to
		}
		links(e.Find, func(kind string, id *string) {
			if kind != "find" {
				*id = s.local(kind, *id)
			} else if to := s.rename(*id); to != "" {
				*id = to
			}
		})
		if err := visit(pos, e.Find); err != nil {
			return err
		}
		pos++
	}
	s.unread = unread
	return in.Unchanged()
}
