// Package coordinate reads positions as people type them and places them on WGS 84, with an uncertainty that owns up to
// everything that adds to it.
//
//	r, err := coordinate.Normalise("SP 5270 9011", coordinate.Options{})
//	// r.Point 52.5…, -1.2…; r.Uncertainty 12.1: half the diagonal of a square of ten metres, and five for the datum
//
// # Notations
//
// Decimal degrees; degrees and minutes; degrees, minutes and seconds, with every mark in use, hemisphere letters before
// or behind, in six languages; ISO 6709 strings; geo URIs (RFC 5870); UTM; MGRS; the British and the Irish grid by
// letters; and eastings and northings of any System. Latitude comes first where nothing says otherwise (ISO 6709), and
// a Note says that this was assumed. Eastings and northings of no named system are refused. What may mean two things is
// refused with both as proposals; nothing is swapped, turned or shifted in silence.
//
// # Uncertainty
//
// A grid reference names a square, and its centre is the position: half the diagonal is the reading error. Otherwise it
// is half the diagonal of the cell of the last digit given, on the ellipsoid. The radius of the device and the accuracy
// of the datum shift are added, never averaged; the sum is rounded up to a tenth of a metre and is never zero. The
// parts stand in Reading.Budget.
//
// # Systems
//
// A System is data: ellipsoid, projection, shift, area of use, all by the EPSG dataset. The transverse Mercator
// projection is Krüger's series to the sixth power of n. Shifts are the seven parameters of the EPSG operation that
// Shift.Code names; national shift grids are not used, and Shift.Accuracy says what that costs.
//
// # Privacy
//
// Messages of errors and notes never contain a figure of the input. Error.Input, Part and Proposals do; show them only
// to whom the position may be shown.
//
// # Not here
//
// Heights, three-dimensional shifts, the polar grid, plate motion, and addresses by words or postcodes.
//
// This package is unstable: it may change between any two versions.
package coordinate
