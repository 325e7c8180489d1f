package share

import (
	"reflect"

	"github.com/findslip/findslip/pkg/find"
)

// clone copies a record with all that it points to.
func clone[T find.Record](record *T) *T {
	out := new(T)
	reflect.ValueOf(out).Elem().Set(cloned(reflect.ValueOf(record).Elem()))
	return out
}

func cloned(v reflect.Value) reflect.Value {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return v
		}
		out := reflect.New(v.Type().Elem())
		out.Elem().Set(cloned(v.Elem()))
		return out
	case reflect.Slice:
		if v.IsNil() {
			return v
		}
		out := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		if v.Type().Elem().Kind() == reflect.Uint8 {
			reflect.Copy(out, v)
			return out
		}
		for i := range v.Len() {
			out.Index(i).Set(cloned(v.Index(i)))
		}
		return out
	case reflect.Map:
		if v.IsNil() {
			return v
		}
		out := reflect.MakeMapWithSize(v.Type(), v.Len())
		for key, value := range v.Seq2() {
			out.SetMapIndex(key, value) // of texts
		}
		return out
	case reflect.Struct:
		out := reflect.New(v.Type()).Elem()
		out.Set(v)
		if v.Type() != numberType {
			for i := range v.NumField() {
				out.Field(i).Set(cloned(v.Field(i)))
			}
		}
		return out
	}
	return v
}

var numberType = reflect.TypeFor[find.Number]()

// dropUnknown takes out of a record, and of all its parts, the members that the format does not know.
func dropUnknown(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			dropUnknown(v.Elem())
		}
	case reflect.Slice:
		if v.Type().Elem().Kind() != reflect.Uint8 {
			for i := range v.Len() {
				dropUnknown(v.Index(i))
			}
		}
	case reflect.Struct:
		if v.Type() == numberType {
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).Name == "Unknown" {
				v.Field(i).SetZero()
			} else {
				dropUnknown(v.Field(i))
			}
		}
	}
}
