package profile

import (
	"image"
	_ "image/jpeg" // to tell the size of pictures
	_ "image/png"
	"io/fs"
	"path"
	"reflect"
	"slices"
	"strconv"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Outcome is what an ask comes to for one find.
type Outcome uint8

// The outcomes.
const (
	NotAsked   Outcome = iota // the ask is not about this find, or is waived for it
	Met                       // given as it is wanted, or there is a reason why it is not
	Lacking                   // not given, or not as it is wanted
	NotChecked                // it cannot be told whether it is asked or met
)

// Panel puts the asks of one or more profiles to finds. It is safe for concurrent use.
type Panel struct {
	Profiles []*Effective
	today    string // ISO 8601; empty: no waiver has ended
	year     int    // of today; 0: not known
	files    fs.FS
	asks     []*asking // each ask once, whichever profiles have it
	of       [][]int   // by profile, the numbers of its asks
	areas    []coordinate.Area
}

// asking is an ask made ready.
type asking struct {
	ask     *Ask
	members []member
	needs   []string // members of which it may be unsure: Ask.Needs
}

// Options of a panel.
type Options struct {
	Today string // the day that counts as today, ISO 8601
	Files fs.FS  // where the pictures of the report lie; nil: sizes of pictures are not checked
}

// NewPanel makes a panel of profiles.
func NewPanel(profiles []*Effective, o Options) *Panel {
	p := &Panel{Profiles: profiles, today: o.Today, files: o.Files}
	p.year, _ = strconv.Atoi(o.Today[:min(4, len(o.Today))])
	index := map[*Ask]int{}
	for _, e := range profiles {
		var of []int
		for _, a := range e.Asks {
			at, ok := index[a]
			if !ok {
				at = len(p.asks)
				index[a] = at
				p.asks = append(p.asks, newAsking(a))
			}
			of = append(of, at)
		}
		p.of = append(p.of, of)
		var area coordinate.Area
		if e.Covers != nil && e.Covers.Area != nil {
			area, _ = coordinate.NewArea(e.Covers.Area.Coordinates) // the self-check has told
		}
		p.areas = append(p.areas, area)
	}
	return p
}

func newAsking(a *Ask) *asking {
	out := &asking{ask: a, needs: a.Needs()}
	for _, pointer := range a.Ask.Any {
		if m, ok := memberAt(pointer); ok {
			out.members = append(out.members, m)
		}
	}
	return out
}

// Judgement is what the asks of a panel come to for one find.
type Judgement struct {
	Covered  []Answer    // by profile, whether the find is one that it covers
	Outcomes [][]Outcome // by profile and ask
	Unsure   [][]uint64  // of what is not checked, for want of which of Ask.Needs: a bit each
	of       *Panel      // whose room it is
}

// Judge puts the asks to a find.
func (p *Panel) Judge(s *Subject, j *Judgement) {
	if j.of != p {
		j.of = p
		j.Covered, j.Outcomes = make([]Answer, len(p.Profiles)), make([][]Outcome, len(p.Profiles))
		j.Unsure = make([][]uint64, len(p.Profiles))
		for i := range j.Outcomes {
			j.Outcomes[i], j.Unsure[i] = make([]Outcome, len(p.of[i])), make([]uint64, len(p.of[i]))
		}
	}
	s.year = p.year
	var room [64]Outcome
	var doubts [64]uint64
	all, unsure := room[:0], doubts[:0]
	for _, a := range p.asks {
		outcome, why := a.judge(p, s)
		all, unsure = append(all, outcome), append(unsure, why)
	}
	for i, e := range p.Profiles {
		j.Covered[i] = p.covers(i, s)
		for k, at := range p.of[i] {
			j.Outcomes[i][k], j.Unsure[i][k] = all[at], unsure[at]
			if e.Beyond[e.Asks[k].Name] != "" {
				j.Outcomes[i][k] = NotAsked
			}
			if w := e.waived[e.Asks[k].Name]; w != nil && all[at] != NotAsked && p.isWaived(w, s) {
				j.Outcomes[i][k] = NotAsked
			}
		}
	}
}

// isWaived reports whether one of the waivers of an ask holds for a find.
func (p *Panel) isWaived(list []*Waiver, s *Subject) bool {
	return slices.ContainsFunc(list, func(w *Waiver) bool {
		return (w.Until == "" || p.today == "" || p.today <= w.Until) && (p.today == "" || w.On <= p.today) &&
			w.When.holds(s) == Yes
	})
}

// covers answers whether a profile covers a find by its day and place.
func (p *Panel) covers(i int, s *Subject) Answer {
	c := p.Profiles[i].Covers
	if c == nil {
		return Yes
	}
	f, day, place, kind := s.Find, Yes, Yes, c.When.holds(s)
	if c.From != "" || c.To != "" {
		if day = Untold; f.Found != nil {
			day = daysIn(f.Found.Date, c.From, c.To)
		}
	}
	if c.Area != nil {
		place = p.placed(i, f)
	}
	switch {
	case day == No || place == No || kind == No:
		return No
	case day == Yes && place == Yes && kind == Yes:
		return Yes
	}
	return Untold
}

func (p *Panel) placed(i int, f *find.Find) Answer {
	at := f.Position
	if at == nil || !at.Longitude.Known() || !at.Latitude.Known() {
		return Untold
	}
	point := coordinate.Point{Longitude: at.Longitude.Float(), Latitude: at.Latitude.Float()}
	switch p.areas[i].Contains(point, radius(at)) {
	case coordinate.Inside:
		return Yes
	case coordinate.Outside:
		return No
	}
	return Untold
}

// judge answers one ask for a find, and where it is not checked says for want of what.
func (a *asking) judge(p *Panel, s *Subject) (out Outcome, unsure uint64) {
	when := a.ask.When.holds(s)
	if when == No {
		return NotAsked, 0
	}
	got := No
	for i := range a.members {
		if is := a.satisfied(p, &a.members[i], s); is == Yes || is == Untold && got == No {
			got = is
		}
	}
	if a.ask.Strength == Never { // what is not wanted and not there is well
		if !slices.ContainsFunc(a.members, func(m member) bool { return m.given(s) }) {
			return Met, 0
		}
		got = No
	}
	switch {
	case got == Yes:
		return Met, 0
	case when == Untold || got == Untold:
		var names []string
		if names = a.ask.When.unsure(s, nil); got == Untold {
			names = append(names, a.ask.Ask.Any...)
		}
		for i, name := range a.needs[:min(len(a.needs), 64)] {
			if slices.Contains(names, name) {
				unsure |= 1 << i
			}
		}
		return NotChecked, unsure
	}
	return Lacking, 0
}

// satisfied answers whether a member is there as it is wanted, or for a reason is not.
func (a *asking) satisfied(p *Panel, m *member, s *Subject) Answer {
	w := &a.ask.Ask
	switch excuse := m.excused(s); {
	case a.ask.Strength == Never:
	case excuse == Yes && !w.Given, excuse == Untold && !m.given(s):
		return excuse
	}
	n := m.read(s)
	if n == 0 {
		return No
	}
	out := Yes
	and := func(more Answer) {
		if more == No || out == Yes {
			out = more
		}
	}
	if w.Within > 0 && !near(s.Find.Position, w.Within) {
		return No
	}
	if w.AtLeast != nil || w.AtMost != nil {
		switch m.kind {
		case reflect.TypeFor[find.Quantity](), reflect.TypeFor[find.Depth](), reflect.TypeFor[find.Number]():
			and(measures(m, s, w.AtLeast, w.AtMost))
		default:
			and(answer((w.AtLeast == nil || float64(n) >= *w.AtLeast) && (w.AtMost == nil || float64(n) <= *w.AtMost)))
		}
	}
	if out != No && w.OneOf != nil {
		and(isOne(m, s, w.OneOf))
	}
	if out != No && w.Pixels > 0 {
		and(p.sharp(s.Find, w.Pixels))
	}
	return out
}

// sharp answers whether every picture of a find has so many pixels along its shorter side.
func (p *Panel) sharp(f *find.Find, pixels int) Answer {
	if p.files == nil {
		return Untold
	}
	for i := range f.Media {
		name := path.Clean(f.Media[i].File)
		if !fs.ValidPath(name) {
			return Untold
		}
		file, err := p.files.Open(name)
		if err != nil {
			return Untold
		}
		c, _, err := image.DecodeConfig(file)
		file.Close()
		if err != nil {
			return Untold
		}
		if min(c.Width, c.Height) < pixels {
			return No
		}
	}
	return Yes
}

// near reports whether a position was read and is known to so many metres.
func near(p *find.Position, metres float64) bool {
	return p != nil && p.Longitude.Known() && p.Latitude.Known() && radius(p) <= metres
}

// radius returns the radius of a position in metres: the stated one, else that of its method, else that of a receiver
// of which nothing is known.
func radius(p *find.Position) float64 {
	if p.Uncertainty.Known() && p.Uncertainty.Float() > 0 {
		return p.Uncertainty.Float()
	}
	if p.Method != nil {
		if usual := usualRadius(p.Method.Code); usual > 0 {
			return usual
		}
	}
	return usualRadius("gnss-unknown")
}

func usualRadius(method string) float64 {
	if c, ok := vocabulary.Get("position-method").Concept(method); ok && c.Method != nil {
		return c.Method.Metres
	}
	return 0
}

// Drop takes out of the copy of a find what the profile never wants of finds like it, and returns the pointers. What
// cannot be told of the find is taken out too.
func (e *Effective) Drop(source *Subject, copied *find.Find) (gone []string) {
	for _, a := range e.Asks {
		if a.Strength != Never || a.When == nil || a.When.holds(source) == No {
			continue
		}
		for _, m := range newAsking(a).members {
			if m.clear(copied) {
				gone = append(gone, m.pointer)
			}
		}
	}
	return gone
}
