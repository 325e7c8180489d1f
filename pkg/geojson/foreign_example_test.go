package geojson_test

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/geojson"
)

// Features of others are read by the names of their properties.
func ExampleDecode() {
	text := `{"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": {"type": "Point", "coordinates": [-1.25, 52.5]},
		"properties": {"Number": "12", "Depth (in)": "8"}}]}`
	in, err := geojson.Decode(strings.NewReader(text), geojson.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for e, err := range in.Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(e.Find.Number, e.Find.Depth.Verbatim, e.Find.Position.Latitude)
	}
	// Output: 12 8 52.5
}
