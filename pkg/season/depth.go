package season

import (
	"cmp"
	"math"
	"slices"

	"github.com/findslip/findslip/pkg/find"
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
		name := w.family(f.Find)
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
