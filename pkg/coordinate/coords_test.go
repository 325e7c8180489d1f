package coordinate

import (
	"math"
	"testing"
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
	for _, row := range reference(t, "coords.csv") {
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
	for _, row := range reference(t, "angles.csv") {
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
	for _, row := range reference(t, "gridref_precision.csv") {
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
