package validate

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

var givenAndAbsent = &Rule{
	Kind: kinds.GivenAndAbsent,
	// When: In `absent` of the report, a person, a permission, an outing or a find, a pointer names a member of the
	// same record that is there: neither missing nor empty, and of a truth value not false. At that member.
	Check: func(c *Case, say Say) { bothSaid(c.Find, c.Find.Absent, "", say) },
	Header: func(c *Case, say Say) {
		bothSaid(c.Report, c.Report.Absent, "", say)
		for i := range c.Report.People {
			bothSaid(&c.Report.People[i], c.Report.People[i].Absent, fmt.Sprintf("/people/%d", i), say)
		}
		for i := range c.Report.Permissions {
			bothSaid(&c.Report.Permissions[i], c.Report.Permissions[i].Absent, fmt.Sprintf("/permissions/%d", i), say)
		}
		for i := range c.Report.Outings {
			bothSaid(&c.Report.Outings[i], c.Report.Outings[i].Absent, fmt.Sprintf("/outings/%d", i), say)
		}
	},
}

// bothSaid says which members of a record are given and absent.
func bothSaid[T any](record *T, absent map[string]string, at string, say Say) {
	for pointer, reason := range absent {
		if strings.HasPrefix(pointer, "/") && given(reflect.ValueOf(record), pointer) {
			say(at+pointer, "it is given, and absent says "+reason)
		}
	}
}

// given reports whether a record has the member that a pointer names.
func given(v reflect.Value, pointer string) bool {
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
			index, ok := membersOf(v.Type())[token]
			if !ok {
				return false
			}
			v = v.FieldByIndex(index)
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

var memberTables sync.Map // reflect.Type to map[string][]int

// membersOf returns where the fields of a struct type are by their JSON names, also those of
// embedded structs.
func membersOf(t reflect.Type) map[string][]int {
	if table, ok := memberTables.Load(t); ok {
		return table.(map[string][]int)
	}
	table := map[string][]int{}
	for _, f := range reflect.VisibleFields(t) {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" {
			table[name] = f.Index
		}
	}
	memberTables.Store(t, table)
	return table
}

var absentRules = []*Rule{givenAndAbsent}
