package received_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/received"
)

func Example() {
	l := received.Letter{To: "To finder-a", From: "Recorder of Thornmere", Parts: []received.Part{
		{Text: "What we still need:", Items: []string{"Who found it (1 find): 7"}}}}
	fmt.Print(l.Text())
	// Output:
	// To finder-a
	//
	// What we still need:
	//   - Who found it (1 find): 7
	//
	// Recorder of Thornmere
}
