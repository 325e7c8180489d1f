package profile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
)

// Answers are what a body answers when a profile is made.
type Answers struct {
	Name, Contact, Purpose, Language string
	Must, Should, May, Never         []string // headings or members
	Why                              map[string]string
	BasedOn                          string // the id of a shipped profile; empty: none
	Version                          string
	BaseSum                          string
	Headings                         map[string]string // what people call a column, and its flat name
}

// New makes a profile of answers. What is named and not known is an error.
func New(a Answers) ([]byte, error) {
	if strings.TrimSpace(a.Name) == "" {
		return nil, fmt.Errorf("a profile needs the name of who asks")
	}
	language := cmp.Or(a.Language, "en")
	in := func(text string) Text {
		if text == "" {
			return nil
		}
		return Text{language: text}
	}
	p := Profile{Version: "1", ID: idOf(a.Name), State: cmp.Or(a.Version, "1"), Title: in(a.Name), Purpose: in(a.Purpose),
		Languages: []string{language}, Body: &Body{Name: in(a.Name), Contact: in(a.Contact)}, Headings: a.Headings,
		Asks: []*Ask{}}
	if a.BasedOn != "" {
		p.BasedOn = &Base{Profile: a.BasedOn, SHA256: a.BaseSum}
	}
	taken := map[string]bool{}
	for _, group := range []struct {
		strength Strength
		names    []string
	}{{Must, a.Must}, {Should, a.Should}, {May, a.May}, {Never, a.Never}} {
		for _, name := range group.names {
			pointer := MemberOf(name)
			if pointer == "" {
				return nil, fmt.Errorf("%.60q is no heading and no member that is known; findslip profile --members lists them",
					name)
			}
			title := strings.TrimSpace(name) // in the words it was named by, else in those of the template
			if strings.HasPrefix(title, "/") {
				title = MemberName(pointer, language)
			}
			p.Asks = append(p.Asks, &Ask{Name: askName(a.BasedOn, pointer, taken), Strength: group.strength,
				Ask: Wanted{Any: []string{pointer}}, Title: in(title), Why: in(a.Why[name])})
		}
	}
	return p.JSON()
}

// idOf makes an id of a name.
func idOf(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9' && b.Len() > 0:
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	id := strings.Trim(b.String(), "-")
	if id == "" {
		return "profile"
	}
	return id[:min(len(id), 60)]
}

// askName names an ask by its member, once; where the base asks for that member alone, as the base does, so that it
// takes its place.
func askName(base, pointer string, taken map[string]bool) string {
	if e := Level(base); e != nil {
		for _, b := range e.Asks {
			if slices.Equal(b.Ask.Members(), []string{pointer}) && b.When == nil && !taken[b.Name] {
				taken[b.Name] = true
				return b.Name
			}
		}
	}
	name := idOf(strings.ReplaceAll(strings.Trim(pointer, "/"), "/", "-"))
	for n := 2; taken[name]; n++ {
		name = fmt.Sprintf("%s-%d", idOf(strings.ReplaceAll(strings.Trim(pointer, "/"), "/", "-")), n)
	}
	taken[name] = true
	return name
}

// FromTable takes what is asked from a sheet of a template that was filled in: below each heading stands must, should,
// may or never, and below that, if anything, why. Columns without such a word are not asked for. Part is finds, people
// or permissions; a sheet of finds without such a word is an error.
func FromTable(part string, rows [][]string, a *Answers) error {
	if a.Why == nil {
		a.Why = map[string]string{}
	}
	found := part != "finds"
	for i, head := range slices.Concat(rows[:min(len(rows), 1)]...) {
		for k := 1; k < min(len(rows), 8); k++ {
			if i >= len(rows[k]) {
				continue
			}
			list := map[Strength]*[]string{Must: &a.Must, Should: &a.Should, May: &a.May,
				Never: &a.Never}[Strength(strings.ToLower(strings.TrimSpace(rows[k][i])))]
			if list == nil {
				continue
			}
			name := nameIn(part, head)
			if name == "" {
				return fmt.Errorf("the heading %.60q is not understood; write another that findslip knows, or a flat name such "+
					"as found.date", head)
			}
			*list = append(*list, name)
			found = true
			if k+1 < len(rows) && i < len(rows[k+1]) {
				a.Why[name] = strings.TrimSpace(rows[k+1][i])
			}
			break
		}
	}
	if !found {
		return fmt.Errorf("below the headings there is no row with must, should, may or never")
	}
	return nil
}

// nameIn is the name by which what stands below a heading is asked for, empty where none is known.
func nameIn(part, head string) string {
	if name := bare(head); part == "finds" && MemberOf(name) != "" {
		return name
	}
	first := map[string]string{"people": "/finder", "permissions": "/permission"}[part]
	pointer := first + find.PointerOf(heading.UnderstandIn(part, head).Field)
	if _, ok := memberAt(pointer); ok && first != "" && pointer != first {
		return pointer
	}
	return ""
}

// bare is a heading without the unit in brackets.
func bare(head string) string {
	if name, _, ok := strings.Cut(head, "["); ok && heading.Understand(name).Field != "" {
		return strings.TrimSpace(name)
	}
	return strings.TrimSpace(head)
}
