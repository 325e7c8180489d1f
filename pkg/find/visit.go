package find

import (
	"bytes"
)

// Visitors go through the map of the record and pass over what holds nothing of the sort they look for.

// termed is a Term, or what embeds one; measured is a Quantity, likewise.
type (
	termed   interface{ term() *Term }
	measured interface{ quantity() *Quantity }
)

func (t *Term) term() *Term             { return t }
func (q *Quantity) quantity() *Quantity { return q }

// TermOf returns the term that an object is or embeds, nil if it has none. To ask for the usual types first is quicker.
func TermOf(o any) *Term {
	switch o := o.(type) {
	case *Term:
		return o
	case *Material:
		return &o.Term
	case termed:
		return o.term()
	}
	return nil
}

// QuantityOf returns the quantity that an object is or embeds, nil if it has none.
func QuantityOf(o any) *Quantity {
	switch o := o.(type) {
	case *Quantity:
		return o
	case *Depth:
		return &o.Quantity
	case measured:
		return o.quantity()
	}
	return nil
}

// Terms calls visit for each term of the find that takes its codes from a list, with its pointer
// and the name of the list.
func (f *Find) Terms(visit func(pointer, list string, t *Term)) {
	seek(&treeOf[Find]().top, f, nil, terms, func(s spot, v any) {
		visit(s.pointer(), s.node.member.list, TermOf(v))
	})
}

// Quantities calls visit for each quantity of the find with its pointer and the unit its numbers
// are in: cm, mm, g, or empty for a count.
func (f *Find) Quantities(visit func(pointer, unit string, q *Quantity)) {
	seek(&treeOf[Find]().top, f, nil, quantities, func(s spot, v any) {
		visit(s.pointer(), s.node.member.unit, QuantityOf(v))
	})
}

// Codes calls visit for each plain code of a closed list, or of the owner list, that is given.
func (f *Find) Codes(visit func(pointer, list string, code *string)) {
	seek(&treeOf[Find]().top, f, nil, codes, func(s spot, v any) {
		visit(s.pointer(), s.node.member.list, v.(*string))
	})
}

// Days calls visit for each member that holds a plain day.
func (f *Find) Days(visit func(pointer string, day *string)) {
	seek(&treeOf[Find]().top, f, nil, days, func(s spot, v any) {
		visit(s.pointer(), v.(*string))
	})
}

// seek calls visit for what is given of one sort: with the field of a member, or the object that it leads to.
func seek(l *level, o object, in *spot, sort int, visit func(s spot, v any)) {
	for _, i := range l.with[sort] {
		n := &l.nodes[i]
		switch n.member.kind {
		case objectKind:
			if child := o.child(i, false); child != nil {
				seekObject(spot{in, n, -1}, child, in, sort, visit)
			}
		case listKind:
			items := o.list(i)
			for k := range items.length() {
				item := &spot{in, n, k}
				seekObject(*item, items.item(k), item, sort, visit)
			}
		default:
			if text := o.leaf(i).(*string); *text != "" {
				visit(spot{in, n, -1}, text)
			}
		}
	}
}

func seekObject(s spot, o object, in *spot, sort int, visit func(s spot, v any)) {
	if s.node.is[sort] {
		visit(s, o)
	}
	if len(s.node.below.with[sort]) > 0 {
		seek(&s.node.below, o, in, sort, visit)
	}
}

// Same reports whether two records say the same: they are written alike.
func Same[T Record](a, b *T) bool {
	x, errX := appendObject(nil, any(a).(object))
	y, errY := appendObject(nil, any(b).(object))
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// The kinds of things that local ids name.
const (
	PersonID     = "person"
	PermissionID = "permission"
	OutingID     = "outing"
)

// LocalIDs calls visit for each local id that the find gives, with the kind of thing that it names. Visit may
// change it.
func (f *Find) LocalIDs(visit func(kind string, id *string)) {
	seek(&treeOf[Find]().top, f, nil, locals, func(s spot, v any) { visit(localIDs[s.node.member.name], v.(*string)) })
}

// localIDs are the members of a find that hold a local id, and what it names. To whom a find was reported is in words.
var localIDs = map[string]string{"finder": PersonID, "permission": PermissionID, "outing": OutingID, "keeper": PersonID,
	"by": PersonID, "person": PersonID, "from": PersonID, "to": PersonID}
