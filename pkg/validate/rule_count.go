package validate

import (
	"fmt"
	"hash/maphash"
	"math"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var countRules = []*Rule{kindUnlikeCount, lotSumDiffers, lotAtPoint, lotHoldsSpecial,
	severalNotCounted,
	partOutsideLot}

var kindUnlikeCount = &Rule{
	Kind: kinds.KindUnlikeCount,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Count == nil {
			return
		}
		low, high := f.Count.Min, f.Count.Max
		switch {
		case f.Kind == "lot" && high.Known() && high.Int() <= 1:
			say("/count", fmt.Sprintf("the record is a lot, but its count is %s", high))
		case f.Kind == "single" && low.Known() && low.Int() > 1:
			say("/count", fmt.Sprintf("the record is one object, but its count is %s", interval(bound(low), bound(high), "")))
		case f.Kind == "single" && !f.Count.HasValue() && f.Count.Verbatim != "":
			if r, err := readAgain(f.Count, "", c.Report.Language); err == nil && r.Min.Known && r.Min.Value.Float() > 1 {
				say("/count", fmt.Sprintf("the record is one object, but its count is %q", clip(f.Count.Verbatim)))
			}
		}
	},
}

// A sum adds up quantities as intervals. It is open above as soon as one of them is.
type sum struct {
	low, high float64
	open      bool
}

func (s *sum) add(q *find.Quantity) {
	if !q.HasValue() {
		s.open = true
		return
	}
	s.low += q.Min.Float()
	s.high += q.Max.Float()
	s.open = s.open || !q.Max.Known()
}

// misses reports whether the sum cannot be what the quantity says, even if it is off by slack.
func (s *sum) misses(q *find.Quantity, slack float64) bool {
	return q.Max.Known() && s.low > q.Max.Float()+slack || !s.open && q.Min.Known() && s.high < q.Min.Float()-slack
}

var lotSumDiffers = &Rule{
	Kind: kinds.LotSumDiffers,
	Check: func(c *Case, say Say) {
		sayLotWeightDiffers(c, say)
		f := c.Find
		if f.Lot == nil || !f.Count.HasValue() {
			return
		}
		var groups sum
		counted := false
		for i := range f.Lot.Breakdown {
			groups.add(f.Lot.Breakdown[i].Count)
			counted = counted || f.Lot.Breakdown[i].Count.HasValue()
		}
		if counted && groups.misses(f.Count, 0) {
			say("/lot/breakdown", fmt.Sprintf("the groups add up to %s, the count is %s", groups,
				interval(bound(f.Count.Min), bound(f.Count.Max), "")))
		}
		if kept, discarded := f.Lot.Kept, f.Lot.Discarded; kept.Known() && discarded.Known() {
			both := sum{low: kept.Float() + discarded.Float(), high: kept.Float() + discarded.Float()}
			if both.misses(f.Count, 0) {
				say("/lot", fmt.Sprintf("kept and discarded are %s together, the count is %s", both,
					interval(bound(f.Count.Min), bound(f.Count.Max), "")))
			}
		}
	},
}

// String writes the sum as people say it.
func (s sum) String() string {
	switch {
	case s.open:
		return figure(s.low) + " or more"
	case s.low == s.high:
		return figure(s.low)
	}
	return figure(s.low) + " to " + figure(s.high)
}

// sayLotWeightDiffers is the part of lotSumDiffers of which the last sentences of its condition speak.
func sayLotWeightDiffers(c *Case, say Say) {
	f := c.Find
	if f.Lot == nil || len(f.Lot.Breakdown) == 0 || !f.Weight.HasValue() {
		return
	}
	var parts sum
	for i := range f.Lot.Breakdown {
		if !f.Lot.Breakdown[i].Weight.HasValue() {
			return // not all groups were weighed
		}
		parts.add(f.Lot.Breakdown[i].Weight)
	}
	whole := math.Max(f.Weight.Min.Float(), f.Weight.Max.Float())
	if parts.misses(f.Weight, math.Max(whole*c.Settings.LotPercent/100, c.Settings.LotGrams)) {
		say("/weight", fmt.Sprintf("the groups weigh %s g together, the lot %s", parts,
			interval(bound(f.Weight.Min), bound(f.Weight.Max), "g")))
	}
}

var lotAtPoint = &Rule{
	Kind: kinds.LotAtPoint,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Kind != "lot" || f.Lot == nil || !f.Lot.Rule.Is("same-field", "same-outing", "same-kind") {
			return
		}
		_, ok := pointOf(f.Position)
		if ok && f.Position.Area == nil && !f.Position.Method.Is("field-centroid") && f.Generalised["/position"] == "" &&
			f.Position.Uncertainty.Known() && f.Position.Uncertainty.Float() < float64(c.Settings.FieldRadius) {
			say("/position", fmt.Sprintf("the objects come from a whole field, but the position is a point known to %s m",
				f.Position.Uncertainty))
		}
	},
}

var lotHoldsSpecial = &Rule{
	Kind: kinds.LotHoldsSpecial,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Kind != "lot" || f.Lot == nil {
			return
		}
		groups := f.Lot.Breakdown
		if len(groups) < 2 || theTables().in("coin", classOf(f)) {
			return
		}
		special, first := 0, 0
		for i := range groups {
			if specialGroup(&groups[i]) {
				if special == 0 {
					first = i
				}
				special++
			}
		}
		if special > 0 && special < len(groups) {
			say(fmt.Sprintf("/lot/breakdown/%d", first),
				"this group wants a record of its own: the lot holds other things beside it")
		}
	},
}

// specialGroup reports whether a group of a lot is of coins, precious metal or ammunition.
func specialGroup(g *find.Breakdown) bool {
	t := theTables()
	if g.Material != nil && g.Material.Certainty != "unlikely" && t.in("material-precious", g.Material.Code) {
		return true
	}
	m, ok := vocabulary.Get("object-class").Match(g.Name)
	return ok && (t.in("coin", m.Code) || m.Code == "explosive" || m.Code == "cartridge")
}

var severalNotCounted = &Rule{
	Kind: kinds.SeveralNotCounted,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Count == nil || f.Count.Max.Known() || f.Count.Verbatim == "" && !f.Count.Min.Known() {
			return
		}
		found, ok := foundSpan(f)
		if !ok || c.AsOf.IsZero() {
			c.NotChecked()
			return
		}
		if f.Lifted != "none" && found.last.Compare(c.AsOf) < 0 {
			say("/count", "the day of finding is over, and there is still no number")
		}
	},
}

var partOutsideLot = &Rule{
	Kind:   kinds.PartOutsideLot,
	Across: newPartsOfLots,
}

// lotGround is what is remembered of a lot: its days and, where it has one, its outline or circle.
type lotGround struct {
	days    span
	dated   bool
	area    coordinate.Area
	point   coordinate.Point
	radius  float64
	located bool
}

// lotPart is what is remembered of a part until all lots have been seen.
type lotPart struct {
	lot    uint64
	ref    Ref
	days   span
	dated  bool
	point  coordinate.Point
	radius float64
	placed bool
}

func newPartsOfLots() Across {
	seed := maphash.MakeSeed()
	lots := map[uint64]lotGround{}
	var parts []lotPart
	return Across{
		Find: func(c *Case, ref Ref, say Say) {
			f := c.Find
			if f.PartOf != "" {
				p := lotPart{lot: maphash.String(seed, f.PartOf), ref: ref}
				p.days, p.dated = foundSpan(f)
				if p.point, p.placed = pointOf(f.Position); p.placed {
					p.radius, _ = radiusOf(f.Position)
				}
				parts = append(parts, p)
			}
			if f.Kind == "lot" {
				g := lotGround{}
				g.days, g.dated = foundSpan(f)
				if f.Position != nil {
					g.area = areaOf(f.Position.Area)
				}
				if g.point, g.located = pointOf(f.Position); g.located {
					g.radius, _ = radiusOf(f.Position)
				}
				lots[maphash.String(seed, f.ID)] = g
			}
		},
		End: func(c *Case, say SayOf) {
			for _, p := range parts {
				g, ok := lots[p.lot]
				if !ok {
					continue // the whole is no lot, or is not in the file
				}
				if p.dated && g.dated && (p.days.last.Compare(g.days.first) < 0 || p.days.first.Compare(g.days.last) > 0) {
					say(p.ref, "/found/date", "the lot that this is a part of was found on another day")
				}
				switch {
				case !p.placed:
				case !g.area.IsZero():
					if g.area.Contains(p.point, p.radius) == coordinate.Outside {
						say(p.ref, "/position", "it lies outside the outline of the lot that it is a part of")
					}
				case g.located && apart(p.point, g.point) > p.radius+g.radius+1:
					say(p.ref, "/position", "it lies outside the circle of the lot that it is a part of")
				}
			}
		},
	}
}
