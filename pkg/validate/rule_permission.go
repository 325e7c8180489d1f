package validate

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

var permissionRules = []*Rule{outsidePermissionDates, ownerOrTenantMissing, protectedGround,
	notifiedLate}

var outsidePermissionDates = &Rule{
	Kind: kinds.OutsidePermissionDates,
	Across: func() Across {
		type side struct {
			of   string
			late bool
		}
		outside, dated := map[side][]Ref{}, map[string]int{}
		return Across{
			Find: func(c *Case, ref Ref, _ Say) {
				p := c.Permission
				if p == nil || p.ValidFrom == "" && p.ValidTo == "" {
					return
				}
				found, ok := c.found()
				if !ok {
					c.NotChecked()
					return
				}
				dated[p.ID]++
				from, hasFrom := momentOf(p.ValidFrom)
				to, hasTo := momentOf(p.ValidTo)
				switch {
				case hasFrom && found.last.Compare(from.day) < 0:
					outside[side{p.ID, false}] = append(outside[side{p.ID, false}], ref)
				case hasTo && found.first.Compare(to.day) > 0:
					outside[side{p.ID, true}] = append(outside[side{p.ID, true}], ref)
				case hasFrom && found.first.Compare(from.day) < 0 || hasTo && found.last.Compare(to.day) > 0:
					c.NotChecked() // the date is too coarse to tell
				}
			},
			End: func(c *Case, say SayOf) {
				for i := range c.Report.Permissions {
					for _, late := range [...]bool{false, true} {
						finds := outside[side{c.Report.Permissions[i].ID, late}]
						member, one, all := "validFrom", "the permission named begins after this day",
							"it begins after the day of %d of its finds"
						if late {
							member, one, all = "validTo", "the permission named had ended by this day",
								"it had ended by the day of %d of its finds"
						}
						if len(finds) >= 3 && 2*len(finds) > dated[c.Report.Permissions[i].ID] {
							say(reportRef, fmt.Sprintf("/permissions/%d/%s", i, member), fmt.Sprintf(all, len(finds)))
							continue
						}
						for _, ref := range finds {
							say(ref, "/found/date", one)
						}
					}
				}
			},
		}
	},
}

var ownerOrTenantMissing = &Rule{
	Kind: kinds.OwnerOrTenantMissing,
	Header: func(c *Case, say Say) {
		for i := range c.Report.Permissions {
			p := &c.Report.Permissions[i]
			at := func(member string) string { return fmt.Sprintf("/permissions/%d%s", i, member) }
			switch {
			case p.Basis.Is("oral-tenant"):
				say(at("/basis"), "the tenant alone gave leave; the owner has to agree as well")
			case p.Occupier != "" && p.GrantedBy == "" && !excusedIn(p.Absent, "/grantedBy") &&
				!p.Basis.Is("own-land", "public-body-licence", "heritage-consent", "archaeologist-project", "club-agreement",
					"rally-terms"):
				say(at("/occupier"), "a tenant is named, but not the owner")
			case p.Basis.Is("written-owner-tenant") && p.Occupier == "" && !excusedIn(p.Absent, "/occupier"):
				say(at("/basis"), "owner and tenant have agreed, but the tenant is not named")
			case p.Basis.Is("written-owner", "oral-owner") && grantedByTenant(c.Report, p):
				say(at("/grantedBy"), "whoever gave leave is a tenant by role; the owner has to agree as well")
			}
		}
	},
}

// grantedByTenant reports whether the one who gave permission has the role of an occupier and not that of a
// landowner.
func grantedByTenant(r *find.Report, p *find.Permission) bool {
	person := r.Person(p.GrantedBy)
	if person == nil {
		return false
	}
	tenant := false
	for i := range person.Roles {
		if person.Roles[i].Is("landowner") {
			return false
		}
		tenant = tenant || person.Roles[i].Is("occupier")
	}
	return tenant
}

var protectedGround = &Rule{
	Kind: kinds.ProtectedGround,
	Check: func(c *Case, say Say) {
		p := c.placed()
		if p.impossible {
			return
		}
		if c.Settings.Protected == nil || len(c.Settings.Protected.Areas) == 0 {
			c.NotChecked()
			return
		}
		worst, radius := coordinate.Outside, p.radius+float64(c.Settings.ProtectedBuffer)
		for a := range c.Settings.Protected.near(p.point, radius) {
			switch a.Contains(p.point, radius) {
			case coordinate.Inside:
				worst = coordinate.Inside
			case coordinate.CannotTell:
				if a.Contains(p.point, 0) == coordinate.Inside {
					worst = coordinate.Inside
				} else if worst == coordinate.Outside {
					worst = coordinate.CannotTell
				}
			}
		}
		switch worst {
		case coordinate.Inside:
			say("/position", "the spot lies within a protected area of "+c.Settings.Protected.words()+protectedWords(c))
		case coordinate.CannotTell:
			say("/position", fmt.Sprintf("the spot lies within %s m of a protected area of %s, its own uncertainty counted in%s",
				figure(radius), c.Settings.Protected.words(), protectedWords(c)))
		}
	},
}

// protectedWords is what the law of the place says of protected ground.
func protectedWords(c *Case) (text string) {
	for _, rule := range [...]string{"protected", "licence", "not-remove"} {
		for _, r := range c.lawRows(rule) {
			if r.Holds == law.Yes && r.Applies.Near != "" {
				text += ". " + strings.TrimSuffix(c.words(r.Row), ".")
			}
		}
	}
	return text
}

var notifiedLate = &Rule{
	Kind: kinds.NotifiedLate,
	Check: func(c *Case, say Say) {
		for i := range c.Find.Notified {
			n := &c.Find.Notified[i]
			on, ok1 := momentOf(n.On)
			deadline, ok2 := momentOf(n.Deadline)
			if ok1 && ok2 && on.day.Compare(deadline.day) > 0 {
				say(fmt.Sprintf("/notified/%d/on", i), fmt.Sprintf("%d days after the deadline", daysBetween(deadline.day, on.day)))
			}
		}
	},
}
