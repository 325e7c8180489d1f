package validate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var depthRules = []*Rule{depthImplausible, depthsFarApart, smallAndDeep,
	belowPloughDepth, deeperThanAgreed, depthUnitSuspect}

var depthImplausible = &Rule{
	Kind: kinds.DepthImplausible,
	Check: func(c *Case, say Say) {
		if implausible(c) {
			say("/depth", fmt.Sprintf("it is deeper than %d cm", c.Settings.HandDug))
		}
	},
}

// implausible reports whether depth-implausible has spoken, so that other rules of depth keep quiet.
func implausible(c *Case) bool {
	if c.Find.Depth == nil {
		return false
	}
	deep, ok := least(&c.Find.Depth.Quantity)
	return ok && deep > float64(c.Settings.HandDug)
}

// guessAndMeasure returns the detector's guess and a depth that was measured, from depth and
// otherDepths.
func guessAndMeasure(f *find.Find) (guess, measured *find.Depth) {
	for i := -1; i < len(f.OtherDepths); i++ {
		d := f.Depth
		if i >= 0 {
			d = &f.OtherDepths[i]
		}
		if d == nil || !d.HasValue() {
			continue
		}
		switch rank := rankOfBasis(d.Basis); {
		case d.Basis.Is("signal-guess"):
			if guess == nil {
				guess = d
			}
		case rank > 0 && rank <= rankMeasured:
			if measured == nil || rank < rankOfBasis(measured.Basis) {
				measured = d
			}
		}
	}
	return guess, measured
}

// rankMeasured is the last rank of the ways to know a depth that are measuring: marks on a tool.
const rankMeasured = 4

// explained reports whether the object lay deeper than guessed and is larger than a coin, which explains
// the guess.
func explained(c *Case, guess, measured *find.Depth) bool {
	low, ok1 := least(&measured.Quantity)
	high, ok2 := most(&guess.Quantity)
	return ok1 && ok2 && low > high && largerThan(c.Find, float64(c.Settings.CoinSize))
}

// sayDepthNotBest is the part of depthsFarApart of which the last sentences of its condition speak.
func sayDepthNotBest(c *Case, say Say) {
	f := c.Find
	if f.Depth == nil || len(f.OtherDepths) == 0 {
		return
	}
	main := rankOfBasis(f.Depth.Basis)
	if main == 0 || !f.Depth.HasValue() {
		return
	}
	for i := range f.OtherDepths {
		d := &f.OtherDepths[i]
		if rank := rankOfBasis(d.Basis); d.HasValue() && d.Why == "" && rank > 0 && rank < main {
			say("/depth", fmt.Sprintf("it goes by %s, while another depth goes by %s, which is better known",
				f.Depth.Basis.Code, d.Basis.Code))
			return
		}
	}
}

var depthsFarApart = &Rule{
	Kind: kinds.DepthsDisagree,
	Check: func(c *Case, say Say) {
		sayDepthNotBest(c, say)
		if len(c.Find.OtherDepths) == 0 {
			return
		}
		guess, measured := guessAndMeasure(c.Find)
		if guess == nil || measured == nil || explained(c, guess, measured) {
			return
		}
		if overTwice(guess, measured) || overTwice(measured, guess) {
			say("/otherDepths", "the detector's guess and the measured depth differ by more than a factor of two")
		}
	},
}

// overTwice reports whether a is surely more than twice b.
func overTwice(a, b *find.Depth) bool {
	low, ok1 := least(&a.Quantity)
	high, ok2 := most(&b.Quantity)
	return ok1 && ok2 && low > 2*high
}

// sides returns the quantities of length, width, height, thickness and diameter, some of them nil.
func sides(f *find.Find) [5]*find.Quantity {
	if f.Dimensions == nil {
		return [5]*find.Quantity{}
	}
	d := f.Dimensions
	return [5]*find.Quantity{d.Length, d.Diameter, d.Width, d.Height, d.Thickness}
}

// largerThan reports whether some side is surely longer than so many mm.
func largerThan(f *find.Find, mm float64) bool {
	for _, q := range sides(f) {
		if low, ok := least(q); ok && low > mm {
			return true
		}
	}
	return false
}

// smallerThan reports whether the object is surely smaller than so many mm, and whether that is known.
func smallerThan(f *find.Find, mm float64) (small, known bool) {
	s := sides(f)
	for i, q := range s {
		high, ok := most(q)
		if ok && high >= mm {
			return false, true
		}
		known = known || ok && i < 2 // length or diameter: the longest side
	}
	return known, known
}

var smallAndDeep = &Rule{
	Kind: kinds.SmallAndDeep,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Depth == nil || implausible(c) {
			return
		}
		deep, ok := least(&f.Depth.Quantity)
		if !ok || deep <= float64(c.Settings.SignalDepth) || moved(c) || isLot(f) {
			return
		}
		tell := func(cm, mm float64) {
			size := ""
			if mm > 0 {
				size = fmt.Sprintf(", and smaller than %s mm", figure(mm))
			}
			say("/depth", fmt.Sprintf("deeper than %s%s; a detector hardly finds such a thing there", inUnitOf(f.Depth.Said, cm),
				size))
		}
		const largeSize, largeDepth, lightThing = 150, 100, 500
		small, known := smallerThan(f, float64(c.Settings.CoinSize))
		if small {
			tell(float64(c.Settings.SignalDepth), float64(c.Settings.CoinSize))
		} else if row, _ := c.thing(); !known && deep > largeDepth &&
			(row != nil && row.Most > 0 && row.Most <= lightThing || ofSmallKind(f)) {
			tell(largeDepth, 0)
		} else if !known {
			c.NotChecked()
		} else if small, _ = smallerThan(f, largeSize); small && deep > largeDepth {
			tell(largeDepth, largeSize)
		}
	},
}

// ofSmallKind reports whether a find is of a class of small things, by its class, else by its name or a word of it.
func ofSmallKind(f *find.Find) bool {
	if class := classOf(f); class != "" {
		return theTables().in("small", class)
	}
	return slices.ContainsFunc(append(strings.Fields(f.Name), f.Name), func(w string) bool {
		m, ok := vocabulary.Get("object-class").Match(w)
		return ok && theTables().in("small", m.Code)
	})
}

// moved reports whether the record explains a depth from which no signal would come: moved soil, ground
// cut by a machine, or another object in the same hole.
func moved(c *Case) bool {
	f := c.Find
	if f.Depth.Basis.Is("spoil-heap") || f.Layer.Is("spoil", "made-ground") || f.Depth.Surface.Is("stripped-surface",
		"site-datum") ||
		c.Permission != nil && c.Permission.LandUse.Is("stripped-topsoil", "building-ground", "spoil-heap") {
		return true
	}
	for i := range f.Associated {
		if f.Associated[i].Relation.Is("same-hole", "touching") {
			return true
		}
	}
	return f.PartOf != ""
}

// inUnitOf writes centimetres in the unit in which a depth was written: inches and feet as such.
func inUnitOf(said string, cm float64) string {
	switch said {
	case "in", "ft":
		return figure(math.Round(cm/2.54*2)/2) + " in"
	}
	return figure(cm) + " cm"
}

var belowPloughDepth = &Rule{
	Kind: kinds.BelowPloughDepth,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Layer.Is("subsoil", "feature-fill", "buried-soil") {
			say("/layer", "this layer lies below the ploughsoil")
			return
		}
		if f.Depth == nil || !f.Depth.HasValue() || f.Layer.Is("ploughsoil", "topsoil", "turf", "spoil", "surface",
			"within-plough-depth") ||
			f.Depth.Basis.Is("spoil-heap", "signal-guess", "layer-only") || f.Generalised["/depth"] != "" || implausible(c) {
			return
		}
		plough, known := ploughDepth(c)
		if !known {
			c.NotChecked()
			return
		}
		surely, ok := least(&f.Depth.Quantity)
		switch high := f.Depth.Max; {
		case ok && surely > plough:
			say("/depth", fmt.Sprintf("from below the ploughing, which goes down to %s here",
				inUnitOf(f.Depth.Said, plough)))
		case high.Known() && high.Float()-f.Depth.Resolution.Float() > plough:
			say("/depth", fmt.Sprintf("perhaps from below the ploughing, which goes down to %s here",
				inUnitOf(f.Depth.Said, plough)))
		case !high.Known() || high.Float() > plough:
			c.NotChecked()
		}
	},
}

// ploughDepth returns how deep the ground is ploughed, in cm; false where it is not ploughed or
// nothing is known of it.
func ploughDepth(c *Case) (float64, bool) {
	p := c.Permission
	switch {
	case p == nil:
	case p.PloughDepth.HasValue():
		return p.PloughDepth.Max.Float(), p.PloughDepth.Max.Known() // at least 40 cm: nobody knows how deep
	case p.LandUse.Is("arable", "arable-ploughed", "arable-drilled", "arable-rolled", "stubble"):
		return float64(c.Settings.PloughDepth), true
	}
	return 0, false
}

var deeperThanAgreed = &Rule{
	Kind: kinds.DeeperThanAgreed,
	Check: func(c *Case, say Say) {
		f := c.Find
		if c.Permission == nil || !c.Permission.MaxDepth.HasValue() || f.Depth == nil || f.Depth.Basis.Is("spoil-heap",
			"signal-guess") ||
			f.Lifted == "none" || implausible(c) {
			return
		}
		limit := c.Permission.MaxDepth.Max
		if !limit.Known() {
			limit = c.Permission.MaxDepth.Min
		}
		deep, ok := least(&f.Depth.Quantity)
		high, okHigh := most(&f.Depth.Quantity)
		switch {
		case ok && deep > limit.Float():
			say("/depth", fmt.Sprintf("it lay deeper than %s cm, the greatest depth that was agreed", limit))
		case f.Depth.HasValue() && (!okHigh || high > limit.Float()):
			c.NotChecked() // it may have been deeper, or not
		}
	},
}

// steps counts the depths of a log that are whole multiples of a step, and how many different
// ones there are among them, as far as three.
type steps struct {
	all, whole int
	values     [3]quantity.Decimal
	different  int
}

func (g *steps) see(d quantity.Decimal, step quantity.Decimal) {
	g.all++
	if d%step != 0 {
		return
	}
	g.whole++
	if g.different == len(g.values) {
		return
	}
	for _, v := range g.values[:g.different] {
		if v == d {
			return
		}
	}
	g.values[g.different] = d
	g.different++
}

// suspicious reports whether there are enough depths, that every one is a multiple of the step, and that
// they are not always the same one.
func (g *steps) suspicious(c *Case) bool {
	return g.all >= c.Settings.LogDepths && g.whole == g.all && g.different >= 3
}

// inch in cm, and what is looked for in its multiples.
const (
	inch     = 2_540_000_000
	fiveInch = 5 * inch
)

// eachEnd calls see with the two ends of each depth that is above zero; an end that is the same
// as the other is seen once.
func eachEnd(f *find.Find, see func(d *find.Depth, end quantity.Decimal)) {
	for i := -1; i < len(f.OtherDepths); i++ {
		d := f.Depth
		if i >= 0 {
			d = &f.OtherDepths[i]
		}
		if d == nil {
			continue
		}
		if d.Min.Known() && d.Min.Decimal() > 0 {
			see(d, d.Min.Decimal())
		}
		if d.Max.Known() && d.Max.Decimal() > 0 && d.Max != d.Min {
			see(d, d.Max.Decimal())
		}
	}
}

var depthUnitSuspect = &Rule{
	Kind: kinds.DepthUnitSuspect,
	Across: func() Across {
		var metric, imperial steps
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				eachEnd(c.Find, func(d *find.Depth, end quantity.Decimal) {
					switch d.Said {
					case "", "cm", "mm", "m":
						metric.see(end, inch)
					case "in":
						imperial.see(end, fiveInch)
					}
				})
			},
			End: func(c *Case, say SayOf) {
				if metric.suspicious(c) {
					say(reportRef, "/finds", "every depth that was stated in centimetres is a whole number of inches")
				}
				if imperial.suspicious(c) {
					say(reportRef, "/finds",
						"every depth that was stated in inches is 5, 10, 15, 20 or so, as people round centimetres")
				}
			},
		}
	},
}
