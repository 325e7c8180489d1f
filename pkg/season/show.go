package season

import (
	"cmp"
	"slices"
)

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
