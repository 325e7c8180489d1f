package coordinate

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

// vector is one entry of testdata/vectors/position.json.
type vector struct {
	ID, Kind, Input, System, Language, Why, Source string
	Expect                                         struct {
		Latitude, Longitude, Uncertainty  *float64
		Tolerance                         float64 `json:"tolerance_m"`
		UncertaintyBasis, ReferenceSystem string
		Absent, Error                     string
	}
}

func vectors(t testing.TB) []vector {
	t.Helper()
	v := cases.Vectors[vector](t, "position")
	return v
}

// outcome is what a vector tells of a reading, the place apart.
type outcome struct {
	Uncertainty                  float64
	Basis, System, Absent, Error string
}

func TestVectors(t *testing.T) {
	list, ids := vectors(t), map[string]bool{}
	if len(list) < 120 {
		t.Errorf("%d vectors, want 120 at least", len(list))
	}
	for _, v := range list {
		if ids[v.ID] || v.Kind != "position" || v.Source == "" || v.Why == "" {
			t.Errorf("%s: id twice, another kind, or no source or reason", v.ID)
		}
		ids[v.ID] = true
		r, err := Normalise(v.Input, Options{System: v.System, Language: strings.TrimPrefix(v.Language, "mul")})
		got := outcome{Uncertainty: r.Uncertainty, Basis: r.Basis, System: r.System, Absent: r.Absent}
		var e *Error
		if errors.As(err, &e) {
			got.Error = e.Code
		}
		want := outcome{Basis: v.Expect.UncertaintyBasis, System: v.Expect.ReferenceSystem, Absent: v.Expect.Absent,
			Error: v.Expect.Error}
		if v.Expect.Uncertainty != nil {
			want.Uncertainty = *v.Expect.Uncertainty
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %q (%s): want, got:\n%s%v", v.ID, v.Input, v.Why, d, err)
			continue
		}
		if v.Expect.Latitude == nil {
			continue
		}
		if d := Distance(r.Point, Point{Longitude: *v.Expect.Longitude,
			Latitude: *v.Expect.Latitude}); !(d <= v.Expect.Tolerance) {
			t.Errorf("%s: %q (%s): %.4f m off (%s)", v.ID, v.Input, v.Why, d, v.Source)
		}
	}
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
