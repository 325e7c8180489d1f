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
	fmt.Println(s.Totals.Finds, "finds")
	// Output: 14 finds
}
