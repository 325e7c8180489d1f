package season

import (
	"cmp"
	"slices"
)

// anonymous takes out of a season to show what ties a figure to one find: numbers and days, and the order, which
// follows them.
func (w *work) anonymous() {
	w.First, w.Last = monthOf(w.First), monthOf(w.Last)
	for i := range w.Outings {
		w.Outings[i].Day = monthOf(w.Outings[i].Day)
	}
	slices.SortFunc(w.Outings, func(a, b Outing) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Field, b.Field), cmp.Compare(a.Finds, b.Finds),
			cmp.Compare(a.Hours, b.Hours))
	})
	for _, g := range w.Depth.Groups {
		for i := range g.Depths {
			g.Depths[i].Find = ""
		}
		slices.SortFunc(g.Depths, func(a, b DepthFind) int {
			return cmp.Or(cmp.Compare(a.Mid, b.Mid), cmp.Compare(a.Min, b.Min), cmp.Compare(a.Max, b.Max))
		})
	}
	for _, g := range w.Guesses {
		for i := range g.Points {
			g.Points[i].Find = ""
		}
		slices.SortFunc(g.Points, func(a, b PairFind) int {
			return cmp.Or(cmp.Compare(a.Guess, b.Guess), cmp.Compare(a.Measured, b.Measured),
				cmp.Compare(a.Verdict, b.Verdict))
		})
	}
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
