// Package find holds the record: a [Find], the [Report] it stands in, the table of their fields,
// the native JSON and JSON Lines, and the stream in which finds travel one at a time.
//
//	in, err := find.DecodeJSON(file, find.Options{File: "season.findslip.json"})
//	for entry, err := range in.Entries {
//		// entry.Find is the record, in.Report its header
//	}
//
// # Terms
//
// A member is given or not; a member that is not given may stand in Absent with a reason. What a
// person wrote is verbatim, the one form that SPEC.md defines for it is canonical, and both stand
// side by side. A field is one leaf of a record: it has a pointer (RFC 6901), a flat name for
// tables, and a kind.
//
// This package is unstable: it may change between any two versions.
package find

// Version is the version of the format this package writes.
const Version = "1.0"

// StatedForFile is what stands in Supplied of a member that the keeper of the log stated once for all of it.
const StatedForFile = "stated-for-file"

// MarkSupplied notes that a member was supplied by what is stated for the whole log.
func MarkSupplied(f *Find, pointer string) {
	if f.Supplied == nil {
		f.Supplied = map[string]string{}
	}
	f.Supplied[pointer] = StatedForFile
}

// Person returns the person with the local id, or nil.
func (r *Report) Person(id string) *Person {
	for i := range r.People {
		if r.People[i].ID == id {
			return &r.People[i]
		}
	}
	return nil
}

// Permission returns the permission with the local id, or nil.
func (r *Report) Permission(id string) *Permission {
	for i := range r.Permissions {
		if r.Permissions[i].ID == id {
			return &r.Permissions[i]
		}
	}
	return nil
}

// Outing returns the outing with the local id, or nil.
func (r *Report) Outing(id string) *Outing {
	for i := range r.Outings {
		if r.Outings[i].ID == id {
			return &r.Outings[i]
		}
	}
	return nil
}

// ColumnsOf returns the columns of a record that no field understands, to be read or set; nil for a
// report, which has none.
func ColumnsOf[T Record](record *T) *map[string]string {
	switch r := any(record).(type) {
	case *Find:
		return &r.Columns
	case *Person:
		return &r.Columns
	case *Permission:
		return &r.Columns
	case *Outing:
		return &r.Columns
	}
	return nil
}
