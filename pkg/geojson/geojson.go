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
	"github.com/findslip/findslip/pkg/notice"
)

// Options of Decode and Encode. The zero value is ready for use.
type Options struct {
	File   string       // name for messages
	Limits limit.Limits // Record and Header are looked at
}

// Kinds of notice that reading gives.
var (
	headerMissing = &notice.Kind{
		Code: "geojson-report-missing", Severity: notice.Warning, Group: "conversion", Spec: "8.6",
		Title: "the member findslip is missing",
		Why:   "some programs drop members they do not know; the report is then put together from what its features say",
		Help: "Look whether people, permissions and outings are still as you know them; ask the sender for the file " +
			"as it was written.",
		Source: "RFC 7946 section 6.1: foreign members may be ignored by other programs",
		Before: `{"type": "FeatureCollection", "features": [...]}`,
		After:  `{"type": "FeatureCollection", "findslip": {...}, "features": [...]}`,
	}
	altitude = &notice.Kind{
		Code: "geojson-altitude", Severity: notice.Warning, Group: "conversion", Spec: "8.6",
		Title: "a third coordinate stands in the position",
		Why: "RFC 7946 means height above the ellipsoid; a small or negative figure is often a depth put in the " +
			"wrong place",
		Help:   "Put a depth into the property depth with its unit. The third figure is not taken over.",
		Source: "RFC 7946 section 3.1.1",
		Before: `"coordinates": [-1.2, 52.5, -0.3]`, After: `"coordinates": [-1.2, 52.5]` + ` and "depth": "30 cm"`,
	}
	featureUnreadable = &notice.Kind{
		Code: "geojson-feature-unreadable", Severity: notice.Error, Group: "conversion", Spec: "8.6",
		Title: "a feature, or its geometry, cannot be read",
		Why: "a find is a point or has no place; what is not built as the standard says is kept as text, and the " +
			"others are read",
		Help:   "Give each find one point, or null, and look at the feature in the program that made it.",
		Source: "RFC 7946 sections 3.1 and 3.2",
		Before: `"geometry": {"type": "LineString", ...}`, After: `"geometry": {"type": "Point", ...}`,
	}
	featureWithoutPlace = &notice.Kind{
		Code: "geojson-point-empty", Severity: notice.Info, Group: "conversion", Spec: "8.6",
		Title:  "a point has no coordinates",
		Why:    "the find is kept without a position",
		Help:   "Add the place, if it is known.",
		Source: "RFC 7946 section 3.1: an empty list may be taken for null",
		Before: `"coordinates": []`, After: `"coordinates": [-1.2, 52.5]`,
	}
	outOfRange = &notice.Kind{
		Code: "geojson-out-of-range", Severity: notice.Warning, Group: "conversion", Spec: "8.6",
		Title:  "a point is not longitude and latitude in degrees",
		Why:    "GeoJSON holds WGS 84 longitude, then latitude; metres of a grid, or the two swapped, lead to another place",
		Help:   "Say the system of the coordinates with --system, such as --system EPSG:25832.",
		Source: "RFC 7946 sections 3.1.1 and 4",
		Before: `"coordinates": [452900, 302500]`, After: `"coordinates": [-1.2, 52.5]`,
	}
	propertyUnreadable = &notice.Kind{
		Code: "geojson-property-unreadable", Severity: notice.Error, Group: "conversion", Spec: "8.6",
		Title:  "a property does not fit its field",
		Why:    "the value would be lost; it is kept among the columns instead",
		Help:   "Write numbers as numbers and true or false as such.",
		Source: "our proposal",
		Before: `"depth.min": "deep"`, After: `"depth.min": 20.32`,
	}
	propertyUnknown = &notice.Kind{
		Code: "geojson-property-unknown", Severity: notice.Info, Group: "conversion", Spec: "8.6",
		Title: "a property of a feature is not understood",
		Why: "features of others are read by the names of their properties; what is not known is kept, but nobody " +
			"compares it with anything",
		Help:   "Rename the property to the nearest name, if that is what is meant.",
		Source: "our proposal",
		Before: `"dpeth": "8 in"`, After: `"depth": "8 in"`,
	}
	areaTaken = &notice.Kind{
		Code: "geojson-area-taken", Severity: notice.Info, Group: "conversion", Spec: "8.6",
		Title:  "a polygon of another program is taken for the area of a permission",
		Why:    "finds are then compared with it; the file does not say whose leave it stands for",
		Help:   "Look whether it is the land that the permission is for, and say of whom and how it was given.",
		Source: "our proposal",
		Before: `"geometry": {"type": "Polygon", ...}, "properties": {"name": "Long Furlong"}`,
		After:  `... "properties": {"record": "permission", "place.name": "Long Furlong"}`,
	}
	crsNamed = &notice.Kind{
		Code: "geojson-crs-member", Severity: notice.Info, Group: "conversion", Spec: "8.6",
		Title: "the file has a crs member",
		Why: "RFC 7946 removed it; where it names another system than WGS 84, other programs will show the finds " +
			"elsewhere",
		Help:   "Look whether the places are right. Where the system is not known, say it with --system.",
		Source: "RFC 7946 section 4",
		Before: `"crs": {"properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}`, After: "no crs member",
	}
)

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind {
	return []*notice.Kind{headerMissing, altitude, featureUnreadable, featureWithoutPlace, outOfRange,
		propertyUnreadable, propertyUnknown, areaTaken, crsNamed}
}
