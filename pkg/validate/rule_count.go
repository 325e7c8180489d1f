package validate

import (
	"fmt"
	"math"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var countRules = []*Rule{kindUnlikeCount, lotSumDiffers, severalNotCounted}

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
			r, err := readAgain(f.Count, "", c.Report.Language)
			if quantity.IsVague(err) || err == nil && r.Min.Known && r.Min.Value.Float() > 1 {
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
		if f.Lifted != "none" && found.last.Compare(c.AsOf) < 0 && !isWaste(f) {
			say("/count", "there is a word in place of a number; roughly how many?")
		}
	},
}

// isWaste reports whether a find is of a class that nobody counts, by its class, else by its name.
func isWaste(f *find.Find) bool {
	class := classOf(f)
	if m, ok := vocabulary.Get("object-class").Match(f.Name); class == "" && ok {
		class = m.Code
	}
	return theTables().in("waste", class)
}
