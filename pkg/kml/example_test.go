package kml_test

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/kml"
)

// Placemarks of others are read too.
func ExampleDecode() {
	text := `<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>12</name><description>button</description>
		<Point><coordinates>-1.25,52.5</coordinates></Point></Placemark></Document></kml>`
	in, err := kml.Decode(strings.NewReader(text), kml.Options{})
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
