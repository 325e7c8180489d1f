package season

import (
	"cmp"
	"math"
	"slices"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
)

// fewPairs is how many pairs a judgement of a detector should have at the least; below, the page says so. A common
// caution, no source.
const fewPairs = 12

// Guess is what one detector, with one programme, guessed beside what was measured. A difference is the measured
// depth less the guess: above zero, the thing lay deeper than the detector said.
type Guess struct {
	Detector  string     `json:"detector"`
	Programme string     `json:"programme"`
	Agreement            // of all pairs
	BySize    []Agree    `json:"bySize"`
	ByMetal   []Agree    `json:"byMetal"`
	Few       bool       `json:"few"` // below twelve pairs, which may be chance
	Points    []PairFind `json:"pairs"`
}

// Agree is the agreement of some of the pairs.
type Agree struct {
	Name string `json:"name"`
	Agreement
}

// Agreement sums up pairs: the mean difference and its spread (the standard deviation with n - 1), and the limits
// of agreement, mean and 1.96 spreads to either side, between which most differences lie where they are spread evenly
// about their mean (Bland and Altman, Lancet 1986; 327: 307-310).
type Agreement struct {
	Pairs     int     `json:"count"`
	Mean      float64 `json:"meanDifference"`
	Median    float64 `json:"medianDifference"`
	Spread    float64 `json:"spread"` // 0 of a single pair
	LimitLow  float64 `json:"lowerLimit"`
	LimitHigh float64 `json:"upperLimit"`
	Deeper    int     `json:"deeper"`    // surely deeper than guessed
	Shallower int     `json:"shallower"` // surely less deep than guessed
	Same      int     `json:"same"`      // the two cannot be told apart, as they were noted
}

// PairFind is one find with both depths.
type PairFind struct {
	Find     string  `json:"find,omitempty"` // none to show
	Guess    float64 `json:"guess"`
	Measured float64 `json:"measured"`
	Verdict  int     `json:"verdict"` // 1 deeper, -1 less deep, 0 cannot be told

	size, metal string
}

// measured are the ways of taking a depth that count as measuring.
var measured = []string{"tape-measured", "level-survey", "rule-on-tool"}

func (w *work) guesses(reports []*find.Report) {
	type key struct{ detector, programme string }
	groups := map[key]*Guess{}
	for _, f := range w.finds {
		guess, tape := twoDepths(f.Find)
		if guess == nil || tape == nil {
			continue
		}
		g, okG := closed(&guess.Quantity)
		t, okT := closed(&tape.Quantity)
		if !okG || !okT {
			w.GuessOpen++
			continue
		}
		var k key
		if o := f.report.Outing(f.Outing); o != nil && o.Detector != nil {
			k = key{render.Clean(o.Detector.Model), render.Clean(o.Detector.Programme)}
		}
		if groups[k] == nil {
			groups[k] = &Guess{Detector: k.detector, Programme: k.programme}
		}
		pair := PairFind{Find: label(f.Find), Guess: tenthousandth(g.mid), Measured: tenthousandth(t.mid),
			Verdict: verdict(widened(t, tape), widened(g, guess)), size: w.size(f.Find), metal: w.family(f.Find)}
		groups[k].Points = append(groups[k].Points, pair)
	}
	for _, g := range groups {
		g.Agreement = agreement(g.Points)
		g.Few = g.Pairs < fewPairs
		g.BySize = split(g.Points, func(p PairFind) string { return p.size })
		g.ByMetal = split(g.Points, func(p PairFind) string { return p.metal })
		w.Guesses = append(w.Guesses, *g)
	}
	slices.SortFunc(w.Guesses, func(a, b Guess) int {
		return cmp.Or(cmp.Compare(b.Pairs, a.Pairs), cmp.Compare(a.Detector, b.Detector),
			cmp.Compare(a.Programme, b.Programme))
	})
}

// twoDepths are the guess of the detector and the measured depth of a find.
func twoDepths(f *find.Find) (guess, tape *find.Depth) {
	all := []*find.Depth{}
	if f.Depth != nil {
		all = append(all, f.Depth)
	}
	for i := range f.OtherDepths {
		all = append(all, &f.OtherDepths[i])
	}
	for _, d := range all {
		switch {
		case !d.HasValue() || d.Basis == nil:
		case signal(d) && guess == nil:
			guess = d
		case slices.Contains(measured, d.Basis.Code) && tape == nil:
			tape = d
		}
	}
	return guess, tape
}

// widened is an interval with half the step that it was stated in to either side: 8 in may have been anything that
// is nearer to 8 than to 7 or 9.
func widened(s span, d *find.Depth) span {
	half := d.Resolution.Float() / 2
	s.low, s.high = s.low-half, s.high+half
	return s
}

// verdict tells whether what was measured lay deeper than the guess, whatever the two truly were.
func verdict(tape, guess span) int {
	switch {
	case math.Abs(tape.mid-guess.mid) < tolerance:
		return 0
	case tape.low >= guess.high-tolerance:
		return 1
	case tape.high <= guess.low+tolerance:
		return -1
	}
	return 0
}

// agreement sums up pairs.
func agreement(pairs []PairFind) (a Agreement) {
	a.Pairs = len(pairs)
	if a.Pairs == 0 {
		return a
	}
	differences := make([]float64, len(pairs))
	sum := 0.0
	for i, p := range pairs {
		differences[i] = p.Measured - p.Guess
		sum += differences[i]
		a.Deeper += b2i(p.Verdict > 0)
		a.Shallower += b2i(p.Verdict < 0)
	}
	a.Same = a.Pairs - a.Deeper - a.Shallower
	mean := sum / float64(a.Pairs)
	squares := 0.0
	for _, d := range differences {
		squares += (d - mean) * (d - mean)
	}
	slices.Sort(differences)
	spread := 0.0
	if a.Pairs > 1 {
		spread = math.Sqrt(squares / float64(a.Pairs-1))
	}
	a.Mean, a.Median, a.Spread = tenthousandth(mean), quantile(differences, 0.5), tenthousandth(spread)
	a.LimitLow, a.LimitHigh = tenthousandth(mean-1.96*spread), tenthousandth(mean+1.96*spread)
	return a
}

// split sums up pairs by a name.
func split(pairs []PairFind, by func(PairFind) string) []Agree {
	groups := map[string][]PairFind{}
	for _, p := range pairs {
		groups[by(p)] = append(groups[by(p)], p)
	}
	out := []Agree{}
	for name, list := range groups {
		out = append(out, Agree{name, agreement(list)})
	}
	slices.SortFunc(out, func(a, b Agree) int {
		return cmp.Or(cmp.Compare(b2i(a.Name == ""), b2i(b.Name == "")), cmp.Compare(b.Pairs, a.Pairs),
			cmp.Compare(a.Name, b.Name))
	})
	return out
}

// size is the class of the longest side of a find: up to 20 mm, up to 50 mm, more.
func (w *work) size(f *find.Find) string {
	if f.Dimensions == nil {
		return ""
	}
	d, longest := f.Dimensions, 0.0
	for _, q := range []*find.Quantity{d.Length, d.Width, d.Height, d.Thickness, d.Diameter} {
		if s, ok := closed(q); ok {
			longest = max(longest, s.mid)
		}
	}
	switch {
	case longest == 0:
		return ""
	case longest <= 20:
		return w.words.say("upTo", "n", "20")
	case longest <= 50:
		return w.words.say("upTo", "n", "50")
	}
	return w.words.say("over", "n", "50")
}
