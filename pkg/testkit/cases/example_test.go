package cases_test

import (
	"fmt"
	"os"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

func ExampleRead() {
	codes, err := cases.Read(os.DirFS("../../.."))
	if err != nil {
		panic(err)
	}
	for _, c := range codes {
		if c.Code == "unit-missing" {
			fmt.Println(c.Code, len(c.Draws) > 0, len(c.Near) > 0)
		}
	}
	// Output: unit-missing true true
}
