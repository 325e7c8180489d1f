package normalise_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/quantity"
)

// One text is read as the command findslip read does.
func ExampleReader() {
	length, err := normalise.Reader("length", normalise.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(length("7-9 in").Text)
	fmt.Println(length("8").Error.Code)

	date, err := normalise.Reader("date", normalise.Options{Order: edtf.DayMonthYear, Pivot: 1950})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(date("12/4/26").Date)
	// Output:
	// 17.78..22.86 cm (said in; step 2.54)
	// unit-missing
	// 2026-04-12
}

// A find is read in place; the words stay beside the values.
func ExampleFind() {
	f := &find.Find{Depth: &find.Depth{Quantity: find.Quantity{Verbatim: "8"}}, Found: &find.Found{Verbatim: "12/4/2026"}}
	notices := normalise.Find(f, nil, normalise.Options{Unit: quantity.IN, Order: edtf.DayMonthYear})
	fmt.Println(f.Depth.Value(), f.Found.Date, f.Found.Verbatim)
	for _, n := range notices {
		fmt.Println(n.Pointer, n.Kind.Code)
	}
	// Output:
	// 20.32 cm (said in; step 2.54) 2026-04-12 12/4/2026
	// /depth unit-assumed
}

// A stream is read as it passes.
func ExampleStream() {
	report := &find.Report{Finds: []*find.Find{{Materials: []find.Material{{Term: find.Term{Verbatim: "green metal"}}}}}}
	for e, err := range normalise.Stream(find.StreamOf(report), normalise.Options{}).Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		m := e.Find.Materials[0]
		fmt.Println(m.Code, m.Certainty, m.Verbatim)
	}
	// Output: copper-alloy possible green metal
}
