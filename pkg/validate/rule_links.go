package validate

import (
	"fmt"
	"slices"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var referenceUnknown = &Rule{
	Kind: notice.Kind{
		Code: "reference-unknown", Severity: notice.Error, Group: "identity", Spec: "5.1",
		Title:  "a local id points to nothing in the file",
		Why:    "a person, permission, outing or opinion was lost in copying or in a partial export",
		Help:   "Add what the id stands for, or put the id of one that is there.",
		Source: "format of this specification, section 3.6",
		Before: `"people": [{"id": "person-1"}], "finds": [{"finder": "person-2"}]`,
		After:  `"people": [{"id": "person-1"}, {"id": "person-2"}], "finds": [{"finder": "person-2"}]`,
	},
	// When: A local id has nothing it leads to in the file: a person (`finder`, `keeper`, `by`, `person`, `from`,
	// `to`, `grantedBy`, `occupier`, `people`), a permission (of a find or an outing), an outing, or, in a find, one
	// of its own `opinions` (`follows`, `withdraws`). At the member.
	Across: func() Across {
		people := map[string]bool{}
		var once sync.Once
		prepare := func(r *find.Report) {
			once.Do(func() {
				for i := range r.People {
					people[r.People[i].ID] = true
				}
			})
		}
		return Across{
			Alone: true,
			Find: func(c *Case, ref Ref, say Say) {
				prepare(c.Report)
				referencesOfFind(c, people, say)
			},
			End: func(c *Case, say SayOf) {
				prepare(c.Report)
				referencesOfReport(c.Report, people, func(pointer, message string) { say(reportRef, pointer, message) })
			},
		}
	},
}

const noSuchPerson = "no person of the report has this id"

func referencesOfFind(c *Case, people map[string]bool, say Say) {
	f := c.Find
	person := func(id, pointer string) {
		if id != "" && !people[id] {
			say(pointer, noSuchPerson)
		}
	}
	personIn := func(id, list string, i int, member string) {
		if id != "" && !people[id] {
			say(fmt.Sprintf("/%s/%d/%s", list, i, member), noSuchPerson)
		}
	}
	person(f.Finder, "/finder")
	if f.Permission != "" && c.Permission == nil {
		say("/permission", "no permission of the report has this id")
	}
	if f.Outing != "" && c.Outing == nil {
		say("/outing", "no outing of the report has this id")
	}
	person(f.Keeper, "/keeper")
	if f.Position != nil {
		person(f.Position.By, "/position/by")
	}
	for i := range f.OtherPositions {
		personIn(f.OtherPositions[i].By, "otherPositions", i, "by")
	}
	if f.Depth != nil {
		person(f.Depth.By, "/depth/by")
	}
	for i := range f.OtherDepths {
		personIn(f.OtherDepths[i].By, "otherDepths", i, "by")
	}
	for i := range f.Media {
		personIn(f.Media[i].By, "media", i, "by")
	}
	for i := range f.Owners {
		personIn(f.Owners[i].Person, "owners", i, "person")
	}
	for i := range f.Custody {
		personIn(f.Custody[i].From, "custody", i, "from")
		personIn(f.Custody[i].To, "custody", i, "to")
	}
	if f.Recorded != nil {
		person(f.Recorded.By, "/recorded/by")
	}
	if f.Identification != nil {
		person(f.Identification.By, "/identification/by")
		if id := f.Identification.Follows; id != "" && !hasOpinion(f, id) {
			say("/identification/follows", "no opinion of this find has this id")
		}
	}
	for i := range f.Opinions {
		personIn(f.Opinions[i].By, "opinions", i, "by")
		if id := f.Opinions[i].Withdraws; id != "" && !hasOpinion(f, id) {
			say(fmt.Sprintf("/opinions/%d/withdraws", i), "no opinion of this find has this id")
		}
	}
}

func hasOpinion(f *find.Find, id string) bool {
	return slices.ContainsFunc(f.Opinions, func(o find.Opinion) bool { return o.ID == id })
}

func referencesOfReport(r *find.Report, people map[string]bool, say Say) {
	for i := range r.Permissions {
		p := &r.Permissions[i]
		if p.GrantedBy != "" && !people[p.GrantedBy] {
			say(fmt.Sprintf("/permissions/%d/grantedBy", i), noSuchPerson)
		}
		if p.Occupier != "" && !people[p.Occupier] {
			say(fmt.Sprintf("/permissions/%d/occupier", i), noSuchPerson)
		}
	}
	for i := range r.Outings {
		o := &r.Outings[i]
		if o.Permission != "" && r.Permission(o.Permission) == nil {
			say(fmt.Sprintf("/outings/%d/permission", i), "no permission of the report has this id")
		}
		for j, id := range o.People {
			if !people[id] {
				say(fmt.Sprintf("/outings/%d/people/%d", i, j), noSuchPerson)
			}
		}
	}
	for i := range r.Accepted {
		if id := r.Accepted[i].By; id != "" && !people[id] {
			say(fmt.Sprintf("/accepted/%d/by", i), noSuchPerson)
		}
	}
}

// A link leads from one find to another by id.
type link struct {
	from, to uint64 // digests of the ids
	ref      Ref
	pointer  string
}

// links gathers the links of the finds that have some.
type links struct{ list []link }

func newLinks() *links { return &links{} }

func (l *links) add(from uint64, to string, ref Ref, pointer string) {
	l.list = append(l.list, link{from, sumOf(to), ref, pointer})
}

var linkOutside = &Rule{
	Kind: notice.Kind{
		Code: "link-outside", Severity: notice.Info, Group: "identity", Spec: "5.1",
		Title:  "a find is linked to one that is not in this file",
		Why:    "that can be right, for the other may stand in a partner's file or an older log; after a partial export it is a loose end",
		Help:   "If the other find ought to be here, add it; else leave the link as it is.",
		Source: "format of this specification, section 3.6",
		Before: `"partOf": "urn:uuid:…99"`, After: `"partOf": "urn:uuid:…01"`,
	},
	// When: `partOf` or `/associated/N/find` is no id of a find of the file. At it.
	Across: func() Across {
		l := newLinks()
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				f := c.Find
				c.census.see(c, ref)
				id := sumOf(f.ID)
				if f.PartOf != "" {
					l.add(id, f.PartOf, ref, "/partOf")
				}
				for i := range f.Associated {
					l.add(id, f.Associated[i].Find, ref, fmt.Sprintf("/associated/%d/find", i))
				}
			},
			End: func(c *Case, say SayOf) {
				for _, k := range l.list {
					if !c.census.hasID(k.to) {
						say(k.ref, k.pointer, "the find that this one is linked to is not in this file")
					}
				}
			},
		}
	},
}

var linkLoop = &Rule{
	Kind: notice.Kind{
		Code: "link-loop", Severity: notice.Error, Group: "identity", Spec: "5.1",
		Title:  "a find is, in the end, a part of itself or its own replacement",
		Why:    "there is no such object, and a program that follows the links never comes to an end",
		Help:   "Follow the links from one find to the next and take out the one that leads back.",
		Source: "our proposal",
		Before: `{"id": "urn:uuid:…01", "partOf": "urn:uuid:…02"}, {"id": "urn:uuid:…02", "partOf": "urn:uuid:…01"}`,
		After:  `{"id": "urn:uuid:…01", "partOf": "urn:uuid:…02"}, {"id": "urn:uuid:…02"}`,
	},
	// When: From find to find, `partOf` leads back to one that it came by; or `replaces` does. One notice a loop, at
	// `/partOf` or `/replaces/N` of the find of the loop that comes first in the file.
	Across: func() Across {
		parts, replacements := newLinks(), newLinks()
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				f := c.Find
				if f.PartOf != "" {
					parts.add(sumOf(f.ID), f.PartOf, ref, "/partOf")
				}
				for i, id := range f.Replaces {
					replacements.add(sumOf(f.ID), id, ref, fmt.Sprintf("/replaces/%d", i))
				}
			},
			End: func(c *Case, say SayOf) {
				for _, k := range parts.loops() {
					say(k.ref, k.pointer, "following partOf from find to find leads back to this one")
				}
				for _, k := range replacements.loops() {
					say(k.ref, k.pointer, "following replaces from find to find leads back to this one")
				}
			},
		}
	},
}

// loops returns one link of each loop, that of the find that comes first in the file.
func (l *links) loops() []link {
	slices.SortStableFunc(l.list, func(a, b link) int { return a.ref.Index - b.ref.Index })
	out := map[uint64][]int{}
	for i := range l.list {
		out[l.list[i].from] = append(out[l.list[i].from], i)
	}
	const (
		open = 1
		done = 2
	)
	state := make(map[uint64]uint8, len(out))
	var found []link
	type step struct {
		node uint64
		next int
	}
	for i := range l.list {
		start := l.list[i].from
		if state[start] != 0 {
			continue
		}
		path := []step{{start, 0}}
		state[start] = open
		for len(path) > 0 {
			top := &path[len(path)-1]
			edges := out[top.node]
			if top.next == len(edges) {
				state[top.node] = done
				path = path[:len(path)-1]
				continue
			}
			k := l.list[edges[top.next]]
			top.next++
			switch state[k.to] {
			case 0:
				state[k.to] = open
				path = append(path, step{k.to, 0})
			case open:
				at := len(path) - 1
				for path[at].node != k.to {
					at--
				}
				first := -1 // of the links of the loop, which are in the order of the file
				for _, step := range path[at:] {
					if i := out[step.node][step.next-1]; first < 0 || i < first {
						first = i
					}
				}
				found = append(found, l.list[first])
			}
		}
	}
	return found
}

var linkOneSided = &Rule{
	Kind: notice.Kind{
		Code: "link-one-sided", Severity: notice.Warning, Group: "identity", Spec: "5.1",
		Title:  "two finds belong together, but only one of them says so",
		Why:    "whoever opens the other record does not see that there is more",
		Help:   "Add the link in the other record too; repair can do it.",
		Source: "our proposal",
		Before: `{"id": "urn:uuid:…01", "associated": [{"find": "urn:uuid:…02", "relation": {"code": "joins"}}]}, {"id": "urn:uuid:…02"}`,
		After:  `{"id": "urn:uuid:…02", "associated": [{"find": "urn:uuid:…01", "relation": {"code": "joins"}}]}`,
	},
	// When: One of `associated`, whose relation is not `duplicate-of`, names another find of the file that does not
	// name this one in `associated`, with whatever relation. At `/associated/N`.
	Across: func() Across {
		l := newLinks()
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				f := c.Find
				c.census.see(c, ref)
				id := sumOf(f.ID)
				for i := range f.Associated {
					a := &f.Associated[i]
					pointer := fmt.Sprintf("/associated/%d", i)
					if a.Relation.Is("duplicate-of") {
						pointer = "" // said by the one that is to go; it still answers a link
					}
					l.add(id, a.Find, ref, pointer)
				}
			},
			End: func(c *Case, say SayOf) {
				if len(l.list) == 0 {
					return
				}
				type pair struct{ from, to uint64 }
				stated := make(map[pair]bool, len(l.list))
				for _, k := range l.list {
					stated[pair{k.from, k.to}] = true
				}
				for _, k := range l.list {
					if k.pointer != "" && k.from != k.to && c.census.hasID(k.to) && !stated[pair{k.to, k.from}] {
						say(k.ref, k.pointer, "the other find does not name this one in return")
					}
				}
			},
		}
	},
}
