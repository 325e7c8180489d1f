package validate

import (
	"github.com/findslip/findslip/pkg/find"
)

// Facts are what several rules ask of one find, or of the outing and the permission that it names. They
// are worked out when they are first asked for.

// once is an answer that may not have been worked out yet.
type once[T any] struct {
	value T
	ok    bool
	asked bool
}

// facts are those of one find.
type facts struct {
	found    once[span]
	recorded once[moment]
	years    once[years]
	quirks   once[quirk]
	law      *placeLaw
}

// found returns the days on which the find may have been made.
func (c *Case) found() (span, bool) {
	o := &c.facts.found
	if !o.asked {
		o.value, o.ok = foundSpan(c.Find)
		o.asked = true
	}
	return o.value, o.ok
}

// recordedAt returns when the find was written down.
func (c *Case) recordedAt() (moment, bool) {
	o := &c.facts.recorded
	if !o.asked {
		if r := c.Find.Recorded; r != nil {
			o.value, o.ok = momentOf(r.At)
		}
		o.asked = true
	}
	return o.value, o.ok
}

// years returns the years of the dating of the find.
func (c *Case) years() *years {
	o := &c.facts.years
	if !o.asked {
		o.value = yearsOf(c.Find.Dating)
		o.asked = true
	}
	return &o.value
}

// law returns the law of the place of the find.
func (c *Case) law() *placeLaw {
	if c.facts.law == nil {
		c.facts.law = theTables().law.of(jurisdictionOf(c))
	}
	return c.facts.law
}

// outingFacts are those of one outing.
type outingFacts struct {
	outing     *find.Outing
	day        moment
	dated      bool
	start, end moment
	timed      bool // both start and end are given
}

func newOutingFacts(o *find.Outing) *outingFacts {
	f := &outingFacts{outing: o}
	f.day, f.dated = momentOf(o.Date)
	f.start, f.end, f.timed = outingHours(o)
	return f
}

// outing returns the facts of the outing of the find; it has one.
func (c *Case) outing() *outingFacts {
	if c.ofOuting == nil || c.ofOuting.outing != c.Outing {
		c.ofOuting = newOutingFacts(c.Outing)
	}
	return c.ofOuting
}

// permission returns the facts of the permission of the find; it has one.
func (c *Case) permission() *permissionFacts {
	if c.ofPermission == nil || c.ofPermission.permission != c.Permission {
		c.ofPermission = newPermissionFacts(c.Permission)
	}
	return c.ofPermission
}

// permissionFacts are those of one permission.
type permissionFacts struct {
	permission *find.Permission
	from, to   moment
	hasFrom    bool
	hasTo      bool
}

func newPermissionFacts(p *find.Permission) *permissionFacts {
	f := &permissionFacts{permission: p}
	f.from, f.hasFrom = momentOf(p.ValidFrom)
	f.to, f.hasTo = momentOf(p.ValidTo)
	return f
}

// frames are the outings and permissions of one run, by id; of two with one id the first counts.
type frames struct {
	outings     map[string]*outingFacts
	permissions map[string]*permissionFacts
}

func newFrames(r *find.Report) frames {
	f := frames{make(map[string]*outingFacts, len(r.Outings)), make(map[string]*permissionFacts, len(r.Permissions))}
	for i := range r.Outings {
		if o := &r.Outings[i]; f.outings[o.ID] == nil {
			f.outings[o.ID] = newOutingFacts(o)
		}
	}
	for i := range r.Permissions {
		if p := &r.Permissions[i]; f.permissions[p.ID] == nil {
			f.permissions[p.ID] = newPermissionFacts(p)
		}
	}
	return f
}

// set gives a case its outing and its permission: the one that the find names, else that of its outing.
func (f *frames) set(c *Case) {
	if c.ofOuting = f.outings[c.Find.Outing]; c.ofOuting != nil {
		c.Outing = c.ofOuting.outing
	}
	id := c.Find.Permission
	if id == "" && f.permissions[""] == nil && c.Outing != nil {
		id = c.Outing.Permission
	}
	if c.ofPermission = f.permissions[id]; c.ofPermission != nil {
		c.Permission = c.ofPermission.permission
	}
}
