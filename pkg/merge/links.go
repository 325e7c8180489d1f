package merge

import "github.com/findslip/findslip/pkg/find"

// links calls visit for each id by which a find refers to something: kind is person, permission, outing or find.
// What an opinion says are members of a find, and is looked into as well.
func links(f *find.Find, visit func(kind string, id *string)) {
	see := func(id *string) {
		if *id != "" {
			visit("find", id)
		}
	}
	see(&f.PartOf)
	for i := range f.Associated {
		see(&f.Associated[i].Find)
	}
	for i := range f.Replaces {
		see(&f.Replaces[i])
	}
	f.LocalIDs(visit)
	for i := range f.Opinions {
		saysLinks(&f.Opinions[i], visit)
	}
}

func saysLinks(o *find.Opinion, visit func(kind string, id *string)) {
	says, any := new(find.Find), false
	if len(o.Says) == 0 || find.DecodeFind(o.Says, says) != nil {
		return // what no find can say is kept as it is
	}
	links(says, func(kind string, id *string) { any = true; visit(kind, id) })
	if !any {
		return
	}
	if raw, err := find.Marshal(says); err == nil {
		o.Says = raw
	}
}
