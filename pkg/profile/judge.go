package profile

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	_ "image/jpeg" // to tell the size of pictures
	_ "image/png"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
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
	Waived                    // it would be lacking, or not be checked, had the body not waived it
)

// Panel puts the asks of one or more profiles to finds. It is safe for concurrent use.
type Panel struct {
	Profiles []*Effective
	today    string // ISO 8601; empty: no waiver has ended
	year     int    // of today; 0: not known
	named    func(words string) (from, to int, ok bool)
	files    fs.FS
	areas    []coordinate.Area
	unplaced [][]*Ask // by profile, the asks that never want a position
}

// way is one of what will do, and the ways to its members.
type way struct {
	*Wanted
	members []member
	oneOf   map[string]bool // as it is compared
}

// Options of a panel.
type Options struct {
	Today string // the day that counts as today, ISO 8601
	Files fs.FS  // where the pictures of the report lie; nil: sizes of pictures are not checked
	// Years are those outside which the periods that words name are nowhere; nil: no words have years.
	Years func(words string) (from, to int, ok bool)
}

// NewPanel makes a panel of profiles.
func NewPanel(profiles []*Effective, o Options) *Panel {
	p := &Panel{Profiles: profiles, today: o.Today, files: o.Files, named: o.Years}
	p.year, _ = strconv.Atoi(o.Today[:min(4, len(o.Today))])
	for _, e := range profiles {
		var area coordinate.Area
		if e.Covers != nil && e.Covers.Area != nil {
			area, _ = coordinate.NewArea(e.Covers.Area.Coordinates) // the self-check has told
		}
		p.areas = append(p.areas, area)
		p.unplaced = append(p.unplaced, slices.DeleteFunc(slices.Clone(e.Asks), func(a *Ask) bool {
			return a.Strength != Never || !slices.ContainsFunc(a.Ask.Any, isPlace)
		}))
	}
	return p
}

// prepare finds the members of an ask.
func (a *Ask) prepare() {
	a.needs, a.ways = a.Needs(), nil
	for _, w := range a.Ask.Ways() {
		one := way{Wanted: w, oneOf: wordSet(w.OneOf)}
		for _, pointer := range w.Any {
			if m, ok := memberAt(pointer); ok {
				one.members = append(one.members, m)
			}
		}
		a.ways = append(a.ways, one)
	}
	a.must = a.Strength == Must && a.Share == 0
	a.back = a.Strength != Never && (all(a.Ask.Members(), known().OnTheSpot, true) ||
		slices.Contains(a.Ask.OneOf, "in-hole"))
}

// Judgement is what the asks of a panel come to for one find.
type Judgement struct {
	Covered []Answer   // by profile, whether the find is one that it covers
	Doubts  [][]string // by profile, by which members it is not, or for want of which it cannot be told
	Asks    [][]Judged // by profile and ask
	Alone   bool       // nobody is to touch the find or go back to it; whoever calls Judge says so
	of      *Panel     // whose room it is
	spot    Spot       // where the find lay
}

// Judged is what one ask comes to for one find.
type Judged struct {
	Outcome Outcome
	Unsure  uint64 // of what is not checked, for want of which of Ask.Needs: a bit each
	Waits   bool   // of what is lacking or not checked, whether it would be waived if the person were shown
	Unread  bool   // of what is lacking, whether it is written in words that could not be read, or that are not shown
	Stands  string // of what is lacking, the code that stands in the place of those that are asked
}

// Judge puts the asks to a find.
func (p *Panel) Judge(s *Subject, j *Judgement) {
	if j.of != p {
		j.of = p
		j.Covered, j.Doubts = make([]Answer, len(p.Profiles)), make([][]string, len(p.Profiles))
		j.Asks = make([][]Judged, len(p.Profiles))
		for i, e := range p.Profiles {
			j.Asks[i] = make([]Judged, len(e.Asks))
		}
	}
	s.year, s.panel, j.spot = p.year, p, spotOf(s)
	raw := *s
	for i, e := range p.Profiles {
		if *s = raw; e.seen != nil && s.Finder != nil {
			person := e.seen(*s.Finder)
			s.Finder = &person
		}
		s.own = e.years
		j.Covered[i], j.Doubts[i] = p.covers(i, s)
		for k, a := range e.Asks {
			is, unsure := a.judge(p, s)
			unread := is == Lacking && a.unread(&raw)
			stands := ""
			if is == Lacking && a.Strength != Never {
				stands = a.stands(s)
			}
			waits := false
			if w := e.waived[a.Name]; w != nil && is != NotAsked {
				if p.isWaived(w, s) {
					is = map[bool]Outcome{true: NotAsked, false: Waived}[is == Met]
				} else {
					waits = is != Met && p.isWaived(w, &raw)
				}
			}
			if e.Beyond[a.Name] != "" {
				is = NotAsked
			}
			j.Asks[i][k] = Judged{is, unsure, waits, unread, stands}
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

// covers answers whether a profile covers a find by its day, its place and its condition, and by which members it
// does not, or for want of which it cannot be told. A find whose position is never to be sent is not put to the
// outline.
func (p *Panel) covers(i int, s *Subject) (is Answer, names []string) {
	for _, a := range p.Profiles[i].whole { // of what they want nothing of, nothing is asked
		if is := a.When.holds(s).opposite(); is != Yes {
			return is, a.When.because(s, is.opposite(), nil)
		}
	}
	c := p.Profiles[i].Covers
	if c == nil {
		return Yes, nil
	}
	f, day, place, kind := s.Find, Yes, Yes, c.When.holds(s)
	if c.From != "" || c.To != "" {
		if day = Untold; f.Found != nil {
			day = daysIn(f.Found.Date, c.From, c.To)
		}
	}
	if c.Area != nil && !slices.ContainsFunc(p.unplaced[i], func(a *Ask) bool { return a.When.holds(s) == Yes }) {
		place = p.placed(i, f)
	}
	if is = Yes; slices.Contains([]Answer{day, place, kind}, No) {
		is = No
	} else if slices.Contains([]Answer{day, place, kind}, Untold) {
		is = Untold
	} else {
		return is, nil
	}
	if day == is {
		names = append(names, "/found/date")
	}
	if place == is {
		names = append(names, "/position")
	}
	return is, c.When.because(s, is, names)
}

// isPlace reports whether a member is a position or a part of one.
func isPlace(pointer string) bool {
	return pointer == "/position" || strings.HasPrefix(pointer, "/position/")
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
func (a *Ask) judge(p *Panel, s *Subject) (out Outcome, unsure uint64) {
	when := a.When.holds(s)
	if when == No {
		return NotAsked, 0
	}
	got := No
	for i := range a.ways {
		for k := range a.ways[i].members {
			if is := a.satisfied(p, &a.ways[i], &a.ways[i].members[k], s); is == Yes || is == Untold && got == No {
				got = is
			}
		}
	}
	if a.Strength == Never { // what is not wanted and not there is well
		if !slices.ContainsFunc(a.ways[0].members, func(m member) bool { return m.given(s) }) {
			return Met, 0
		}
		got = No
	}
	switch {
	case got == Yes:
		return Met, 0
	case when == Untold || got == Untold:
		var names []string
		if names = a.When.because(s, Untold, nil); got == Untold {
			names = append(names, a.Ask.Members()...)
		}
		for i, name := range a.needs[:min(len(a.needs), 63)] {
			if slices.Contains(names, name) {
				unsure |= 1 << i
			}
		}
		if when == Untold {
			unsure |= WhenUnsure
		}
		return NotChecked, unsure
	}
	return Lacking, 0
}

// unread reports whether one of the members is written in words that could not be read.
func (a *Ask) unread(s *Subject) bool {
	return slices.ContainsFunc(a.ways, func(w way) bool {
		return slices.ContainsFunc(w.members, func(m member) bool { return m.unread(s) })
	})
}

// stands is the first code that a find has where others are asked; empty: there is none.
func (a *Ask) stands(s *Subject) (code string) {
	for i := range a.ways {
		for k := 0; k < len(a.ways[i].members) && a.ways[i].OneOf != nil && code == ""; k++ {
			a.ways[i].members[k].values(s, func(v any) bool {
				if text, ok := v.(*string); ok {
					code = *text
				} else if t := find.TermOf(v); t != nil {
					code = t.Code
				}
				return code == ""
			})
		}
	}
	return strings.Clone(code)
}

// satisfied answers whether a member is there as it is wanted, or for a reason is not.
func (a *Ask) satisfied(p *Panel, w *way, m *member, s *Subject) Answer {
	switch excuse := m.excused(s); {
	case a.Strength == Never:
	case excuse == Yes && !w.Given, excuse == Untold && !m.given(s):
		return excuse
	}
	if at := s.Find.Position; m.pointer == "/position/referenceSystem" && near(at, math.Inf(1)) && !m.given(s) {
		return answer(w.OneOf == nil || w.oneOf[fold("EPSG:4326")]) // degrees are of it
	}
	n := m.read(s)
	if m.pointer == "/media" {
		n = len(p.pictures(s.Find))
	}
	if n == 0 && (m.pointer != "/kind" || w.OneOf == nil) { // what kind a find is needs no word
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
		if m.isNumber() {
			and(measures(m, s, w.AtLeast, w.AtMost))
		} else {
			and(answer((w.AtLeast == nil || float64(n) >= *w.AtLeast) && (w.AtMost == nil || float64(n) <= *w.AtMost)))
		}
	}
	if out != No && w.Figures > 0 {
		and(fine(s.Find.Position, w.Figures))
	}
	if out != No && w.OneOf != nil {
		and(isOne(m, s, w.oneOf))
	}
	if out != No && w.Precision != "" {
		and(oneOfThem(m, s, func(v any) Answer { return precise(v, w.Precision) }))
	}
	if out != No && w.Days > 0 {
		and(oneOfThem(m, s, func(v any) Answer { return soon(v, s.Find.Found, w.Days) }))
	}
	if out != No && w.Pixels > 0 {
		least := 1.0
		if w.AtLeast != nil {
			least = max(*w.AtLeast, least)
		}
		and(p.sharp(s.Find, w.Pixels, int(least)))
	}
	return out
}

// sharp answers whether so many pictures of a find have so many pixels along their shorter sides.
func (p *Panel) sharp(f *find.Find, pixels, least int) Answer {
	sharp, unseen := 0, 0
	for _, file := range p.pictures(f) {
		switch p.seen(file, pixels) {
		case Yes:
			sharp++
		case Untold:
			unseen++
		}
	}
	switch {
	case sharp >= least:
		return Yes
	case sharp+unseen >= least:
		return Untold
	}
	return No
}

// pictures are the files of the pictures of a find: one that is named twice, or has a copy of another name, is one.
func (p *Panel) pictures(f *find.Find) (files []string) {
	var sums []string
	for i := range f.Media {
		file := path.Clean(f.Media[i].File)
		sum := cmp.Or(f.Media[i].SHA256, p.sum(file, len(f.Media)))
		if f.Media[i].File == "" || !slices.Contains(files, file) && (sum == "" || !slices.Contains(sums, sum)) {
			files, sums = append(files, file), append(sums, sum)
		}
	}
	return files
}

// sum is that of a picture that is at hand, where there are others to compare it with.
func (p *Panel) sum(file string, of int) string {
	if p.files == nil || of < 2 || !fs.ValidPath(file) {
		return ""
	}
	f, err := p.files.Open(file)
	if err != nil {
		return ""
	}
	defer f.Close()
	sum := sha256.New()
	if n, err := io.Copy(sum, io.LimitReader(f, mostPicture+1)); err != nil || n > mostPicture {
		return ""
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// mostPicture is how much of a picture is read to compare it with others.
const mostPicture = 64 << 20

// seen answers whether a picture has so many pixels; of one that is not at hand it cannot be told.
func (p *Panel) seen(name string, pixels int) Answer {
	name = path.Clean(name)
	if p.files == nil || !fs.ValidPath(name) {
		return Untold
	}
	file, err := p.files.Open(name)
	if err != nil {
		return Untold
	}
	defer file.Close()
	c, _, err := image.DecodeConfig(file)
	if err != nil {
		return Untold
	}
	return answer(min(c.Width, c.Height) >= pixels)
}

// fine answers whether a position is written as finely as a grid reference of so many figures: by its words, else by
// its degrees.
func fine(p *find.Position, figures int) Answer {
	text, system := p.Verbatim, p.ReferenceSystem
	if text == "" {
		if !p.Longitude.Known() || !p.Latitude.Known() {
			return Untold
		}
		text, system = evenly(p.Latitude, p.Longitude), ""
	}
	r, err := coordinate.Normalise(text, coordinate.Options{System: system})
	if err != nil || r.IsZero() {
		return Untold
	}
	side := math.Pow10(5-figures/2) * 1.001 // in metres; the square of the centre is a hair larger on the ground
	if r.Square > 0 {
		return answer(r.Square <= side)
	}
	for _, part := range r.Budget {
		if part.Name == "rounding" {
			return answer(part.Metres <= side/math.Sqrt2)
		}
	}
	return Untold
}

// evenly writes latitude and longitude with as many decimals each: a number of JSON has no zeros at its end.
func evenly(latitude, longitude find.Number) string {
	decimals := func(s string) int { return max(len(s)-1-strings.IndexByte(s+".", '.'), 0) }
	n := max(decimals(latitude.String()), decimals(longitude.String()))
	return fmt.Sprintf("%.*f, %.*f", n, latitude.Float(), n, longitude.Float())
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
		for _, m := range a.ways[0].members {
			if m.clear(copied) {
				gone = append(gone, m.pointer)
			}
		}
	}
	return gone
}

// leavesOut reports whether an ask is for finds of which nothing is to be sent.
func (a *Ask) leavesOut() bool { return a.Strength == Never && slices.Contains(a.Ask.Any, "") }

// LeavesOut reports whether there are finds of which the profile wants nothing.
func (e *Effective) LeavesOut() bool { return len(e.whole) > 0 }

// Leaves reports whether the profile wants nothing of a find, or may not: it cannot be told.
func (e *Effective) Leaves(s *Subject) bool {
	return slices.ContainsFunc(e.whole, func(a *Ask) bool { return a.When.holds(s) != No })
}

// soon answers whether a date lies at most so many days after that of finding; before it lies no later.
func soon(v any, found *find.Found, days int) Answer {
	text, ok := v.(*string)
	if !ok || found == nil {
		return Untold
	}
	d, err := edtf.Parse(found.Date)
	first, last, open, openLast := d.Span()
	switch {
	case err != nil || open || openLast:
		return Untold
	case daysIn(*text, "", first.AddDays(days).String()) == Yes:
		return Yes
	case daysIn(*text, "", last.AddDays(days).String()) == No:
		return No
	}
	return Untold
}

// precise answers whether a date lies within one day, month or year; one that is about right does not, and of one that
// is doubtful it cannot be told.
func precise(v any, to string) Answer {
	text := ""
	switch x := v.(type) {
	case *string:
		text = *x
	case *find.Found:
		text = x.Date
	}
	d, err := edtf.Parse(text)
	if err != nil {
		return Untold
	}
	first, last, openFirst, openLast := d.Span()
	same := first.Year == last.Year && !openFirst && !openLast
	switch to {
	case "day":
		same = same && first == last
	case "month":
		same = same && first.Month == last.Month
	default: // a season has a year, and no days
		from, until, hasFrom, hasUntil := d.Years()
		same = hasFrom && hasUntil && from == until
	}
	switch {
	case !same || d.Approximate():
		return No
	case d.Uncertain():
		return Untold
	}
	return Yes
}
