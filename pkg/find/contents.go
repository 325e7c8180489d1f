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
			if m.of != 0 && *(*uintptr)(unsafe.Add(at, m.sign))&m.of == 0 {
				continue
			}
			if m.shape.sort == textMapSort && len(*(*map[string]string)(unsafe.Add(at, m.offset))) == 0 {
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
