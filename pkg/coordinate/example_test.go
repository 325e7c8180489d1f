package coordinate_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/coordinate"
)

func ExampleNormalise() {
	r, err := coordinate.Normalise("SP 5270 9011", coordinate.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Point, r.Uncertainty, r.Basis, r.System)
	for _, p := range r.Budget {
		fmt.Printf("%s %.1f m\n", p.Name, p.Metres)
	}
	// Output:
	// 52.5063914, -1.2249252 12.1 square EPSG:27700
	// square 7.1 m
	// datum-shift 5.0 m
}

func ExampleSystem_ToWGS84() {
	s, _ := coordinate.SystemByCode("EPSG:28992")
	p, err := s.ToWGS84(155000, 463000)
	fmt.Println(p, err)
	// Output: 52.1551723, 5.3872035 <nil>
}

func ExampleArea_Contains() {
	furlong, err := coordinate.NewArea([][][]float64{{{-1.230, 52.500}, {-1.225, 52.500}, {-1.225, 52.504},
		{-1.230, 52.504}, {-1.230, 52.500}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	p := coordinate.Point{Longitude: -1.2251, Latitude: 52.502}
	fmt.Println(furlong.Contains(p, 3), furlong.Contains(p, 12.1))
	// Output: inside cannot tell
}
