package validate

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/memo"
)

// lawTable is schema/data/law.json: what the law of a place and common safety practice may ask.
type lawTable struct {
	Checked     string              `json:"checked"`     // the day on which the rows were read
	Groups      map[string][]string `json:"groups"`      // EU to its members
	Parts       map[string][]string `json:"parts"`       // a country to the parts that have laws of their own
	Prehistoric []string            `json:"prehistoric"` // labels and ids of periods, lower case
	Rows        []lawRow            `json:"rows"`

	rules  map[string][]*lawRow            // by what they ask
	found  *memo.Memo[string, *lawRow]     // rows by place and rule
	places *memo.Memo[struct{}, *placeLaw] // all that is asked often, by place
}

// lawRow is one thing that may apply in some places.
type lawRow struct {
	ID            string   `json:"id"`
	Jurisdictions []string `json:"jurisdictions"`
	Topic         string   `json:"topic"`
	Rule          string   `json:"rule"`
	Deadline      string   `json:"deadline"`
	Source        string   `json:"source"`
	Verified      string   `json:"verified"`
	Caution       string   `json:"caution"`
	Applies       struct {
		Rule     string `json:"rule"`
		MinAge   int    `json:"minAge"`
		Before   int    `json:"before"`
		Least    int    `json:"least"`
		Precious bool   `json:"precious"`
		Days     int    `json:"days"`
		Since    string `json:"since"`
	} `json:"applies"`
}

func readLaw() (lawTable, error) {
	t, err := readTable[lawTable]("law")
	t.rules = map[string][]*lawRow{}
	for i := range t.Rows {
		r := &t.Rows[i]
		t.rules[r.Applies.Rule] = append(t.rules[r.Applies.Rule], r)
	}
	return t, err
}

// inGroup tells whether a country belongs to a group of countries.
func (t *lawTable) inGroup(group, country string) bool {
	return slices.Contains(t.Groups[group], country)
}

// jurisdictionOf returns the code of the law that a find stands under, as far as it is stated: that
// of the permission, else the country of a place. Empty where nothing is stated.
func jurisdictionOf(c *Case) string {
	if p := c.Permission; p != nil {
		if j := jurisdictionOfPermission(p); j != "" {
			return j
		}
	}
	if c.Find != nil && c.Find.Place != nil {
		return c.Find.Place.Country
	}
	return ""
}

func jurisdictionOfPermission(p *find.Permission) string {
	if p.Jurisdiction == "" && p.Place != nil {
		return p.Place.Country
	}
	return p.Jurisdiction
}

// countryOf returns the country of a find, as two letters, as far as it is stated.
func countryOf(c *Case) string {
	country, _, _ := strings.Cut(jurisdictionOf(c), "-")
	return country
}

// holds tells whether a row holds in a place. A row for a country holds in its parts; whether a row
// for a part holds cannot be told where only the country, or a district of it, is stated.
func (t *lawTable) holds(r *lawRow, place string) answer {
	if place == "" {
		return no
	}
	country, _, _ := strings.Cut(place, "-")
	part := slices.Contains(t.Parts[country], place)
	result := no
	for _, j := range r.Jurisdictions {
		switch {
		case j == place, j == country, t.inGroup(j, country):
			return yes
		case !part && len(j) > len(country) && j[:len(country)] == country && j[len(country)] == '-':
			result = cannotTell
		}
	}
	return result
}

// reaches tells whether a row holds in a place or may hold there.
func (t *lawTable) reaches(r *lawRow, place string) bool { return t.holds(r, place) != no }

// row returns the first row of a rule that may hold in a place, and the one for anywhere (ZZ) if
// there is no other.
func (t *lawTable) row(rule, place string) *lawRow {
	if t.found == nil {
		return t.rowOf(rule, place)
	}
	return t.found.Of(memo.Key[string]{Text: place, With: rule})
}

func (t *lawTable) rowOf(rule, place string) *lawRow {
	var anywhere *lawRow
	for _, r := range t.rules[rule] {
		if t.reaches(r, place) {
			return r
		}
		if slices.Contains(r.Jurisdictions, "ZZ") && anywhere == nil {
			anywhere = r
		}
	}
	return anywhere
}

// known tells whether there is any row of law for a place, beyond what holds anywhere.
func (t *lawTable) known(place string) bool {
	for i := range t.Rows {
		r := &t.Rows[i]
		if r.Topic != "explosives" && !slices.Contains(r.Jurisdictions, "ZZ") && !slices.Contains(r.Jurisdictions, "EU") && t.reaches(r, place) {
			return true
		}
	}
	return false
}

// words writes a row for a message: what may apply, where it is written, what was seen of it, and
// whom to ask.
func (r *lawRow) words() string {
	s := r.Rule
	if r.Deadline != "" {
		s += " Time: " + r.Deadline + "."
	}
	return s + " Source: " + r.source() + ". " + r.Caution
}

// source names where a row is written, and what of it was not seen.
func (r *lawRow) source() string {
	if r.Verified == "stored copy seen" {
		return r.Source
	}
	return r.Source + " (" + r.Verified + ")"
}

// answer is yes, no, or that the record does not tell.
type answer uint8

// The answers. The zero value is that it cannot be told.
const (
	cannotTell answer = iota
	no
	yes
)

// olderThan tells whether the object was so many years old when it was found. An age that may be
// either, because the dating is a span or of use or loss, cannot be told.
func olderThan(c *Case, years int) answer {
	found, ok := c.found()
	if !ok {
		return cannotTell
	}
	return madeBefore(c, found.last.Year-years+1)
}

// madeBefore tells whether the object was made before an astronomical year.
func madeBefore(c *Case, year int) answer {
	d := c.Find.Dating
	if d == nil {
		return cannotTell
	}
	y := c.years()
	switch {
	case y.hasTo && y.to < year:
		return yes // made, used or lost before it: made before it
	case ofMaking(d) && y.hasFrom && y.from >= year:
		return no
	}
	return cannotTell
}

// dated tells that the record says anything of the age that could decide.
func dated(c *Case) bool {
	y := c.years()
	return y.hasFrom || y.hasTo
}

// precious tells whether a tenth or more of the weight is gold or silver: surely not for plating.
func precious(f *find.Find) answer {
	t := theTables()
	if len(f.Materials) == 0 {
		return cannotTell
	}
	result := no
	for i := range f.Materials {
		m := &f.Materials[i]
		if m.Certainty == "unlikely" {
			continue
		}
		switch {
		case t.in("material-precious", m.Code) && i == 0 && m.Certainty != "possible":
			return yes
		case t.in("material-precious", m.Code), t.in("material-perhaps-precious", m.Code):
			result = cannotTell // a small part of it may be less than a tenth
		case m.Code == "metal-unknown" || m.Code == "unknown" || m.Code == "":
			result = cannotTell
		}
	}
	return result
}

// anyPrecious tells whether any part, even a coating, is of gold or silver.
func anyPrecious(f *find.Find) bool {
	t := theTables()
	for i := range f.Materials {
		if m := &f.Materials[i]; m.Certainty != "unlikely" && (t.in("material-precious", m.Code) || t.in("material-perhaps-precious", m.Code)) {
			return true
		}
	}
	coated := func(term find.Term) bool {
		return term.Is("gilded", "silvered") || t.in("material-precious", term.Code)
	}
	return slices.ContainsFunc(f.Coating, coated) || slices.ContainsFunc(f.Technique, coated)
}

// ofMetal tells that the main material is a metal.
func ofMetal(f *find.Find) bool { return theTables().in("material-metal", material(f)) }

// prehistoric tells whether the object is of the Iron Age or earlier.
func prehistoric(c *Case, before int) answer {
	f := c.Find
	if f.Dating == nil {
		return cannotTell
	}
	if p := f.Dating.Period; p != nil {
		words := theTables().law.Prehistoric
		id := strings.ToLower(p.ID[strings.LastIndexByte(p.ID, '/')+1:])
		label := strings.ToLower(p.Label)
		for _, w := range words {
			if id == w || label == w || len(w) > 3 && strings.Contains(label, w) {
				return yes
			}
		}
	}
	return madeBefore(c, before)
}

// deadline returns the last day of a row's time limit, counted from the day after the find; false
// where the row has none or the day of finding is not known.
func (r *lawRow) deadline(c *Case) (edtf.Day, bool) {
	found, ok := c.found()
	if !ok || r.Applies.Days == 0 {
		return edtf.Day{}, false
	}
	day, one := found.oneDay()
	return day.AddDays(r.Applies.Days), one
}
