package normalise

import (
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
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
	var r quantity.Reading
	var err error
	def, stated := n.unitOf(pointer, unit, q)
	switch unit {
	case "":
		r, err = quantity.NormaliseCount(q.Verbatim)
	case "g":
		r, err = quantity.NormaliseMass(q.Verbatim, quantity.Options{Into: quantity.G, Default: def})
	case "mm":
		r, err = quantity.NormaliseLength(q.Verbatim, quantity.Options{Into: quantity.MM, Default: def})
	default:
		r, err = quantity.NormaliseLength(q.Verbatim, quantity.Options{Into: quantity.CM, Default: def})
	}
	if err != nil {
		n.fault(pointer, err)
		return ""
	}
	if r.Absent != "" {
		return r.Absent
	}
	for _, note := range r.Notes {
		if note.Code == UnitAssumed.Code && stated {
			continue // the heading states it: that is no assumption
		}
		n.assumed(pointer, note.Code, note.Message)
	}
	q.SetValue(r.Quantity)
	if r.Basis == "surface" && pointer == "/depth" && n.f.Depth.Basis == nil {
		n.f.Depth.Basis = &find.Term{Code: "surface"}
	}
	return ""
}

// unitOf returns the unit of a bare number, and whether the source states it: the unit said beside
// it, the heading, the sheet, and last the option.
func (n *normaliser) unitOf(pointer, unit string, q *find.Quantity) (u quantity.Unit, stated bool) {
	into, _ := quantity.ParseUnit(unit)
	hint := n.layout.HintsAt(pointer).Unit
	for _, code := range []string{q.Said, hint} {
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
	switch {
	case pointer == "/depth":
		d := f.Depth
		if !onlyQuantity(d) && !d.Basis.Is("not-recorded") {
			n.absent("/depth/min", reason)
			return
		}
		f.Depth = nil
	case pointer == "/count":
		f.Count = nil
	case pointer == "/weight":
		f.Weight = nil
	case strings.HasPrefix(pointer, "/dimensions/"):
		clearDimension(f, strings.TrimPrefix(pointer, "/dimensions/"))
	default:
		return // within a list the words stand
	}
	n.absent(pointer, reason)
}

func onlyQuantity(d *find.Depth) bool {
	return d.Basis == nil && d.Surface == nil && d.MeasuredTo == "" && d.By == "" && d.On == "" && d.Why == ""
}

func clearDimension(f *find.Find, name string) {
	d := f.Dimensions
	switch name {
	case "length":
		d.Length = nil
	case "width":
		d.Width = nil
	case "height":
		d.Height = nil
	case "thickness":
		d.Thickness = nil
	case "diameter":
		d.Diameter = nil
	}
	if d.Length == nil && d.Width == nil && d.Height == nil && d.Thickness == nil && d.Diameter == nil && d.Surviving == nil && len(d.Unknown) == 0 {
		f.Dimensions = nil
	}
}

// lot says so when a count of several makes a record a lot.
func (n *normaliser) lot() {
	c := n.f.Count
	if n.f.Kind == "" && c.HasValue() && c.Min.Known() && c.Min.Float() > 1 {
		n.f.Kind = "lot"
		n.say(LotAssumed, "/kind", "several objects in one record are taken as a lot")
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
