package intake

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
)

// TakeArea makes a permission of a polygon that somebody drew, and puts into it what its texts say
// under the flat names of a permission. Name, if there is one, is that of the place; else a text
// under a heading for a place or a name is. It returns the pointer of the area, and the names of
// the texts that a permission has no member for.
func TakeArea(r *find.Report, name string, texts []Text, shape *find.Area) (pointer string, left []string) {
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
		if path, err := find.PathTo[find.Permission](t.Name); err == nil && t.Name != "id" && find.Set(path, &p, t.Text) == nil {
			continue
		}
		switch heading.Understand(t.Name).Field {
		case "place.name", "permission", "name":
			if text := strings.TrimSpace(t.Text); name == "" || name == text {
				name = text
				continue
			}
		}
		left = append(left, t.Name)
	}
	if name != "" && (p.Place == nil || p.Place.Name == "") {
		if p.Place == nil {
			p.Place = new(find.Place)
		}
		p.Place.Name = name
	}
	r.Permissions = append(r.Permissions, p)
	return fmt.Sprintf("/permissions/%d/area", len(r.Permissions)-1), left
}

// AreaMessage says that a polygon was taken for an area, and under which names it had texts that
// could not be kept.
func AreaMessage(left []string) string {
	message := "a polygon of the file is taken for the area of a permission"
	if len(left) == 0 {
		return message
	}
	more := ""
	if n := len(left) - maxLeft; n > 0 {
		left, more = left[:maxLeft], fmt.Sprintf(" and %d more", n)
	}
	for i, name := range left {
		if r := []rune(name); len(r) > 24 {
			name = string(r[:24]) + "..."
		}
		if i == 0 {
			message += "; not kept of it: "
		} else {
			message += ", "
		}
		message += fmt.Sprintf("%q", name)
	}
	return message + more
}

const maxLeft = 8 // names that a message gives
