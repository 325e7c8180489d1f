package share

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// land settles which permissions a landowner may see.
func (c *copier) land() error {
	c.own = map[string]bool{}
	if c.o.Audience != Landowner {
		return nil
	}
	ids := c.o.Permissions
	if len(ids) == 0 {
		if len(c.head.Permissions) != 1 {
			return fmt.Errorf("a landowner sees own land only: name the permissions of the land, by id or by the name of the land as the report has it (--permission); %s", c.permissions())
		}
		ids = []string{c.head.Permissions[0].ID}
	}
	for _, id := range ids {
		if c.head.Permission(id) != nil {
			c.own[id] = true
			continue
		}
		found := false
		for i := range c.head.Permissions {
			p := &c.head.Permissions[i]
			if p.Place == nil || p.Place.Name == "" || find.FoldName(p.Place.Name) != find.FoldName(id) {
				continue
			}
			if p.ID == "" || found {
				return fmt.Errorf("more than one permission is for land named %q: name them by id; %s", id, c.permissions())
			}
			c.own[p.ID], found = true, true
		}
		if !found {
			return fmt.Errorf("there is no permission %q in the report, by id or by the name of the land; %s", id,
				c.permissions())
		}
	}
	return nil
}

// permissions says which there are, by id alone.
func (c *copier) permissions() string {
	const most = 8
	var ids []string
	for i := range c.head.Permissions {
		if i == most {
			ids = append(ids, fmt.Sprintf("and %d more", len(c.head.Permissions)-most))
			break
		}
		ids = append(ids, c.head.Permissions[i].ID)
	}
	if len(ids) == 0 {
		return "it has none: a permission ties finds to land, in a column Permission or Field"
	}
	return "it has " + strings.Join(ids, ", ")
}
