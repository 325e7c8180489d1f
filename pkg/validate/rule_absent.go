package validate

import (
	"reflect"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var givenAndAbsent = &Rule{
	Kind: notice.Kind{
		Code: "given-and-absent", Severity: notice.Error, Group: "absence", Spec: "3.5",
		Title:  "a member is given and said to be absent",
		Why:    "one of the two is left over from an earlier state of the record, and nobody can tell which",
		Help:   "Take the line out of absent if the value is right, else take the value out.",
		Source: "format of this specification, section 3.5",
		Before: `"depth": {"min": 20, "unit": "cm"}, "absent": {"/depth": "not-measured"}`,
		After:  `"depth": {"min": 20, "unit": "cm"}`,
	},
	Check: func(c *Case, say Say) {
		for pointer, reason := range c.Find.Absent {
			if strings.HasPrefix(pointer, "/") && given(c.Find, pointer) {
				say(pointer, "it is given, and absent says "+reason)
			}
		}
	},
}

// given tells whether a find has the member that a pointer names.
func given(f *find.Find, pointer string) bool {
	v := reflect.ValueOf(f).Elem()
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		token = notice.Unescape(token)
		for v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return false
			}
			v = v.Elem()
		}
		switch v.Kind() {
		case reflect.Struct:
			member, ok := memberNamed(v, token)
			if !ok {
				return false
			}
			v = member
		case reflect.Slice:
			i, err := strconv.Atoi(token)
			if err != nil || i < 0 || i >= v.Len() {
				return false
			}
			v = v.Index(i)
		default:
			return false
		}
	}
	return !v.IsZero()
}

// memberNamed returns the field of a struct with a JSON name, also one of an embedded struct.
func memberNamed(v reflect.Value, name string) (reflect.Value, bool) {
	t := v.Type()
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			if member, ok := memberNamed(v.Field(i), name); ok {
				return member, true
			}
			continue
		}
		if tag, _, _ := strings.Cut(f.Tag.Get("json"), ","); tag == name {
			return v.Field(i), true
		}
	}
	return reflect.Value{}, false
}

var absentRules = []*Rule{givenAndAbsent}
