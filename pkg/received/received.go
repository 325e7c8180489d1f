// Package received looks through all that came in to somebody who asks for finds: who sent what, what is missing from
// whom, which finds came twice, and a letter for each sender.
//
//	set, err := received.Look(ctx, logs, o)
//	set.Text(os.Stdout, "en")
//
// Logs pass one at a time: memory holds the figures of each log and eight bytes for each find.
//
// This package is unstable: it may change between any two versions.
package received

import (
	"cmp"
	"context"
	"fmt"
	"hash/maphash"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
)

// A Set is all that came in.
type Set struct {
	Senders []*Sender
	All     []render.Receiver // the same over all logs
	Finds   int
	// Language is that of all that is written of the set.
	Language string
}

// A Sender is one log and who sent it.
type Sender struct {
	File   string
	Name   string // of the finder, or of those who found; empty: the log names nobody
	Err    error  // why the log could not be read; then the rest is empty
	Finds  int
	Asked  []render.Receiver
	Danger []string // what is said of danger and of the dead, in words, with the finds
	Wrong  int      // errors
	Said   *notice.Groups
	Again  []Again // finds that came from somebody else as well
	More   int     // of those, how many are not named

	safety  []render.Job
	strange []string        // headings that were not understood
	shunned []profile.Spot  // where finds lay that nobody is to touch
	trails  []profile.Trail // by profile
}

// near returns the spots to which finds of the log may be near of which something is asked for that one would go back.
func (s *Sender) near(spots []profile.Spot) (out []profile.Spot) {
	for i := range s.trails {
		out = append(out, s.trails[i].Near(spots)...)
	}
	return out
}

// Again is a find that came from another sender too.
type Again struct {
	Find string `json:"find"` // as on the bag of this sender
	File string `json:"file"` // of the other, which came before
	Same bool   `json:"same"` // it is the same record; else it only looks the same: day, name and place
}

// mostAgain is how many finds that came twice are named for each sender.
const mostAgain = 20

// Look reads all logs, one after the other. A log that cannot be read is told at its sender and stops nothing.
func Look(ctx context.Context, logs []pipeline.Log, o pipeline.Options) (*Set, error) {
	s := &Set{Language: o.Language}
	seen := &twice{seed: maphash.MakeSeed(), of: map[uint64]int32{}}
	o.Brief = true
	for _, e := range o.Profiles { // who asks is known, if no log can be read
		s.All = append(s.All, pipeline.Receivers([]*profile.Tally{profile.NewTally(e)}, o.Language)...)
	}
	var shunned []profile.Spot
	for i, l := range logs {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("looking through what came in: %w", err)
		}
		sender := s.read(ctx, l, o, seen, int32(i))
		s.Senders = append(s.Senders, sender)
		shunned = append(shunned, sender.shunned...)
	}
	past := 0
	for i, sender := range s.Senders {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("looking through what came in: %w", err)
		}
		own := len(sender.shunned) // nobody is sent back to what somebody else saw
		o.Shunned = sender.near(slices.Concat(shunned[:past], shunned[past+own:]))
		if past += own; len(o.Shunned) > 0 {
			again := s.read(ctx, logs[i], o, nil, int32(i))
			sender.Err, sender.Asked = again.Err, again.Asked
		}
		if sender.Err != nil {
			continue
		}
		s.Finds += sender.Finds
		s.All = render.Join(s.All, sender.Asked)
	}
	for _, sender := range s.Senders {
		for k := range sender.Again {
			sender.Again[k].File = s.Senders[seen.from[sender][k]].File
		}
	}
	return s, nil
}

// read looks through one log.
func (s *Set) read(ctx context.Context, l pipeline.Log, o pipeline.Options, seen *twice, number int32) *Sender {
	out := &Sender{File: l.Source}
	finders, rows := map[string]int{}, rowNames{}
	o.Watch = func(e *find.Entry) error {
		if e.Find != nil {
			finders[e.Find.Finder]++
			rows.add(e, o.Language)
			if seen != nil {
				seen.add(out, e, number)
			}
		}
		return nil
	}
	in, err := pipeline.OpenLog(ctx, l, o)
	if err != nil {
		out.Err = err
		return out
	}
	defer in.Close()
	r, err := in.Check(ctx, o)
	if err != nil {
		out.Err = err
		return out
	}
	out.Finds = r.Summary.Finds
	out.Asked = pipeline.Receivers(r.Summary.Asked, o.Language)
	for _, t := range r.Summary.Asked {
		out.shunned, out.trails = t.Shunned, append(out.trails, t.Trail)
	}
	rows.tell(out)
	out.Name = nameOf(r.Report, finders)
	d := r.Document("", o)
	d.Groups, out.Said = r.Groups, r.Groups
	v := d.Verdict(o.Language)
	out.safety, out.Danger, out.strange = v.Safety, v.Danger(rows), v.NotKnown
	for _, job := range v.Wrong {
		out.Wrong += job.Count
	}
	return out
}

// rowNames are what finds without a number are called in a letter, by id: the row that they stand in. A find that
// nobody is to touch is told from the others by it.
type rowNames map[string]string

// mostRows bounds how many are remembered; lists of finds are shorter by far, and begin with the first.
const mostRows = 10_000

func (r rowNames) add(e *find.Entry, language string) {
	if e.Find.Number != "" || e.Origin.Row == 0 || len(r) == mostRows {
		return
	}
	name := render.Say(language, "row", "row", strconv.Itoa(e.Origin.Row))
	if l := e.Origin.Layout; l != nil && l.Sheet != "" {
		name += " (" + l.Sheet + ")"
	}
	r[e.Find.ID] = name
}

// tell puts the rows in the place of ids.
func (r rowNames) tell(s *Sender) {
	if len(r) == 0 {
		return
	}
	for _, v := range s.Asked {
		lists := [][]string{v.Outside, v.Alone, v.Near, v.Doubts.Doubtful}
		for i := range v.Asks {
			a := &v.Asks[i]
			lists = append(lists, a.Spared, a.Worded, a.Finds, a.Doubtful, a.Found)
		}
		for _, list := range lists {
			for i, find := range list {
				list[i] = cmp.Or(r[find], find)
			}
		}
	}
	for i := range s.Again {
		s.Again[i].Find = cmp.Or(r[s.Again[i].Find], s.Again[i].Find)
	}
}

// nameOf are up to four who found what is in a log, who found most first; where no find says, the only one there is.
func nameOf(r *find.Report, finders map[string]int) string {
	people := slices.DeleteFunc(slices.Clone(r.People), func(p find.Person) bool {
		return p.Name+p.Handle == "" || finders[p.ID] == 0 && len(r.People) > 1
	})
	slices.SortStableFunc(people, func(a, b find.Person) int { return finders[b.ID] - finders[a.ID] })
	var names []string
	for i := range people {
		names = append(names, cmp.Or(people[i].Name, people[i].Handle))
	}
	return strings.Join(names[:min(len(names), 4)], ", ")
}

// twice remembers finds by what they are and by what they look like.
type twice struct {
	seed maphash.Seed
	of   map[uint64]int32 // to the number of the first log that has it
	from map[*Sender][]int32
}

// add notes a find, and says at its sender where it came before.
func (t *twice) add(s *Sender, e *find.Entry, number int32) {
	if t.from == nil {
		t.from = map[*Sender][]int32{}
	}
	told := false
	for i, key := range []string{"id " + e.Find.ID, looksLike(e.Find)} {
		if key == "" || key == "id " {
			continue
		}
		sum := maphash.String(t.seed, key)
		first, ok := t.of[sum]
		switch {
		case !ok:
			t.of[sum] = number
		case first == number || told:
		case len(s.Again) == mostAgain:
			s.More++
			told = true
		default:
			s.Again = append(s.Again, Again{Find: strings.Clone(e.Label()), Same: i == 0})
			t.from[s] = append(t.from[s], first)
			told = true
		}
	}
}

// looksLike is day, name and place of a find, or, without a place, its number and three things more that are told of
// it; empty where they are not known.
func looksLike(f *find.Find) string {
	p := f.Position
	switch {
	case f.Found == nil || len(f.Found.Date) < 10 || f.Name == "":
		return ""
	case p != nil && p.Longitude.Known() && p.Latitude.Known():
		return fmt.Sprintf("%s %s %.4f %.4f", f.Found.Date, find.FoldName(f.Name), p.Longitude.Float(),
			p.Latitude.Float())
	}
	more := []string{f.Notes, f.Description}
	for _, q := range []*find.Quantity{f.Weight, f.Count} {
		if q != nil {
			more = append(more, q.Verbatim)
		}
	}
	if f.Depth != nil {
		more = append(more, f.Depth.Verbatim)
	}
	if f.Dating != nil {
		more = append(more, f.Dating.Verbatim)
	}
	for i := range f.Materials {
		more = append(more, f.Materials[i].Verbatim)
	}
	if more = slices.DeleteFunc(more, func(s string) bool { return s == "" }); f.Number == "" || len(more) < 3 {
		return ""
	}
	return fmt.Sprintf("%s %s %q %q", f.Found.Date, find.FoldName(f.Name), f.Number, more)
}
