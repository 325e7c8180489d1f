package heading_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/heading"
)

func ExampleUnderstand() {
	for _, h := range []string{"Depth (in)", "Tiefe cm", "Weight (g)", "shoe size"} {
		m := heading.Understand(h)
		fmt.Printf("%s: %q %q\n", h, m.Field, m.Hints.Unit)
	}
	// Output:
	// Depth (in): "depth" "in"
	// Tiefe cm: "depth" "cm"
	// Weight (g): "weight" "g"
	// shoe size: "" ""
}

func ExampleLabel() {
	fmt.Println(heading.Label("depth", "de"), heading.Label("depth", "sv"))
	fmt.Println(heading.Nearest("Conditoin"))
	// Output:
	// Tiefe Djup
	// condition
}
