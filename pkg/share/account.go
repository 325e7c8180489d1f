package share

import (
	"maps"
	"reflect"
	"slices"
	"strings"
)

// unnamed are members of the records around the finds that a copy leaves out, or has anew, without a
// mark: what the file says of itself, and what is accounted for elsewhere.
var unnamed = []string{"/id", "/findslip", "/idBasis", "/changed", "/generator", "/vocabularyVersion", "/audience", "/copyOf", "/people", "/permissions",
	"/outings", "/finds", "/extensionsUsed"}

// gone calls say for what the source has and its copy has not: with the pointer of the member that is missing
// as a whole, or of one within it. A list has one pointer for what went from any of its items; members that
// no version of the format knows have none, for their names may tell as much as what stands in them.
func gone(sources, copies []reflect.Value, at string, say func(pointer string)) {
	if len(sources) == 0 {
		return
	}
	t := sources[0].Type()
	for i := range t.NumField() {
		field := t.Field(i)
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		pointer := at
		if !field.Anonymous {
			if name == "" || name == "absent" || name == "generalised" {
				continue
			}
			pointer += "/" + name
		}
		from, to := values(sources, i), values(copies, i)
		parts := len(from) > 0 && from[0].Kind() == reflect.Struct && from[0].Type() != numberType
		switch {
		case len(from) == 0:
		case len(to) == 0 && !field.Anonymous, len(to) < len(from) && !parts:
			say(pointer)
		case parts:
			gone(from, to, pointer, say)
		}
	}
}

// values are what a field has in some records, one by one where it is a list of parts.
func values(records []reflect.Value, field int) (out []reflect.Value) {
	for _, r := range records {
		v := r.Field(field)
		switch {
		case v.IsZero():
		case v.Kind() == reflect.Pointer:
			out = append(out, v.Elem())
		case v.Kind() == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8:
			for i := range v.Len() {
				if item := v.Index(i); item.Kind() == reflect.Pointer {
					out = append(out, item.Elem())
				} else {
					out = append(out, item)
				}
			}
		default:
			out = append(out, v)
		}
	}
	return out
}

// covered tells whether a map of marks names a member, or one that it lies in.
func covered(marks map[string]string, pointer string, counts func(how string) bool) bool {
	for p := pointer; p != ""; p = p[:strings.LastIndexByte(p, '/')] {
		if how := marks[p]; how != "" && counts(how) {
			return true
		}
	}
	return false
}

// account names in absent whatever of the find went without a mark.
func (w *worker) account() {
	gone([]reflect.Value{reflect.ValueOf(w.source).Elem()}, []reflect.Value{reflect.ValueOf(w.f).Elem()}, "", func(pointer string) {
		member, _, _ := strings.Cut(pointer[1:], "/")
		act := w.c.action(member)
		switch {
		case act == drop, act == renumber: // what the file says of itself, and ids
		case pointer == "/media/sha256": // the copy of a picture has other bytes
		case covered(w.f.Absent, pointer, isWithheld), covered(w.f.Generalised, pointer, func(string) bool { return true }):
		default:
			w.absent(pointer)
		}
	})
	if w.f.Position == nil && w.f.Place == nil && w.f.Absent["/position"] == "" || w.f.Absent["/position"] == "blank" {
		w.absent("/position")
	}
}

func isWithheld(how string) bool { return how == "withheld" }

// accounted are the marks of a record around the finds, with those for what went from it.
func accounted[T any](source, copied *T, marks map[string]string) map[string]string {
	out := maps.Clone(marks)
	gone([]reflect.Value{reflect.ValueOf(source).Elem()}, []reflect.Value{reflect.ValueOf(copied).Elem()}, "", func(pointer string) {
		elsewhere := slices.ContainsFunc(unnamed, func(u string) bool { return pointer == u || strings.HasPrefix(pointer, u+"/") })
		if !elsewhere && !covered(out, pointer, isWithheld) {
			out = noted(out, pointer)
		}
	})
	return out
}
