package profile

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
	Asked    int
	Lacking  int
	Untold   int
	Unspoken int      // of Lacking, those of which nothing else speaks
	Places   []string // the first finds that lack it
	Doubtful []string // the first finds of which it is not checked
	Unsure   uint64   // for want of which of Ask.Needs: a bit each
}

// NewTally returns an empty tally of a profile.
func NewTally(e *Effective) *Tally { return &Tally{Profile: e, Asks: make([]Count, len(e.Asks))} }

// Add counts one find, and reports whether it is good.
func (t *Tally) Add(j *Judgement, profile int, label string) bool {
	covered := j.Covered[profile]
	t.Finds++
	if covered == No {
		return false
	}
	t.Covered++
	good, told := true, covered == Yes
	for i, o := range j.Outcomes[profile] {
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
			}
		case NotChecked:
			n.Untold++
			n.Unsure |= j.Unsure[profile][i]
			if len(n.Doubtful) < MostPlaces {
				n.Doubtful = append(n.Doubtful, label)
			}
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
