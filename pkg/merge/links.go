package merge

import (
	"github.com/findslip/findslip/pkg/find"
)

// links calls visit for each id by which a find refers to something: kind is person, permission, outing or find.
func links(f *find.Find, visit func(kind string, id *string)) {
	see := func(kind string, ids ...*string) {
		for _, id := range ids {
			if *id != "" {
				visit(kind, id)
			}
		}
	}
	see("find", &f.PartOf)
	for i := range f.Associated {
		see("find", &f.Associated[i].Find)
	}
	for i := range f.Replaces {
		see("find", &f.Replaces[i])
	}
	see("person", &f.Finder, &f.Keeper)
	see("permission", &f.Permission)
	see("outing", &f.Outing)
	if f.Position != nil {
		see("person", &f.Position.By)
	}
	for i := range f.OtherPositions {
		see("person", &f.OtherPositions[i].By)
	}
	if f.Depth != nil {
		see("person", &f.Depth.By)
	}
	for i := range f.OtherDepths {
		see("person", &f.OtherDepths[i].By)
	}
	if f.Identification != nil {
		see("person", &f.Identification.By)
	}
	for i := range f.Media {
		see("person", &f.Media[i].By)
	}
	for i := range f.Owners {
		see("person", &f.Owners[i].Person)
	}
	for i := range f.Custody {
		see("person", &f.Custody[i].From, &f.Custody[i].To)
	}
	if f.Recorded != nil {
		see("person", &f.Recorded.By)
	}
	for i := range f.Opinions {
		opinionLinks(&f.Opinions[i], visit)
	}
}

// opinionLinks looks also into what an opinion says, which are members of a find.
func opinionLinks(o *find.Opinion, visit func(kind string, id *string)) {
	if o.By != "" {
		visit("person", &o.By)
	}
	if len(o.Says) == 0 {
		return
	}
	says, any := new(find.Find), false
	if find.DecodeFind(o.Says, says) != nil {
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
