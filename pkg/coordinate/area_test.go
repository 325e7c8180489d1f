package coordinate

import (
	"math"
	"strings"
	"testing"
)

// field is a made-up field of about 340 m by 440 m with a square pond in it.
var field = [][][]float64{
	{{-1.230, 52.500}, {-1.225, 52.500}, {-1.225, 52.504}, {-1.230, 52.504}, {-1.230, 52.500}},
	{{-1.228, 52.501}, {-1.227, 52.501}, {-1.227, 52.502}, {-1.228, 52.502}, {-1.228, 52.501}},
}

func mustArea(t testing.TB, c [][][]float64) Area {
	t.Helper()
	a, err := NewArea(c)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestAreaContains(t *testing.T) {
	a := mustArea(t, field)
	for _, c := range []struct {
		name   string
		p      Point
		radius float64
		want   Verdict
	}{
		{"well inside", Point{-1.2265, 52.503}, 5, Inside},
		{"well outside", Point{-1.220, 52.503}, 5, Outside},
		{"in the pond", Point{-1.2275, 52.5015}, 5, Outside},
		{"in the pond, known to a hundred metres", Point{-1.2275, 52.5015}, 100, CannotTell},
		{"on the edge", Point{-1.225, 52.502}, 0, CannotTell},
		{"on a corner", Point{-1.230, 52.500}, 0, CannotTell},
		{"six metres inside, known to five", Point{-1.2250885, 52.503}, 5, Inside},
		{"six metres inside, known to seven", Point{-1.2250885, 52.503}, 7, CannotTell},
		{"six metres outside, known to five", Point{-1.2249115, 52.503}, 5, Outside},
		{"six metres outside, known to seven", Point{-1.2249115, 52.503}, 7, CannotTell},
		{"exactly inside", Point{-1.2265, 52.503}, 0, Inside},
		{"level with a corner", Point{-1.235, 52.500}, 0, Outside},
		{"level with a corner of the pond", Point{-1.2285, 52.501}, 1, Inside},
		{"no radius", Point{-1.2265, 52.503}, math.NaN(), CannotTell},
		{"a radius below nought", Point{-1.2265, 52.503}, -1, CannotTell},
		{"no point", Point{math.NaN(), 52.503}, 1, CannotTell},
	} {
		if got := a.Contains(c.p, c.radius); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if got := (Area{}).Contains(Point{}, 1); got != CannotTell {
		t.Errorf("an empty area says %v", got)
	}
	if d := (Area{}).Distance(Point{}); !math.IsNaN(d) {
		t.Errorf("an empty area is %v away", d)
	}
}

// The distance to an edge along a meridian or a parallel is that of the geodesic, which TestPeers holds to GeodSolve.
func TestAreaDistance(t *testing.T) {
	a := mustArea(t, field)
	for _, c := range []struct {
		name    string
		p, edge Point
	}{
		{"north of the field", Point{-1.2275, 52.5045}, Point{-1.2275, 52.504}},
		{"south, one kilometre", Point{-1.2275, 52.491}, Point{-1.2275, 52.500}},
		{"east, inside", Point{-1.2252, 52.5035}, Point{-1.225, 52.5035}},
		{"beyond a corner", Point{-1.240, 52.510}, Point{-1.230, 52.504}},
		{"in the pond", Point{-1.2271, 52.5015}, Point{-1.227, 52.5015}},
		{"ten kilometres", Point{-1.2275, 52.41}, Point{-1.2275, 52.500}},
	} {
		got, want := a.Distance(c.p), Distance(c.p, c.edge)
		if math.Abs(got-want) > 0.002 {
			t.Errorf("%s: %.4f m, want %.4f", c.name, got, want)
		}
	}
}

func TestAreaOfSeveral(t *testing.T) {
	box := func(w, s, e, n float64) [][][]float64 {
		return [][][]float64{{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}}}
	}
	a, err := NewMultiArea([][][][]float64{box(0, 0, 1, 1), box(0.5, 0.5, 2, 2), box(179, 10, 180, 11),
		box(-180, 10, -179, 11)})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		p    Point
		want Verdict
	}{
		{Point{0.25, 0.25}, Inside}, {Point{0.75, 0.75}, Inside}, {Point{1.75, 1.75}, Inside}, {Point{0.25, 1.75}, Outside},
		{Point{179.5, 10.5}, Inside}, {Point{-179.5, 10.5}, Inside}, {Point{178.5, 10.5}, Outside},
		{Point{-178.5, 10.5}, Outside},
	} {
		if got := a.Contains(c.p, 10); got != c.want {
			t.Errorf("%v: %v, want %v", c.p, got, c.want)
		}
	}
	across := mustArea(t, box(179, 10, 181, 11)) // runs on past the antimeridian
	for _, c := range []struct {
		p    Point
		want Verdict
	}{{Point{179.5, 10.5}, Inside}, {Point{-179.5, 10.5}, Inside}, {Point{-178.5, 10.5}, Outside},
		{Point{0, 10.5}, Outside}} {
		if got := across.Contains(c.p, 10); got != c.want {
			t.Errorf("across: %v: %v, want %v", c.p, got, c.want)
		}
	}
}

// What RFC 7946 section 3.1.6 asks of a ring, and what no area can be.
func TestNewAreaRefuses(t *testing.T) {
	for want, c := range map[string][][][]float64{
		"no ring":          {},
		"four points":      {{{0, 0}, {1, 0}, {0, 0}}},
		"not closed":       {{{0, 0}, {1, 0}, {1, 1}, {0, 1}}},
		"lacks":            {{{0, 0}, {1}, {1, 1}, {0, 0}}},
		"not a longitude":  {{{0, 0}, {1, 91}, {1, 1}, {0, 0}}},
		"no surface":       {{{0, 0}, {1, 1}, {2, 2}, {0, 0}}},
		"crosses itself":   {{{0, 0}, {1, 1}, {1, 0}, {0, 2}, {0, 0}}},
		"begins outside":   {{{0, 0}, {1, 0}, {1, 1}, {0, 0}}, {{5, 5}, {6, 5}, {6, 6}, {5, 5}}},
		"point 2 is not a": {{{0, 0}, {math.NaN(), 0}, {1, 1}, {0, 0}}},
	} {
		if _, err := NewArea(c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
	if _, err := NewMultiArea(nil); err == nil {
		t.Error("an area of nothing was made")
	}
}

// Each slip is made on purpose to a place inside the field, and has to be the only one that lands inside.
func TestSuspect(t *testing.T) {
	a := mustArea(t, field)
	inside := Point{-1.2265, 52.503}
	s, _ := SystemByCode("EPSG:27700")
	e, n, err := s.FromWGS84(inside)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name     string
		p        Point
		verbatim string
		want     string
	}{
		{"axes swapped", Point{52.503, -1.2265}, "", "swapped-axes"},
		{"minus lost", Point{1.2265, 52.503}, "", "lost-minus-longitude"},
		{"latitude with a minus", Point{-1.2265, -52.503}, "", "lost-minus-latitude"},
		{"both signs", Point{1.2265, -52.503}, "", "lost-minus-both"},
		{"minutes as decimals", Point{-1.1359, 52.3018}, "52.3018, -1.1359", "minutes-as-decimals"},
		{"minutes as decimals, minus lost", Point{1.1359, 52.3018}, "", "minutes-as-decimals"},
		{"minutes and seconds as decimals", Point{-1.13354, 52.30108}, "", "seconds-as-decimals"},
		{"metres in the columns of degrees", Point{math.Round(e), math.Round(n)}, "", "projected-as-degrees"},
		{"metres the other way round", Point{math.Round(n), math.Round(e)}, "", "projected-as-degrees"},
		{"metres in the text", Point{0, 0}, "E 452600 N 289750", "projected-as-degrees"},
		{"inside already", inside, "", ""},
		{"at the edge already", Point{-1.2249, 52.503}, "", ""},
		{"somewhere else", Point{-3, 55}, "", ""},
	} {
		got := Suspect(c.p, a, c.verbatim)
		codes := ""
		for _, g := range got {
			if codes == "" {
				codes = g.Code
			}
			if !near(g.Point, a) || g.Message == "" {
				t.Errorf("%s: %+v does not lie in the area", c.name, g)
			}
		}
		if codes != c.want || len(got) > 1 && outsideBy(got[1].Point, a) == 0 {
			t.Errorf("%s: %v, want %q", c.name, got, c.want)
		}
	}
	if got := Suspect(Point{52.503, -1.2265}, Area{}, ""); got != nil {
		t.Errorf("an empty area gives %v", got)
	}
}
