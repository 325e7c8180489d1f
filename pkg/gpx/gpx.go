// Package gpx writes finds as waypoints of GPX 1.1 and reads waypoints as finds, the way of
// SPEC.md section 8.7.
//
// A waypoint has the number of the find as its name, the finder's words as its description, and
// every field in its extensions, under flat names; the report without its finds stands in the
// extensions of the metadata. A find without a position has no waypoint and cannot be carried.
// Waypoints of others are read too: name, time and comment become number, day and words; what else
// they say is kept among the columns.
//
// This package is unstable: it may change between any two versions.
package gpx

import (
	"bufio"
	"fmt"
	"io"
	"time"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/internal/markup"
	"github.com/findslip/findslip/pkg/limit"
)

// namespace is the XML namespace of the extensions of this format.
const namespace = "https://w3id.org/findslip/1"

const gpxNamespace = "http://www.topografix.com/GPX/1/1"

// Options of Decode. The zero value is ready for use.
type Options struct {
	File   string       // name for messages
	Limits limit.Limits // Record, Header and Nesting are looked at
}

// Encode writes a report as GPX 1.1. Finds without a position are left out.
func Encode(w io.Writer, s *find.Stream) error {
	out := bufio.NewWriterSize(w, 1<<16)
	head, err := find.CanonicalHeader(s.Report)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"findslip\" "+
		"xmlns=%q xmlns:fs=%q>\n", gpxNamespace, namespace)
	out.WriteString("  <metadata>\n")
	if s.Report.Title != "" {
		markup.Element(out, "    ", "name", s.Report.Title)
	}
	out.WriteString("    <extensions>\n")
	markup.Element(out, "      ", "fs:report", markup.JSON(string(head)))
	out.WriteString("    </extensions>\n  </metadata>\n")
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find != nil && Carries(e.Find) {
			writeWaypoint(out, e.Find, s.Report)
		}
	}
	out.WriteString("</gpx>\n")
	return out.Flush()
}

// Carries reports whether a find can be a waypoint: it must have a position on the Earth.
func Carries(f *find.Find) bool {
	return f.Position.Located()
}

// The schema of GPX 1.1 (longitudeType) ends below 180 degrees: there stands the same meridian from
// the other side, and the longitude itself among the fields.
const (
	dateLine      = "180"
	otherDateLine = "-180"
	longitude     = "position.longitude"
)

func writeWaypoint(out *bufio.Writer, f *find.Find, r *find.Report) {
	lon, moved := f.Position.Longitude.String(), false
	if lon == dateLine {
		lon, moved = otherDateLine, true
	}
	fmt.Fprintf(out, "  <wpt lat=%q lon=%q>\n", f.Position.Latitude.String(), lon)
	if moment, ok := momentOf(f); ok {
		markup.Element(out, "    ", "time", moment)
	}
	if f.Number != "" {
		markup.Element(out, "    ", "name", f.Number)
	}
	if f.Name != "" {
		markup.Element(out, "    ", "desc", f.Name)
	}
	out.WriteString("    <extensions>\n")
	field := func(name, text string) {
		fmt.Fprintf(out, "      <fs:field name=\"%s\">%s</fs:field>\n", markup.Escape(name), markup.Escape(text))
	}
	for c := range find.Flat(f) {
		if c.Name != "position.latitude" && (c.Name != longitude || moved) {
			field(c.Name, c.Text)
		}
	}
	intake.Beside(f, r, field)
	if len(f.Unknown) > len("{}") {
		field("unknown", markup.JSON(string(f.Unknown)))
	}
	out.WriteString("    </extensions>\n  </wpt>\n")
}

// momentOf returns when the find was made as GPX writes it, if that is known to the minute and in UTC. A day alone is
// no moment: midnight would be an invention.
func momentOf(f *find.Find) (string, bool) {
	if f.Found == nil || f.Found.Time == "" {
		return "", false
	}
	for _, layout := range []string{"2006-01-02T15:04Z07:00", "2006-01-02T15:04:05Z07:00"} {
		if t, err := time.Parse(layout, f.Found.Date+"T"+f.Found.Time); err == nil {
			if t = t.UTC(); t.Year() < 1 || t.Year() > 9999 {
				return "", false
			}
			return t.Format(time.RFC3339), true
		}
	}
	return "", false
}
