package coordinate

import (
	"math"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

// coordsInput turns a row of coords.csv into a call: the crs column is the option where the text does not name its own.
func coordsInput(t *testing.T, row map[string]string) (Reading, error) {
	t.Helper()
	o := Options{}
	switch row["format"] {
	case "easting-northing", "northing-easting":
		o.System = row["crs"]
	case "utm":
		if row["crs"] == "EPSG:25832" {
			o.System = row["crs"]
		}
	}
	return Normalise(row["input"], o)
}

// Every row of coords.csv: accepted rows lie within their tolerance, rejected rows are refused.
func TestCoords(t *testing.T) {
	accepted, rejected := 0, 0
	for _, row := range cases.Reference(t, "coords.csv") {
		r, err := coordsInput(t, row)
		if row["expect"] == "reject" {
			rejected++
			if err == nil {
				t.Errorf("%s: %q was read; %s (%s)", row["id"], row["input"], row["note"], row["source"])
			}
			continue
		}
		accepted++
		if err != nil {
			t.Errorf("%s: %q: %v", row["id"], row["input"], err)
			continue
		}
		p := r.Point
		if row["convention"] == "square_sw_corner" {
			s, _ := SystemByCode(r.System)
			e, n, err := s.FromWGS84(p)
			if err != nil {
				t.Fatal(err)
			}
			if p, err = s.ToWGS84(e-r.Square/2, n-r.Square/2); err != nil {
				t.Fatal(err)
			}
		}
		want := Point{Longitude: number(t, row["lon"]), Latitude: number(t, row["lat"])}
		if d := Distance(p, want); !(d <= number(t, row["tolerance_m"])) {
			t.Errorf("%s: %q lies %.3f m off, tolerance %s m (%s)", row["id"], row["input"], d, row["tolerance_m"],
				row["source"])
		}
		if !(r.Uncertainty > 0) || r.Basis == "" || r.Notation == "" || r.System == "" {
			t.Errorf("%s: incomplete reading %+v", row["id"], r)
		}
		if row["convention"] != "square_sw_corner" && row["origin"] == "published" && r.Uncertainty < Distance(p, want) {
			t.Errorf("%s: the published place lies %.2f m away, but the uncertainty says %.1f m", row["id"], Distance(p, want),
				r.Uncertainty)
		}
	}
	if accepted != 174 || rejected != 20 {
		t.Errorf("ran %d rows to accept and %d to reject, want 174 and 20", accepted, rejected)
	}
}

// readAngle reads one angle, the text of a single cell.
func readAngle(s, language string) (a angle, degrees, step float64, err *Error) {
	text, err := tidy(s)
	if err != nil {
		return a, 0, 0, err
	}
	text = loneComma(text)
	var t tokens
	if err = lex(text, &t); err != nil {
		return a, 0, 0, err
	}
	var g angles
	if err = g.gather(text, t.slice(), language); err != nil {
		return a, 0, 0, err
	}
	if g.n != 1 {
		return a, 0, 0, fault(s, "angle-count", "this cell should hold one angle and does not",
			"give latitude and longitude each in a cell of its own")
	}
	degrees, step, err = g.list[0].value(text)
	return g.list[0], degrees, step, err
}

// loneComma turns the one comma between figures in a cell of one number into a point.
func loneComma(s string) string {
	at := -1
	for i := 1; i+1 < len(s); i++ {
		switch {
		case s[i] == '.':
			return s
		case s[i] == ',' && s[i-1]-'0' <= 9 && s[i+1]-'0' <= 9:
			if at >= 0 {
				return s
			}
			at = i
		}
	}
	if at < 0 {
		return s
	}
	return s[:at] + "." + s[at+1:]
}

// Every row of angles.csv.
func TestAngles(t *testing.T) {
	for _, row := range cases.Reference(t, "angles.csv") {
		_, got, _, err := readAngle(row["input"], "")
		if row["expect"] == "reject" {
			if err == nil {
				t.Errorf("%s: %q was read as %v", row["id"], row["input"], got)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %q: %v", row["id"], row["input"], err)
			continue
		}
		if math.Abs(got-number(t, row["degrees"])) > 1e-9 {
			t.Errorf("%s: %q gives %v, want %s (%s)", row["id"], row["input"], got, row["degrees"], row["source"])
		}
	}
}

// Every row of gridref_precision.csv: half the diagonal of the square, or of the cell of the last digit.
func TestPrecision(t *testing.T) {
	unit := map[string]float64{"Decimal degrees": 1, "Degrees and decimal minutes": 60, "Degrees minutes seconds": 3600}
	ran := 0
	for _, row := range cases.Reference(t, "gridref_precision.csv") {
		ran++
		want := number(t, row["half_diagonal_m"])
		var got float64
		switch n := row["notation"]; n {
		case "British National Grid", "Irish Grid", "MGRS/USNG", "Easting/northing in metres":
			o := Options{System: "EPSG:27700"}
			r, err := Normalise(row["example"], o)
			if err != nil {
				t.Errorf("%s: %q: %v", row["id"], row["example"], err)
				continue
			}
			for _, p := range r.Budget {
				if p.Name == "square" || p.Name == "rounding" {
					got = p.Metres
				}
			}
		default:
			step := 0.0
			var d int
			switch p := row["precision"]; {
			case n == "Decimal degrees":
				d = int(p[0] - '0')
				step = math.Pow(10, -float64(d))
			default:
				v, used := scanDecimal(p)
				if used == 0 {
					t.Fatal(p)
				}
				step = v.value / unit[n]
			}
			got = cellHalfDiagonal(number(t, row["latitude_deg"]), step, step)
		}
		if math.Abs(got-want) > 1e-5*want+1e-6 {
			t.Errorf("%s: half diagonal %.6f m, want %.6f (%s)", row["id"], got, want, row["source"])
		}
	}
	if ran != 111 {
		t.Errorf("ran %d rows, want 111", ran)
	}
}

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
	for _, row := range cases.Reference(t, "projections.csv") {
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

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// dms is degrees, minutes and seconds as decimal degrees.
func dms(d, m, s float64) float64 { return d + m/60 + s/3600 }

// The forms of a code; the URN and the address are those of OGC 05-020 and OGC 09-048r5.
func TestSystemByCode(t *testing.T) {
	for code, want := range cases.Table[map[string]string](t, "SystemByCode") {
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
	for _, c := range cases.Table[[]struct {
		P    Point
		Zone int
		Ok   bool
	}](t, "UTMZone") {
		if zone, ok := UTMZone(c.P); zone != c.Zone || ok != c.Ok {
			t.Errorf("%v: zone %d %v, want %d %v", c.P, zone, ok, c.Zone, c.Ok)
		}
	}
}

// Plain degrees are read quickly as they are read slowly, with no system and with WGS 84 named.
func TestQuickDegrees(t *testing.T) {
	if systems()[0].Code != "EPSG:4326" {
		t.Fatalf("the first system is %s", systems()[0].Code)
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
