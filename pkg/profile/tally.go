package profile

import "slices"

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
}

// Count is what one ask came to.
type Count struct {
	Asked     int
	Lacking   int
	Untold    int
	Unspoken  int      // of Lacking, those of which nothing else speaks
	Places    []string // the first finds that lack it
	Positions []int    // where they stand in the file, from 0
}

// NewTally returns an empty tally of a profile.
func NewTally(e *Effective) *Tally { return &Tally{Profile: e, Asks: make([]Count, len(e.Asks))} }

// Add counts one find, and reports whether it is good.
func (t *Tally) Add(covered Answer, outcomes []Outcome, index int, label string) bool {
	t.Finds++
	if covered == No {
		return false
	}
	t.Covered++
	good, told := true, covered == Yes
	for i, o := range outcomes {
		n := &t.Asks[i]
		must := t.Profile.Asks[i].Strength == Must
		switch o {
		case NotAsked:
			continue
		case Lacking:
			n.Lacking++
			good = good && !must
			if len(n.Places) < MostPlaces {
				n.Places = append(n.Places, label)
				n.Positions = append(n.Positions, index)
			}
		case NotChecked:
			n.Untold++
			told = told && !must
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

// Join adds what another tally of the same profile counted.
func (t *Tally) Join(o *Tally) {
	t.Finds, t.Covered, t.Good, t.Untold = t.Finds+o.Finds, t.Covered+o.Covered, t.Good+o.Good, t.Untold+o.Untold
	for i := range t.Asks {
		a, b := &t.Asks[i], &o.Asks[i]
		a.Asked, a.Lacking, a.Untold, a.Unspoken = a.Asked+b.Asked, a.Lacking+b.Lacking, a.Untold+b.Untold,
			a.Unspoken+b.Unspoken
		more := min(len(b.Places), MostPlaces-len(a.Places))
		a.Places, a.Positions = append(a.Places, b.Places[:more]...), append(a.Positions, b.Positions[:more]...)
	}
}

// Lacks returns the numbers of the asks of a strength that finds lack, those that most lack first.
func (t *Tally) Lacks(s Strength) (out []int) {
	for i, a := range t.Profile.Asks {
		if a.Strength == s && t.Asks[i].Lacking > 0 {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return t.Asks[b].Lacking - t.Asks[a].Lacking })
	return out
}

// Far is how far a log is from being good for a profile: how many asks that must be met are lacking, and how many
// answers would mend them.
func (t *Tally) Far() (asks, answers int) {
	for _, i := range t.Lacks(Must) {
		asks++
		answers += t.Asks[i].Lacking
	}
	return asks, answers
}

// Cheapest returns the number of the ask with which most is won for least: the one that the fewest finds lack. It is
// -1 where nothing is lacking.
func (t *Tally) Cheapest() int {
	lacks := t.Lacks(Must)
	if len(lacks) == 0 {
		return -1
	}
	return lacks[len(lacks)-1]
}
