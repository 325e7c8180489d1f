package profile

import (
	"image"
	_ "image/jpeg" // to tell the size of pictures
	_ "image/png"
	"io/fs"
	"path"
	"reflect"
	"slices"

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
	files    fs.FS
	asks     []*asking // each ask once, whichever profiles have it
	of       [][]int   // by profile, the numbers of its asks
	areas    []coordinate.Area
}

// asking is an ask made ready.
type asking struct {
	ask     *Ask
	members []member
}

// Options of a panel.
type Options struct {
	Today string // the day that counts as today, ISO 8601
	Files fs.FS  // where the pictures of the report lie; nil: sizes of pictures are not checked
}

// NewPanel makes a panel of profiles.
func NewPanel(profiles []*Effective, o Options) *Panel {
	p := &Panel{Profiles: profiles, today: o.Today, files: o.Files}
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
	out := &asking{ask: a}
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
	of       *Panel      // whose room it is
}

// Judge puts the asks to a find. Land is what the land of its permission is called.
func (p *Panel) Judge(f *find.Find, land []string, j *Judgement) {
	if j.of != p {
		j.of = p
		j.Covered, j.Outcomes = make([]Answer, len(p.Profiles)), make([][]Outcome, len(p.Profiles))
		for i := range j.Outcomes {
			j.Outcomes[i] = make([]Outcome, len(p.of[i]))
		}
	}
	var room [64]Outcome
	all := room[:0]
	for _, a := range p.asks {
		all = append(all, a.judge(p, f, land))
	}
	for i, e := range p.Profiles {
		j.Covered[i] = p.covers(i, f)
		for k, at := range p.of[i] {
			j.Outcomes[i][k] = all[at]
			if e.Beyond[e.Asks[k].Name] != "" {
				j.Outcomes[i][k] = NotAsked
			}
			if w := e.waived[e.Asks[k].Name]; w != nil && all[at] != NotAsked && p.isWaived(w, f, land) {
				j.Outcomes[i][k] = NotAsked
			}
		}
	}
}

// isWaived reports whether one of the waivers of an ask holds for a find.
func (p *Panel) isWaived(list []*Waiver, f *find.Find, land []string) bool {
	return slices.ContainsFunc(list, func(w *Waiver) bool {
		return (w.Until == "" || p.today == "" || p.today <= w.Until) && (p.today == "" || w.On <= p.today) &&
			w.When.holds(f, land) == Yes
	})
}

// covers answers whether a profile covers a find by its day and place.
func (p *Panel) covers(i int, f *find.Find) Answer {
	c := p.Profiles[i].Covers
	if c == nil {
		return Yes
	}
	day, place := Yes, Yes
	if c.From != "" || c.To != "" {
		if day = Untold; f.Found != nil {
			day = daysIn(f.Found.Date, c.From, c.To)
		}
	}
	if c.Area != nil {
		place = p.placed(i, f)
	}
	switch {
	case day == No || place == No:
		return No
	case day == Yes && place == Yes:
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
	switch p.areas[i].Contains(point, Radius(at)) {
	case coordinate.Inside:
		return Yes
	case coordinate.Outside:
		return No
	}
	return Untold
}

// judge answers one ask for a find.
func (a *asking) judge(p *Panel, f *find.Find, land []string) Outcome {
	when := a.ask.When.holds(f, land)
	if when == No {
		return NotAsked
	}
	got := No
	for i := range a.members {
		switch a.satisfied(p, &a.members[i], f) {
		case Yes:
			got = Yes
		case Untold:
			if got == No {
				got = Untold
			}
		}
	}
	if a.ask.Strength == Never { // what is not wanted and not there is well
		if !slices.ContainsFunc(a.members, func(m member) bool { return m.given(f) }) {
			return Met
		}
		got = No
	} else if got != Yes && len(f.Absent) > 0 &&
		slices.ContainsFunc(a.ask.Ask.Any, func(pointer string) bool { return excused(f, pointer) }) {
		got = Yes
	}
	switch {
	case got == Yes:
		return Met
	case when == Untold || got == Untold:
		return NotChecked
	}
	return Lacking
}

// satisfied answers whether a member is there as it is wanted.
func (a *asking) satisfied(p *Panel, m *member, f *find.Find) Answer {
	w := &a.ask.Ask
	if !m.given(f) {
		return No
	}
	out := Yes
	and := func(more Answer) {
		if more == No || out == Yes {
			out = more
		}
	}
	if w.Within > 0 && Radius(f.Position) > w.Within {
		return No
	}
	if w.AtLeast != nil || w.AtMost != nil {
		and(m.measured(f, w.AtLeast, w.AtMost))
	}
	if out != No && w.OneOf != nil {
		and(isOne(m, f, w.OneOf))
	}
	if out != No && w.Pixels > 0 {
		and(p.sharp(f, w.Pixels))
	}
	return out
}

// measured compares a quantity with bounds, or counts the items of a list.
func (m *member) measured(f *find.Find, least, most *float64) Answer {
	switch m.kind {
	case reflect.TypeFor[find.Quantity](), reflect.TypeFor[find.Depth](), reflect.TypeFor[find.Number]():
		return measures(m, f, least, most)
	}
	n := 0.0
	for range m.values(f) {
		n++
	}
	return answer((least == nil || n >= *least) && (most == nil || n <= *most))
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

// Radius returns the radius of a position in metres: the stated one, else that of its method, else that of a
// receiver of which nothing is known.
func Radius(p *find.Position) float64 {
	if p == nil {
		return usualRadius("gnss-unknown")
	}
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
func (e *Effective) Drop(source, copied *find.Find, land []string) (gone []string) {
	for _, a := range e.Asks {
		if a.Strength != Never || a.When == nil || a.When.holds(source, land) == No {
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
