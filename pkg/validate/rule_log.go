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

var logRules = []*Rule{leadProjectiles}

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
