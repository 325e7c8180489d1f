package validate

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// jurisdictionOf returns the code of the law that a find stands under, as far as it is stated: that
// of the permission, else the country of a place. Empty where nothing is stated.
func jurisdictionOf(c *Case) string {
	if p := c.Permission; p != nil {
		if j := jurisdictionOfPermission(p); j != "" {
			return j
		}
	}
	if c.Find != nil && c.Find.Place != nil {
		if country := c.Find.Place.Country; country != "" {
			return country
		}
	}
	if c.run == nil || c.run.jurisdiction == "" || c.Find != nil && liesElsewhere(c) {
		return ""
	}
	return c.run.jurisdiction
}

// liesElsewhere reports whether the position of a find lies in none of what a profile takes for the country.
func liesElsewhere(c *Case) bool {
	in, _ := countriesOf(c)
	return len(in) > 0 && !slices.ContainsFunc(in, func(code string) bool {
		return strings.HasPrefix(code+"-", c.run.jurisdiction+"-") || strings.HasPrefix(c.run.jurisdiction+"-", code+"-")
	})
}

func jurisdictionOfPermission(p *find.Permission) string {
	if p.Jurisdiction == "" && p.Place != nil {
		return p.Place.Country
	}
	return p.Jurisdiction
}

// olderThan reports whether the object was so many years old when it was found. An age that may be
// either, because the dating is a span or of use or loss, cannot be told.
func olderThan(c *Case, years int) law.Answer {
	found, ok := c.found()
	if !ok {
		return law.CannotTell
	}
	return madeBefore(c, found.last.Year-years+1)
}

// madeBefore reports whether the object was made before an astronomical year.
func madeBefore(c *Case, year int) law.Answer {
	d := c.Find.Dating
	if d == nil {
		return law.CannotTell
	}
	y := c.years()
	switch {
	case y.hasTo && y.to < year:
		return law.Yes // made, used or lost before it: made before it
	case ofMaking(d) && y.hasFrom && y.from >= year:
		return law.No
	}
	return law.CannotTell
}

// dated reports whether the record says anything of the age that could decide.
func dated(c *Case) bool {
	y := c.years()
	return y.hasFrom || y.hasTo
}

// precious reports whether a tenth or more of the weight is gold or silver: surely not for plating.
func precious(f *find.Find) law.Answer {
	t := theTables()
	if len(f.Materials) == 0 {
		return law.CannotTell
	}
	result := law.No
	for i := range f.Materials {
		m := &f.Materials[i]
		if m.Certainty == "unlikely" {
			continue
		}
		switch {
		case t.in("material-precious", m.Code) && i == 0 && m.Certainty != "possible":
			return law.Yes
		case t.in("material-precious", m.Code), t.in("material-perhaps-precious", m.Code):
			result = law.CannotTell // a small part of it may be less than a tenth
		case m.Code == "metal-unknown" || m.Code == "unknown" || m.Code == "":
			result = law.CannotTell
		}
	}
	return result
}

// precious reports the same of the find.
func (c *Case) precious() law.Answer {
	is, _ := c.facts.precious.get(func() (law.Answer, bool) { return precious(c.Find), true })
	return *is
}

// anyPrecious reports whether any part, even a coating, is of gold or silver.
func anyPrecious(f *find.Find) bool {
	t := theTables()
	for i := range f.Materials {
		if m := &f.Materials[i]; m.Certainty != "unlikely" &&
			(t.in("material-precious", m.Code) || t.in("material-perhaps-precious", m.Code)) {
			return true
		}
	}
	coated := func(term find.Term) bool {
		return term.Is("gilded", "silvered") || t.in("material-precious", term.Code)
	}
	return slices.ContainsFunc(f.Coating, coated) || slices.ContainsFunc(f.Technique, coated)
}

// ofMetal reports whether the main material is a metal.
func ofMetal(f *find.Find) bool { return theTables().in("material-metal", material(f)) }

// prehistoric reports whether the object is of the Iron Age or earlier.
func prehistoric(c *Case, before int) law.Answer {
	f := c.Find
	if f.Dating == nil {
		return law.CannotTell
	}
	if p := f.Dating.Period; p != nil {
		words := theTables().law.Prehistoric
		id := strings.ToLower(p.ID[strings.LastIndexByte(p.ID, '/')+1:])
		label := strings.ToLower(p.Label)
		for _, w := range words {
			if id == w || label == w || len(w) > 3 && strings.Contains(label, w) {
				return law.Yes
			}
		}
	}
	return madeBefore(c, before)
}

// lawRows returns the rows of a rule that hold, or may, where and when the find was made: the law of the day of the
// find is asked, that of any day where the day is not known.
func (c *Case) lawRows(rule string) []law.HeldRow {
	var days span
	if c.Find != nil {
		days, _ = c.found()
	}
	return c.law().On(rule, days.first, days.last)
}

// words writes a row for a message.
func (c *Case) words(r *law.Row) string { return r.Words(c.AsOf) }

// deadlineOf returns the last day of a row's time limit, counted from the day after the find; false
// where the row has none or the day of finding is not known.
func deadlineOf(r *law.Row, c *Case) (edtf.Day, bool) {
	found, ok := c.found()
	days, counted := r.Days()
	if !ok || !counted {
		return edtf.Day{}, false
	}
	day, one := found.oneDay()
	return day.AddDays(days), one
}

// CountryArea returns the box around a jurisdiction, an ISO 3166-1 or 3166-2 code: of the part where the table has it,
// else of the country. It holds more than the land, so it can tell that a place is not there, and never that it is.
func CountryArea(jurisdiction string) (coordinate.Area, bool) { return country.Area(jurisdiction) }
