package pipeline

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
)

// Document returns the outcome as the renderers show it. Files are named without their folders.
func (r *Result) Document(tool string, o Options) render.Document {
	d := render.Document{Tool: tool, AsOf: o.Read.AsOf.String(), Finds: r.Summary.Finds,
		Levels: Receivers(r.Summary.Levels, o.Language), Asked: Receivers(r.Summary.Asked, o.Language),
		NotChecked: r.Summary.NotChecked,
		Notices:    slices.Clone(r.Notices), Accepted: slices.Clone(r.Accepted),
		Deadlines: slices.Clone(r.Summary.Deadlines),
		Truncated: r.Truncated, Seen: []render.Seen{r.Seen}, Language: o.Language}
	d.Level = o.AskedLevel()
	for i := range d.Notices {
		d.Notices[i].File = baseOf(d.Notices[i].File)
	}
	if r.Truncated || o.Brief {
		d.Groups = r.Groups
	}
	d.Seen[0].File = baseOf(r.Seen.File)
	for i := range d.Accepted {
		d.Accepted[i].File = baseOf(d.Accepted[i].File)
	}
	for i := range d.Deadlines {
		d.Deadlines[i].File = baseOf(d.Deadlines[i].File)
	}
	return d
}

func baseOf(name string) string {
	if name == "" {
		return ""
	}
	return Base(name)
}

// AskedLevel is the id of the level that is asked for, empty where none is.
func (o *Options) AskedLevel() string {
	if o.Level == validate.NoLevel || len(o.Profiles) > 0 {
		return ""
	}
	return o.Level.String()
}

// Receivers are tallies as the renderers show them.
func Receivers(tallies []*profile.Tally, language string) (out []render.Receiver) {
	for _, t := range tallies {
		p := t.Profile
		r := render.Receiver{ID: p.ID, Version: p.State, Level: profile.Level(p.ID) == p, Title: p.Title,
			Languages: p.Languages, Promises: p.Promises, Score: t.Score, Doubts: render.Asked{Count: t.Doubts.Count}}
		named := func(pointers []string) (names []string) {
			for _, pointer := range pointers {
				names = append(names, profile.MemberName(pointer, language))
			}
			return names
		}
		r.Because, r.Doubts.Needs = nil, named(t.Wanting)
		for _, pointers := range t.Because {
			r.Because = append(r.Because, strings.Join(named(strings.Fields(pointers)), ", "))
		}
		if p.Body != nil {
			r.Body, r.Contact = p.Body.Name, p.Body.Contact
		}
		if t.Stale {
			r.Remarks = append(r.Remarks, p.When(language))
		}
		for _, q := range p.Questions {
			r.Questions = append(r.Questions, [2]render.Sentence{q.Question, q.Answer})
		}
		for i, a := range p.Asks {
			r.Asks = append(r.Asks, askedOf(t, i, language))
			if how := p.Beyond[a.Name]; how != "" {
				r.More = append(r.More, render.More{Title: a.Title, Why: a.Why, How: how})
			}
			for _, w := range p.Waivers {
				if w.Ask == a.Name {
					r.Asks[i].Waivers = append(r.Asks[i].Waivers, render.Waiver{Why: w.Reason, By: w.By, Day: w.On})
				}
			}
		}
		out = append(out, r)
	}
	return out
}

// askedOf is what one ask came to, as the renderers show it.
func askedOf(t *profile.Tally, i int, language string) render.Asked {
	a, n := t.Profile.Asks[i], t.Of(i)
	out := render.Asked{Count: n.Count, Name: a.Name, Strength: string(a.Strength), From: a.From, Title: a.Title,
		Why: a.Why, Who: a.Who, How: a.How, Given: !a.TakesReason(), Columns: a.Headings(language), Members: a.Ask.Members(),
		Share: a.Share > 0, AsWanted: n.Unsure&profile.WhenUnsure == 0}
	out.Stands, out.Codes = a.CodeNames(n.Stands, language), a.CodeNames(a.Ask.OneOf, language)
	sharp := slices.ContainsFunc(a.Ask.Ways(), func(w *profile.Wanted) bool { return w.Pixels > 0 })
	for k, pointer := range a.Needs() {
		switch {
		case n.Unsure>>k&1 == 0:
		case pointer == "/media" && sharp && out.AsWanted: // the names are there
			out.Unseen = true
		default:
			out.Needs = append(out.Needs, profile.MemberName(pointer, language))
		}
	}
	return out
}

// objectCost is what an object of a find costs in memory at least, in bytes: {} is one.
const objectCost = 100

// findCost is what a find and its copy cost at least, however little it says.
const findCost = 300

// holding passes a stream on to whoever holds it whole, up to the limits Held and Finds.
func holding(in *find.Stream, limits limit.Limits) *find.Stream {
	limits = limits.WithDefaults()
	out := *in
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		left, finds := limits.Held, limits.Finds
		for e, err := range in.Entries {
			if err == nil && e.Find != nil {
				raw := []byte(e.Raw)
				if raw == nil {
					raw, _ = find.Marshal(e.Find)
				}
				finds--
				if left -= max(findCost, int64(len(raw)), objectCost*int64(bytes.Count(raw, []byte("{")))); left < 0 {
					err = limit.Over("held", limits.Held)
				} else if finds < 0 {
					err = limit.Over("finds", limits.Finds)
				}
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	})
	return &out
}

// lines tells on which line of a report in native JSON a member stands. It holds a place for each find, and the
// text of a find is read again when it is asked for.
type lines struct {
	r     io.ReaderAt
	head  map[string]*spot // members of the report, by pointer
	finds []*spot
	size  int64
}

// A spot is where a value ends its first token: an offset and, once counted, a line from 1.
type spot struct {
	offset int64
	line   int
}

// newLines reads a report through once for the places and once for the lines.
func newLines(r io.ReaderAt) (*lines, error) {
	l := &lines{r: r, head: map[string]*spot{}}
	dec := jsontext.NewDecoder(bufio.NewReaderSize(io.NewSectionReader(r, 0, math.MaxInt64), 1<<16))
	var all []*spot
	for {
		token, err := dec.ReadToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		pointer := string(dec.StackPointer())
		switch kind := token.Kind(); {
		case kind == '}' || kind == ']' || pointer == "" || l.head[pointer] != nil:
			continue
		case !strings.HasPrefix(pointer, "/finds/"):
			all = append(all, &spot{offset: dec.InputOffset()})
			l.head[pointer] = all[len(all)-1]
		case strings.Count(pointer, "/") == 2: // the beginning of a find
			all = append(all, &spot{offset: dec.InputOffset()})
			l.finds = append(l.finds, all[len(all)-1])
		}
	}
	l.size = dec.InputOffset()
	slices.SortFunc(all, func(a, b *spot) int { return cmp.Compare(a.offset, b.offset) })
	in := bufio.NewReaderSize(io.NewSectionReader(r, 0, math.MaxInt64), 1<<16)
	line, at := 1, int64(0)
	for _, p := range all {
		for at < p.offset {
			c, err := in.ReadByte()
			if err != nil {
				return nil, err
			}
			if at++; c == '\n' {
				line++
			}
		}
		p.line = line
	}
	return l, nil
}

// at returns the line of a member, or of the nearest one around it.
func (l *lines) at(pointer string) int {
	if rest, ok := strings.CutPrefix(pointer, "/finds/"); ok {
		index, member, _ := strings.Cut(rest, "/")
		if i, err := strconv.Atoi(index); err == nil && i >= 0 && i < len(l.finds) {
			return l.within(i, "/"+member)
		}
	}
	for p := pointer; p != ""; p = p[:strings.LastIndexByte(p, '/')] {
		if at := l.head[p]; at != nil {
			return at.line
		}
	}
	return 1
}

// within returns the line of a member of a find.
func (l *lines) within(i int, member string) int {
	from, to := l.finds[i].offset-1, l.size // from its brace
	if i+1 < len(l.finds) {
		to = l.finds[i+1].offset
	}
	dec := jsontext.NewDecoder(io.NewSectionReader(l.r, from, to-from))
	best, length := int64(0), 0
	for {
		token, err := dec.ReadToken()
		if err != nil || dec.StackDepth() == 0 {
			break
		}
		p := string(dec.StackPointer())
		closing := token.Kind() == '}' || token.Kind() == ']'
		if !closing && len(p) > length && (member == p || strings.HasPrefix(member, p+"/")) {
			best, length = dec.InputOffset(), len(p)
		}
	}
	text := make([]byte, best)
	n, err := l.r.ReadAt(text, from)
	if err != nil && !errors.Is(err, io.EOF) {
		return l.finds[i].line
	}
	return l.finds[i].line + bytes.Count(text[:n], []byte("\n"))
}
