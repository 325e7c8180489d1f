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
