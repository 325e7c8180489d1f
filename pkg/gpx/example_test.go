package gpx_test

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/gpx"
)

func Example() {
	text := `{"findslip": "1.0", "id": "urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0", "finds": [
  {"id": "urn:uuid:6f1c7f04-8f4e-4a55-8a4c-6a3d3f7f2b11", "number": "12", "name": "button",
   "position": {"latitude": 52.5, "longitude": -1.25}}]}`
	read, err := find.DecodeJSON(strings.NewReader(text), find.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var file bytes.Buffer
	if err := gpx.Encode(&file, read); err != nil {
		fmt.Println(err)
		return
	}
	in, err := gpx.Decode(bytes.NewReader(file.Bytes()), gpx.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for e, err := range in.Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(e.Find.Number, e.Find.Name, e.Find.Position.Latitude)
	}
	// Output: 12 button 52.5
}
