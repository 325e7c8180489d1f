package heavy_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/testkit/heavy"
)

func ExampleSome() {
	reports := heavy.Some(3, 3000) // 3000 where FINDSLIP_ALL is set
	fmt.Println(reports == 3 || heavy.On())
	// Output: true
}
