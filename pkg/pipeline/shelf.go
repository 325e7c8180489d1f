package pipeline

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/scratch"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/share"
)

// shelf keeps finds as JSON in memory, and in a temporary file when they are many. It is a share.Shelf.
type shelf struct {
	o      Options
	memory []byte
	file   *scratch.File
	out    *bufio.Writer
	size   int64
	at     []int64 // offsets of the finds
	length []int32
	dirty  bool // something is in the buffer of out

	cut func(*find.Find) // takes out of a find what is not kept
}

func newShelf(o Options) *shelf { return &shelf{o: o} }

func (s *shelf) Len() int { return len(s.at) }

// Put writes a find behind the others; one that was there before is given up.
func (s *shelf) Put(i int, f *find.Find) error {
	if s.cut != nil {
		s.cut(f)
	}
	raw, err := find.Marshal(f)
	if err != nil {
		return err
	}
	if err := s.write(raw); err != nil {
		return fmt.Errorf("keeping the finds: %w", err)
	}
	if i == len(s.at) {
		s.at, s.length = append(s.at, 0), append(s.length, 0)
	}
	s.at[i], s.length[i] = s.size, int32(len(raw))
	s.size += int64(len(raw))
	if most := s.o.Limits.WithDefaults().Spool; most > 0 && s.size > most {
		return limit.Over("spool", most)
	}
	return nil
}

func (s *shelf) write(raw []byte) error {
	if s.file == nil && len(s.memory)+len(raw) <= shelfMemory {
		s.memory = append(s.memory, raw...)
		return nil
	}
	if s.file == nil {
		f, err := scratch.New()
		if err != nil { // no folder for it, as in a browser: memory then
			s.memory = append(s.memory, raw...)
			return nil
		}
		s.o.Unfinished.begin(f.Left())
		s.file, s.out = f, bufio.NewWriterSize(f, 1<<16)
		if _, err := s.out.Write(s.memory); err != nil {
			return err
		}
		s.memory = nil
	}
	s.dirty = true
	_, err := s.out.Write(raw)
	return err
}

// shelfMemory is how many bytes of finds are held before a file is used.
const shelfMemory = 4 << 20

// Get reads a find.
func (s *shelf) Get(i int) (*find.Find, error) {
	from, to := s.at[i], s.at[i]+int64(s.length[i])
	var raw []byte
	if s.file == nil {
		raw = s.memory[from:to]
	} else {
		if s.dirty {
			s.dirty = false
			if err := s.out.Flush(); err != nil {
				return nil, err
			}
		}
		raw = make([]byte, to-from)
		if _, err := s.file.ReadAt(raw, from); err != nil {
			return nil, err
		}
	}
	f := new(find.Find)
	return f, find.DecodeFind(raw, f)
}

func (s *shelf) close() {
	if s.file != nil {
		s.file.Close()
		s.o.Unfinished.end(s.file.Left())
		s.file = nil
	}
}

// shelve reads a report of any format, normalises it and puts its finds on a shelf. It counts what could not be
// read and was passed over.
func shelve(ctx context.Context, name string, o Options) (source share.Source, kept *shelf, unread int, err error) {
	in, err := Open(ctx, name, o)
	if err != nil {
		return source, nil, 0, err
	}
	defer in.Close()
	kept = newShelf(o)
	stream := in.normalised(o)
	finds := o.Limits.WithDefaults().Finds
	source.Unseen = map[int]string{}
	var layout *find.Layout
	for e, err := range stream.Entries {
		switch {
		case err != nil:
		case e.Find == nil:
			if e.Notices.Count(notice.Error) > 0 {
				unread++
			}
		default:
			if e.Find.Source == nil && e.Origin.Row > 0 {
				e.Find.Source = sourceOf(e) // what stands over its row may say something of it
			}
			if how := cmp.Or(e.Origin.Unseen, e.Find.Columns[find.UnseenColumn]); how != "" {
				source.Unseen[kept.Len()] = how
			}
			if l := e.Origin.Layout; l != nil && l != layout {
				layout = l
				source.Columns = append(source.Columns, l.Columns...)
			}
			if err = kept.Put(kept.Len(), e.Find); err == nil && finds > 0 && int64(kept.Len()) > finds {
				err = limit.Over("finds", finds)
			}
		}
		if err != nil {
			kept.close()
			return source, nil, 0, fmt.Errorf("reading %s: %w", name, err)
		}
	}
	if err := errors.Join(in.changed(), ctx.Err()); err != nil {
		kept.close()
		return source, nil, 0, err
	}
	head := *stream.Report
	head.Finds = nil
	source.Head, source.Finds, source.File = &head, kept, filepath.Base(name)
	return source, kept, unread, nil
}

// streamOf passes a source on, find by find.
func streamOf(ctx context.Context, s share.Source) *find.Stream {
	return find.NewStream(s.Head, func(yield func(*find.Entry, error) bool) {
		for i := range s.Finds.Len() {
			f, err := s.Finds.Get(i)
			if err == nil {
				err = ctx.Err()
			}
			if !yield(&find.Entry{Find: f, Index: i}, err) || err != nil {
				return
			}
		}
	})
}

// ReadAt reads what was written to h.
func (h *held) ReadAt(p []byte, at int64) (n int, err error) {
	if at < int64(len(h.memory)) {
		n = copy(p, h.memory[at:])
		p, at = p[n:], at+int64(n)
	}
	if len(p) == 0 {
		return n, nil
	}
	if h.file == nil {
		return n, io.EOF
	}
	m, err := h.file.ReadAt(p, at-int64(len(h.memory)))
	return n + m, err
}

// size is how much was written to h, all of it where ReadAt finds it.
func (h *held) size() (int64, error) {
	if h.file == nil {
		return int64(len(h.memory)), nil
	}
	if err := h.out.Flush(); err != nil {
		return 0, err
	}
	info, err := h.file.Stat()
	if err != nil {
		return 0, err
	}
	return int64(len(h.memory)) + info.Size(), nil
}
