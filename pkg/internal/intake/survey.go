package intake

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
)

// A Survey is what the first pass over a map file gathers: the report, the people and land that its records name,
// the areas, and what is to be said of the file. GeoJSON, GPX and KML share it.
type Survey struct {
	File    string
	What    string       // what a text under a name is called here: property, extension
	Unknown *notice.Kind // said once of each name that is not understood; nil: nothing is said
	Taken   *notice.Kind // said of a polygon of others that is taken for an area
	Report  *find.Report
	Notices notice.List
	Running Running // of the names of the finds of others

	names Names
	seen  map[string]bool
}

// maxSeen bounds how many names are remembered and told.
const maxSeen = 1000

// Say adds a notice of the file.
func (s *Survey) Say(k *notice.Kind, pointer, message string) {
	n := notice.New(k, pointer, message)
	n.File = s.File
	s.Notices.Add(n)
}

// Foreign looks at the texts of a record of others before it is read.
func (s *Survey) Foreign(texts []Text) {
	s.names.Add(texts)
	if s.Unknown == nil {
		return
	}
	if s.seen == nil {
		s.seen = map[string]bool{}
	}
	for _, t := range texts {
		if s.seen[t.Name] || len(s.seen) >= maxSeen {
			continue
		}
		s.seen[t.Name] = true
		if heading.IsField(t.Name) {
			continue
		}
		message := fmt.Sprintf("the %s %q is not understood; its text is kept among the columns", s.What, clip(t.Name))
		if near := heading.Nearest(t.Name); near != "" {
			message += fmt.Sprintf("; did you mean %q?", near)
		}
		s.Say(s.Unknown, "", message)
	}
}

// References makes the people, the land and the outings that the records name.
func (s *Survey) References() *References { return s.names.References(s.Report) }

// Area takes a polygon that somebody drew for the area of a permission.
func (s *Survey) Area(name string, texts []Text, shape *find.Area) {
	s.Say(s.Taken, TakeArea(s.Report, name, texts, shape), "a polygon of the file is taken for the area of a permission")
}

// OwnArea puts a polygon that a converter of this format wrote where it belongs: the area of the permission with the
// local id, or a part left out of it. A permission that the report lacks is made of the texts.
func (s *Survey) OwnArea(id string, excluded bool, texts []Text, shape *find.Area) {
	p := s.Report.Permission(id)
	if p == nil {
		s.Report.Permissions = append(s.Report.Permissions, find.Permission{ID: id})
		p = &s.Report.Permissions[len(s.Report.Permissions)-1]
		for _, t := range texts {
			if path, err := find.PathTo[find.Permission](t.Name); err == nil && !excluded {
				_ = find.Set(path, p, t.Text)
			}
		}
	}
	for _, t := range texts {
		if t.Name == "geometry" && shape == nil { // one that could not be read
			keepIn(p, t)
		}
	}
	switch {
	case shape == nil:
	case excluded:
		p.Excluded = append(p.Excluded, *shape)
	default:
		p.Area = shape
	}
}

// keepIn keeps a text among the columns of a permission.
func keepIn(p *find.Permission, t Text) {
	if p.Columns == nil {
		p.Columns = map[string]string{}
	}
	p.Columns[t.Name] = t.Text
}

// clip shortens a name for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}
