package pipeline

import (
	"bytes"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
)

// Whatever two finds say, what the earlier one has at a pointer that the new one withholds stands there
// afterwards, its marks with it, and nothing is given and withheld that was not before.
func FuzzSinceKeeps(f *testing.F) {
	f.Add(`{"id":"a","depth":{"verbatim":"8 in"},"absent":{"/place":"withheld"}}`,
		`{"id":"a","absent":{"/depth":"withheld","/place":"withheld"}}`, true)
	f.Add(`{"position":{"longitude":1,"latitude":2},"generalised":{"/position":"grid-1"},"columns":{"a":"b"},"x":[1]}`,
		`{"absent":{"/position":"withheld","/position/latitude":"withheld"}}`, true)
	f.Add(`{"materials":[{"code":"iron"}],"name":4}`,
		`{"materials":[],"absent":{"/materials/0/code":"withheld","/name":"withheld","":"withheld","/~1":"withheld"}}`, false)
	f.Add(`{"place":{"name":"n"},"absent":{"/place/parish":"not-noted"}}`,
		`{"place":{"parish":"p"},"generalised":{"/place":"region","/place/name":"x"}}`, false)
	f.Fuzz(func(t *testing.T, before, after string, copied bool) {
		var old, fresh, was find.Find
		find.DecodeFind([]byte(before), &old)
		find.DecodeFind([]byte(after), &fresh)
		find.DecodeFind([]byte(after), &was)
		had, err := find.Marshal(&old)
		if err != nil {
			return // nothing that a file could hold
		}
		e := &find.Entry{Find: &fresh}
		if err := keepEarlier(e, &old, copied); err != nil {
			return
		}
		text, err := find.Marshal(e.Find)
		if err != nil {
			t.Fatal(err)
		}
		if now, err := find.Marshal(&old); err != nil || !bytes.Equal(now, had) {
			t.Fatalf("the earlier find has become %s", now)
		}
		for pointer, reason := range was.Absent {
			at, value := valueAt(had, pointer)
			if reason != "withheld" || value == nil || !strings.HasPrefix(pointer, "/") {
				continue
			}
			_, got := valueAt(text, at)
			var is, should any
			if json.Unmarshal(got, &is) != nil || json.Unmarshal(value, &should) != nil || !partOf(is, should) || !partOf(should,
				is) {
				t.Errorf("at %s stands %s, was %s", at, got, value)
			}
			if how := e.Find.Absent[pointer]; how == "withheld" && old.Absent[pointer] == "" {
				t.Errorf("%s is still withheld", pointer)
			}
		}
	})
}
