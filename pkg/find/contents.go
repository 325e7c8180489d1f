package find

import (
	"encoding/binary"
	"maps"
	"slices"
	"unsafe"

	"github.com/go-json-experiment/json/jsontext"
)

// AppendContents appends to b what the find says, in a form that is the same for two finds that say the
// same and for no others: to compare records, or to sum one up. Every member counts, also one that is
// not known; the order of a map does not.
func (f *Find) AppendContents(b []byte) []byte {
	return appendContents(b, findShape(), unsafe.Pointer(f))
}

// A Part is what a find says in one of its own members: a piece of what AppendParts appends.
type Part struct {
	Member   int // its place among the members
	From, To int
}

// Members is a set of the members of a find, by their places.
type Members [2]uint64

// Add adds a member.
func (m *Members) Add(i int) { m[i>>6] |= 1 << (i & 63) }

// Has tells whether a member is in the set.
func (m *Members) Has(i int) bool { return m[i>>6]&(1<<(i&63)) != 0 }

// AppendParts does what AppendContents does, and appends to parts what each member that holds others has
// written. Two finds whose parts are equal are written alike in that member, as JSON.
func (f *Find) AppendParts(b []byte, parts []Part) ([]byte, []Part) {
	s, at := findShape(), unsafe.Pointer(f)
	for i := range s.fields {
		m := &s.fields[i]
		if m.nothing(at) {
			continue
		}
		from := len(b)
		b = appendContents(append(b, byte(i+1)), m.shape, unsafe.Add(at, m.offset))
		if m.name != "" && (m.shape.sort == pointerSort || m.shape.sort == listSort) {
			parts = append(parts, Part{i, from, len(b)})
		}
	}
	return append(b, 0), parts
}

// nothing tells that a member of the struct is not given.
func (m *shapeSlot) nothing(in unsafe.Pointer) bool {
	return m.of != 0 && *(*uintptr)(unsafe.Add(in, m.sign))&m.of == 0 ||
		m.shape.sort == textMapSort && len(*(*map[string]string)(unsafe.Add(in, m.offset))) == 0
}

// appendContents writes a value. Text and lists begin with their length, members with their number, and
// a struct ends with nought, so that no two values are written alike.
func appendContents(b []byte, s *shape, at unsafe.Pointer) []byte {
	switch s.sort {
	case textSort:
		return appendText(b, *(*string)(at))
	case numberSort:
		return binary.AppendVarint(b, int64((*Number)(at).value))
	case boolSort:
		if *(*bool)(at) {
			return append(b, 2)
		}
		return append(b, 1)
	case structSort:
		for i := range s.fields {
			m := &s.fields[i]
			if m.nothing(at) {
				continue
			}
			b = appendContents(append(b, byte(i+1)), m.shape, unsafe.Add(at, m.offset))
		}
		return append(b, 0)
	case pointerSort:
		return appendContents(b, s.item, *(*unsafe.Pointer)(at))
	case listSort:
		list := *(*[]byte)(at) // any list begins in the same way: with its address and its length
		b = binary.AppendUvarint(b, uint64(len(list)))
		first := unsafe.Pointer(unsafe.SliceData(list))
		for i := range len(list) {
			b = appendContents(b, s.item, unsafe.Add(first, uintptr(i)*s.item.size))
		}
		return b
	case textMapSort:
		m := *(*map[string]string)(at)
		b = binary.AppendUvarint(b, uint64(len(m)))
		for _, name := range slices.Sorted(maps.Keys(m)) {
			b = appendText(appendText(b, name), m[name])
		}
		return b
	case rawSort:
		return appendText(b, string(*(*jsontext.Value)(at)))
	}
	return b
}

func appendText(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}
