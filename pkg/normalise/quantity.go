package normalise

import (
	"cmp"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
)

func indexed(list string, i int) string { return list + "/" + strconv.Itoa(i) }

// quantities reads every length, weight and count.
func (n *normaliser) quantities() {
	type gone struct {
		pointer, reason string
	}
	var empty []gone
	n.f.Quantities(func(pointer, unit string, q *find.Quantity) {
		if reason := n.quantity(pointer, unit, q); reason != "" {
			empty = append(empty, gone{pointer: pointer, reason: reason})
		}
	})
	for _, g := range empty {
		n.takeAway(g.pointer, g.reason)
	}
}

// quantity reads one quantity and returns the reason if its text only says that there is none.
func (n *normaliser) quantity(pointer, unit string, q *find.Quantity) (absent string) {
	if q.Verbatim == "" || q.HasValue() {
		return ""
	}
	def, stated := n.unitOf(pointer, unit, q)
	into := unitNamed(unit)
	r, err := readMeasure(q.Verbatim, quantity.Options{Into: into, Default: def, Language: lexicon.ByTag(n.o.Language)})
	if pointer == "/count" && quantity.IsVague(err) {
		n.f.Kind = cmp.Or(n.f.Kind, "lot")
		return "" // several: asked for by several-not-counted, where anybody counts such things
	}
	if err != nil {
		n.fault(pointer, err)
		return ""
	}
	if r.Absent != "" {
		return r.Absent
	}
	if n.o.Supplied.Unit && !stated && slices.ContainsFunc(r.Notes,
		func(note quantity.Note) bool { return note.Code == quantity.NoteUnitAssumed }) {
		n.supplied(pointer)
		stated = true
	}
	n.notes(pointer, r.Notes, stated)
	q.SetValue(r.Quantity)
	if r.Basis == quantity.BasisSurface && pointer == "/depth" && n.f.Depth.Basis == nil && n.open("/depth/basis") {
		n.f.Depth.Basis = &find.Term{Code: "surface"}
	}
	return ""
}

// unitNamed returns the unit with a code, none for a count.
func unitNamed(code string) quantity.Unit {
	switch code { // those of the members of a find
	case "":
		return quantity.NoUnit
	case "cm":
		return quantity.CM
	case "mm":
		return quantity.MM
	case "g":
		return quantity.G
	}
	u, _ := quantity.ParseUnit(code)
	return u
}

// notes passes on what the reading of a quantity assumed. A unit that the heading states is no
// assumption.
func (n *normaliser) notes(pointer string, notes []quantity.Note, stated bool) {
	for _, note := range notes {
		if note.Code != quantity.NoteUnitAssumed || !stated {
			n.assumed(pointer, note.Code, note.Message)
		}
	}
}

// unitOf returns the unit of a bare number, and whether the source states it: the unit said beside
// it, the heading, the sheet, and last the option.
func (n *normaliser) unitOf(pointer, unit string, q *find.Quantity) (u quantity.Unit, stated bool) {
	into := unitNamed(unit)
	for _, code := range [...]string{q.Said, n.hintsAt(pointer).Unit} {
		if code == "" {
			continue
		}
		if u, err := quantity.ParseUnit(code); err == nil && u.Dimension() == into.Dimension() {
			return u, true
		}
	}
	if n.o.Unit.Dimension() == into.Dimension() {
		return n.o.Unit, false
	}
	return quantity.NoUnit, false
}

// takeAway removes a quantity whose text only said that there is none, and notes the reason. What
// else was said of it, such as how it was known, keeps the words.
func (n *normaliser) takeAway(pointer, reason string) {
	f := n.f
	noWords := func(q *find.Quantity) { q.Verbatim, q.Said = "", "" }
	switch {
	case pointer == "/depth":
		if !onlyWords(*f.Depth, func(d *find.Depth) {
			if noWords(&d.Quantity); d.Basis.Is("not-recorded") {
				d.Basis = nil
			}
		}) {
			n.absent("/depth/min", reason)
			return
		}
		f.Depth = nil
	case pointer == "/count" && onlyWords(*f.Count, noWords):
		f.Count = nil
	case pointer == "/weight" && onlyWords(*f.Weight, noWords):
		f.Weight = nil
	case strings.HasPrefix(pointer, "/dimensions/"):
		if !clearDimension(f.Dimensions, strings.TrimPrefix(pointer, "/dimensions/"), noWords) {
			return
		}
		f.Dimensions = notEmpty(f.Dimensions)
	default:
		return // within a list, and beside what this version does not know, the words stand
	}
	n.absent(pointer, reason)
}

// onlyWords reports whether a member holds nothing but the words that clear takes out of a copy.
func onlyWords[T any](v T, clear func(*T)) bool {
	clear(&v)
	return reflect.ValueOf(v).IsZero()
}

// inList reports whether a pointer leads into a list.
func inList(pointer string) bool {
	for i := range len(pointer) {
		if pointer[i]-'0' < 10 {
			return true
		}
	}
	return false
}

// clearDimension takes a size away that is nothing but words, and reports whether it did.
func clearDimension(d *find.Dimensions, name string, noWords func(*find.Quantity)) bool {
	for member, q := range map[string]**find.Quantity{"length": &d.Length, "width": &d.Width, "height": &d.Height,
		"thickness": &d.Thickness, "diameter": &d.Diameter} {
		if member == name && *q != nil && onlyWords(**q, noWords) {
			*q = nil
			return true
		}
	}
	return false
}

// lot makes a record of several objects a lot, and says so where the count was no figure of its own.
func (n *normaliser) lot() {
	c := n.f.Count
	if n.f.Kind == "" && c.HasValue() && c.Min.Known() && c.Min.Float() > 1 {
		n.f.Kind = "lot"
		if !strings.ContainsAny(c.Verbatim, "0123456789") {
			n.say(&kinds.LotAssumed, "/kind", "several objects in one record are taken as a lot")
		}
	}
}

// core members that a table may leave blank, with what stands in their place.
var coreMembers = []struct {
	pointer string
	given   func(f *find.Find) bool
}{
	{"/number", func(f *find.Find) bool { return f.Number != "" }},
	{"/finder", func(f *find.Find) bool { return f.Finder != "" }},
	{"/permission", func(f *find.Find) bool { return f.Permission != "" }},
	{"/found", func(f *find.Find) bool { return f.Found != nil }},
	{"/place", func(f *find.Find) bool { return f.Place != nil || f.Position != nil }},
	{"/position", func(f *find.Find) bool { return f.Position != nil }},
	{"/depth", func(f *find.Find) bool { return f.Depth != nil }},
	{"/name", func(f *find.Find) bool { return f.Name != "" }},
	{"/count", func(f *find.Find) bool { return f.Count != nil }},
	{"/materials", func(f *find.Find) bool { return len(f.Materials) > 0 }},
	{"/identification", func(f *find.Find) bool { return f.Identification != nil }},
}

// blanks notes the core members that the table had no word for.
func (n *normaliser) blanks() {
	for _, m := range coreMembers {
		given := m.given(n.f)
		if given && n.f.Absent[m.pointer] == "blank" {
			delete(n.f.Absent, m.pointer)
		}
		if !given && n.f.Absent[m.pointer] == "" {
			n.absent(m.pointer, "blank")
		}
	}
	if len(n.f.Absent) == 0 {
		n.f.Absent = nil
	}
}
