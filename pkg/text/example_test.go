package text_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/text"
)

func Example() {
	folded := text.AppendFold(nil, "FÜNF")
	fmt.Printf("%s, plainly %s\n", folded, text.AppendPlain(nil, folded))
	// Output: fünf, plainly funf
}
