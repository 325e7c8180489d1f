package coordinate

import (
	"github.com/findslip/findslip/pkg/lexicon"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Whatever stands beside a reference by letters, the quick look does not pass it over: every name of every
// system, every spelling of a code, every label, every word for about, a stated uncertainty.
func TestMayBeLetters(t *testing.T) {
	before := []string{"", "grid ref: ", "Grid Reference ", "GR ", "EPSG:27700 ", "urn:ogc:def:crs:EPSG::27700 ",
		"http://www.opengis.net/def/crs/EPSG/0/29903 ", "https://www.opengis.net/def/crs/epsg/0/27700 "}
	for _, s := range systems {
		before = append(before, s.Name+" ", s.Code+": ")
		for _, alias := range s.Aliases {
			before = append(before, alias+" ", strings.ToUpper(alias)+": ")
		}
	}
	for _, word := range lexicon.Forms("near")[""] {
		before = append(before, word+" ", "OSGB "+word+" ")
	}
	behind := []string{"", " (6 figure)", " (an eight figure reference)", " ±5 m", " +/- 10 metres",
		" British National Grid", ", Irish Grid", " EPSG:27700"}
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
	for _, text := range []string{"row 17 of the book", "box 12 on the shelf",
		"found 20 paces from the hedge 10 inches down"} {
		if MayBeLetters(text) {
			t.Errorf("%q is looked at again", text)
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
