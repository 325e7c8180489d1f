package find_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
)

// A report made in memory is written in its canonical form.
func ExampleEncodeJSON() {
	report := &find.Report{Findslip: find.Version, ID: "urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0",
		Finds: []*find.Find{{ID: find.FindID("urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0", "12"), Number: "12",
			Name: "button"}}}
	if err := find.EncodeJSON(os.Stdout, find.StreamOf(report)); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {
	//   "findslip": "1.0",
	//   "id": "urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0",
	//   "finds": [
	//     {
	//       "id": "urn:uuid:41b3f422-e97e-542c-8204-aa9ebb48a688",
	//       "number": "12",
	//       "name": "button"
	//     }
	//   ]
	// }
}

// A field is read and set by its flat name, as a table has it.
func ExamplePathTo() {
	path, err := find.PathTo[find.Find]("materials.1.certainty")
	if err != nil {
		fmt.Println(err)
		return
	}
	f := &find.Find{Materials: []find.Material{{Term: find.Term{Code: "lead"}}}}
	if err := find.Set(path, f, "possible"); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(path.Pointer, find.Get(path, f))
	// Output: /materials/0/certainty possible
}

// Every leaf of a find that is given.
func ExampleFlat() {
	f := &find.Find{Number: "12", Name: "button", Depth: &find.Depth{Quantity: find.Quantity{Verbatim: "8 in"}}}
	for c := range find.Flat(f) {
		fmt.Println(c.Name, c.Pointer, c.Text)
	}
	// Output:
	// number /number 12
	// depth /depth 8 in
	// name /name button
}

// A step is done on each find as it passes, and the stream ends with its context.
func ExampleStream_Map() {
	report := &find.Report{Finds: []*find.Find{{Name: " button "}, {Name: "buckle"}}}
	trimmed := find.StreamOf(report).Map(func(e *find.Entry, _ bool) bool {
		e.Find.Name = strings.TrimSpace(e.Find.Name)
		return true
	})
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	for e, err := range trimmed.Until(ctx).Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%q\n", e.Find.Name)
		stop()
	}
	// Output:
	// "button"
	// context canceled
}

// A reader of another form of JSON takes its list apart with no more than one record in memory.
func ExampleCutter() {
	cut := find.NewCutter(strings.NewReader(`{"title": "season", "rows": [{"n": 1}, {"n": 2}]}`), find.Options{})
	if err := cut.Enter("rows"); err != nil {
		fmt.Println(err)
		return
	}
	for cut.Peek() != jsontext.KindEndArray {
		row, err := cut.Record()
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(row)
	}
	// Output:
	// {"n": 1}
	// {"n": 2}
}

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
