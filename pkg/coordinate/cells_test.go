package coordinate

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The forms of a code; the URN and the address are those of OGC 05-020 and OGC 09-048r5.
func TestSystemByCode(t *testing.T) {
	for code, want := range map[string]string{
		"EPSG:27700": "EPSG:27700", "epsg:27700": "EPSG:27700", "27700": "EPSG:27700", " EPSG 27700 ": "EPSG:27700",
		"EPSG: 27700":                 "EPSG:27700",
		"urn:ogc:def:crs:EPSG::28992": "EPSG:28992", "http://www.opengis.net/def/crs/EPSG/0/2056": "EPSG:2056",
		"EPSG:32760": "EPSG:32760", "EPSG:4326": "EPSG:4326",
		"": "", "EPSG": "", "EPSG:": "", "EPSG:1": "", "EPSG:99999": "", "ESRI:27700": "", "EPSG:27700x": "",
		"EPSG:9999999": "",
	} {
		s, ok := SystemByCode(code)
		if ok != (want != "") || ok && s.Code != want {
			t.Errorf("%q: %v, want %q", code, s, want)
		}
	}
	names := map[string]string{}
	for s := range Systems() {
		if s.Name == "" || s.Datum == "" || s.Shift.Source == "" || !(s.Extent.South < s.Extent.North) ||
			!(s.Extent.West < s.Extent.East) {
			t.Errorf("%s is not told in full", s.Code)
		}
		if got, ok := SystemByCode(s.Code); !ok || got != s {
			t.Errorf("%s is not found by its code", s.Code)
		}
		for _, a := range append([]string{foldName(s.Name)}, s.Aliases...) {
			if other := names[a]; other != "" && other != s.Code {
				t.Errorf("the name %q is that of %s and of %s", a, other, s.Code)
			}
			names[a] = s.Code
			if got, ok := SystemByName(a); !ok || got != s {
				t.Errorf("%s is not found by its name %q", s.Code, a)
			}
		}
	}
}

// The exceptions of the UTM grid (NGA.SIG.0012; bounds from memory, and TestPeers holds the zone of random places to
// GeoConvert's). 180 east and 180 west are one place.
func TestUTMZone(t *testing.T) {
	for _, c := range []struct {
		p    Point
		zone int
		ok   bool
	}{
		{Point{-1.2, 52.5}, 30, true}, {Point{5.3249, 60.39135}, 32, true}, {Point{2.9, 60}, 31, true},
		{Point{5, 64.5}, 31, true},
		{Point{8, 78}, 31, true}, {Point{10, 78}, 33, true}, {Point{22, 78}, 35, true}, {Point{34, 78}, 37, true},
		{Point{43, 78}, 38, true},
		{Point{180, 0}, 1, true}, {Point{-180, 0}, 1, true}, {Point{0, 84}, 0, false}, {Point{0, -80.1}, 0, false},
	} {
		if zone, ok := UTMZone(c.p); zone != c.zone || ok != c.ok {
			t.Errorf("%v: zone %d %v, want %d %v", c.p, zone, ok, c.zone, c.ok)
		}
	}
}

// Plain degrees are read quickly as they are read slowly, with no system and with WGS 84 named.
func TestQuickDegrees(t *testing.T) {
	if systems[0].Code != "EPSG:4326" {
		t.Fatalf("the first system is %s", systems[0].Code)
	}
	numbers := []string{"0.0", "52.5", "-1.25", "+1.2", "52.506064", "-1.2213738", "89.99999999", "90.0", "90.1", "180.0",
		"-180.00001", "179.999999999999", "7.", "7", "-0.0", "0.1234567890123456789", "452.70", "52,5", "452700.5"}
	read := 0
	for _, a := range numbers {
		for _, b := range numbers {
			for _, between := range []string{", ", ",", " ", "  ", " ,", ";"} {
				for _, o := range []Options{{}, {System: "EPSG:4326"}, {System: "EPSG:4326", Device: 5}, {System: "EPSG:4277"},
					{System: "WGS 84"}, {Language: "de"}} {
					text := a + between + b
					r, ok := quickDegrees(text, o)
					if !ok {
						continue
					}
					read++
					want, err := normaliseAny(text, o)
					if d := cmp.Diff(want, r); err != nil || d != "" {
						t.Fatalf("%q with %+v: %v %s", text, o, err, d)
					}
				}
			}
		}
	}
	if read < 300 {
		t.Errorf("only %d are read quickly", read)
	}
}
