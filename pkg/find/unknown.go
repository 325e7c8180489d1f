package find

import (
	"iter"
	"reflect"
	"strconv"
	"unsafe"

	"github.com/go-json-experiment/json/jsontext"
)

// Unknown yields the flat name of every object within a record that holds members this version
// does not know; the record itself is the empty name. Such members have no flat name.
func Unknown[T Record](record *T) iter.Seq[string] {
	return func(yield func(string) bool) {
		if f, ok := any(record).(*Find); ok && !anyUnknown(findShape(), unsafe.Pointer(f)) {
			return
		}
		walkUnknown(reflect.ValueOf(record).Elem(), "", yield)
	}
}

// anyUnknown tells whether a value may hold members that are not known, without reflection: most finds
// hold none.
func anyUnknown(s *shape, at unsafe.Pointer) bool {
	switch s.sort {
	case structSort:
		for i := range s.fields {
			m := &s.fields[i]
			if m.of != 0 && *(*uintptr)(unsafe.Add(at, m.sign))&m.of == 0 {
				continue
			}
			switch field := unsafe.Add(at, m.offset); m.shape.sort {
			case rawSort:
				if m.name == "" && len(*(*jsontext.Value)(field)) > len("{}") {
					return true
				}
			case structSort, pointerSort, listSort:
				if anyUnknown(m.shape, field) {
					return true
				}
			}
		}
	case pointerSort:
		to := *(*unsafe.Pointer)(at)
		return to != nil && anyUnknown(s.item, to)
	case listSort:
		if s.item.sort != structSort {
			return false
		}
		list := *(*[]byte)(at) // any list begins in the same way: with its address and its length
		first := unsafe.Pointer(unsafe.SliceData(list))
		for i := range len(list) {
			if anyUnknown(s.item, unsafe.Add(first, uintptr(i)*s.item.size)) {
				return true
			}
		}
	}
	return false
}

func walkUnknown(v reflect.Value, name string, yield func(string) bool) bool {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return true
		}
		v = v.Elem()
	}
	if v.Kind() == reflect.Slice && v.Type() != valueType {
		for i := range v.Len() {
			if !walkUnknown(v.Index(i), join(name, strconv.Itoa(i+1)), yield) {
				return false
			}
		}
		return true
	}
	if v.Kind() != reflect.Struct || v.Type() == numberType || v.Type() == areaType {
		return true
	}
	for i := range v.NumField() {
		f := v.Type().Field(i)
		switch {
		case f.Name == "Unknown" && f.Type == valueType:
			if v.Field(i).Len() > len("{}") && !yield(name) {
				return false
			}
		case f.Anonymous:
			if !walkUnknown(v.Field(i), name, yield) {
				return false
			}
		}
	}
	for _, f := range structFields(v.Type()) {
		if !f.ofPart && !walkUnknown(v.FieldByIndex(f.index), join(name, f.name), yield) {
			return false
		}
	}
	return true
}
