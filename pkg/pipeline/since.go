package pipeline

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
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
}

// pairing says which id each find of the new file gets.
type pairing struct {
	ids     map[int]string       // by position among the finds; those that keep what they have are not in it
	notices map[int]*notice.Kind // likewise
	gone    []string             // labels of earlier finds without a counterpart
}

// since pairs the finds of a stream with those of an earlier conversion, and gives them its ids. It reads the
// stream to its end; again decodes it anew.
func since(s *find.Stream, again func() (*find.Stream, error), o Options, table bool) (*find.Stream, error) {
	earlier, old, err := readEarlier(o)
	if err != nil {
		return nil, err
	}
	if forOthers(s.Report) && s.Report.Audience != earlier.Audience {
		return nil, &InputError{File: s.File, Code: "since-copy",
			Msg:  "this is a copy for " + s.Report.Audience + " and no later state of the log",
			Help: "take up what came back with findslip receive LOG COPY -o PROPOSALS.json"}
	}
	keep := s.Report.ID == "" && o.ReportID == "" || o.ReportID == earlier.ID
	identity := func(r *find.Report) *find.Report {
		head := *r
		if keep {
			head.ID, head.IDBasis = earlier.ID, earlier.IDBasis
		} else if head.ID == "" {
			head.ID = o.ReportID
		}
		return &head
	}
	s.Report = identity(s.Report)
	o.Read.Table = table
	fresh, err := traitsOf(s, o.Read)
	if err != nil {
		return nil, err
	}
	p := pair(fresh, old, s.Report.ID)
	if s, err = again(); err != nil {
		return nil, err
	}
	s.Report = identity(s.Report)
	for _, label := range p.gone {
		n := notice.New(&kinds.SinceUnpaired, "", fmt.Sprintf("the earlier find %s has no counterpart in this file", label))
		n.File = s.File
		s.Notices.Add(n)
	}
	return p.stream(s), nil
}

// forOthers reports whether a report is a copy for somebody else than the finder.
func forOthers(r *find.Report) bool { return r.Audience != "" && r.Audience != "self" }

// stream gives the finds of a stream the ids that they were paired with.
func (p *pairing) stream(s *find.Stream) *find.Stream {
	out := *s
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		at := 0
		for e, err := range s.Entries {
			if err == nil && e.Find != nil {
				p.apply(e, at)
				at++
			}
			if !yield(e, err) {
				return
			}
		}
	})
	return &out
}

func (p *pairing) apply(e *find.Entry, at int) {
	if id := p.ids[at]; id != "" {
		e.Find.ID = id
	}
	switch k := p.notices[at]; k {
	case &kinds.SinceAmbiguous:
		e.Notices.Add(notice.New(k, "/id", "the number does not tell which earlier find this is; it has a new id"))
	case &kinds.SinceUnpaired:
		e.Notices.Add(notice.New(k, "/id", "the earlier file has no such find"))
	}
}

// readEarlier reads the earlier conversion.
func readEarlier(o Options) (*find.Report, []traits, error) {
	earlier := Options{Read: o.Read, Stdin: o.Stdin, FS: o.FS, Limits: o.Limits, Unfinished: o.Unfinished}
	in, err := Open(o.context(), o.Since, earlier)
	if err != nil {
		return nil, nil, fmt.Errorf("the earlier conversion: %w", err)
	}
	defer in.Close()
	earlier.Read.Table = in.Format == XLSX || in.Format == CSV
	list, err := traitsOf(in.Stream, earlier.Read)
	if err != nil {
		return nil, nil, fmt.Errorf("the earlier conversion: reading %s: %w", o.Since, err)
	}
	return in.Stream.Report, list, nil
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
			t := traits{id: f.ID, number: find.FoldNumber(f.Number), label: e.Label(), given: given[len(out)],
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

// pairer pairs the finds of two lists.
type pairer struct {
	fresh, old      []traits
	taken, doubtful []bool       // of the earlier finds
	open            map[int]bool // new finds that have no counterpart yet
	out             *pairing
}

// pair pairs by id, then by number, then by number, finder and permission. It never guesses.
func pair(fresh, old []traits, report string) *pairing {
	p := &pairer{fresh: fresh, old: old, taken: make([]bool, len(old)), doubtful: make([]bool, len(old)),
		open: map[int]bool{}, out: &pairing{ids: map[int]string{}, notices: map[int]*notice.Kind{}}}
	p.byID()
	p.by(func(t traits) string { return t.number })
	p.by(func(t traits) string { return t.number + "\n" + t.finder + "\n" + t.permission })
	p.rest(report)
	return p.out
}

func (p *pairer) byID() {
	byID := map[string]int{}
	for i, t := range p.old {
		byID[t.id] = i
	}
	for i, t := range p.fresh {
		at, ok := byID[t.id]
		switch {
		case t.given && ok, t.number == "" && ok:
			p.taken[at] = true
		case t.given, t.number == "":
			p.out.notices[i] = &kinds.SinceUnpaired
		default:
			p.open[i] = true
		}
	}
}

// by pairs what is open by a key that one find on each side has.
func (p *pairer) by(key func(traits) string) {
	here, there := map[string][]int{}, map[string][]int{}
	for i, t := range p.fresh {
		if p.open[i] {
			here[key(t)] = append(here[key(t)], i)
		}
	}
	for i, t := range p.old {
		if !p.taken[i] && t.number != "" {
			there[key(t)] = append(there[key(t)], i)
		}
	}
	for k, list := range here {
		switch others := there[k]; {
		case len(others) == 0: // new, unless an earlier round left its number in doubt
			for _, i := range list {
				if p.out.notices[i] == nil {
					p.out.notices[i] = &kinds.SinceUnpaired
				}
			}
		case len(list) == 1 && len(others) == 1:
			p.out.ids[list[0]] = p.old[others[0]].id
			p.taken[others[0]] = true
			delete(p.open, list[0])
			delete(p.out.notices, list[0])
		default:
			for _, i := range list {
				p.out.notices[i] = &kinds.SinceAmbiguous
			}
			for _, i := range others {
				p.doubtful[i] = true
			}
		}
	}
}

// rest names the earlier finds without a counterpart, and gives finds in doubt an id of their own: the one that
// follows from the number may be that of an earlier find.
func (p *pairer) rest(report string) {
	used := map[string]bool{}
	for i, t := range p.old {
		if used[t.id] = true; !p.taken[i] && !p.doubtful[i] {
			p.out.gone = append(p.out.gone, t.label)
		}
	}
	equal := map[traits]int{}
	for i, t := range p.fresh {
		if p.open[i] && p.out.notices[i] == &kinds.SinceUnpaired && used[t.id] {
			p.out.notices[i] = &kinds.SinceAmbiguous
		}
		if p.out.notices[i] == &kinds.SinceAmbiguous {
			equal[t]++
			p.out.ids[i] = find.UnnumberedFindID(report, "since "+t.number, t.permission, t.finder, equal[t])
		}
	}
}
