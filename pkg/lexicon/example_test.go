package lexicon_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/lexicon"
)

func ExampleCompile() {
	months := lexicon.Compile(func(w lexicon.Word) (int, bool) { return w.Is.Int(), w.Class == "month" },
		func(old, more int) int { return max(old, more) })
	month, ok := months.Find([]byte("août"), nil)
	fmt.Println(month, ok)
	// Output: 8 true
}
