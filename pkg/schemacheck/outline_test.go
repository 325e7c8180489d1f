package schemacheck

import (
	"fmt"
	"reflect"
	"regexp"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/schema"
)

// TestOutline compares the outlines of the published schemas with what the engine compiles, in every
// public field that judging could depend on.
func TestOutline(t *testing.T) {
	s, err := New()
	if err != nil {
		t.Fatal(err)
	}
	o := outliner{}
	c := comparison{t: t, done: map[*jsonschema.Schema]bool{}}
	for _, name := range schema.Names() {
		e := s.byName[name]
		c.schemas(name, o.outline(e.root), compiledOf(t, e))
	}
	if len(c.done) < 300 || c.leaves < 10_000 {
		t.Errorf("only %d schemas with %d values were compared", len(c.done), c.leaves)
	}
}

// A difference is seen, or the test above would be worth nothing.
func TestOutlineDiffers(t *testing.T) {
	for _, text := range []string{`"multipleOf": 2`, `"uniqueItems": true`, `"patternProperties": {"^a": false}`,
		`"contains": {"const": 1}`, `"dependentSchemas": {"a": false}`} {
		e := newEngine(t, text)
		c := comparison{done: map[*jsonschema.Schema]bool{}}
		if c.schemas("", outliner{}.outline(e.root), compiledOf(t, e)); c.found == 0 {
			t.Errorf("%s: no difference is seen", text)
		}
	}
}

// comparison goes through two schemas side by side.
type comparison struct {
	t             *testing.T // nil: differences are only counted
	done          map[*jsonschema.Schema]bool
	leaves, found int
}

func (c *comparison) differ(at string, got, want any) {
	c.found++
	if c.t != nil {
		c.t.Errorf("%s: the outline has %v, the engine %v", at, got, want)
	}
}

func (c *comparison) schemas(at string, got, want *jsonschema.Schema) {
	if got == nil || want == nil {
		if got != want {
			c.differ(at, got, want)
		}
		return
	}
	if c.done[want] {
		return
	}
	c.done[want] = true
	a, b := reflect.ValueOf(*got), reflect.ValueOf(*want)
	for i := range a.NumField() {
		field := a.Type().Field(i)
		if !field.IsExported() || field.Name == "Location" || field.Name == "Draft" {
			continue
		}
		c.values(at+"/"+field.Name, a.Field(i).Interface(), b.Field(i).Interface())
	}
}

func (c *comparison) values(at string, got, want any) {
	switch want := want.(type) {
	case *jsonschema.Schema:
		if got, ok := got.(*jsonschema.Schema); ok {
			c.schemas(at, got, want)
			return
		}
	case []*jsonschema.Schema:
		if got, ok := got.([]*jsonschema.Schema); ok && len(got) == len(want) {
			for i := range want {
				c.schemas(fmt.Sprint(at, "/", i), got[i], want[i])
			}
			return
		}
	case map[string]*jsonschema.Schema:
		if got, ok := got.(map[string]*jsonschema.Schema); ok && len(got) == len(want) {
			for name := range want {
				c.schemas(at+"/"+name, got[name], want[name])
			}
			return
		}
	case *regexp.Regexp:
		if got, ok := got.(*regexp.Regexp); ok && (got == nil) == (want == nil) &&
			(got == nil || got.String() == want.String()) {
			c.leaves++
			return
		}
	default:
		if c.leaves++; reflect.DeepEqual(got, want) {
			return
		}
	}
	c.differ(at, got, want)
}
