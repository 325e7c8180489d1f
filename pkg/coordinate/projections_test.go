package coordinate

import (
	"math"
	"testing"
)

// foreign holds definitions that testdata/reference/projections.csv uses and that no finder's report needs; they test
// the methods against more published figures (EPSG dataset; IOGP Guidance Note 7-2).
var foreign = map[string]*System{
	"EPSG:32040": (&System{Ellipsoid: Ellipsoid{"Clarke 1866", 6378206.4, 6378206.4 / (6378206.4 - 6356583.8)},
		Projection: Projection{Method: LambertConic, LatitudeOfOrigin: dms(27, 50, 0), LongitudeOfOrigin: -99,
			StandardParallel1: dms(28, 23, 0), StandardParallel2: dms(30, 17, 0),
			FalseEasting: 2000000 * 1200.0 / 3937}}).ready(),
	"EPSG:2921": (&System{Ellipsoid: grs80,
		Projection: Projection{Method: LambertConic, LatitudeOfOrigin: dms(40, 20, 0), LongitudeOfOrigin: -111.5,
			StandardParallel1: dms(41, 47, 0), StandardParallel2: dms(40, 43, 0), FalseEasting: 500000.0001504,
			FalseNorthing: 999999.9999960}}).ready(),
}

// Every row of projections.csv.
func TestProjections(t *testing.T) {
	unit := map[string]float64{"m": 1, "US survey foot": 1200.0 / 3937, "foot (international)": 0.3048}
	ran := 0
	for _, row := range reference(t, "projections.csv") {
		code := row["crs"]
		if code == "EPSG:31300" { // the table's note: checked through the re-fit 31370
			code = "EPSG:31370"
		}
		s, ok := SystemByCode(code)
		if !ok {
			s = foreign[code]
		}
		if s == nil {
			t.Errorf("%s: no system %s", row["id"], code)
			continue
		}
		ran++
		phi, lambda := number(t, row["native_lat"])*radians, number(t, row["native_lon"])*radians
		e, n := s.conv.forward(phi, lambda)
		u := unit[row["unit"]]
		tolerance := number(t, row["tolerance"])
		if de, dn := e/u-number(t, row["easting"]),
			n/u-number(t, row["northing"]); math.Hypot(de, dn) > tolerance*math.Sqrt2 {
			t.Errorf("%s: easting off by %.4f, northing by %.4f %s (%s)", row["id"], de, dn, row["unit"], row["source"])
		}
		if p, l := s.conv.inverse(e, n); math.Abs(p-phi) > 1e-12 || math.Abs(l-lambda) > 1e-12 {
			t.Errorf("%s: the way back is off by %g, %g radians", row["id"], p-phi, l-lambda)
		}
	}
	if ran != 26 {
		t.Errorf("ran %d rows, want 26", ran)
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
