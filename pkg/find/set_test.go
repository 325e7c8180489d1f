package find

import (
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Set makes of a record what reflection alone makes of it, for every field of every record, on records that
// are empty and on those that are not, with texts that fit and texts that do not.
func TestSetQuickly(t *testing.T) {
	quick := setBothWays[Find](t) + setBothWays[Person](t) + setBothWays[Permission](t) + setBothWays[Outing](t) + setBothWays[Report](t)
	if quick < 150 {
		t.Errorf("only %d fields have a quick way", quick)
	}
}

func setBothWays[T Record](t *testing.T) (quick int) {
	t.Helper()
	one, two := new(T), new(T) // that fill up, field by field
	for _, f := range FieldsOf[T]() {
		for _, position := range []string{"1", "3", "2"} {
			name := strings.ReplaceAll(f.Name, "#", position)
			p, err := PathTo[T](name)
			if err != nil {
				t.Fatal(err)
			}
			if p.quick != nil {
				quick++
			}
			for _, text := range []string{"", "words", "1.5", " 2 ", "-0.000000001", "true", "{}", "1e9", "99999999999", ""} {
				for _, pair := range [][2]*T{{new(T), new(T)}, {one, two}} {
					err, slow := Set(p, pair[0], text), setSlowly(p, pair[1], text)
					if (err == nil) != (slow == nil) || err != nil && err.Error() != slow.Error() {
						t.Fatalf("%s = %q: %v, by reflection %v", name, text, err, slow)
					}
					if !reflect.DeepEqual(pair[1], pair[0]) {
						t.Fatalf("%s = %q: %s", name, text, cmp.Diff(pair[1], pair[0], cmp.AllowUnexported(Number{})))
					}
				}
			}
			if err := Set(p, one, "7"); err == nil { // stays
				_ = setSlowly(p, two, "7")
			}
		}
	}
	return quick
}

func BenchmarkSet(b *testing.B) {
	names := []string{"name", "place.parish", "position.uncertainty", "depth", "depth.basis", "materials.1", "dimensions.length"}
	texts := []string{"shoe buckle", "Thornmere", "5", "4 in", "tape", "brass?", "21"}
	var paths []*Path
	for _, name := range names {
		p, err := PathTo[Find](name)
		if err != nil {
			b.Fatal(err)
		}
		paths = append(paths, p)
	}
	b.ReportAllocs()
	for range b.N {
		f := new(Find)
		for i, p := range paths {
			if err := Set(p, f, texts[i]); err != nil {
				b.Fatal(err)
			}
		}
	}
}
