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
	"slices"

	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
)

// namespace is that of KML 2.2 and 2.3.
const namespace = "http://www.opengis.net/kml/2.2"

// Options of Decode. The zero value is ready for use.
type Options struct {
	File   string       // name for messages
	Limits limit.Limits // Record, Header and Nesting are looked at
}

// foreignFind learns from a placemark of another program that is no area.
func (d *decoder) foreignFind(p *placemark, texts []intake.Text) {
	if d.passed(p) {
		d.Pass(&kinds.MarkPassedOver, "placemark", p.Name, p.Description)
		return
	}
	if place, _ := p.place(); place != nil { // a walk has no number
		d.Stray(p.Name, p.Description)
	}
	if n := len(d.folders); n > 0 && len(d.besides[d.beside()]) < maxFolders {
		d.besides[d.beside()] = append(d.besides[d.beside()], d.folders[n-1])
		d.lands[d.beside()] = d.lands[d.beside()] || isLand(d.folders[n-1])
	}
	if n := len(d.folders); n > 0 {
		d.Dated(d.folders[n-1])
	}
	d.Foreign(append(texts, d.around(p)...))
}

// around is what the folders, the words of a placemark and the title of the file say of a find.
func (d *decoder) around(p *placemark) []intake.Text {
	out := append(d.field(), intake.Said(p.Description)...)
	if d.finder != "" && !slices.ContainsFunc(out, func(t intake.Text) bool { return t.Name == "finder" }) {
		out = append(out, intake.Text{Name: "finder", Text: d.finder})
	}
	return out
}
