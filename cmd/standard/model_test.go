package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Every list that a field has its codes from is named in a table, or meant by the member that holds
// the term; every object stands in one table.
func TestModelIsWhole(t *testing.T) {
	_, text := spec(t)
	m, err := newModel(text)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	m.annex(&b)
	for _, f := range find.FieldsOf[find.Find]() {
		if f.List != "" && !strings.Contains(b.String(), "| `"+f.List+"` |") {
			t.Errorf("no table names the list %s of %s", f.List, f.Name)
		}
		if vocabulary.Get(f.List) == nil && f.List != "" {
			t.Errorf("%s has its codes from %s, which is no list", f.Name, f.List)
		}
	}
	if len(m.shapes) < 30 {
		t.Errorf("only %d objects", len(m.shapes))
	}
	for _, s := range m.shapes {
		if n := strings.Count(b.String(), "## "+s.name+"\n"); n != 1 {
			t.Errorf("the table of %s stands %d times", s.name, n)
		}
	}
}
