// Package names looks up short texts in a list that is known from the start, such as codes of a vocabulary:
// quicker than a map, for the list is never changed and the texts are short.
//
//	codes := names.New(map[string]int{"iron": 1, "lead": 2})
//	n, ok := codes.Get("lead")
package names

import "iter"

// A Table leads from names to values. It is only read once it is made.
type Table[V any] struct {
	slots []slot[V]
	mask  uint64
}

type slot[V any] struct {
	name  string
	value V
	taken bool
}

// New returns the table of a map.
func New[V any](of map[string]V) *Table[V] {
	size := 4
	for size < 3*len(of) {
		size *= 2
	}
	t := &Table[V]{slots: make([]slot[V], size), mask: uint64(size - 1)}
	for name, v := range of {
		i := hash(name) & t.mask
		for t.slots[i].taken {
			i = (i + 1) & t.mask
		}
		t.slots[i] = slot[V]{name, v, true}
	}
	return t
}

// All goes through the names and their values, in no order that means anything.
func (t *Table[V]) All() iter.Seq2[string, V] {
	return func(yield func(string, V) bool) {
		for i := range t.slots {
			if s := &t.slots[i]; s.taken && !yield(s.name, s.value) {
				return
			}
		}
	}
}

// Get returns the value of a name; a nil table has none.
func (t *Table[V]) Get(name string) (value V, ok bool) {
	if t == nil {
		return value, false
	}
	for i := hash(name) & t.mask; t.slots[i].taken; i = (i + 1) & t.mask {
		if s := &t.slots[i]; s.name == name {
			return s.value, true
		}
	}
	return value, false
}

const odd = 0x9e3779b97f4a7c15

// hash mixes the length, the first and the last eight bytes.
func hash(s string) uint64 {
	h := uint64(len(s)) * odd
	switch n := len(s); {
	case n >= 8:
		h = (h ^ eight(s)) * odd
		h = (h ^ h>>29 ^ eight(s[n-8:])) * odd
	case n >= 4:
		h = (h ^ four(s) ^ four(s[n-4:])<<32) * odd
	default:
		for i := range n {
			h = (h ^ uint64(s[i])) * odd
		}
	}
	return h ^ h>>32
}

// eight returns the first eight bytes as a number.
func eight(s string) uint64 {
	_ = s[7]
	return uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24 | uint64(s[4])<<32 | uint64(s[5])<<40 | uint64(s[6])<<48 | uint64(s[7])<<56
}

// four returns the first four bytes as a number.
func four(s string) uint64 {
	_ = s[3]
	return uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24
}
