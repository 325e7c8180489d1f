package spreadsheet

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// references turns the names that people repeat from row to row into local ids. Ids never come
// from a name; they are numbered in the order in which the names appear.
type references struct {
	report                       *find.Report
	people, permissions, outings map[string]string
}

func newReferences(r *find.Report) *references {
	x := &references{report: r, people: map[string]string{}, permissions: map[string]string{}, outings: map[string]string{}}
	for i := range r.People {
		p := &r.People[i]
		for _, name := range []string{p.ID, p.Handle, p.Name} {
			if name != "" {
				x.people[find.FoldName(name)] = p.ID
			}
		}
	}
	for i := range r.Permissions {
		p := &r.Permissions[i]
		x.permissions[find.FoldName(p.ID)] = p.ID
		if p.Place != nil && p.Place.Name != "" {
			x.permissions[find.FoldName(p.Place.Name)] = p.ID
		}
	}
	for i := range r.Outings {
		x.outings[find.FoldName(r.Outings[i].ID)] = r.Outings[i].ID
	}
	return x
}

// collect makes people, permissions and outings of the names in a row.
func (d *decoder) collect(row grid.Row) {
	for _, cell := range row.Cells {
		c := d.byNumber[cell.Column]
		if c == nil {
			continue
		}
		text := cellText(cell, d.src.epoch() == 1904)
		if text == "" {
			continue
		}
		switch c.Field {
		case "finder":
			d.references.addPerson(text)
		case "permission":
			d.references.addPermission(text)
		case "outing":
			d.references.addOuting(text)
		}
	}
}

// ownID tells whether text is a local id of the form that this package makes.
func ownID(text, stem string) bool {
	rest, ok := strings.CutPrefix(text, stem+"-")
	return ok && rest != "" && strings.Trim(rest, "0123456789") == ""
}

// free returns the next id of a kind that is not taken.
func free(stem string, taken func(string) bool) string {
	for n := 1; ; n++ {
		if id := fmt.Sprintf("%s-%d", stem, n); !taken(id) {
			return id
		}
	}
}

func (x *references) addPerson(text string) {
	key := find.FoldName(text)
	if x.people[key] != "" {
		return
	}
	p := find.Person{ID: text}
	if !ownID(text, "person") {
		p.ID = free("person", func(id string) bool { return x.report.Person(id) != nil })
		if strings.ContainsAny(text, " \t") {
			p.Name = text
		} else {
			p.Handle = text
		}
	}
	x.people[key] = p.ID
	x.people[p.ID] = p.ID
	x.report.People = append(x.report.People, p)
}

func (x *references) addPermission(text string) {
	key := find.FoldName(text)
	if x.permissions[key] != "" {
		return
	}
	p := find.Permission{ID: text}
	if !ownID(text, "permission") {
		p.ID = free("permission", func(id string) bool { return x.report.Permission(id) != nil })
		p.Place = &find.Place{Name: text}
	}
	x.permissions[key] = p.ID
	x.permissions[p.ID] = p.ID
	x.report.Permissions = append(x.report.Permissions, p)
}

func (x *references) addOuting(text string) {
	key := find.FoldName(text)
	if x.outings[key] != "" {
		return
	}
	o := find.Outing{ID: text}
	if !ownID(text, "outing") {
		o.ID = free("outing", func(id string) bool { return x.report.Outing(id) != nil })
		o.Date = text
	}
	x.outings[key] = o.ID
	x.outings[o.ID] = o.ID
	x.report.Outings = append(x.report.Outings, o)
}

// person returns the local id of a person named in a cell; text that is no known name stays.
func (x *references) person(text string) string { return known(x.people, text) }

func (x *references) permission(text string) string { return known(x.permissions, text) }

func (x *references) outing(text string) string { return known(x.outings, text) }

func known(ids map[string]string, text string) string {
	if id := ids[find.FoldName(text)]; id != "" {
		return id
	}
	return text
}
