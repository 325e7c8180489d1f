package coordinate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

// vector is one entry of testdata/vectors/position.json.
type vector struct {
	ID, Input, System, Language string
}

func vectors(t testing.TB) []vector {
	t.Helper()
	return cases.Vectors[vector](t, "position")
}

// Messages never repeat a figure of what was written, nor does the text of the error.
func TestMessagesKeepThePosition(t *testing.T) {
	check := func(id, input, message string) {
		t.Helper()
		for i := 0; i+1 < len(input); i++ {
			if input[i]-'0' <= 9 && input[i+1]-'0' <= 9 && strings.Contains(message, input[i:i+2]) && !allowed(message,
				input[i:i+2]) {
				t.Errorf("%s: %q repeats %q of the input", id, message, input[i:i+2])
			}
		}
	}
	seen := 0
	for _, v := range vectors(t) {
		r, err := Normalise(v.Input, Options{System: v.System, Language: strings.TrimPrefix(v.Language, "mul")})
		var e *Error
		if errors.As(err, &e) {
			seen++
			check(v.ID, v.Input, e.Message)
			check(v.ID, v.Input, e.Help)
			check(v.ID, v.Input, e.Error())
			if e.Input != v.Input {
				t.Errorf("%s: the error carries %q as its input", v.ID, e.Input)
			}
			if e.Part != "" && (e.At < 0 || !strings.HasPrefix(v.Input[e.At:], e.Part)) {
				t.Errorf("%s: part %q is not at %d of %q", v.ID, e.Part, e.At, v.Input)
			}
			if e.Message == "" || e.Help == "" || strings.HasSuffix(e.Message, ".") || strings.HasSuffix(e.Help, ".") {
				t.Errorf("%s: message %q, help %q", v.ID, e.Message, e.Help)
			}
		}
		for _, n := range r.Notes {
			seen++
			check(v.ID, v.Input, n.Message)
		}
	}
	if seen < 40 {
		t.Errorf("only %d messages were seen", seen)
	}
}

// allowed lets constant figures of the messages stand: the limits of the globe, codes of systems, and the examples.
func allowed(message, figures string) bool {
	for _, constant := range []string{"90 south", "90 north", "180 west", "180 east", "EPSG:27700", "EPSG:28992",
		"EPSG:25832", "zone 32", "52°30'15\"N",
		"1 to 60", "32 to 40", "30U", "30 north", "31, 33, 35 and 37", "WGS 84", "52°30'"} {
		if strings.Contains(constant, figures) && strings.Contains(message, constant) {
			return true
		}
	}
	return false
}

// Ways to write a position in words and letters, in six languages; common practice, no source. The places follow from
// the figures by hand: 30 minutes 22 seconds are 0.5061111 degrees, 12 minutes 20 seconds 0.2055556.
func TestWordsOfPositions(t *testing.T) {
	for text, want := range cases.Table[map[string]Point](t, "WordsOfPositions") {
		r, err := Normalise(text, Options{})
		if err != nil || math.Abs(r.Point.Latitude-want.Latitude) > 1e-6 ||
			math.Abs(r.Point.Longitude-want.Longitude) > 1e-6 {
			t.Errorf("%q: %v, %v, want %v", text, r.Point, err, want)
		}
	}
	for _, text := range []string{"ca. 52.5051, -1.2251", "about SP 5270 9011", "~52.5051, -1.2251"} {
		r, err := Normalise(text, Options{})
		said := false
		for _, n := range r.Notes {
			said = said || n.Code == "position-approximate"
		}
		if err != nil || !said {
			t.Errorf("%q: %v, %v", text, r.Notes, err)
		}
	}
}

// Headings as people write them; common practice, no source.
func TestSystemOfHeading(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Heading, Code, Axis string
		Ok                  bool
	}](t, "SystemOfHeading") {
		code, axis, ok := SystemOfHeading(c.Heading)
		if code != c.Code || axis != c.Axis || ok != c.Ok {
			t.Errorf("%q: %q %q %v, want %q %q %v", c.Heading, code, axis, ok, c.Code, c.Axis, c.Ok)
		}
	}
}

// inside draws a point in the area of use of a system.
func inside(t *rapid.T, s *System) Point {
	return Point{
		Longitude: rapid.Float64Range(s.Extent.West, s.Extent.East).Draw(t, "longitude"),
		Latitude:  rapid.Float64Range(s.Extent.South, s.Extent.North).Draw(t, "latitude"),
	}
}

func TestThereAndBack(t *testing.T) {
	all := slices.Collect(Systems())
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(all).Draw(t, "system")
		p := inside(t, s)
		if math.Abs(p.Longitude) > 179.9 && s.shift != nil {
			return
		}
		e, n, err := s.FromWGS84(p)
		if err != nil {
			t.Fatal(err)
		}
		q, err := s.ToWGS84(e, n)
		if err != nil {
			t.Fatal(err)
		}
		if d := Distance(p, q); !(d < 0.001) {
			t.Fatalf("%s: %.6f m after there and back", s.Code, d)
		}
	})
}

// A wider square never has a smaller uncertainty, nor has a coarser number or a coarser device.
func TestCoarserIsNeverSurer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, n := rapid.IntRange(0, 99999).Draw(t, "e"), rapid.IntRange(0, 99999).Draw(t, "n")
		device := rapid.Float64Range(0, 50).Draw(t, "device")
		last := 0.0
		for digits := 5; digits >= 1; digits-- {
			shift := int(powers[5-digits])
			r, err := Normalise(fmt.Sprintf("SP %0*d %0*d", digits, e/shift, digits, n/shift), Options{Device: device})
			if err != nil {
				t.Fatal(err)
			}
			if r.Uncertainty <= last || r.Uncertainty < r.Square/math.Sqrt2+5+device-1e-6 {
				t.Fatalf("%d digits: %v m, before %v m", digits, r.Uncertainty, last)
			}
			last = r.Uncertainty
		}
		lat, lon := rapid.Float64Range(-89, 89).Draw(t, "lat"), rapid.Float64Range(-179, 179).Draw(t, "lon")
		last = 0
		for decimals := 7; decimals >= 1; decimals-- {
			r, err := Normalise(fmt.Sprintf("%.*f, %.*f", decimals, lat, decimals, lon), Options{Device: device})
			if err != nil {
				t.Fatal(err)
			}
			if r.Uncertainty < last || r.Uncertainty < 0.1 {
				t.Fatalf("%d decimals: %v m, before %v m", decimals, r.Uncertainty, last)
			}
			if q := (Point{lon, lat}); Distance(q, r.Point) > r.Uncertainty {
				t.Fatalf("%d decimals: the true place is %v m away, uncertainty %v m", decimals, Distance(q, r.Point),
					r.Uncertainty)
			}
			last = r.Uncertainty
		}
	})
}

// Any place in a named square lies within the uncertainty of its reading.
func TestSquareHoldsThePlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, n := rapid.Float64Range(100000, 600000).Draw(t, "e"), rapid.Float64Range(20000, 1200000).Draw(t, "n")
		s, _ := SystemByCode("EPSG:27700")
		p, err := s.ToWGS84(e, n)
		if err != nil {
			t.Fatal(err)
		}
		digits := rapid.IntRange(1, 5).Draw(t, "digits")
		shift := powers[5-digits]
		ref := letters(e, n) + fmt.Sprintf("%0*d%0*d", digits, int(math.Mod(e, 1e5)/shift), digits,
			int(math.Mod(n, 1e5)/shift))
		r, err := Normalise(ref, Options{})
		if err != nil {
			t.Fatalf("%s: %v", ref, err)
		}
		if d := Distance(p, r.Point); d > r.Uncertainty {
			t.Fatalf("%s: the place is %v m away, uncertainty %v m", ref, d, r.Uncertainty)
		}
	})
}

// letters names the British square of 100 km, by the table printed on maps rather than by arithmetic: rows from the
// south, columns from the west (OS guide v3.6, section 7.1, figure).
func letters(e, n float64) string {
	rows := []string{
		"SV SW SX SY SZ TV TW", "SQ SR SS ST SU TQ TR", "SL SM SN SO SP TL TM", "SF SG SH SJ SK TF TG",
		"SA SB SC SD SE TA TB",
		"NV NW NX NY NZ OV OW", "NQ NR NS NT NU OQ OR", "NL NM NN NO NP OL OM", "NF NG NH NJ NK OF OG",
		"NA NB NC ND NE OA OB",
		"HV HW HX HY HZ JV JW", "HQ HR HS HT HU JQ JR", "HL HM HN HO HP JL JM",
	}
	return strings.Fields(rows[int(n/1e5)])[int(e/1e5)]
}

func TestPointText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-90, 90).Draw(t, "lat")}.Round()
		r, err := Normalise(p.String(), Options{})
		if err != nil || r.Point != p {
			t.Fatalf("%v: normalised to %v, %v", p, r.Point, err)
		}
	})
}

func FuzzNormalise(f *testing.F) {
	for _, v := range cases.Seeds(vectors(f)) {
		f.Add(v.Input, v.System, v.Language)
	}
	for _, row := range cases.Seeds(cases.Reference(f, "coords.csv")) {
		f.Add(row["input"], row["crs"], "")
	}
	for _, row := range cases.Reference(f, "angles.csv") {
		f.Add(row["input"], "", "de")
	}
	f.Fuzz(func(t *testing.T, s, system, language string) {
		o := Options{System: system, Language: language}
		r, err := Normalise(s, o)
		checkReading(t, s, r, err)
		if err == nil && r.Absent == "" {
			again, err := Normalise(r.Point.String(), Options{})
			// whole degrees are written "52, -1", and are read
			if err != nil || again.Point != r.Point {
				t.Errorf("%q: %v was read again as %v, %v", s, r.Point, again.Point, err)
			}
		}
		SystemOfHeading(s)
		Suspect(r.Point, Area{polygons: [][]ring{{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}}}, s)
	})
}

func checkReading(t *testing.T, s string, r Reading, err error) {
	t.Helper()
	if err != nil {
		var e *Error
		if !errors.As(err, &e) || e.Code == "" || e.Message == "" || !r.IsZero() {
			t.Errorf("%q: error %#v with reading %+v", s, err, r)
		} else if e.Input != s {
			t.Errorf("%q: error carries input %q", s, e.Input)
		} else if e.Part != "" && (e.At < 0 || !strings.HasPrefix(s[e.At:], e.Part)) {
			t.Errorf("%q: part %q is not at %d", s, e.Part, e.At)
		}
		return
	}
	if r.Absent != "" {
		return
	}
	if !r.Point.Valid() || r.Point != r.Point.Round() || !(r.Uncertainty >= 0.1) || math.IsInf(r.Uncertainty, 0) ||
		math.Abs(r.Uncertainty*10-math.Round(r.Uncertainty*10)) > 1e-6*r.Uncertainty || r.Basis == "" || r.System == "" ||
		r.Notation == "" || len(r.Budget) == 0 {
		t.Errorf("%q: %+v", s, r)
	}
}
