package vocabulary_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/vocabulary"
)

// Several words of one cell.
func ExampleScheme_MatchAll() {
	matches, rest := vocabulary.Get("material").MatchAll("Blei/Eisen, shiny")
	for _, m := range matches {
		fmt.Println(m.Code, m.Lang)
	}
	fmt.Printf("%q\n", rest)
	// Output:
	// lead de
	// iron de
	// "shiny"
}

// Words that only say why there is nothing.
func ExampleAbsent() {
	fmt.Println(vocabulary.Absent("n/a"))
	fmt.Println(vocabulary.Absent("lead"))
	// Output:
	// not-noted true
	//  false
}

// Did you mean ...
func ExampleScheme_Nearest() {
	if c, letters, ok := vocabulary.Get("material").Nearest("aluminnum"); ok {
		fmt.Println(c.Code, c.Label("de"), letters)
	}
	// Output: aluminium Aluminium 1
}
