// Package kml writes finds as placemarks of KML 2.2 and reads placemarks as finds, the way of
// SPEC.md section 8.7 (OGC 12-007r2: KML 2.3 keeps the namespace of 2.2).
//
// A find is a Placemark: its name is the number, its description the finder's words, its Point the
// position, and its ExtendedData holds every field under a flat name, beside record = find. A find
// without a position is a Placemark without geometry. Permissions are Placemarks with polygons,
// record = permission, and their excluded parts record = excluded. The report without its finds
// stands in the ExtendedData of the Document, under the name findslip.
//
// Placemarks of others are read too, in folders or not: name, description, time and data become
// number, words, day and, by the table of headings, fields; what is not understood is kept.
//
// Styles, overlays, tracks, links and anything that would have to be fetched are passed over.
//
// This package is unstable: it may change between any two versions.
package kml

import (
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// namespace is that of KML 2.2 and 2.3.
const namespace = "http://www.opengis.net/kml/2.2"

// Options of Decode. The zero value is ready for use.
type Options struct {
	File   string       // name for messages
	Limits limit.Limits // Record, Header and Nesting are looked at
}

// Kinds of notice that reading gives.
var (
	headerMissing = &notice.Kind{
		Code: "kml-report-missing", Severity: notice.Info, Group: "conversion", Spec: "8.7",
		Title: "the file has no report in its extended data",
		Why: "it was made by another program, or one that dropped what it did not know, so that people and " +
			"permissions are not known",
		Help:   "Add them in a spreadsheet, or go on without; ask the sender for the file as it was written.",
		Source: "our proposal",
		Before: "placemarks drawn on a map", After: "placemarks written by a converter",
	}
	dataUnreadable = &notice.Kind{
		Code: "kml-data-unreadable", Severity: notice.Error, Group: "conversion", Spec: "8.7",
		Title:  "data of a placemark do not fit their field",
		Why:    "the value would be lost; it is kept among the columns instead",
		Help:   "Write numbers as numbers and true or false as such.",
		Source: "our proposal",
		Before: `<Data name="depth.min"><value>deep</value></Data>`,
		After:  `<Data name="depth.min"><value>20.32</value></Data>`,
	}
	placemarkUnreadable = &notice.Kind{
		Code: "kml-placemark-unreadable", Severity: notice.Error, Group: "conversion", Spec: "8.7",
		Title:  "the geometry of a placemark is not the place of one find",
		Why:    "a find is a point or has no place; a line or several points cannot be one",
		Help:   "Give each find one point, or none.",
		Source: "our proposal",
		Before: "<LineString>...</LineString>", After: "<Point><coordinates>-1.2,52.5</coordinates></Point>",
	}
	areaTaken = &notice.Kind{
		Code: "kml-area-taken", Severity: notice.Info, Group: "conversion", Spec: "8.7",
		Title:  "a polygon of another program is taken for the area of a permission",
		Why:    "finds are then compared with it; the file does not say whose leave it stands for",
		Help:   "Look whether it is the land that the permission is for, and say of whom and how it was given.",
		Source: "our proposal",
		Before: "<Placemark><name>Long Furlong</name><Polygon>...</Polygon></Placemark>",
		After:  `... <Data name="record"><value>permission</value></Data> ...`,
	}
)

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind {
	return []*notice.Kind{headerMissing, dataUnreadable, placemarkUnreadable, areaTaken}
}
