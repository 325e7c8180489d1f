package merge_test

import (
	"context"
	"fmt"

	"github.com/findslip/findslip/pkg/merge"
	"github.com/findslip/findslip/pkg/pipeline"
)

// Two members of a club have a no. 1 each, and both name the same field.
func Example() {
	logs := files("north.csv", north, "south.csv", south)
	m, err := merge.Read(context.Background(), []string{"north.csv", "south.csv"},
		merge.Options{Read: pipeline.Options{FS: logs}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range m.Decisions.Sources {
		fmt.Println(s.String())
	}
	for _, q := range m.Decisions.Questions {
		fmt.Println(q.Asks, q.Choices)
	}
	// Output:
	// north.csv: 2 finds (finder-a) in 1 field, 2026-04-12
	// south.csv: 2 finds (finder-b) in 2 fields, 2026-04-12
	// Is this one piece of land? [one two]
}
