package normalise_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/normalise"
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
