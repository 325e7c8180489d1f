package coordinate_test

import (
	"errors"
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

func ExampleNormalise_refused() {
	_, err := coordinate.Normalise("452705 290115", coordinate.Options{})
	var e *coordinate.Error
	if errors.As(err, &e) {
		fmt.Println(e.Code)
		fmt.Println(e.Message)
		fmt.Println(e.Proposals)
	}
	// Output:
	// system-missing
	// these are easting and northing in metres, and nothing says in which system
	// [EPSG:27700 (British National Grid) EPSG:31258 (Austrian Bundesmeldenetz M31) EPSG:2180 (Polish grid PL-1992)]
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

func ExampleSuspect() {
	furlong, _ := coordinate.NewArea([][][]float64{{{-1.230, 52.500}, {-1.225, 52.500}, {-1.225, 52.504}, {-1.230, 52.504},
		{-1.230, 52.500}}})
	for _, s := range coordinate.Suspect(coordinate.Point{Longitude: 1.2265, Latitude: 52.503}, furlong, "") {
		fmt.Println(s.Code, s.Point)
	}
	// Output: lost-minus-longitude 52.503, -1.2265
}
