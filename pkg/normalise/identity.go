package normalise

import (
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// identity gives ids to finds that have none.
type identity struct {
	report string
	seen   map[[3]string]int // unnumbered finds: how many are equal in day, place and name
	told   bool              // that the sheet has no column for numbers, which is said once
}

func newIdentity(r *find.Report) *identity {
	return &identity{report: r.ID, seen: map[[3]string]int{}}
}

// counts reports whether the id of a find depends on the finds before it.
func (i *identity) counts(f *find.Find) bool {
	return f.ID == "" && i.report != "" && find.FoldNumber(f.Number) == ""
}

// give makes the id of a find from its number, else from what is written of it. It comes before
// normalising, so that the words count as they were written. A blank among numbers is said of each find; where a sheet
// has no column for them, that is reported once.
func (i *identity) give(f *find.Find, layout *find.Layout) notice.List {
	if f.ID != "" || i.report == "" {
		return nil
	}
	if find.FoldNumber(f.Number) != "" {
		f.ID = find.FindID(i.report, f.Number)
		return nil
	}
	key := [3]string{foundText(f.Found), placeText(f), f.Name}
	i.seen[key]++
	f.ID = find.UnnumberedFindID(i.report, key[0], key[1], key[2], i.seen[key])
	words := "the find has no number; its id is made from its day, place and name and changes with them"
	if _, column := layout.Column("/number"); layout != nil && !column {
		if i.told {
			return nil
		}
		i.told = true
		words = "there is no column of numbers; the id of each find is made from its day, place and name and changes with them"
	}
	return notice.List{notice.New(numberMissing, "/number", words)}
}

func foundText(d *find.Found) string {
	switch {
	case d == nil:
		return ""
	case d.Verbatim != "":
		return d.Verbatim
	}
	return d.Date
}

func placeText(f *find.Find) string {
	if p := f.Position; p != nil {
		if p.Verbatim != "" {
			return p.Verbatim
		}
		if p.Latitude.Known() {
			return p.Latitude.String() + ", " + p.Longitude.String()
		}
	}
	if p := f.Place; p != nil {
		if p.Verbatim != "" {
			return p.Verbatim
		}
		return p.Name
	}
	return ""
}
