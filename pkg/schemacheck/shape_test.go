package schemacheck

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/schema"
)

func root(t *testing.T, name string) *schema.Node {
	t.Helper()
	n, err := schema.Root(name)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// tagged returns the members of a struct in order, those of embedded structs among them.
func tagged(typ reflect.Type) []reflect.StructField {
	var out []reflect.StructField
	for i := range typ.NumField() {
		f := typ.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && name == "":
			out = append(out, tagged(f.Type)...)
		case name == "" && strings.Contains(options, "embed"), name == "-":
		default:
			out = append(out, f)
		}
	}
	return out
}

// The members of the schema are those of the Go structs, in the same order and of the same sort.
func TestSchemaHasTheMembersOfTheStructs(t *testing.T) {
	seen := map[string]bool{}
	sameShape(t, "report", reflect.TypeFor[find.Report](), root(t, "report"), seen)
	sameShape(t, "find", reflect.TypeFor[find.Find](), root(t, "find"), seen)
	for _, name := range []string{"find", "report"} {
		for _, def := range root(t, name).Defs {
			if len(def.Node.Properties) > 0 && !seen[def.Node.Title] {
				t.Errorf("%s: no struct has the shape %s", name, def.Name)
			}
		}
	}
}

func sameShape(t *testing.T, path string, typ reflect.Type, use *schema.Node, seen map[string]bool) {
	t.Helper()
	n := use.Follow()
	for typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	want := func(types ...string) {
		if !slices.Contains(types, n.Type) {
			t.Errorf("%s: the schema has type %q, Go has %s", path, n.Type, typ)
		}
	}
	switch {
	case n.Not != nil: // a member that the struct shares and this place forbids
	case typ == reflect.TypeFor[jsontext.Value]():
		want("object", "array")
	case typ == reflect.TypeFor[find.Number]():
		want("number", "integer")
	case typ.Kind() == reflect.String:
		want("string")
	case typ.Kind() == reflect.Bool:
		want("boolean")
	case typ.Kind() == reflect.Map:
		want("object")
		if n.AdditionalProperties == nil || n.AdditionalProperties.Type != "string" {
			t.Errorf("%s: the values of the map are not text", path)
		}
	case typ.Kind() == reflect.Slice:
		want("array")
		if n.Items == nil {
			t.Errorf("%s: the list has no items", path)
			return
		}
		sameShape(t, path+"/0", typ.Elem(), n.Items, seen)
	case typ.Kind() == reflect.Struct:
		want("object")
		key := typ.Name() + " " + n.Title
		seen[n.Title] = true
		if seen[key] {
			return
		}
		seen[key] = true
		var names []string
		fields := tagged(typ)
		for _, f := range fields {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			names = append(names, name)
		}
		if d := cmp.Diff(names, n.Properties.Names()); d != "" {
			t.Errorf("%s: members of struct and schema differ (-struct +schema):\n%s", path, d)
			return
		}
		for i, f := range fields {
			member := n.Properties[i].Node
			if f.Tag.Get("private") != "" && !hiddenValue(member) {
				t.Errorf("%s/%s is private in the struct and not in the schema", path, names[i])
			}
			sameShape(t, path+"/"+names[i], f.Type, member, seen)
		}
	default:
		t.Errorf("%s: no rule for Go type %s", path, typ)
	}
}

// concepts returns the codes of a published list.
func concepts(t *testing.T, list string) []string {
	t.Helper()
	text, err := schema.Vocabulary.ReadFile("vocabulary/" + list + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var v struct {
		Open     bool `json:"open"`
		Concepts []struct {
			Code string `json:"code"`
		} `json:"concepts"`
	}
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	if v.Open {
		t.Errorf("list %s is open; the schema closes it", list)
	}
	var codes []string
	for _, c := range v.Concepts {
		codes = append(codes, c.Code)
	}
	return codes
}

// The closed lists stand in the schema as the published lists have them.
func TestClosedListsAreThePublishedOnes(t *testing.T) {
	f, r := root(t, "find"), root(t, "report")
	for pointer, list := range map[string]string{
		"/properties/kind":                          "kind",
		"/properties/lifted":                        "lifted",
		"/properties/sensitivity":                   "sensitivity",
		"/$defs/certainty":                          "certainty",
		"/$defs/absent/additionalProperties":        "absence-reason",
		"report /properties/audience":               "audience",
		"report /$defs/consent/properties/audience": "audience",
	} {
		n, at := f, pointer
		if rest, ok := strings.CutPrefix(pointer, "report "); ok {
			n, at = r, rest
		}
		if d := cmp.Diff(concepts(t, list), n.At(at).Enum); d != "" {
			t.Errorf("%s and list %s differ (-list +schema):\n%s", pointer, list, d)
		}
	}
	units := slices.Concat(f.At("/$defs/depth/properties/said").Enum, f.At("/$defs/weight/properties/said").Enum)
	if d := cmp.Diff(concepts(t, "unit"), units); d != "" {
		t.Errorf("units (-list +schema):\n%s", d)
	}
	for shape, unit := range map[string]string{"depth": "cm", "length": "cm", "size": "mm", "weight": "g"} {
		if d := cmp.Diff([]string{unit}, f.At("/$defs/"+shape+"/properties/unit").Enum); d != "" {
			t.Errorf("unit of %s: %s", shape, d)
		}
	}
}

// Every enum of text in the schema of report and find is one of the lists above or is counted here:
// Polygon and MultiPolygon of RFC 7946 section 3.1.
func TestNoOtherClosedList(t *testing.T) {
	known := [][]string{{"Polygon", "MultiPolygon"}, {"cm"}, {"mm"}, {"g"}}
	for _, list := range []string{"kind", "lifted", "sensitivity", "certainty", "absence-reason", "audience"} {
		known = append(known, concepts(t, list))
	}
	units := concepts(t, "unit")
	known = append(known, units[:6], units[6:])
	for _, name := range []string{"find", "report"} {
		root(t, name).Walk(func(n *schema.Node) {
			if len(n.Enum) > 0 && !slices.ContainsFunc(known, func(k []string) bool { return slices.Equal(k, n.Enum) }) {
				t.Errorf("%s: %s closes a list that is not published: %v", name, n.Title, n.Enum)
			}
		})
	}
}

// The trial members are those that SPEC.md marks so, and none of them is required anywhere.
func TestTrialMembers(t *testing.T) {
	var got []string
	for _, name := range []string{"find", "report"} {
		root(t, name).Walk(func(n *schema.Node) {
			for _, m := range n.Properties {
				if m.Node.Trial {
					got = append(got, m.Name)
					if slices.Contains(n.Required, m.Name) {
						t.Errorf("%s is on trial and required", m.Name)
					}
				}
			}
		})
	}
	slices.Sort(got)
	want := []string{"consents", "custody", "discarded", "kept", "ploughDepth", "question", "rubbish", "storage",
		"supplied",
		"surviving", "use"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}
