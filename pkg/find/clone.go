package find

import (
	"bytes"
	"maps"
	"slices"

	"github.com/go-json-experiment/json/jsontext"
)

// Clone returns a copy of a record that shares nothing with it.
func Clone[T Record](record *T) *T {
	out := new(T)
	cloneObject(any(out).(object), any(record).(object))
	return out
}

// cloneObject copies an object into one that is empty.
func cloneObject(to, from object) {
	members := from.shape().members
	for i := from.next(0); i >= 0; i = from.next(i + 1) {
		switch members[i].kind {
		case objectKind:
			cloneObject(to.child(i, true), from.child(i, false))
		case listKind:
			l, into := from.list(i), to.list(i)
			into.resize(l.length())
			for k := range l.length() {
				cloneObject(into.item(k), l.item(k))
			}
		default:
			cloneLeaf(to.leaf(i), from.leaf(i))
		}
	}
	*to.unknown() = slices.Clone(*from.unknown())
}

func cloneLeaf(to, from any) {
	switch v := from.(type) {
	case *string:
		*to.(*string) = *v
	case *Number:
		*to.(*Number) = *v
	case *bool:
		*to.(*bool) = *v
	case **bool:
		set := **v
		*to.(**bool) = &set
	case *[]string:
		*to.(*[]string) = slices.Clone(*v)
	case *map[string]string:
		*to.(*map[string]string) = maps.Clone(*v)
	case *jsontext.Value:
		*to.(*jsontext.Value) = slices.Clone(*v)
	}
}

// Same reports whether two records say the same: they are written alike.
func Same[T Record](a, b *T) bool {
	x, errX := appendObject(nil, any(a).(object))
	y, errY := appendObject(nil, any(b).(object))
	return errX == nil && errY == nil && bytes.Equal(x, y)
}
