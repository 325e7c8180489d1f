package season_test

import (
	"context"
	"fmt"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/season"
)

func ExampleOf() {
	s, err := season.Of(context.Background(), []string{"../../examples/thornmere/season.xlsx"}, pipeline.Options{},
		season.Options{Day: "2026-06-01"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Totals.Finds, "finds from", s.First, "to", s.Last)
	for _, f := range s.Fields { // no field is named
		fmt.Println(f.Name, f.Finds)
	}
	// Output:
	// 14 finds from 2026-03 to 2026-04
	// Field 1 8
	// Field 2 6
}
