package schema_test

import (
	"fmt"
	"strings"

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

// The context makes linked data of a report; it is read from here and never fetched.
func ExampleContext() {
	fmt.Println(schema.ContextID, len(schema.Context()) > 0)
	// Output: https://w3id.org/findslip/1/context true
}

func ExampleText() {
	text, ok := schema.Text("find")
	fmt.Println(ok, strings.Contains(string(text), schema.ID("find")), schema.Names())
	// Output: true true [report find notices policy profile settings simple]
}
