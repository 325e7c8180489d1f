package validate

import (
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// facts are what several rules ask of one find. Each is worked out when it is first asked for, by a method of Case.
type facts struct {
	found    once[span]
	years    once[years]
	placed   once[placement]
	spoken   once[spoken]
	thing    once[int] // place in schema/data/things.json
	readings once[quirk]
	codes    once[[]oddCode]
	law      *law.Place
}

// once is an answer that may not have been worked out yet.
type once[T any] struct {
	value T
	ok    bool
	asked bool
}

// get returns the answer, asking for it the first time.
func (o *once[T]) get(ask func() (T, bool)) (*T, bool) {
	if !o.asked {
		o.value, o.ok = ask()
		o.asked = true
	}
	return &o.value, o.ok
}

// found returns the days on which the find may have been made.
func (c *Case) found() (span, bool) {
	s, ok := c.facts.found.get(func() (span, bool) { return foundSpan(c.Find) })
	return *s, ok
}

// years returns the years of the dating of the find.
func (c *Case) years() *years {
	y, _ := c.facts.years.get(func() (years, bool) { return yearsOf(c.Find.Dating), true })
	return y
}

// law returns the law of the place of the find.
func (c *Case) law() *law.Place {
	if c.facts.law == nil {
		c.facts.law = theTables().law.Of(jurisdictionOf(c))
	}
	return c.facts.law
}

// frame is what the finds of one run have in common.
type frame struct {
	report      *find.Report
	outings     map[string]*find.Outing
	permissions map[string]*find.Permission
	people      map[string]*find.Person
	sites       sites
	mostPicture int64 // bytes that are read of one picture
	// jurisdiction is what a profile takes where the log names none.
	jurisdiction string
}

func newFrame(r *find.Report, mostPicture int64) *frame {
	f := &frame{report: r, outings: make(map[string]*find.Outing, len(r.Outings)),
		permissions: make(map[string]*find.Permission, len(r.Permissions)),
		people:      make(map[string]*find.Person, len(r.People)),
		sites:       newSites(r), mostPicture: mostPicture}
	for i := range r.Outings { // of two with one id the first counts
		if o := &r.Outings[i]; f.outings[o.ID] == nil {
			f.outings[o.ID] = o
		}
	}
	for i := range r.Permissions {
		if p := &r.Permissions[i]; f.permissions[p.ID] == nil {
			f.permissions[p.ID] = p
		}
	}
	for i := range r.People {
		if p := &r.People[i]; f.people[p.ID] == nil {
			f.people[p.ID] = p
		}
	}
	return f
}

// set gives a case its outing and its permission: the one that the find names, else that of its outing.
func (f *frame) set(c *Case) {
	c.Outing = f.outings[c.Find.Outing]
	id := c.Find.Permission
	if id == "" && f.permissions[""] == nil && c.Outing != nil {
		id = c.Outing.Permission
	}
	c.Permission = f.permissions[id]
}
