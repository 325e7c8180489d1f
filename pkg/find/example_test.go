package find_test

import (
	"context"
	"fmt"
	"os"
	"strings"

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
