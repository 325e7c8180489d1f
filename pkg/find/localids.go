package find

// The kinds of things that local ids name.
const (
	PersonID     = "person"
	PermissionID = "permission"
	OutingID     = "outing"
)

// LocalIDs calls visit for each local id that the find gives, with the kind of thing that it names. Visit may
// change it.
func (f *Find) LocalIDs(visit func(kind string, id *string)) {
	one := func(kind string, id *string) {
		if *id != "" {
			visit(kind, id)
		}
	}
	one(PersonID, &f.Finder)
	one(PermissionID, &f.Permission)
	one(OutingID, &f.Outing)
	one(PersonID, &f.Keeper)
	if f.Position != nil {
		one(PersonID, &f.Position.By)
	}
	for i := range f.OtherPositions {
		one(PersonID, &f.OtherPositions[i].By)
	}
	if f.Depth != nil {
		one(PersonID, &f.Depth.By)
	}
	for i := range f.OtherDepths {
		one(PersonID, &f.OtherDepths[i].By)
	}
	if f.Identification != nil {
		one(PersonID, &f.Identification.By)
	}
	for i := range f.Opinions {
		one(PersonID, &f.Opinions[i].By)
	}
	for i := range f.Media {
		one(PersonID, &f.Media[i].By)
	}
	for i := range f.Owners {
		one(PersonID, &f.Owners[i].Person)
	}
	for i := range f.Custody {
		one(PersonID, &f.Custody[i].From)
		one(PersonID, &f.Custody[i].To)
	}
	if f.Recorded != nil {
		one(PersonID, &f.Recorded.By)
	}
}
