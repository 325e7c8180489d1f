// Package geojson writes and reads find reports as GeoJSON (RFC 7946), the way of SPEC.md section
// 8.6: a FeatureCollection whose foreign member "findslip" is the report without its finds. A find
// is a Feature with a Point or no geometry; the geometry is the only home of longitude and
// latitude, all else stands in properties under flat names. Permissions are Polygon features.
//
// Only what RFC 7946 allows is taken for a geometry: coordinates out of range and broken rings are kept as text and
// said, and the other features are read. Features of
// others, which have no property record, are read by the names of their properties as a sheet is by
// its headings.
//
// This package is unstable: it may change between any two versions.
package geojson

import (
	"github.com/findslip/findslip/pkg/limit"
)

// Options of Decode and Encode. The zero value is ready for use.
type Options struct {
	File   string       // name for messages
	Limits limit.Limits // Record and Header are looked at
}
