package find

import (
	"iter"
	"reflect"
	"strconv"
)

// Unknown yields the flat name of every object within a record that holds members this version
// does not know; the record itself is the empty name. Such members have no flat name.
func Unknown[T Record](record *T) iter.Seq[string] {
	return func(yield func(string) bool) {
		walkUnknown(reflect.ValueOf(record).Elem(), "", yield)
	}
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
