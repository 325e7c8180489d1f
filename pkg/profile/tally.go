package profile

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/render"
)

// Tally counts what the asks of one profile came to over many finds.
type Tally struct {
	render.Score
	Profile *Effective
	Asks    []Count
	Doubts  Count    // of which it cannot be told whether it leaves them out: Untold, Doubtful and Undoubted
	Wanting []string // members that would tell; of Outside, Because names those that told
	Spares  bool     // Spare will be called
	Stale   bool     // the day that counts as today is none of those on which it is to be used
	Shunned []Spot   // where the finds lay that nobody is to touch, in this log and in others
	Trail   Trail    // where those lay of which something is asked for which one would go back

	sent []sent // such finds
}

// Count is what one ask came to.
type Count struct {
	render.Count
	Unsure uint64 // for want of which of Ask.Needs: a bit each, and WhenUnsure
}

// WhenUnsure is a bit of Count.Unsure: of a find it could not be told whether it is asked at all.
const WhenUnsure = 1 << 63

// Of returns what an ask came to. Of one of which a share of the finds will do, Lacking is how many more of them are to
// have it, and Untold how many of those may have it.
func (t *Tally) Of(i int) Count {
	n, share := t.Asks[i], t.Profile.Asks[i].Share
	if n.Unspoken = min(n.Unspoken, n.Lacking-n.Unasked); share == 0 {
		return n
	}
	short := max(int(math.Ceil(float64(n.Asked)*share/100))-(n.Asked-n.Lacking-n.Untold), 0)
	n.Untold = min(n.Untold, short)
	n.Lacking = short - n.Untold
	n.Unasked = max(n.Lacking-(t.Asks[i].Lacking-n.Unasked), 0)
	n.Unspoken, n.Finds, n.Unread, n.Worded, n.Undoubted = 0, nil, 0, nil, min(n.Undoubted, n.Untold)
	n.Stands, n.Found = nil, nil
	if n.Untold == 0 {
		n.Doubtful, n.Unsure = nil, 0
	}
	return n
}

// NewTally returns an empty tally of a profile.
func NewTally(e *Effective) *Tally { return &Tally{Profile: e, Asks: make([]Count, len(e.Asks))} }

// Add counts one find, and reports whether it is good.
func (t *Tally) Add(j *Judgement, profile int, label string) bool {
	covered := j.Covered[profile]
	if t.Finds++; j.Alone {
		t.Shunned = append(t.Shunned, j.spot)
	}
	if covered == No {
		t.Outside = render.Few(t.Outside, label)
		t.Because = render.Few(t.Because, strings.Join(j.Doubts[profile], " "))
		return false
	}
	t.Covered++
	if covered == Untold {
		t.doubt(j, profile, label)
	}
	var gaps []gap
	var last *Count
	lacks := 0
	good, told := true, covered == Yes
	for i, is := range j.Asks[profile] {
		if is.Outcome == NotAsked {
			continue
		}
		n, ask := &t.Asks[i], t.Profile.Asks[i]
		if is.Waits {
			n.Waits = render.Few(n.Waits, label)
		}
		alone := j.Alone && (ask.handles(0) || ask.handles(is.Unsure))
		t.count(n, is, alone, label)
		if is.Outcome == Waived {
			continue
		}
		if is.Outcome == Lacking && ask.must {
			good = false
			if lacks++; !alone {
				last = n
			}
		}
		told = told && !(is.Outcome == NotChecked && ask.must)
		if n.Asked++; t.Spares && is.Outcome != Met && !alone && ask.back {
			gaps = append(gaps, gap{n, is})
		}
	}
	if last = last.only(lacks, told); t.Spares && covered == Untold && !j.Alone &&
		slices.Contains(j.Doubts[profile], "/position") {
		gaps = append(gaps, gap{&t.Doubts, Judged{Outcome: NotChecked}})
	}
	if gaps != nil {
		t.sent = append(t.sent, sent{j.spot, label, last, gaps})
	}
	switch {
	case good && told:
		t.Good++
		return true
	case good:
		t.Untold++
	}
	return false
}

// only counts what alone keeps a find from being good, and returns it; nil where more does.
func (c *Count) only(lacks int, told bool) *Count {
	if c == nil || lacks != 1 || !told {
		return nil
	}
	c.Last++
	return c
}

// count takes up what one ask came to with one find; alone is one that nobody is to touch, which is not asked for.
func (t *Tally) count(n *Count, is Judged, alone bool, label string) {
	switch is.Outcome {
	case Waived:
		n.Waived++
		n.Spared = render.Few(n.Spared, label)
	case Lacking:
		n.Lacking++
		switch {
		case alone:
			n.Unasked++
			t.leave(label)
		case is.Unread:
			n.Unread++
			n.Worded = render.Few(n.Worded, label)
		default:
			n.Finds = render.Few(n.Finds, label)
			if is.Stands != "" {
				n.Stands, n.Found = render.Few(n.Stands, is.Stands), render.Few(n.Found, label)
			}
		}
	case NotChecked:
		n.Untold++
		if alone {
			n.Undoubted++
			t.leave(label)
			return
		}
		n.Unsure |= is.Unsure
		n.Doubtful = render.Few(n.Doubtful, label)
	}
}

// doubt counts a find of which it cannot be told whether the profile leaves it out.
func (t *Tally) doubt(j *Judgement, profile int, label string) {
	t.Doubts.Untold++
	if j.Alone {
		t.Doubts.Undoubted++
		t.leave(label)
		return
	}
	t.Doubts.Doubtful = render.Few(t.Doubts.Doubtful, label)
	for _, pointer := range j.Doubts[profile] {
		if !slices.Contains(t.Wanting, pointer) {
			t.Wanting = append(t.Wanting, pointer)
		}
	}
}

// leave names a find that is to be left as it is.
func (t *Tally) leave(label string) {
	if !slices.Contains(t.Alone, label) {
		t.Alone = render.Few(t.Alone, label)
	}
}

// all reports whether each of the members is one of those with these first tokens.
func all(members, tokens []string, are bool) bool {
	return !slices.ContainsFunc(members, func(pointer string) bool {
		first, _, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
		return slices.Contains(tokens, first) != are
	})
}

// handles reports whether nobody can answer an ask, or what it is unsure of, but by going back to the find, or with it
// in hand.
func (a *Ask) handles(unsure uint64) bool {
	members := a.Ask.Members()
	if unsure&WhenUnsure != 0 {
		members = nil
		for i, pointer := range a.Needs() {
			if unsure>>i&1 != 0 {
				members = append(members, pointer)
			}
		}
	}
	return a.Strength != Never && all(members, known().Afar, false)
}

// sent is a find of which asks would send people back to its spot.
type sent struct {
	Spot
	label string
	last  *Count // of the only ask that keeps it from being good
	gaps  []gap
}

// gap is what of a find would be asked.
type gap struct {
	of *Count
	is Judged
}

// Spot is where a find lay, as far as it says.
type Spot struct {
	at          coordinate.Point
	radius      float64 // in metres; 0: there is no position
	field, date string  // the permission, else what the land is called; the day
	land        string  // what the land is called, by which finds of several logs are compared
	elsewhere   bool    // of another log
}

// wayOff is how far from a find that nobody is to touch people may be sent, in metres: common practice, no source. The
// authority says how far it is.
const wayOff = 100

// near reports whether a spot cannot be told from another, or is not well away from it.
func (s *Spot) near(o *Spot) bool {
	if s.radius == 0 || o.radius == 0 {
		return (s.land != "" && s.land == o.land || !o.elsewhere && s.field == o.field && s.field+s.date+o.date != "") &&
			sameDay(s.date, o.date)
	}
	far := wayOff + s.radius + o.radius
	return !(math.Abs(s.at.Latitude-o.at.Latitude)*100_000 > far || coordinate.Distance(s.at, o.at) > far)
}

// sameDay reports whether two dates may be of one day.
func sameDay(a, b string) bool {
	of, err := edtf.Parse(a)
	if a == b || a == "" || b == "" || err != nil {
		return true
	}
	first, last, openFirst, openLast := of.Span()
	from, to := "", ""
	if !openFirst {
		from = first.String()
	}
	if !openLast {
		to = last.String()
	}
	return daysIn(b, from, to) != No
}

// spotOf returns the spot of a find.
func spotOf(of *Subject) (s Spot) {
	f := of.Find
	if p := f.Position; p != nil && p.Longitude.Known() && p.Latitude.Known() {
		s.at, s.radius = coordinate.Point{Longitude: p.Longitude.Float(), Latitude: p.Latitude.Float()}, radius(p)
	}
	if land := of.land(); len(land) > 1 {
		s.land = fold(land[0])
	} else if f.Place != nil {
		s.land = fold(f.Place.Name)
	}
	if f.Found != nil {
		s.date = f.Found.Date
	}
	s.field = cmp.Or(f.Permission, s.land)
	return s
}

// Trail is roughly where finds lay, a box and the land: what a log is known by while others are read.
type Trail struct {
	from, to coordinate.Point
	radius   float64 // the greatest; 0: none has a position
	lands    map[string]bool
}

func (t *Trail) add(s *Spot) {
	if t.lands == nil {
		t.lands = map[string]bool{}
	}
	t.lands[strings.Clone(s.land)] = s.land != ""
	if s.radius == 0 {
		return
	} else if t.radius == 0 {
		t.from, t.to = s.at, s.at
	}
	t.from.Latitude, t.from.Longitude = min(t.from.Latitude, s.at.Latitude), min(t.from.Longitude, s.at.Longitude)
	t.to.Latitude, t.to.Longitude = max(t.to.Latitude, s.at.Latitude), max(t.to.Longitude, s.at.Longitude)
	t.radius = max(t.radius, s.radius)
}

// Near returns those spots of other logs to which a find of the trail may be near.
func (t *Trail) Near(spots []Spot) (out []Spot) {
	for _, s := range spots {
		at := coordinate.Point{Latitude: min(max(s.at.Latitude, t.from.Latitude), t.to.Latitude),
			Longitude: min(max(s.at.Longitude, t.from.Longitude), t.to.Longitude)}
		s.elsewhere = true
		if t.lands[s.land] || s.radius*t.radius > 0 && s.near(&Spot{at: at, radius: t.radius + wayOff}) {
			out = append(out, s)
		}
	}
	return out
}

// Spare leaves out of what is asked that for which people would go back to where a find lay that nobody is to touch:
// such a find may come after those beside it, so that this is known when all were counted. Shunned may begin with spots
// of other logs.
func (t *Tally) Spare() {
	for _, f := range t.sent {
		t.Trail.add(&f.Spot)
		own := slices.ContainsFunc(t.Shunned, func(o Spot) bool { return !o.elsewhere && f.near(&o) })
		if !own && !slices.ContainsFunc(t.Shunned, func(o Spot) bool { return f.near(&o) }) {
			continue
		}
		t.Near, t.Others = render.Few(t.Near, f.label), t.Others || !own
		for _, g := range f.gaps {
			list := &g.of.Finds
			switch {
			case g.is.Outcome == NotChecked:
				g.of.Undoubted++
				list = &g.of.Doubtful
			case g.is.Unread:
				g.of.Unread--
				list = &g.of.Worded
			}
			if g.of == f.last {
				g.of.Last--
			}
			if g.is.Outcome == Lacking {
				g.of.Unasked++
			}
			if at := slices.Index(g.of.Found, f.label); at >= 0 {
				g.of.Found, g.of.Stands = slices.Delete(g.of.Found, at, at+1), slices.Delete(g.of.Stands, at, at+1)
			}
			*list = slices.DeleteFunc(*list, func(label string) bool { return label == f.label })
		}
	}
	t.sent = nil
}
