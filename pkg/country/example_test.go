package country_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/country"
)

func Example() {
	code, _ := country.Read("Schottland")
	fmt.Println(code, country.Name(code))
	_, perhaps := country.Read("Georgia")
	fmt.Println(perhaps)
	fmt.Println(country.OfGrid("EPSG:27700", "SP 527 901"))
	// Output:
	// GB-SCT Scotland
	// [GE US-GA]
	// [GB-ENG]
}
