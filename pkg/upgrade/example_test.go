package upgrade_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/upgrade"
)

// A report of this version comes back as it is.
func ExampleReport() {
	r, err := upgrade.Report([]byte(`{"findslip": "1.0", "finds": []}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.From, len(r.Notices), string(r.Text))

	_, err = upgrade.Report([]byte(`{"findslip": "7.0"}`))
	fmt.Println(err != nil)
	// Output:
	// 1.0 0 {"findslip": "1.0", "finds": []}
	// true
}
