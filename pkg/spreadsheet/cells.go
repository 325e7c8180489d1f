package spreadsheet

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/quantity"
)

// The readers of single cells that may hold more than their field. What one of them leaves over is kept in its words.

// setFinder takes who found it, of several the first.
func (r *rowReader) setFinder(c *column, text string) {
	switch all := c.finders(text); len(all) {
	case 0:
		r.keep(c.heading, text)
		r.sayCell(findersTwo, c, fmt.Sprintf("%q is not one finder; it is kept under the heading", text))
		return
	case 1:
	default:
		r.keep(c.heading, text)
		r.sayCell(findersTwo, c, "the cell names two finders; the first was taken")
		text = all[0]
	}
	r.f.Finder = r.d.references.Person(text)
}

// setPictures takes the pictures that a cell names.
func (r *rowReader) setPictures(c *column, text string) {
	if !r.t.plan.own && !strings.ContainsAny(text, `0123456789./\_-:`) { // see pic, yes, on phone
		r.sayCell(cellUnreadable, c, "the cell is no name of a picture; its text is kept under the heading")
		r.keep(c.heading, text)
		return
	}
	intake.Pictures(r.f, text)
}

// setTime takes the time of day in any form that people write.
func (r *rowReader) setTime(c *column, text string) {
	at, err := edtf.ParseTime(text)
	if err != nil || c.path == nil {
		r.sayCell(cellUnreadable, c, "the cell is no time of day, such as 14:30; its text is kept under the heading")
		r.keep(c.heading, text)
		return
	}
	if at != text && at != "0"+text {
		r.keep(c.heading, text)
	}
	r.setMember(c, at)
}

// setSystem takes the reference system in which the row has its coordinates.
func (r *rowReader) setSystem(c *column, text string) {
	if r.t.plan.own { // canonical columns stand for themselves (SPEC 8.4-4)
		r.setMember(c, text)
		return
	}
	code := systemIn(text)
	if s, ok := coordinate.SystemByCode(text); ok {
		code = s.Code
	} else if zone := r.t.systemOfZone(text); zone != "" {
		code = zone
	}
	if code != text {
		r.keep(c.heading, text)
	}
	if code == "" {
		r.sayCell(cellUnreadable, c,
			"the cell names no grid that is known here, such as EPSG:27700; its text is kept under the heading")
		return
	}
	r.setMember(c, code)
}

// setSpot takes a position that stands before other words; a cell of words alone, in a column of positions and notes,
// is a note.
func (r *rowReader) setSpot(c *column, text string) {
	spot, rest := coordinate.Leading(text)
	switch {
	case spot != "":
		r.v.Position = spot
		r.keep(c.heading, text)
		if !heading.Says("place", c.heading) && !heading.Says("notes", c.heading) {
			r.sayCell(cellBeside, c, fmt.Sprintf("the position is taken, and %q behind it is kept under the heading",
				clip(rest)))
		}
		if heading.Says("place", c.heading) && r.f.Place == nil && strings.IndexFunc(rest, unicode.IsLetter) == 0 {
			r.f.Place = &find.Place{Name: rest}
		}
	case heading.Says("place", c.heading) && c.content.Places > 1 && !strings.ContainsAny(text, "0123456789") &&
		r.f.Place == nil &&
		strings.IndexFunc(text, unicode.IsUpper) == 0:
		r.v.Position, r.f.Place = "", &find.Place{Name: text}
	case heading.Says("notes", c.heading):
		if _, err := coordinate.Normalise(text, coordinate.Options{}); err != nil {
			r.v.Position = ""
			r.f.Notes = strings.TrimPrefix(r.f.Notes+"; "+text, "; ")
		}
	}
}

// setSize takes a size that does not say which side: two figures are length and width, three the height too.
func (r *rowReader) setSize(c *column, text string) {
	size := r.weightIn(c, text)
	if size == "" {
		return
	}
	d := r.f.Dimensions
	if d == nil {
		d = new(find.Dimensions)
	}
	if sidesOf(size, d) {
		r.f.Dimensions = d
		return
	}
	parts := strings.FieldsFunc(size, func(x rune) bool { return x == 'x' || x == 'X' || x == '×' || x == '*' })
	last := strings.TrimSpace(parts[len(parts)-1])
	unit := strings.TrimSpace(strings.TrimLeft(last, "0123456789.,/ ½¼¾"))
	sides := [...]**find.Quantity{&d.Length, &d.Width, &d.Height}
	if len(parts) > len(sides) || size != text && strings.ContainsAny(size, ",;/") {
		r.sayCell(cellUnreadable, c, "the cell is no size that can be read; its text is kept under the heading")
		r.keep(c.heading, text)
		return
	}
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if i < len(parts)-1 && unit != "" && strings.Trim(part, "0123456789.,/ ½¼¾") == "" {
			part += " " + unit
		}
		*sides[i] = &find.Quantity{Verbatim: part}
	}
	r.f.Dimensions = d
}

var betweenMeasures = regexp.MustCompile(`\s*(?:[/;]|,\s|\s[-–]\s)\s*`)

// weightIn takes a weight with its unit out of a cell of sizes, where no column has the weights, and returns the rest.
// The whole cell stays under its heading.
func (r *rowReader) weightIn(c *column, text string) (size string) {
	if r.t.plan.own || r.t.field("weight") != nil {
		return text
	}
	var rest []string
	for _, part := range betweenMeasures.Split(text, -1) {
		m, err := quantity.NormaliseMass(part, quantity.Options{})
		if err != nil || m.Absent != "" || m.Said == quantity.NoUnit || r.f.Weight != nil {
			rest = append(rest, part)
			continue
		}
		r.f.Weight = &find.Quantity{Verbatim: part}
	}
	if r.f.Weight == nil {
		return text
	}
	r.keep(c.heading, text)
	return strings.Join(rest, ", ")
}

// setPosition takes the words of a place: with the square that the heading names, out of a link to a map, or as they
// stand.
func (r *rowReader) setPosition(c *column, text string) {
	v := &r.v
	if v.Position = text; c.square != "" && bareSquare.MatchString(text) {
		v.Position = c.square + " " + text
		r.keep(c.heading, text)
	} else if spot := coordinate.FromLink(text); spot != "" {
		v.Position = spot
		r.keep(c.heading, text)
	} else if !r.t.plan.own {
		r.setSpot(c, text)
	}
}
