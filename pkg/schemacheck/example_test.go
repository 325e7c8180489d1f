package schemacheck_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/schemacheck"
)

// The schemas judge a text alone, without the rules.
func ExampleSchemas_Notices() {
	schemas, err := schemacheck.New()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range schemas.Notices([]byte(`{"number": 12, "nmae": "button"}`), "find") {
		fmt.Println(n.Pointer, n.Kind.Code, n.Message)
	}
	// Output:
	// schema-required Find: Identifier (id) is missing
	// /nmae member-misspelt the format knows no member "nmae" here, but it knows "name"
	// /number schema-type Number: text is expected, but the number 12 stands here
}
