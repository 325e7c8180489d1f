package spreadsheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
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
	if !r.t.plan.own && !strings.ContainsAny(text, `0123456789./\_-:`) { // see pic, yes, on phone, kein Bild
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

var betweenMeasures = text.Pattern(`\s*(?:[/;]|,\s|\s[-–]\s)\s*`)

// weightIn takes a weight with its unit out of a cell of sizes, where no column has the weights, and returns the rest.
// The whole cell stays under its heading.
func (r *rowReader) weightIn(c *column, text string) (size string) {
	if r.t.plan.own || r.t.field("weight") != nil {
		return text
	}
	var rest []string
	for _, part := range betweenMeasures().Split(text, -1) {
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
	if v.Position = text; c.square != "" && bareSquare().MatchString(text) {
		v.Position = c.square + " " + text
		r.keep(c.heading, text)
	} else if spot := coordinate.FromLink(text); spot != "" {
		v.Position = spot
		r.keep(c.heading, text)
	} else if !r.t.plan.own {
		r.setSpot(c, text)
	}
}

// severalThings reports whether the name of a find has several things in it: counted each, below each other, numbered,
// parted by semicolons, or each with a depth; or a list of nothing but things of different sorts.
func severalThings(text string) bool {
	if len(text) < 8 || len(text) > 2000 || !strings.ContainsAny(text, ",;\n.+&x(") && strings.Count(text, " ") < 3 {
		return false
	}
	parts := strings.FieldsFunc(numberedPart().ReplaceAllString(text, "\n$1"),
		func(r rune) bool { return r == ';' || r == '\n' })
	loose := len(parts) < 2
	if loose {
		parts = listedPart().Split(bracketed().ReplaceAllStringFunc(text,
			func(s string) string { return strings.ReplaceAll(s, ",", " ") }), -1)
	}
	if loose && len(parts) < 3 && !strings.ContainsAny(text, "0123456789") {
		return false // a thing and a word for it
	}
	things, counted, deep := map[string]bool{}, 0, 0
	for _, part := range parts {
		part = strings.Trim(part, " -–•*.")
		name := thingIn(part)
		if head, _, more := strings.Cut(part, ","); name == "" && more {
			name = thingIn(head)
		}
		if name == "" {
			continue
		}
		things[name] = true
		if countedPart().MatchString(part) {
			counted++
		}
		if deepPart().MatchString(part) {
			deep++
		}
	}
	n := len(things)
	return n > 1 && (!loose || counted > 1 || deep > 1 || len(parts) > 2 && n >= len(parts)-1)
}

// thingIn is the class of the thing that a text names, with its counts, its measures and what it is of; empty for none.
func thingIn(text string) string {
	words := slices.DeleteFunc(heading.Words(countsAndMeasures().ReplaceAllString(text, " ")), func(word string) bool {
		m, ok := vocabulary.Get("material").Match(word)
		return ok && m.How == vocabulary.Label
	})
	if len(words) == 0 {
		return ""
	}
	return cmp.Or(classOf(strings.Join(words, " ")), classOf(words[len(words)-1]))
}

var (
	numberedPart      = text.Pattern(`(?:^|\s)[1-9][.)]\s+(\pL)`)
	listedPart        = text.Pattern(`\s*,\s*|\s+(?:[&+]|and|und|en|et|og|och|i|e|y)\s+`)
	countsAndMeasures = text.Pattern(`\([^)]*\)|[0-9]+(?:x\b|\s*(?:cm|in|inch)\b|["″])?|\bx\b`)
	bracketed         = text.Pattern(`\([^)]*\)`)
	countedPart       = text.Pattern(`^[0-9]{1,3}\s*x?\s+\pL|\sx\s?[0-9]{1,3}$|^\(?[0-9]{1,3}x`)
	deepPart          = text.Pattern(`[0-9]\s*(?:cm|in|inch|"|″)`)
)

// thing is one of several that a cell names.
type thing struct{ number, name, rest string }

// things cuts a cell of several things into them where it is sure where each begins: on a line, behind a semicolon or a
// number of its own, or, with its own length, behind an and. Nil where it is not.
func things(text string) (out []thing) {
	ends := func(r rune) bool { return r == ';' || r == '\n' }
	parts := strings.FieldsFunc(numberedPart().ReplaceAllString(text, "\n$0"), ends)
	parts = slices.DeleteFunc(parts, func(s string) bool { return strings.TrimSpace(s) == "" })
	if len(parts) < 2 {
		parts = andBetween().Split(text, -1)
		if slices.ContainsFunc(parts, func(s string) bool { return !deepPart().MatchString(s) }) {
			return nil
		}
	}
	for _, part := range parts {
		t := thingOf(part)
		said := len(parts) > 2 || t.rest != "" || strings.ContainsAny(part, "0123456789") // and no buckle; bent pin
		if t.name == "" || t.number == "" && (!said || thingIn(t.name) == "") {
			return nil
		}
		out = append(out, t)
	}
	return out
}

// thingOf takes the number in front of a thing, its name, and what is said of it behind the first comma.
func thingOf(part string) (t thing) {
	part = strings.Trim(part, " -–•*")
	if m := numberInFront().FindStringSubmatch(part); m != nil {
		t.number, part = m[1], m[2]
	}
	t.name, t.rest, _ = strings.Cut(part, ", ")
	t.name, t.rest = strings.TrimSpace(t.name), strings.TrimSpace(t.rest)
	return t
}

var (
	andBetween    = text.Pattern(`\s+(?:[&+]|and|und|en|et|og|och|i|e|y)\s+`)
	numberInFront = text.Pattern(`^\(?([1-9][0-9]{0,2})[.):]\)?\s+(.*\pL.*)$`)
)

// thingsIn returns the things that the name of a row names, each of which is a find: nil for the one of most rows.
// Nothing but where, when and by whom stands in the other cells, which say it of all of them.
func (t *tablePlan) thingsIn(row grid.Row) []thing {
	name := t.field("name")
	if name == nil || t.plan.own || t.groups > 1 {
		return nil
	}
	text := cellText(row.Cell(name.column))
	out := things(text)
	if t.numbered && len(out) < 2 {
		out = []thing{thingOf(text)}
	}
	bare := slices.ContainsFunc(out, func(o thing) bool { return o.number == "" })
	if parts := strings.Split(text, ";"); len(parts) > 1 && namesDepthToo(name.heading) {
		out = out[:0]
		for _, part := range parts {
			out = append(out, thing{name: strings.TrimSpace(part)})
		}
	} else if bare && (len(out) < 2 || !severalThings(text)) || !bare && !t.numbered && !severalThings(text) {
		return nil
	}
	each, one := 0, 0 // cells that say it of each, and of one
	for _, c := range t.columns {
		text := cellText(row.Cell(c.column))
		switch {
		case c == name || text == "" || !ofOne(c.Field):
		case len(strings.Split(text, ";")) == len(out):
			each++
		case each == 0 || !strings.HasPrefix(c.Field, "position"):
			one++
		}
	}
	if one > 0 {
		return nil
	}
	return out
}

// ofThing is the part of a cell that is about one of the things of the row: lead; brass.
func (r *rowReader) ofThing(c *column, text string) string {
	parts := strings.Split(text, ";")
	for i := range r.things {
		if r.thing == &r.things[i] && len(parts) == len(r.things) && len(parts) > 1 && ofOne(c.Field) {
			r.keep(c.heading, text)
			return strings.TrimSpace(parts[i])
		}
	}
	return text
}

// numbersThings reports whether the things that stand in the cells of names have running numbers of their own.
func (t *tablePlan) numbersThings() bool {
	name, seen, several := t.field("name"), map[string]bool{}, false
	if name == nil || t.field("number") != nil {
		return false
	}
	for _, s := range name.samples {
		parts := things(s)
		several = several || len(parts) > 1
		for _, p := range parts {
			if p.number == "" || seen[p.number] {
				return false
			}
			seen[p.number] = true
		}
	}
	return several
}
