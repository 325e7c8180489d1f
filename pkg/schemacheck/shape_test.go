package schemacheck

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

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
