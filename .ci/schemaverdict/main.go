// Command schemaverdict prints, for each file named, whether our own schema half says that the
// report in it is valid. An independent validator is compared with it.
package main

import (
	"encoding/json"
	"fmt"
	"os"

	"github.com/findslip/findslip/pkg/validate"
)

func main() {
	schemas, err := validate.NewSchemas()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	for _, name := range os.Args[1:] {
		raw, err := os.ReadFile(name)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(2)
		}
		var vector struct {
			Report json.RawMessage `json:"report"`
		}
		if json.Unmarshal(raw, &vector) == nil && len(vector.Report) > 0 {
			raw = vector.Report
		}
		found, err := schemas.Document(raw, "report")
		fmt.Printf("%s\t%t\n", name, err == nil && len(found) == 0)
	}
}
