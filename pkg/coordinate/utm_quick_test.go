package coordinate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// longWay reads a text without the shortcuts.
func longWay(s string, o Options) (Reading, error) {
	text, bad := tidy(s)
	if bad != nil {
		return Reading{}, bad
	}
	stated, bad := o.system()
	if bad != nil {
		return Reading{}, bad
	}
	r, err := read(text, o, stated)
	if err != nil {
		return r, err
	}
	return r, nil
}

// What the shortcut reads is what the long way reads, to the last digit.
func TestQuickUTMIsTheLongWay(t *testing.T) {
	random := rand.New(rand.NewPCG(30, 60))
	letters := "ABCDEFGHIJKLMNOPQRSTUVWXYZn"
	took := 0
	for i := range 60_000 {
		zone, letter := random.IntN(64), string(letters[random.IntN(len(letters))])
		if i%3 == 0 {
			letter = []string{" north", " south", " North", "north"}[random.IntN(4)]
		}
		e, n := random.Float64()*1.1e6, random.Float64()*1.02e7
		if i%2 == 0 { // on land of the zone
			e, n = 2e5+random.Float64()*6e5, 1e5+random.Float64()*9e6
		}
		if i%5 == 0 { // in the band of its letter, mostly
			if south, _, ok := band(letter[0]); ok {
				n = math.Mod(south*111200+1e7*math.Max(0, -math.Copysign(1, south))+random.Float64()*9e5, 1e7)
			}
		}
		text := fmt.Sprintf("%d%s %.*f %.*f", zone, letter, random.IntN(4), e, random.IntN(4), n)
		o := Options{Device: float64(random.IntN(3)) * 5}
		quick, ok := quickUTM(text, o)
		if !ok {
			continue
		}
		took++
		long, err := longWay(text, o)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if d := cmp.Diff(long, quick); d != "" {
			t.Fatalf("%q: %s", text, d)
		}
	}
	if took < 5000 {
		t.Errorf("the shortcut took only %d texts", took)
	}
	for _, text := range []string{"", "30", "30U", "30U 699375", "30U 699375 5713970 x", "30U 699375, 5713970",
		"0U 699375 5713970", "61U 699375 5713970",
		"30E 699375 5713970", "32X 500000 8900000", strings.Repeat("3", 60)} {
		if _, ok := quickUTM(text, Options{}); ok {
			t.Errorf("%q is read", text)
		}
	}
}

// V is the band of Norway and Sweden, and not west; the zones of south-west Norway: DMA TM 8358.1, table 2.
func TestBandV(t *testing.T) {
	for _, text := range []string{"32V 600000 6800000", "32 V 600000 6800000", "32v 600000 6800000",
		"600000 6800000 32V"} {
		r, err := Normalise(text, Options{})
		if err != nil || r.Point.Latitude < 61.3 || r.Point.Latitude > 61.4 || r.System != "EPSG:32632" {
			t.Errorf("%q: %+v, %v", text, r, err)
		}
	}
}

// The series for the latitude gives what Newton's method gives, within a tenth of a micrometre, from pole to pole.
func TestLatitudeBySeries(t *testing.T) {
	for _, s := range []*System{utmSystem(30, false), byNumber[27700], byNumber[2393]} {
		if s == nil {
			continue
		}
		m, ok := s.conv.(*mercator)
		if !ok {
			t.Fatal("no transverse Mercator")
		}
		for phi := -89.9; phi < 90; phi += 0.37 {
			for lambda := -8.0; lambda <= 8; lambda += 1.3 {
				e, n := m.forward(phi*radians, m.lambda0+lambda*radians)
				p, l := m.inverse(e, n)
				if d := math.Abs(p-phi*radians) * 6.4e6; d > 1e-7 {
					t.Fatalf("%v %v: %g m", phi, lambda, d)
				}
				if d := math.Abs(l-m.lambda0-lambda*radians) * 6.4e6 * math.Cos(p); d > 1e-7 {
					t.Fatalf("%v %v: %g m aside", phi, lambda, d)
				}
			}
		}
	}
}
