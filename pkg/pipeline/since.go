package pipeline

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
)

// traits are what two finds are paired by.
type traits struct {
	id, number string // folded number
	label      string
	finder     string // name or handle, folded
	permission string // name of the land, folded
	given      bool   // the id stood in the source
	marked     bool   // something of it is withheld, or was made coarser
}

// pairing says which id each find of the new file gets.
type pairing struct {
	ids     map[int]string       // by position among the finds; those that keep what they have are not in it
	notices map[int]*notice.Kind // likewise
	partner map[int]int          // to the position of the earlier find that it is, likewise
	earlier map[int]*find.Find   // by position, the earlier finds that something is kept of
	gone    []string             // labels of earlier finds without a counterpart
	copied  bool                 // the new file is a copy for others
}

// since pairs the finds of a stream with those of an earlier conversion. It reads the stream to its
// end; again decodes it anew.
func since(s *find.Stream, again func() (*find.Stream, error), o Options, table bool) (*find.Stream, error) {
	earlier, old, err := readEarlier(o)
	if err != nil {
		return nil, err
	}
	keep := s.Report.ID == "" && o.ReportID == "" || o.ReportID == earlier.ID
	copied := forOthers(s.Report) && s.Report.Audience != earlier.Audience
	audience := s.Report.Audience
	var kept []string
	identity := func(r *find.Report) *find.Report {
		head := *r
		if keep {
			head.ID, head.IDBasis = earlier.ID, earlier.IDBasis
		} else if head.ID == "" {
			head.ID = o.ReportID
		}
		kept = keepHeader(&head, earlier, copied)
		return &head
	}
	s.Report = identity(s.Report)
	o.Read.Table = table
	fresh, err := traitsOf(s, o.Read)
	if err != nil {
		return nil, err
	}
	p := pair(fresh, old, s.Report.ID)
	p.copied = copied
	if err := p.fetch(fresh, o); err != nil {
		return nil, err
	}
	if s, err = again(); err != nil {
		return nil, err
	}
	s.Report = identity(s.Report)
	if copied || len(kept) > 0 {
		s.Raw = nil // it no longer is the header
	}
	if copied {
		of := "the log itself"
		if forOthers(earlier) {
			of = "a copy for " + earlier.Audience
		}
		n := notice.New(sinceAudience, "/audience",
			fmt.Sprintf("the new file is a copy for %s, the earlier one is %s; what is written holds both, is for you alone, and names no audience", audience, of))
		n.File = s.File
		s.Notices.Add(n)
	}
	for _, pointer := range kept {
		n := notice.New(sinceKept, pointer, "it is withheld here; what the earlier file has stays")
		n.File = s.File
		s.Notices.Add(n)
	}
	for _, label := range p.gone {
		n := notice.New(sinceUnpaired, "", fmt.Sprintf("the earlier find %s has no counterpart in this file", label))
		n.File = s.File
		s.Notices.Add(n)
	}
	out := *s
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		at := 0
		for e, err := range s.Entries {
			if err == nil && e.Find != nil {
				if err = p.apply(e, at); err != nil {
					err = fmt.Errorf("keeping what the earlier conversion has: %w", err)
				}
				at++
			}
			if !yield(e, err) {
				return
			}
		}
	})
	return &out, nil
}

func (p *pairing) apply(e *find.Entry, at int) error {
	if id := p.ids[at]; id != "" {
		e.Find.ID = id
	}
	switch k := p.notices[at]; k {
	case sinceAmbiguous:
		e.Notices.Add(notice.New(k, "/id", "the number does not tell which earlier find this is; it has a new id"))
	case sinceUnpaired:
		e.Notices.Add(notice.New(k, "/id", "the earlier file has no such find"))
	}
	if partner, ok := p.partner[at]; ok && p.earlier[partner] != nil {
		return keepEarlier(e, p.earlier[partner], p.copied)
	}
	return nil
}

// readEarlier reads the earlier conversion.
func readEarlier(o Options) (*find.Report, []traits, error) {
	in, read, err := openEarlier(o)
	if err != nil {
		return nil, nil, err
	}
	defer in.Close()
	list, err := traitsOf(in.Stream, read)
	if err != nil {
		return nil, nil, fmt.Errorf("the earlier conversion: reading %s: %w", o.Since, err)
	}
	return in.Stream.Report, list, nil
}

// openEarlier opens the earlier conversion, and says how it is to be read.
func openEarlier(o Options) (*Input, normalise.Options, error) {
	earlier := Options{Read: o.Read, Stdin: o.Stdin, FS: o.FS, Limits: o.Limits, Unfinished: o.Unfinished}
	in, err := Open(o.context(), o.Since, earlier)
	if err != nil {
		return nil, earlier.Read, fmt.Errorf("the earlier conversion: %w", err)
	}
	earlier.Read.Table = in.Format == XLSX || in.Format == CSV
	return in, earlier.Read, nil
}

// traitsOf reads what the finds of a stream are paired by.
func traitsOf(s *find.Stream, o normalise.Options) ([]traits, error) {
	var given []bool
	watched := *s
	watched.SetEntries(func(yield func(*find.Entry, error) bool) {
		for e, err := range s.Entries {
			if err == nil && e.Find != nil {
				given = append(given, e.Find.ID != "")
			}
			if !yield(e, err) {
				return
			}
		}
	})
	var out []traits
	for e, err := range normalise.Stream(&watched, o).Entries {
		if err != nil {
			return nil, err
		}
		if f := e.Find; f != nil {
			t := traits{id: f.ID, number: find.FoldNumber(f.Number), label: e.Label(), given: given[len(out)], marked: marked(f),
				finder: find.FoldName(f.Finder), permission: find.FoldName(f.Permission)}
			if p := s.Report.Person(f.Finder); p != nil && p.Name+p.Handle != "" {
				t.finder = find.FoldName(p.Name + p.Handle)
			}
			if p := s.Report.Permission(f.Permission); p != nil && p.Place != nil && p.Place.Name != "" {
				t.permission = find.FoldName(p.Place.Name)
			}
			out = append(out, t)
		}
	}
	return out, nil
}

// pair pairs by id, then by number, then by number, finder and permission. It never guesses.
func pair(fresh, old []traits, report string) *pairing {
	p := &pairing{ids: map[int]string{}, notices: map[int]*notice.Kind{}, partner: map[int]int{}}
	byID := map[string]int{}
	for i, t := range old {
		byID[t.id] = i
	}
	taken, open := make([]bool, len(old)), map[int]bool{}
	for i, t := range fresh {
		at, ok := byID[t.id]
		switch {
		case t.given && ok, t.number == "" && ok:
			taken[at], p.partner[i] = true, at
		case t.given, t.number == "":
			p.notices[i] = sinceUnpaired
		default:
			open[i] = true
		}
	}
	doubtful := make([]bool, len(old))
	for _, key := range []func(traits) string{
		func(t traits) string { return t.number },
		func(t traits) string { return t.number + "\n" + t.finder + "\n" + t.permission },
	} {
		here, there := map[string][]int{}, map[string][]int{}
		for i, t := range fresh {
			if open[i] {
				here[key(t)] = append(here[key(t)], i)
			}
		}
		for i, t := range old {
			if !taken[i] && t.number != "" {
				there[key(t)] = append(there[key(t)], i)
			}
		}
		for k, list := range here {
			switch others := there[k]; {
			case len(others) == 0:
				// New, unless an earlier round left its number in doubt.
				for _, i := range list {
					if p.notices[i] == nil {
						p.notices[i] = sinceUnpaired
					}
				}
			case len(list) == 1 && len(others) == 1:
				p.ids[list[0]], p.partner[list[0]] = old[others[0]].id, others[0]
				taken[others[0]] = true
				delete(open, list[0])
				delete(p.notices, list[0])
			default:
				for _, i := range list {
					p.notices[i] = sinceAmbiguous
				}
				for _, i := range others {
					doubtful[i] = true
				}
			}
		}
	}
	used := map[string]bool{}
	for i, t := range old {
		if used[t.id] = true; !taken[i] && !doubtful[i] {
			p.gone = append(p.gone, t.label)
		}
	}
	// The id that follows from the number may be that of an earlier find: a find in doubt gets
	// one of its own.
	equal := map[traits]int{}
	for i, t := range fresh {
		if open[i] && p.notices[i] == sinceUnpaired && used[t.id] {
			p.notices[i] = sinceAmbiguous
		}
		if p.notices[i] == sinceAmbiguous {
			equal[t]++
			p.ids[i] = find.UnnumberedFindID(report, "since "+t.number, t.permission, t.finder, equal[t])
		}
	}
	return p
}
