package intake

import (
	"slices"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

// Besides are what tables and maps show beside the ids of a find, so that whoever has nothing else knows what these are
// called. They say nothing of the find.
func Besides() []Named { return besides }

// Named is the name of what an id stands for.
type Named struct {
	Field, Name string                                  // the flat name of the id, and of what it is called
	Text        func(r *find.Report, id string) *string // nil where the id is of nothing
}

var besides = []Named{
	{"finder", "finder.name", func(r *find.Report, id string) *string {
		if p := r.Person(id); p != nil {
			return &p.Name
		}
		return nil
	}},
	{"finder", "finder.handle", func(r *find.Report, id string) *string {
		if p := r.Person(id); p != nil {
			return &p.Handle
		}
		return nil
	}},
	{"permission", "permission.place.name", func(r *find.Report, id string) *string {
		p := r.Permission(id)
		if p == nil {
			return nil
		}
		if p.Place == nil {
			return new(string)
		}
		return &p.Place.Name
	}},
}

// Of returns what the id of a find is called, empty if that is not known.
func (n Named) Of(f *find.Find, r *find.Report) string {
	id := f.Finder
	if n.Field == "permission" {
		id = f.Permission
	}
	if text := n.Text(r, id); text != nil {
		return *text
	}
	return ""
}

const firstDay, lastDay = "found.first", "found.last"

// Beside calls each with what a map shows beside the fields of a find: names, and the first and the last day.
func Beside(f *find.Find, r *find.Report, each func(name, text string)) {
	for _, n := range besides {
		if text := n.Of(f, r); text != "" {
			each(n.Name, text)
		}
	}
	first, last := Days(f)
	if first != "" {
		each(firstDay, first)
	}
	if last != "" {
		each(lastDay, last)
	}
}

// isBeside reports whether a property is one of these.
func isBeside(name string) bool {
	return name == firstDay || name == lastDay ||
		slices.ContainsFunc(besides, func(n Named) bool { return n.Name == name })
}

// Days returns the first and the last day on which a find may have been made, empty where there is none. A year that
// is not of four digits, or is 0, is none: few programs take it for a date.
func Days(f *find.Find) (first, last string) {
	if f.Found == nil || f.Found.Date == "" {
		return "", ""
	}
	d, err := edtf.Parse(f.Found.Date)
	if err != nil {
		return "", ""
	}
	from, to, openFrom, openTo := d.Span()
	if !openFrom && from.Year > 0 && from.Year <= 9999 {
		first = from.String()
	}
	if !openTo && to.Year > 0 && to.Year <= 9999 {
		last = to.String()
	}
	return first, last
}
