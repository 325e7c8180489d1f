// Package merge makes one log of several: those of the members of a club for a year, or the states of one log
// that were kept on two machines.
//
//	m, err := merge.Read(ctx, []string{"north.xlsx", "south.findslip.json"}, merge.Options{})
//	...                                 // m.Decisions holds what a person is asked, and what was proposed
//	err = pipeline.Encode(w, m.Stream(ctx), options)
//
// # Terms
//
// A source is one file. People, permissions and outings of several sources that are one are united by proposal;
// their local ids are made anew. A find that stands in several sources under one id is one find, and where the
// sources contradict each other a person decides. Nothing depends on the order in which sources are named.
//
// Memory holds about 100 bytes a find, and those finds whole that stand in several sources and differ.
//
// This package is unstable: it may change between any two versions.
package merge

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
)

// Options of Read.
type Options struct {
	Read     pipeline.Options
	ReportID string     // of the log that is made; empty: made from the ids of the sources
	Title    string     // likewise; empty: that of the sources, where all have the same
	Decided  *Decisions // what a person has decided earlier; nil: nothing
}

// Merged is what several logs come to.
type Merged struct {
	Decisions *Decisions
	Open      int      // contradictions that are not decided: until they are, there is no log
	Lost      []string // what the log that is made does not hold, in words
	Unasked   int      // finds that may be one and are not asked about, for there are too many
	Stale     []string // ids of decisions that no longer fit
	Report    *find.Report

	o        Options
	sources  []*source
	slips    []slip
	starts   []int              // of the slips of each source
	whole    map[int]*find.Find // by slip: finds that are combined from several
	skipped  map[int]bool       // by slip: what another slip stands for
	onward   map[string]string  // ids of finds that go on under another id
	foldered bool               // two sources name one picture: each has a folder
	ask      *asker
}

// Read reads the sources, each from beginning to end, and settles what can be settled.
func Read(ctx context.Context, names []string, o Options) (*Merged, error) {
	m := &Merged{o: o, whole: map[int]*find.Find{}, skipped: map[int]bool{}, onward: map[string]string{}}
	if err := m.open(ctx, names); err != nil {
		return nil, err
	}
	m.ask = newAsker(o.Decided, m.sources)
	m.sameNames()
	m.unite()
	if err := m.survey(ctx); err != nil {
		return nil, err
	}
	if err := m.settle(ctx); err != nil {
		return nil, err
	}
	m.header()
	m.Decisions, m.Open, m.Stale = m.ask.decisions(m.sources), m.ask.open, m.ask.stale()
	return m, nil
}

// errEnough ends a pass over a source before its end.
var errEnough = errors.New("enough")

// Stream returns the log that is made; it reads the sources once more. While contradictions are open it ends
// with an error.
func (m *Merged) Stream(ctx context.Context) *find.Stream {
	n := 0
	return find.NewStream(m.Report, func(yield func(*find.Entry, error) bool) {
		if m.Open > 0 {
			yield(nil, fmt.Errorf("%d contradictions are not decided", m.Open))
			return
		}
		for i, s := range m.sources {
			err := s.each(ctx, m.o.Read, func(pos int, f *find.Find) error {
				at := m.starts[i] + pos
				if m.skipped[at] {
					return nil
				}
				if whole := m.whole[at]; whole != nil {
					f = whole
				}
				m.finish(s, f)
				n++
				if !yield(&find.Entry{Find: f, Index: n - 1}, nil) {
					return errEnough
				}
				return nil
			})
			if errors.Is(err, errEnough) {
				return
			}
			if err != nil {
				yield(nil, err)
				return
			}
		}
	})
}

// finish gives a find the links that are known only once all sources were read.
func (m *Merged) finish(s *source, f *find.Find) {
	links(f, func(kind string, id *string) {
		if to := m.onward[*id]; kind == "find" && to != "" {
			*id = to
		}
	})
	if m.foldered {
		for i := range f.Media {
			if f.Media[i].File != "" {
				f.Media[i].File = s.folder + "/" + f.Media[i].File
			}
		}
	}
}

// header makes the header of the log.
func (m *Merged) header() {
	r := m.Report
	r.Findslip, r.ID, r.Title = find.Version, m.o.ReportID, m.o.Title
	var ids []string
	for _, s := range m.sources {
		ids = append(ids, s.report)
	}
	slices.Sort(ids)
	ids = slices.Compact(ids)
	if r.ID == "" && len(ids) == 1 {
		r.ID = ids[0]
	}
	if r.ID == "" {
		r.ID = find.UnnumberedFindID(ids[0], "merge", fmt.Sprint(ids), "", 1)
	}
	same := func(of func(*find.Report) string) string {
		first := of(m.sources[0].head)
		for _, s := range m.sources {
			if of(s.head) != first {
				return ""
			}
		}
		return first
	}
	r.Title = cmp.Or(r.Title, same(func(r *find.Report) string { return r.Title }))
	r.Language = same(func(r *find.Report) string { return r.Language })
	r.VocabularyVersion = same(func(r *find.Report) string { return r.VocabularyVersion })
	r.Reuse = same(func(r *find.Report) string { return r.Reuse })
	r.Audience = same(func(r *find.Report) string { return r.Audience })
	for _, s := range m.sources {
		m.headerOf(s)
	}
	slices.Sort(r.Notes)
	r.Notes = slices.Compact(r.Notes)
}

// headerOf takes from the header of a source what all may have, and says what is lost.
func (m *Merged) headerOf(s *source) {
	r, h := m.Report, s.head
	r.Notes = append(r.Notes, h.Notes...)
	for _, x := range h.ExtensionsUsed {
		if !slices.ContainsFunc(r.ExtensionsUsed, func(e find.ExtensionUse) bool { return e.Prefix == x.Prefix }) {
			r.ExtensionsUsed = append(r.ExtensionsUsed, x)
		}
	}
	for _, a := range h.Accepted {
		a.By = s.local("person", a.By)
		if to := s.rename(a.Find); to != "" {
			a.Find = to
		}
		if a.Find == "" && len(m.sources) > 1 {
			m.Lost = append(m.Lost, fmt.Sprintf("%s: an acceptance of %s for the whole log", s.label, a.Code))
			continue
		}
		if !slices.ContainsFunc(r.Accepted, func(b find.Acceptance) bool {
			return a.Code == b.Code && a.Find == b.Find && a.Pointer == b.Pointer && a.Reason == b.Reason
		}) {
			r.Accepted = append(r.Accepted, a)
		}
	}
	if len(m.sources) > 1 && (len(h.Extensions) > 0 || len(h.Unknown) > 0) {
		m.Lost = append(m.Lost, s.label+": extensions of the log as a whole")
	}
	if h.Reuse != "" && r.Reuse == "" {
		m.Lost = append(m.Lost, s.label+": its licence "+h.Reuse+", which is not that of all")
	}
}
