package spreadsheet_test

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet"
)

// Words are put beside the field that they belong to, as they were written.
func ExampleDecodeCSV() {
	sheet := "No.,What,Depth (in)\n12,button,7-9\n"
	in, err := spreadsheet.DecodeCSV(strings.NewReader(sheet), spreadsheet.Options{File: "season.csv"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for e, err := range in.Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(e.Find.Number, e.Find.Name, e.Find.Depth.Verbatim)
	}
	// Output: 12 button 7-9
}
