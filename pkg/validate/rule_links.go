package validate

import (
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var referenceUnknown = &Rule{
	Kind:   kinds.ReferenceUnknown,
	Check:  func(c *Case, say Say) { referencesOfFind(c, say) },
	Header: func(c *Case, say Say) { referencesOfReport(c.Report, say) },
}

const noSuchPerson = "no person of the report has this id"

func referencesOfFind(c *Case, say Say) {
	f := c.Find
	person := func(id, pointer string) {
		if id != "" && c.Report.Person(id) == nil {
			say(pointer, noSuchPerson)
		}
	}
	personIn := func(id, list string, i int, member string) {
		if id != "" && c.Report.Person(id) == nil {
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

func referencesOfReport(r *find.Report, say Say) {
	for i := range r.Permissions {
		p := &r.Permissions[i]
		if p.GrantedBy != "" && r.Person(p.GrantedBy) == nil {
			say(fmt.Sprintf("/permissions/%d/grantedBy", i), noSuchPerson)
		}
		if p.Occupier != "" && r.Person(p.Occupier) == nil {
			say(fmt.Sprintf("/permissions/%d/occupier", i), noSuchPerson)
		}
	}
	for i := range r.Outings {
		o := &r.Outings[i]
		if o.Permission != "" && r.Permission(o.Permission) == nil {
			say(fmt.Sprintf("/outings/%d/permission", i), "no permission of the report has this id")
		}
		for j, id := range o.People {
			if r.Person(id) == nil {
				say(fmt.Sprintf("/outings/%d/people/%d", i, j), noSuchPerson)
			}
		}
	}
	for i := range r.Accepted {
		if id := r.Accepted[i].By; id != "" && r.Person(id) == nil {
			say(fmt.Sprintf("/accepted/%d/by", i), noSuchPerson)
		}
	}
}

var linkOutside = &Rule{
	Kind: kinds.LinkOutside,
	Log: func(c *Case, log *Roll, say SayOf) {
		at := log.byID(func(k *link) bool { return k.kind != replacesLink })
		for i := range log.links {
			k := &log.links[i]
			if _, here := at[k.to]; here || k.kind == replacesLink {
				continue
			}
			pointer := k.pointer()
			if k.kind != partLink {
				pointer += "/find"
			}
			say(log.ref(int(k.from)), pointer, "the find that this one is linked to is not in this file")
		}
	},
}

var linkLoop = &Rule{
	Kind: kinds.LinkLoop,
	Log: func(c *Case, log *Roll, say SayOf) {
		for _, k := range log.loops(partLink) {
			say(log.ref(int(k.from)), k.pointer(), "following partOf from find to find leads back to this one")
		}
		for _, k := range log.loops(replacesLink) {
			say(log.ref(int(k.from)), k.pointer(), "following replaces from find to find leads back to this one")
		}
	},
}

// loops returns one link of each loop of links of one kind, that of the find that comes first in the file.
func (r *Roll) loops(kind linkKind) []*link {
	at := r.byID(func(k *link) bool { return k.kind == kind })
	out := map[int][]int{} // the links of a find, in the order of the file
	var starts []int
	for i := range r.links {
		if k := &r.links[i]; k.kind == kind {
			if out[int(k.from)] == nil {
				starts = append(starts, int(k.from))
			}
			out[int(k.from)] = append(out[int(k.from)], i)
		}
	}
	var found []*link
	var path []int         // the links that lead to where we are
	depth := map[int]int{} // of the finds on the path, how long it was there
	next := map[int]int{}  // of each find that was met, which of its links is followed next
	for _, node := range starts {
		if _, met := next[node]; met {
			continue
		}
		for depth[node] = 0; ; {
			if next[node] == len(out[node]) {
				next[node] = len(out[node])
				delete(depth, node)
				if len(path) == 0 {
					break
				}
				node, path = int(r.links[path[len(path)-1]].from), path[:len(path)-1]
				continue
			}
			i := out[node][next[node]]
			next[node]++
			to, here := at[r.links[i].to]
			if start, on := depth[to]; here && on {
				found = append(found, &r.links[slices.Min(append(path[start:len(path):len(path)], i))])
			} else if _, met := next[to]; here && !met {
				path = append(path, i)
				node, depth[to], next[to] = to, len(path), 0
			}
		}
	}
	return found
}

var linkOneSided = &Rule{
	Kind: kinds.LinkOneSided,
	Log: func(c *Case, log *Roll, say SayOf) {
		associated := func(k *link) bool { return k.kind == associatedLink || k.kind == duplicateLink }
		at := log.byID(associated)
		stated := map[[2]int]bool{}
		for i := range log.links {
			if to, here := at[log.links[i].to]; here && associated(&log.links[i]) {
				stated[[2]int{int(log.links[i].from), to}] = true
			}
		}
		for i := range log.links {
			k := &log.links[i]
			if to, here := at[k.to]; here && k.kind == associatedLink && to != int(k.from) && !stated[[2]int{to, int(k.from)}] {
				say(log.ref(int(k.from)), k.pointer(), "the other find does not name this one in return")
			}
		}
	},
}
