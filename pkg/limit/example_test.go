package limit_test

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/limit"
)

func Example() {
	var l limit.Limits // the defaults
	if err := l.Set("rows", "5"); err != nil {
		fmt.Println(err)
	}
	fmt.Println(l.WithDefaults().Rows)

	_, err := limit.ReadAll(strings.NewReader("a text that is too long"), "record", 6)
	fmt.Println(limit.Of(err) != nil)
	// Output:
	// 5
	// true
}
