package pipeline

import (
	"slices"
	"sort"

	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
)

// Document returns the outcome as the renderers show it. Files are named without their folders.
func (r *Result) Document(tool string, o Options) render.Document {
	d := render.Document{Tool: tool, AsOf: o.Read.AsOf.String(), Finds: r.Summary.Finds, Met: map[string]int{},
		NotChecked: r.Summary.NotChecked, Notices: slices.Clone(r.Notices), Accepted: slices.Clone(r.Accepted),
		Deadlines: slices.Clone(r.Summary.Deadlines),
		Truncated: r.Truncated, Seen: []render.Seen{r.Seen}, Language: o.Language}
	if o.Level != validate.NoLevel {
		d.Level = o.Level.String()
	}
	for l, n := range r.Summary.Met {
		d.Met[l.String()] = n
	}
	for pointer, n := range r.Summary.Missing {
		d.Missing = append(d.Missing, render.Lack{Pointer: pointer, Title: validate.MissingTitle(pointer), Finds: n})
	}
	sort.Slice(d.Missing, func(i, j int) bool {
		a, b := d.Missing[i], d.Missing[j]
		return a.Finds > b.Finds || a.Finds == b.Finds && a.Pointer < b.Pointer
	})
	for i := range d.Notices {
		d.Notices[i].File = baseOf(d.Notices[i].File)
	}
	if r.Truncated {
		d.Groups = r.Groups
	}
	d.Seen[0].File = baseOf(r.Seen.File)
	for i := range d.Accepted {
		d.Accepted[i].File = baseOf(d.Accepted[i].File)
	}
	for i := range d.Deadlines {
		d.Deadlines[i].File = baseOf(d.Deadlines[i].File)
	}
	return d
}

func baseOf(name string) string {
	if name == "" {
		return ""
	}
	return Base(name)
}
