package main

import (
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
)

// A code that is nearly right is answered with the right one, and one that is like none with none.
func TestKindNear(t *testing.T) {
	for code, want := range map[string]string{"nubmer-repeated": "number-repeated", "Unit-Missing": "unit-missing",
		"unit_missing": "unit-missing", "whatever": "", "": ""} {
		if got := kindNear(code); got != want {
			t.Errorf("%q is near to %q, want %q", code, got, want)
		}
	}
	for _, k := range pipeline.Kinds() {
		if got := kindNear(k.Code); got != k.Code {
			t.Errorf("%s is near to %s", k.Code, got)
		}
	}
}
