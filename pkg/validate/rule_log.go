package validate

import (
	"bytes"
	"fmt"
	"slices"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

var logRules = []*Rule{leadProjectiles, preciousScatter}

var leadProjectiles = &Rule{
	Kind: kinds.LeadProjectiles,
	// When: The lead projectiles of a permission are at least `lead-handful`. Counted are finds that are not
	// `retracted`, with the class `ball` or `bullet`, which have no `materials` or a first material in the group
	// `material-lead`; each with the `min` of its count, at least 1. At `/permissions/N`.
	Across: func() Across {
		counts := map[*find.Permission]int{}
		return Across{
			Find: func(c *Case, _ Ref, _ Say) {
				if f := c.Find; c.Permission != nil && f.Retracted == nil && leadProjectile(f) {
					counts[c.Permission] += countOf(f)
				}
			},
			End: func(c *Case, say SayOf) {
				for i := range c.Report.Permissions {
					if n := counts[&c.Report.Permissions[i]]; n >= max(c.Settings.LeadHandful, 1) {
						say(reportRef, fmt.Sprintf("/permissions/%d", i), fmt.Sprintf("%d lead projectiles come from here", n))
					}
				}
			},
		}
	},
}

// leadProjectile tells that the find is a ball or bullet and not of another metal than lead.
func leadProjectile(f *find.Find) bool {
	if class := classOf(f); class != "ball" && class != "bullet" {
		return false
	}
	return len(f.Materials) == 0 || theTables().in("material-lead", material(f))
}

var preciousScatter = &Rule{
	Kind: kinds.PreciousScatter,
	// When: Looked at are finds that are not `retracted`, with a class of the group `coin` or a first material of the
	// group `material-precious`, a longitude and latitude, a radius, as in `outside-permission`, of no more than
	// `scatter-metres`, and no mark of `/position` in `generalised`. Distances are taken on a plane: 10,000,000 m / 90
	// for a degree of latitude, and that times the cosine of the latitude of the find for one of longitude. In the
	// order of the file: at least `scatter-finds` of them, itself included, lie within `scatter-metres` of the find,
	// and none of these was already counted in a notice. One notice a group, at `/position` of that find.
	Log: func(c *Case, log *Roll, say SayOf) {
		most := float64(c.Settings.ScatterMetres)
		n := newNeighbours(log, most, func(l *line) bool {
			return l.flags&(valuable|hasSpot|isRetracted) == valuable|hasSpot && float64(l.radius) <= most
		})
		told := map[int]bool{}
		for _, i := range n.all {
			near := n.of(i)
			if told[i] || len(near) < c.Settings.ScatterFinds || slices.ContainsFunc(near, func(j int) bool { return told[j] }) {
				continue
			}
			for _, j := range near {
				told[j] = true
			}
			say(log.ref(i), "/position", fmt.Sprintf("%d coins or precious objects lie within %d m of here, this one included",
				len(near), c.Settings.ScatterMetres))
		}
	},
}

var extensionRules = []*Rule{extensionUndeclared}

var extensionUndeclared = &Rule{
	Kind: kinds.ExtensionUndeclared,
	// When: `extensions` of the report or a find has a name that is no `prefix` of `extensionsUsed` of the report. At
	// `/extensions/NAME`.
	Check:  func(c *Case, say Say) { undeclared(c.Report, c.Find.Extensions, say) },
	Header: func(c *Case, say Say) { undeclared(c.Report, c.Report.Extensions, say) },
}

// undeclared says which prefixes of extensions the report does not declare.
func undeclared(r *find.Report, extensions jsontext.Value, say Say) {
	if len(extensions) == 0 {
		return
	}
	dec := jsontext.NewDecoder(bytes.NewReader(extensions))
	if t, err := dec.ReadToken(); err != nil || t.Kind() != '{' {
		return // the schema speaks of that
	}
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return
		}
		prefix := name.String()
		if err := dec.SkipValue(); err != nil {
			return
		}
		if !slices.ContainsFunc(r.ExtensionsUsed, func(u find.ExtensionUse) bool { return u.Prefix == prefix }) {
			say("/extensions/"+notice.Escape(prefix), "extensionsUsed of the report does not have this prefix")
		}
	}
}
