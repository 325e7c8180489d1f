package schema_test

import (
	"fmt"

	"github.com/findslip/findslip/schema"
)

func ExampleRoot() {
	root, err := schema.Root("find")
	if err != nil {
		fmt.Println(err)
		return
	}
	depth := root.At("/properties/depth")
	fmt.Println(root.Properties[0].Name, depth.Title)

	text, ok := schema.Text("find")
	fmt.Println(len(text) > 0, ok)
	// Output:
	// id Depth
	// true true
}
