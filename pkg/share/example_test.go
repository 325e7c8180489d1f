package share_test

import (
	"context"
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/share"
)

func ExampleCopy() {
	text := `{"findslip": "1.0", "id": "urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0", "finds": [
  {"id": "urn:uuid:6f1c7f04-8f4e-4a55-8a4c-6a3d3f7f2b11", "number": "12", "name": "button",
   "position": {"latitude": 52.50123, "longitude": -1.25678, "verbatim": "by the gate"}}]}`
	read, err := find.DecodeJSON(strings.NewReader(text), find.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	report, _, err := find.Collect(read)
	if err != nil {
		fmt.Println(err)
		return
	}
	copied, err := share.Copy(context.Background(), report, share.Options{Audience: share.Public})
	if err != nil {
		fmt.Println(err)
		return
	}
	f := copied.Report.Finds[0]
	fmt.Println(copied.Report.Audience, f.Name)
	fmt.Printf("%v %v %q\n", f.Position.Latitude, f.Position.Longitude, f.Position.Verbatim)
	// Output:
	// public button
	// 52.5 -1.5 ""
}
