package pipeline

import (
	"strings"
	"testing"
)

func TestLines(t *testing.T) {
	l, err := newLines(strings.NewReader(`{
  "findslip": "1.0",
  "people": [
    {"id": "person-1",
     "handle": "a"}
  ],
  "finds": [
    {
      "id": "a",
      "depth": {
        "verbatim": "8"
      },
      "materials": [{"code": "lead"},
        {"code": "iron"}]
    },
    {"id": "b", "finds": [1, {"x": 2}]}, {"id": "c",
     "name": "bell"}
  ],
  "title": "x"
}`))
	if err != nil {
		t.Fatal(err)
	}
	for pointer, want := range map[string]int{"": 1, "/findslip": 2, "/people/0": 4, "/people/0/handle": 5,
		"/people/0/missing": 4, "/finds": 7, "/finds/0": 8, "/finds/0/id": 9,
		"/finds/0/depth": 10, "/finds/0/depth/verbatim": 11, "/finds/0/depth/unit": 10, "/finds/0/materials/1/code": 14,
		"/finds/0/mat": 8, "/finds/1/id": 16, "/finds/1/finds/1/x": 16,
		"/finds/2": 16, "/finds/2/name": 17, "/finds/9": 7, "/title": 19, "/nothing/there": 1} {
		if got := l.at(pointer); got != want {
			t.Errorf("%s is on line %d, not %d", pointer, got, want)
		}
	}
	if _, err := newLines(strings.NewReader(`{"a": [`)); err == nil {
		t.Error("half a report has lines")
	}
}
