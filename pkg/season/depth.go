package season

import (
	"cmp"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Depth is how deep things lay, by groups of materials.
type Depth struct {
	Groups  []DepthGroup `json:"groups"`
	Plough  []Plough     `json:"plough"`
	Open    int          `json:"openEnds"`    // depths with an open end, which are left out
	Guessed int          `json:"onlyGuessed"` // depths that only the detector guessed, which are left out
	Missing int          `json:"missing"`     // finds without a depth that could be read
}

// DepthGroup are the depths of finds of one group of materials. The figures are of the middles of what was noted;
// quartiles by linear interpolation between order statistics, as most programs do by default (type 7 of Hyndman and
// Fan 1996).
type DepthGroup struct {
	Material string      `json:"material"`
	Depths   []DepthFind `json:"depths"`
	Lowest   float64     `json:"shallowest"`
	Quarter  float64     `json:"lowerQuartile"`
	Median   float64     `json:"median"`
	Third    float64     `json:"upperQuartile"`
	Deepest  float64     `json:"deepest"`
	Below    int         `json:"belowPlough"` // surely below the depth of ploughing of their field
	Known    int         `json:"ploughKnown"` // finds of fields of which that is known
}

// DepthFind is the depth of one find.
type DepthFind struct {
	Find string  `json:"find,omitempty"` // none to show
	Min  float64 `json:"min"`
	Max  float64 `json:"max"`
	Mid  float64 `json:"mid"`
}

// Plough is how deep a field is ploughed.
type Plough struct {
	Field string  `json:"field"`
	Depth float64 `json:"depth"`
}

// span is a closed interval and its most likely value.
type span struct{ low, high, mid float64 }

// closed returns what was stated as an interval; an open end makes it none.
func closed(q *find.Quantity) (span, bool) {
	if q == nil || !q.Min.Known() || !q.Max.Known() {
		return span{}, false
	}
	s := span{low: q.Min.Float(), high: q.Max.Float()}
	s.mid = (s.low + s.high) / 2
	if q.Best.Known() {
		s.mid = q.Best.Float()
	}
	return s, true
}

// signal reports whether a depth is the guess of the detector.
func signal(d *find.Depth) bool { return d.Basis != nil && d.Basis.Code == "signal-guess" }

func (w *work) depths() {
	w.Depth = Depth{Groups: []DepthGroup{}, Plough: []Plough{}}
	groups := map[string]*DepthGroup{}
	for _, f := range w.finds {
		d := f.Find.Depth
		if d == nil || !d.HasValue() {
			w.Depth.Missing++
			continue
		}
		plough, known := w.plough(f)
		s, ok := closed(&d.Quantity)
		switch {
		case signal(d):
			w.Depth.Guessed++
			continue
		case !ok:
			w.Depth.Open++
			continue
		}
		name := share.Family(f.Find, w.Language)
		g := groups[name]
		if g == nil {
			g = &DepthGroup{Material: name}
			groups[name] = g
		}
		g.Depths = append(g.Depths, DepthFind{label(f.Find), tenthousandth(s.low), tenthousandth(s.high),
			tenthousandth(s.mid)})
		if known {
			g.Known++
			g.Below += b2i(s.low > plough+tolerance)
		}
	}
	for _, g := range groups {
		g.summarise()
		w.Depth.Groups = append(w.Depth.Groups, *g)
	}
	slices.SortFunc(w.Depth.Groups, func(a, b DepthGroup) int {
		return cmp.Or(cmp.Compare(b2i(a.Material == ""), b2i(b.Material == "")),
			cmp.Compare(len(b.Depths), len(a.Depths)), cmp.Compare(a.Material, b.Material))
	})
}

func (g *DepthGroup) summarise() {
	values := make([]float64, len(g.Depths))
	for i, d := range g.Depths {
		values[i] = d.Mid
	}
	slices.Sort(values)
	g.Lowest, g.Deepest = values[0], values[len(values)-1]
	g.Quarter, g.Median, g.Third = quantile(values, 0.25), quantile(values, 0.5), quantile(values, 0.75)
}

// plough is how deep the field of a find is ploughed; the line is remembered for the plot.
func (w *work) plough(f one) (depth float64, known bool) {
	p := f.report.Permission(f.Permission)
	if p == nil {
		return 0, false
	}
	s, ok := closed(p.PloughDepth)
	if !ok {
		return 0, false
	}
	line := Plough{f.field, tenthousandth(s.high)}
	if !slices.Contains(w.Depth.Plough, line) {
		w.Depth.Plough = append(w.Depth.Plough, line)
	}
	return s.high, true
}

// tolerance is what two lengths in cm may differ by and still be one: decimals have nine places.
const tolerance = 1e-6

// quantile of sorted values, by linear interpolation of order statistics: type 7 of Hyndman and Fan, Sample
// Quantiles in Statistical Packages, The American Statistician 50 (1996), 361-365.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	low := int(math.Floor(at))
	if low+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return tenthousandth(sorted[low] + (at-float64(low))*(sorted[low+1]-sorted[low]))
}

// tenthousandth rounds what was computed, so that two runs on two machines write the same.
func tenthousandth(v float64) float64 { return math.Round(v*1e4) / 1e4 }

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

func (w *work) guesses() {
	type key struct{ detector, programme string }
	groups := map[key]*Guess{}
	for _, f := range w.finds {
		guess, tape, unsaid := twoDepths(f.Find)
		if guess == nil || tape == nil {
			w.GuessOnly += b2i(guess != nil && unsaid)
			continue
		}
		g, okG := closed(&guess.Quantity)
		t, okT := closed(&tape.Quantity)
		if !okG || !okT {
			w.GuessOpen++
			continue
		}
		k := key{f.column(heading.TripModel), f.column(heading.TripSetting)}
		if o := f.report.Outing(f.Outing); o != nil && o.Detector != nil {
			k = key{render.Clean(o.Detector.Model), render.Clean(o.Detector.Programme)}
		}
		if groups[k] == nil {
			groups[k] = &Guess{Detector: k.detector, Programme: k.programme}
		}
		pair := PairFind{Find: label(f.Find), Guess: tenthousandth(g.mid), Measured: tenthousandth(t.mid),
			Verdict: verdict(widened(t, tape), widened(g, guess)), size: w.size(f.Find), metal: share.Family(f.Find, w.Language)}
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

// twoDepths are the guess of the detector and the measured depth of a find, and whether it has one of which it is not
// said how it is known.
func twoDepths(f *find.Find) (guess, tape *find.Depth, unsaid bool) {
	all := []*find.Depth{}
	if f.Depth != nil {
		all = append(all, f.Depth)
	}
	for i := range f.OtherDepths {
		all = append(all, &f.OtherDepths[i])
	}
	for _, d := range all {
		switch {
		case !d.HasValue():
		case d.Basis == nil:
			unsaid = true
		case signal(d) && guess == nil:
			guess = d
		case slices.Contains(measured, d.Basis.Code) && tape == nil:
			tape = d
		}
	}
	return guess, tape, unsaid
}

// widened is an interval with half the step that it was stated in to either side: 8 in may have been anything that
// is nearer to 8 than to 7 or 9.
func widened(s span, d *find.Depth) span {
	half := d.Resolution.Float() / 2
	s.low, s.high = s.low-half, s.high+half
	return s
}

// verdict reports whether what was measured lay deeper than the guess, whatever the two truly were.
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

// mostBest is how many finds are shown.
const mostBest = 10

// Best is one of the finds to show: those that were named, else those of which most is known.
type Best struct {
	Find     string       `json:"find,omitempty"` // none to show
	Name     string       `json:"name"`
	Class    string       `json:"class,omitempty"`
	Material string       `json:"material,omitempty"`
	Age      string       `json:"age,omitempty"`
	Picture  string       `json:"picture,omitempty"` // name of its file
	Shown    template.URL `json:"-"`
}

func (w *work) best() {
	// What a rule of safety stops at is no exhibit, even if it was asked for.
	list := slices.DeleteFunc(slices.Clone(w.finds), func(f one) bool { return w.options.unsafe[f.ID] })
	if w.chosen = len(w.options.Best) > 0; w.chosen {
		asked := func(f one) int { // by the finder's number, else name
			return slices.Index(w.options.Best, cmp.Or(w.options.labels[f.ID], f.Number, f.Name))
		}
		list = slices.DeleteFunc(list, func(f one) bool { return asked(f) < 0 })
		slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(asked(a), asked(b)) })
	} else {
		list = slices.DeleteFunc(list, func(f one) bool { return unidentified(f.Find) })
		slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(w.known(b.Find), w.known(a.Find)) })
		list = spread(list)
	}
	for _, f := range list[:min(len(list), mostBest)] {
		b := Best{Find: render.Clean(f.Number), Name: render.Clean(f.Name), Class: w.class(f.Find),
			Material: w.material(f.Find)}
		b.Age = w.toldAge(f.Find)
		for _, m := range f.Media {
			if data := w.options.Pictures[m.File]; data != "" {
				b.Picture, b.Shown = m.File, data
				break
			}
			b.Picture = cmp.Or(b.Picture, m.File)
		}
		b.Name = cmp.Or(b.Name, b.Class, b.Material)
		w.Best = append(w.Best, b)
	}
}

// known counts what is known of a find; a picture that can be shown counts most.
func (w *work) known(f *find.Find) (n int) {
	for _, m := range f.Media {
		n = max(n, 2)
		if w.options.Pictures[m.File] != "" {
			n = 8
		}
	}
	_, age, _ := w.age(f)
	n += b2i(classCode(f) != "") + b2i(len(f.Materials) > 0) + b2i(age < 1e300) + b2i(len(f.Marks) > 0)
	if c := f.Condition; c != nil && c.Completeness != nil && c.Completeness.Code == "complete" {
		n++
	}
	if i := f.Identification; i != nil && i.Certainty == "certain" {
		n++
	}
	return n
}

// spread puts the second find of a class behind the first of the others, so that ten buttons do not fill a page.
func spread(list []one) []one {
	seen := map[string]int{}
	turn := make(map[*find.Find]int, len(list))
	for _, f := range list {
		turn[f.Find] = seen[classCode(f.Find)] / 2
		seen[classCode(f.Find)]++
	}
	slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(turn[a.Find], turn[b.Find]) })
	return list
}

// unidentified reports whether nobody has said what a find is, or somebody asks.
func unidentified(f *find.Find) bool {
	class := classCode(f)
	return f.Question != "" || class == "unidentified" || class == "unknown" ||
		class == "" && f.Identification == nil && f.Type == "" && f.Name == ""
}

// open lists what waits for somebody: time limits, things that are away, things that nobody has named.
func (w *work) open() {
	for _, d := range w.options.Due {
		if w.options.Year != "" && !slices.ContainsFunc(w.finds, func(f one) bool { return label(f.Find) == d.Find }) {
			continue
		}
		w.Open = append(w.Open, d)
	}
	for _, f := range w.finds {
		for i := range f.Notified {
			n := &f.Notified[i]
			counted := slices.ContainsFunc(w.options.Due,
				func(d Open) bool { return d.Find == label(f.Find) && d.Day == n.Deadline })
			if pending(n) && !counted {
				w.Open = append(w.Open, Open{Kind: "due", Find: label(f.Find), Name: render.Clean(f.Name), Day: n.Deadline,
					Text: w.label("notification-status", n.Status), Past: n.Deadline != "" && n.Deadline < w.options.Day})
			}
		}
		if d := f.Disposition; d != nil && slices.Contains([]string{"lent-for-identification", "lodged-with-recorder"},
			d.Code) {
			w.Open = append(w.Open, Open{Kind: "lent", Find: label(f.Find), Name: render.Clean(f.Name),
				Text: w.label("disposition", d)})
		}
		// A copy that withholds names and numbers leaves nothing that could be named.
		if unidentified(f.Find) && !w.options.unsafe[f.ID] && (w.options.Places || f.Question != "" || f.Name != "") {
			w.Open = append(w.Open, Open{Kind: "unidentified", Find: label(f.Find), Name: render.Clean(f.Name),
				Text: render.Clean(f.Question)})
		}
	}
	order := []string{"due", "lent", "unidentified"}
	slices.SortStableFunc(w.Open, func(a, b Open) int {
		return cmp.Or(cmp.Compare(slices.Index(order, a.Kind), slices.Index(order, b.Kind)), cmp.Compare(a.Day, b.Day))
	})
}

// pending reports whether a notice to somebody was not given yet.
func pending(n *find.Notified) bool {
	if n.Status == nil || n.Status.Code == "" {
		return n.On == "" && n.Deadline != ""
	}
	return strings.HasPrefix(n.Status.Code, "not-sent") || n.Status.Code == "open"
}

// label puts a term: the label of its code, else its words.
func (w *work) label(list string, t *find.Term) string {
	if t == nil {
		return ""
	}
	if c, ok := vocabulary.Get(list).Concept(t.Code); ok {
		return c.Label(w.Language)
	}
	return render.Clean(t.Text())
}
