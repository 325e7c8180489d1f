package profile

import (
	"iter"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
)

// A member is a way from a find to one of its members, through its lists.
type member struct {
	pointer string
	steps   [][]int // fields of the structs, one after the other
	kind    reflect.Type
	list    string // the code list of its codes; empty: none
}

// memberAt returns the way to a member of a find, or false where there is none of that name.
func memberAt(pointer string) (m member, ok bool) {
	m.pointer = pointer
	t := reflect.TypeFor[find.Find]()
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		t = plain(t)
		if t.Kind() != reflect.Struct {
			return m, false
		}
		index, ok := membersOf(t)[token]
		if !ok {
			return m, false
		}
		m.steps = append(m.steps, index)
		t = t.FieldByIndex(index).Type
	}
	m.kind = plain(t)
	m.list = lists()[pointer]
	return m, true
}

// plain takes pointers and lists off a type.
func plain(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice && t.Elem().Kind() != reflect.Uint8 {
		t = t.Elem()
	}
	return t
}

// membersOf returns where the fields of a struct are by their names in JSON, those of embedded structs among them.
func membersOf(t reflect.Type) map[string][]int {
	table := map[string][]int{}
	for _, f := range reflect.VisibleFields(t) {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" {
			table[name] = f.Index
		}
	}
	return table
}

// lists are the code lists by the pointer of the member whose codes come from them.
var lists = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for _, f := range find.FieldsOf[find.Find]() {
		if f.List != "" {
			pointer := strings.ReplaceAll(f.Pointer, "/#", "")
			out[pointer] = f.List
			out[strings.TrimSuffix(pointer, "/code")] = f.List
		}
	}
	return out
})

// Members returns the pointers of all members of a find that an ask may name, sorted.
func Members() []string { return slices.Clone(allMembers()) }

var allMembers = sync.OnceValue(func() []string {
	seen := map[string]bool{}
	for _, f := range find.FieldsOf[find.Find]() {
		pointer := strings.ReplaceAll(f.Pointer, "/#", "")
		for ; pointer != ""; pointer = pointer[:strings.LastIndexByte(pointer, '/')] {
			if _, ok := memberAt(pointer); ok {
				seen[pointer] = true
			}
		}
	}
	return sortedKeys(seen)
})

// values returns what a find has at a member; several where lists are on the way. Nothing: it is not given.
func (m *member) values(f *find.Find) iter.Seq[reflect.Value] {
	return func(yield func(reflect.Value) bool) { walk(reflect.ValueOf(f).Elem(), m.steps, yield) }
}

func walk(v reflect.Value, steps [][]int, yield func(reflect.Value) bool) bool {
	for v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return true
		}
		v = v.Elem()
	}
	if v.Kind() == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8 {
		for i := range v.Len() {
			if !walk(v.Index(i), steps, yield) {
				return false
			}
		}
		return true
	}
	if len(steps) == 0 {
		return v.IsZero() || yield(v)
	}
	return walk(v.FieldByIndex(steps[0]), steps[1:], yield)
}

// given reports whether a find has the member.
func (m *member) given(f *find.Find) bool {
	for range m.values(f) {
		return true
	}
	return false
}

// clear takes the member out of a find, and reports whether it was there.
func (m *member) clear(f *find.Find) bool {
	if !m.given(f) {
		return false
	}
	clearAt(reflect.ValueOf(f).Elem(), m.steps)
	return true
}

func clearAt(v reflect.Value, steps [][]int) {
	for v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	if v.Kind() == reflect.Slice && len(steps) > 0 {
		for i := range v.Len() {
			clearAt(v.Index(i), steps)
		}
		return
	}
	if field := v.FieldByIndex(steps[0]); len(steps) == 1 {
		field.SetZero()
	} else {
		clearAt(field, steps[1:])
	}
}

// excused reports whether a reason stands in absent for a member or for one that it is part of; blank is none.
func excused(f *find.Find, pointer string) bool {
	for ; pointer != ""; pointer = pointer[:strings.LastIndexByte(pointer, '/')] {
		if reason := f.Absent[pointer]; reason != "" && reason != "blank" {
			return true
		}
	}
	return false
}
