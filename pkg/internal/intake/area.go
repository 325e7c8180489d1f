package intake

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
)

// TakeArea makes a permission of a polygon that somebody drew, and puts into it what its texts say
// under the flat names of a permission. Name, if there is one, is that of the place; else a text
// under a heading for a place or a name is. What a permission has no member for is kept among its columns. It
// returns the pointer of the area.
func TakeArea(r *find.Report, name string, texts []Text, shape *find.Area) (pointer string) {
	id := ""
	for n := 1; id == "" || r.Permission(id) != nil; n++ {
		id = fmt.Sprintf("permission-%d", n)
	}
	p := find.Permission{ID: id, Area: shape}
	name = strings.TrimSpace(name)
	for _, t := range texts {
		if t.Text == "" {
			continue
		}
		if path, err := find.PathTo[find.Permission](t.Name); err == nil && t.Name != "id" &&
			find.Set(path, &p, t.Text) == nil {
			continue
		}
		switch heading.Understand(t.Name).Field {
		case "place.name", "permission", "name":
			if text := strings.TrimSpace(t.Text); name == "" || name == text {
				name = text
				continue
			}
		}
		keepIn(&p, t)
	}
	if name != "" && (p.Place == nil || p.Place.Name == "") {
		if p.Place == nil {
			p.Place = new(find.Place)
		}
		p.Place.Name = name
	}
	r.Permissions = append(r.Permissions, p)
	return fmt.Sprintf("/permissions/%d/area", len(r.Permissions)-1)
}
