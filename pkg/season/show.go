package season

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/share"
)

// Band is how many finds of one group of materials lay between two depths in cm; the last has no end.
type Band struct {
	Material string  `json:"material"`
	From     float64 `json:"from"`
	To       float64 `json:"to,omitzero"`
	Finds    int     `json:"finds"`
}

// Trust is how far a detector was out: mean and spread of the measured depth less the guess, in cm, and the share of
// pairs that lay surely deeper.
type Trust struct {
	Detector string  `json:"detector"`
	Pairs    int     `json:"count"`
	Mean     float64 `json:"meanDifference"`
	Spread   float64 `json:"spread"`
	Deeper   float64 `json:"shareDeeper"`
}

// leastShown is how many finds a sum to show is of at the least; mostBands how many bands of depth a material has.
const leastShown, mostBands = 3, 11

// bandStep is the height of a band in cm: 5, or 2 in.
func bandStep(unit string) float64 {
	if unit == "in" {
		return 2 * 2.54
	}
	return 5
}

// source is a log with the copy that was made of it.
type source struct {
	report *find.Report
	copied *share.Copied
}

// figures adds the sums of the logs to a season to show. They are of the finds of the copies; days, depths, fields and
// outings, which the copies do not tell, are used to count and go no further.
func (m *Made) figures(ctx context.Context, copies []*find.Report, so Options) error {
	var reports []*find.Report
	for i, c := range copies {
		own, mine := m.sources[i].report, map[string]*find.Find{}
		for _, f := range own.Finds {
			mine[f.ID] = f
		}
		r := &find.Report{Outings: own.Outings, Permissions: own.Permissions}
		for _, copied := range c.Finds {
			id := m.sources[i].copied.Back[copied.ID]
			from := mine[id]
			if from == nil {
				continue
			}
			f := *copied
			if f.Found != nil { // where a policy withholds even the quarter, no month is told
				f.Found = from.Found
			}
			f.Place, f.Permission, f.Outing, f.Depth, f.OtherDepths = nil, from.Permission, from.Outing, from.Depth,
				from.OtherDepths
			r.Finds = append(r.Finds, &f)
			delete(mine, id)
		}
		reports, so.held = append(reports, r), append(so.held, slices.Collect(maps.Values(mine)))
	}
	f := Make(reports, so)
	f.Totals.Finds, f.Totals.Objects = m.Totals.Finds, m.Totals.Objects
	m.Totals, m.Months, m.Outings, m.Unit = f.Totals, f.Months, []Outing{}, f.Unit
	m.First, m.Last = monthOf(f.First), monthOf(f.Last)
	m.bands(f.Depth)
	return m.trust(ctx, f.Guesses)
}

// bands counts depths by bands, for materials of which there are enough. Plough lines are laid to the edge of a band.
func (m *Made) bands(d Depth) {
	step := bandStep(m.Unit)
	m.Depth = Depth{Groups: []DepthGroup{}, Plough: []Plough{}}
	for _, g := range d.Groups {
		if len(g.Depths) < leastShown {
			continue
		}
		counts := make([]int, min(int((g.Deepest+tolerance)/step)+1, mostBands))
		for _, one := range g.Depths {
			counts[min(int((one.Mid+tolerance)/step), mostBands-1)]++
		}
		for i, n := range counts {
			b := Band{g.Material, tenthousandth(float64(i) * step), tenthousandth(float64(i+1) * step), n}
			if i == mostBands-1 {
				b.To = 0
			}
			m.Bands = append(m.Bands, b)
		}
	}
	for _, l := range d.Plough {
		l = Plough{Depth: tenthousandth(math.Round(l.Depth/step) * step)}
		if len(m.Bands) > 0 && !slices.Contains(m.Depth.Plough, l) {
			m.Depth.Plough = append(m.Depth.Plough, l)
		}
	}
	slices.SortFunc(m.Depth.Plough, func(a, b Plough) int { return cmp.Compare(a.Depth, b.Depth) })
}

// trust sums up what detectors guessed. One whose name tells something of a log has a number in place of it.
func (m *Made) trust(ctx context.Context, guesses []Guess) error {
	for _, g := range guesses {
		if g.Pairs < leastShown {
			continue
		}
		name := strings.TrimSuffix(g.Detector+", "+g.Programme, ", ")
		data, err := json.Marshal(map[string]string{"detector": name})
		if err != nil {
			return err
		}
		for _, s := range m.sources {
			looked, err := share.Leaks(ctx, data, s.report, s.copied, share.Public, limit.Limits{})
			if err != nil {
				return err
			}
			if len(looked.Leaks)+len(looked.Unread) > 0 {
				name = wordsOf(m.Language).say("detectorN", "n", itoa(len(m.Trust)+1))
			}
		}
		m.Trust = append(m.Trust, Trust{name, g.Pairs, g.Mean, g.Spread, hundredth(float64(g.Deeper) / float64(g.Pairs))})
	}
	return nil
}

// anonymous takes out of a season to show what ties a figure to one find: numbers and days, and the order, which
// follows them.
func (w *work) anonymous() {
	for i := range w.Best {
		w.Best[i].Find = ""
	}
	if len(w.options.Best) == 0 {
		slices.SortFunc(w.Best, func(a, b Best) int {
			return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Material, b.Material), cmp.Compare(a.Age, b.Age),
				cmp.Compare(a.Picture, b.Picture))
		})
	}
	for i := range w.Open {
		w.Open[i].Find, w.Open[i].Day = "", ""
	}
	w.Open = slices.DeleteFunc(w.Open, func(o Open) bool { return o.Name == "" })
	slices.SortStableFunc(w.Open, func(a, b Open) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Name, b.Name))
	})
}
