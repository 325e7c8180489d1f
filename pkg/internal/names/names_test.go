package names

import (
	"fmt"
	"maps"
	"strings"
	"testing"
)

// A table says of every name what the map says that it was made of, and of every other text that it has
// none: of texts of all lengths, and of such as differ in one place only.
func TestGet(t *testing.T) {
	of := map[string]int{"": 7}
	for n := range 40 {
		text := strings.Repeat("abcdefghij", 4)[:n]
		of[text] = n
		for i := range n {
			of[text[:i]+"-"+text[i+1:]] = 100*n + i
		}
	}
	for _, half := range []map[string]int{of, {}, {"lead": 1}} {
		table := New(half)
		for name := range of {
			for _, asked := range []string{name, name + " ", strings.ToUpper(name), fmt.Sprint(name, 1)} {
				got, ok := table.Get(asked)
				if want, has := half[asked]; got != want || ok != has {
					t.Fatalf("%q: got %d %v, want %d %v", asked, got, ok, want, has)
				}
			}
		}
	}
	if got := maps.Collect(New(of).All()); !maps.Equal(got, of) {
		t.Errorf("the table has %d names, want %d", len(got), len(of))
	}
	var none *Table[int]
	if _, ok := none.Get("lead"); ok {
		t.Error("a table that is not there has a name")
	}
}
