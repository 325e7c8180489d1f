package intake

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// References turns the names that people repeat from row to row into local ids. Ids never come
// from a name; they are numbered in the order in which the names appear.
type References struct {
	report                       *find.Report
	people, permissions, outings map[string]string
	asked                        [3]answers // of people, permissions and outings
}

// answers remembers where texts lead to, as long as there are few, so that a name that stands in every
// row is folded once.
type answers map[string]string

const (
	mostAnswers   = 1000
	longestAnswer = 200 // bytes
)

// NewReferences knows the people, permissions and outings of a report and adds to them.
func NewReferences(r *find.Report) *References {
	x := &References{report: r, people: map[string]string{}, permissions: map[string]string{},
		outings: map[string]string{}}
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

// ownID reports whether text is a local id of the form that this package makes.
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

// AddPerson makes a person of a text that names none so far.
func (x *References) AddPerson(text string) {
	key := find.FoldName(text)
	if x.people[key] != "" {
		return
	}
	p := find.Person{ID: text}
	if !ownID(text, "person") {
		p.ID = free("person", func(id string) bool { return x.report.Person(id) != nil })
		if madeUp(text) {
			p.Handle = text
		} else {
			p.Name = text
		}
	}
	x.forget()
	x.people[key] = p.ID
	x.people[p.ID] = p.ID
	x.report.People = append(x.report.People, p)
}

// madeUp reports whether a text that names a person is a handle by its looks: one word with a figure or an
// underscore in it, or all small with a hyphen. One plain word is a name as well as two are, and goes to nobody
// without consent.
func madeUp(text string) bool {
	if strings.ContainsAny(text, " \t.") {
		return false
	}
	return strings.ContainsAny(text, "0123456789_") || strings.Contains(text, "-") && strings.ToLower(text) == text
}

// AddPermission makes a permission of a text that names none so far.
func (x *References) AddPermission(text string) {
	key := find.FoldName(text)
	if x.permissions[key] != "" {
		return
	}
	p := find.Permission{ID: text}
	if !ownID(text, "permission") {
		p.ID = free("permission", func(id string) bool { return x.report.Permission(id) != nil })
		p.Place = &find.Place{Name: text}
	}
	x.forget()
	x.permissions[key] = p.ID
	x.permissions[p.ID] = p.ID
	x.report.Permissions = append(x.report.Permissions, p)
}

// AddOuting makes an outing of a text that names none so far: its day, or its number, of which the day is the one
// given.
func (x *References) AddOuting(text, day string) {
	key := find.FoldName(text)
	if x.outings[key] != "" {
		return
	}
	o := find.Outing{ID: text}
	if !ownID(text, "outing") {
		o.ID = free("outing", func(id string) bool { return x.report.Outing(id) != nil })
		if o.Date = text; len(text) < 4 && strings.Trim(text, "0123456789") == "" {
			o.Date, o.Columns = day, map[string]string{"number": text}
		}
	}
	x.forget()
	x.outings[key] = o.ID
	x.outings[o.ID] = o.ID
	x.report.Outings = append(x.report.Outings, o)
}

// Person returns the local id of a person named in a text; text that is no known name stays.
func (x *References) Person(text string) string { return x.known(0, x.people, text) }

// Permission returns the local id of a permission named in a text; text that is no known name stays.
func (x *References) Permission(text string) string { return x.known(1, x.permissions, text) }

// Outing returns the local id of an outing named in a text; text that is no known name stays.
func (x *References) Outing(text string) string { return x.known(2, x.outings, text) }

func (x *References) known(kind int, ids map[string]string, text string) string {
	if id, asked := x.asked[kind][text]; asked {
		return id
	}
	id := ids[find.FoldName(text)]
	if id == "" {
		return text
	}
	if x.asked[kind] == nil {
		x.asked[kind] = answers{}
	}
	if len(x.asked[kind]) < mostAnswers && len(text) <= longestAnswer {
		x.asked[kind][strings.Clone(text)] = id
	}
	return id
}

// forget is for when a text may lead elsewhere.
func (x *References) forget() { x.asked = [3]answers{} }

// An Alias is a text that leads to a record of a sheet: a name, an id of the sender's own, a day.
type Alias struct {
	Kind string // person, permission or outing
	Text string
	ID   string // of the record
	At   int    // the record in its list, while it has no id
}

// Also lets further texts lead to records; what leads somewhere already stays, and of two people or
// pieces of land with one name the first is meant. A day with two outings leads to neither: the text
// stays as it is, and that it names no outing is seen.
func (x *References) Also(list []Alias) {
	x.forget()
	for _, a := range list {
		ids, key := x.of(a.Kind), find.FoldName(a.Text)
		switch other := ids[key]; {
		case other == "":
			ids[key] = a.ID
		case other != a.ID && a.Kind == "outing" && other != key:
			ids[key] = a.Text
		}
	}
}

func (x *References) of(kind string) map[string]string {
	switch kind {
	case "person":
		return x.people
	case "permission":
		return x.permissions
	}
	return x.outings
}

// Lookup returns the local id that a text leads to, else the text, and whether it leads anywhere.
func (x *References) Lookup(kind, text string) (string, bool) {
	if id := x.of(kind)[find.FoldName(text)]; id != "" {
		return id, true
	}
	return text, false
}
