package validate

import (
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
)

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

// suspicious tells that there are enough depths, that every one is a multiple of the step, and that
// they are not always the same one.
func (g *steps) suspicious(c *Case) bool {
	return g.all >= c.Settings.LogDepths && g.whole == g.all && g.different >= 3
}

// inch in cm, and what is looked for in its multiples.
const (
	inch      = 2_540_000_000
	twoInches = 2 * inch
	fiveInch  = 5 * inch
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
	// When: Looked at are `min` and `max`, if above zero and not the same, of `depth` and `otherDepths` of all
	// finds. Of those whose `said` is missing, `cm`, `mm` or `m` there are at least `log-depths`, with at least three
	// different values, and each is a whole multiple of 2.54 cm. Or the same of those whose `said` is `in` and
	// multiples of 12.7 cm. At the report, at `/finds`.
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
					say(reportRef, "/finds", "every depth that was stated in inches is 5, 10, 15, 20 or so, as people round centimetres")
				}
			},
		}
	},
}

var tapeDepthsEven = &Rule{
	Kind: kinds.TapeDepthsEven,
	// When: As in `depth-unit-suspect`, of the depths with the basis `tape-measured`: all have `in` as `said`, and
	// each is a whole multiple of 5.08 cm. At the report, at `/finds`.
	Across: func() Across {
		var tape steps
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				eachEnd(c.Find, func(d *find.Depth, end quantity.Decimal) {
					if d.Basis.Is("tape-measured") {
						if d.Said == "in" {
							tape.see(end, twoInches)
						} else {
							tape.all++
						}
					}
				})
			},
			End: func(c *Case, say SayOf) {
				if tape.suspicious(c) {
					say(reportRef, "/finds", "every depth that was measured with a tape is a whole number of two inches")
				}
			},
		}
	},
}
