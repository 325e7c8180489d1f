package coordinate

import (
	"strings"
	"testing"
)

// Whatever stands beside a reference by letters, the quick look does not pass it over: every name of every
// system, every spelling of a code, every label, every word for about, a stated uncertainty.
func TestMayBeLetters(t *testing.T) {
	before := []string{"", "grid ref: ", "Grid Reference ", "GR ", "EPSG:27700 ", "urn:ogc:def:crs:EPSG::27700 ", "http://www.opengis.net/def/crs/EPSG/0/29903 ", "https://www.opengis.net/def/crs/epsg/0/27700 "}
	for _, s := range systems {
		before = append(before, s.Name+" ", s.Code+": ")
		for _, alias := range s.Aliases {
			before = append(before, alias+" ", strings.ToUpper(alias)+": ")
		}
	}
	for _, word := range abouts {
		before = append(before, word+" ", "OSGB "+word+" ")
	}
	behind := []string{"", " (6 figure)", " (an eight figure reference)", " ±5 m", " +/- 10 metres", " British National Grid", ", Irish Grid", " EPSG:27700"}
	read := 0
	for _, a := range before {
		for _, b := range behind {
			for _, square := range []string{"SP 527 901", "sp5279", "G 123 456", "TQ", "N 12 34"} {
				text := a + square + b
				r, err := Normalise(text, Options{})
				if err != nil || r.Notation != NotationGridLetters {
					continue
				}
				if read++; !MayBeLetters(text) {
					t.Errorf("%q is a grid reference", text)
				}
			}
		}
	}
	if read < 500 {
		t.Errorf("only %d references were read", read)
	}
	for _, text := range []string{"row 17 of the book", "box 12 on the shelf", "found 20 paces from the hedge 10 inches down"} {
		if MayBeLetters(text) {
			t.Errorf("%q is looked at again", text)
		}
	}
}
