package profile

import (
	"math"
	"slices"
	"strings"
)

// MostPlaces is how many finds a tally names for each ask.
const MostPlaces = 10

// Tally counts what the asks of one profile came to over many finds.
type Tally struct {
	Profile *Effective
	Finds   int // all that were seen
	Covered int // of them, those that the profile does not surely leave out
	Good    int // of those, the ones that lack nothing that must be given, as far as all was checked
	Untold  int // neither good nor lacking: something could not be checked
	Asks    []Count
	Outside []string // the first finds that it surely leaves out
	Doubts  Count    // of which it cannot be told whether it leaves them out: Untold, Doubtful and Undoubted
	Wanting []string // members that would tell
	Alone   []string // the first finds that nobody is to touch, of which something is not asked for that
	Stale   bool     // the day that counts as today is none of those on which it is to be used
}

// Count is what one ask came to.
type Count struct {
	Asked    int
	Lacking  int
	Untold   int
	Unspoken int // of Lacking, those of which nothing else speaks
	// Spared for safety: of Lacking and of Untold, those of finds that nobody is to touch. Nobody is sent back to them.
	Unasked, Undoubted int
	Unread             int      // of Lacking, those that have it in words that could not be read
	Worded             []string // the first of them
	Places             []string // the first finds that lack it
	Doubtful           []string // the first finds of which it is not checked
	Unsure             uint64   // for want of which of Ask.Needs: a bit each, and WhenUnsure
	Waived             int      // finds for which a waiver made a difference
	Spared             []string // the first of them
}

// WhenUnsure is a bit of Count.Unsure: of a find it could not be told whether it is asked at all.
const WhenUnsure = 1 << 63

// Of returns what an ask came to. Of one of which a share of the finds will do, Lacking is how many more of them are to
// have it, and Untold how many of those may have it.
func (t *Tally) Of(i int) Count {
	n, share := t.Asks[i], t.Profile.Asks[i].Share
	if share == 0 {
		return n
	}
	short := max(int(math.Ceil(float64(n.Asked)*share/100))-(n.Asked-n.Lacking-n.Untold), 0)
	n.Untold = min(n.Untold, short)
	n.Lacking = short - n.Untold
	n.Unasked = max(n.Lacking-(t.Asks[i].Lacking-n.Unasked), 0)
	n.Unspoken, n.Places, n.Unread, n.Worded, n.Undoubted = 0, nil, 0, nil, min(n.Undoubted, n.Untold)
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
	t.Finds++
	if covered == No {
		t.Outside = few(t.Outside, label)
		return false
	}
	t.Covered++
	if covered == Untold {
		t.doubt(j, profile, label)
	}
	good, told := true, covered == Yes
	for i, o := range j.Outcomes[profile] {
		n := &t.Asks[i]
		must := t.Profile.Asks[i].Strength == Must && t.Profile.Asks[i].Share == 0
		alone := j.Alone && t.Profile.Asks[i].handles()
		switch o {
		case NotAsked:
			continue
		case Waived:
			n.Waived++
			n.Spared = few(n.Spared, label)
			continue
		case Lacking:
			n.Lacking++
			good = good && !must
			switch {
			case alone:
				n.Unasked++
				t.leave(label)
			case j.Unread[profile][i]:
				n.Unread++
				n.Worded = few(n.Worded, label)
			default:
				n.Places = few(n.Places, label)
			}
		case NotChecked:
			n.Untold++
			told = told && !must
			if alone {
				n.Undoubted++
				t.leave(label)
				break
			}
			n.Unsure |= j.Unsure[profile][i]
			n.Doubtful = few(n.Doubtful, label)
		}
		n.Asked++
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

// doubt counts a find of which it cannot be told whether the profile leaves it out.
func (t *Tally) doubt(j *Judgement, profile int, label string) {
	t.Doubts.Untold++
	if j.Alone {
		t.Doubts.Undoubted++
		t.leave(label)
		return
	}
	t.Doubts.Doubtful = few(t.Doubts.Doubtful, label)
	for _, pointer := range j.Doubts[profile] {
		if !slices.Contains(t.Wanting, pointer) {
			t.Wanting = append(t.Wanting, pointer)
		}
	}
}

// leave names a find that is to be left as it is.
func (t *Tally) leave(label string) {
	if !slices.Contains(t.Alone, label) {
		t.Alone = few(t.Alone, label)
	}
}

// fromAfar are what can be told of a find without going back to it, by the first token of the member.
var fromAfar = []string{"number", "name", "objectClass", "kind", "found", "place", "permission", "finder", "identification",
	"notified", "description", "notes"}

// handles reports whether nobody can answer an ask but by going back to the find, or with it in hand.
func (a *Ask) handles() bool {
	return a.Strength != Never && !slices.ContainsFunc(a.Ask.Members(), func(pointer string) bool {
		first, _, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
		return slices.Contains(fromAfar, first)
	})
}

// few adds a find to those that are named, while they are few.
func few(list []string, label string) []string {
	if len(list) < MostPlaces {
		list = append(list, label)
	}
	return list
}
