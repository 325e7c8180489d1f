package find_test

import (
	"encoding/json"
	"maps"
	"os"
	"regexp"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestLocalIDs holds the visitor to the schema: what it does not visit would lead to another's person once
// several logs are read as one.
func TestLocalIDs(t *testing.T) {
	raw, err := os.ReadFile("../../schema/find.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var schema map[string]any
	if err := json.Unmarshal(raw, &schema); err != nil {
		t.Fatal(err)
	}
	local := regexp.MustCompile(`^#/\$defs/(localId|local)$`)
	named := map[string]bool{} // members that hold a local id, by the object they are in
	var look func(where string, v any)
	look = func(where string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for name, of := range v {
				if m, ok := of.(map[string]any); ok && regexp.MustCompile(`properties$`).MatchString(where) {
					ref, _ := m["$ref"].(string)
					if local.MatchString(ref) && !slices.Contains([]string{"id", "withdraws", "follows"}, name) { // of opinions
						named[where+"/"+name] = true
					}
				}
				look(where+"/"+name, of)
			}
		case []any:
			for _, item := range v {
				look(where, item)
			}
		}
	}
	look("", schema)
	if len(named) < 10 {
		t.Fatalf("the schema names %d local ids: look at how it refers to them", len(named))
	}
	f := &find.Find{Finder: "a", Permission: "a", Outing: "a", Keeper: "a", Position: &find.Position{By: "a"},
		OtherPositions: []find.Position{{By: "a"}}, Depth: &find.Depth{By: "a"}, OtherDepths: []find.Depth{{By: "a"}},
		Identification: &find.Identification{By: "a"}, Opinions: []find.Opinion{{By: "a"}}, Media: []find.Media{{By: "a"}},
		Owners: []find.Owner{{Person: "a"}}, Custody: []find.Custody{{From: "a", To: "a"}},
		Recorded: &find.Recorded{By: "a"}}
	kinds := map[string]int{}
	f.LocalIDs(func(kind string, id *string) { kinds[kind]++; *id = "b" })
	if kinds[find.PersonID] != 13 || kinds[find.PermissionID] != 1 || kinds[find.OutingID] != 1 {
		t.Errorf("visited %v", kinds)
	}
	if f.Custody[0].To != "b" || f.Finder != "b" {
		t.Error("a changed id does not stand in the find")
	}
	// Two lists share a definition each: positions and depths.
	if want := 15 - 2; len(named) != want {
		t.Errorf("the schema has %d members that hold a local id, the visitor knows %d: %v", len(named), want,
			slices.Sorted(maps.Keys(named)))
	}
}
