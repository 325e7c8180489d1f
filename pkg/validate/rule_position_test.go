package validate

import (
	"math"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// TestRounding holds half the diagonal of the cell of the last decimal to the figures computed on
// the ellipsoid in gridref_precision.csv. The rule takes a sphere, which is off by less than 1 %.
func TestRounding(t *testing.T) {
	checked := 0
	for _, row := range readReference(t, "gridref_precision.csv") {
		if row["notation"] != "Decimal degrees" {
			continue
		}
		decimals, want := number(t, strings.Fields(row["precision"])[0]).Int(), number(t, row["half_diagonal_m"]).Float()
		got := rounding(decimals, number(t, row["latitude_deg"]).Float())
		if math.Abs(got-want) > want/100 {
			t.Errorf("%s: %v m, want %v m", row["id"], got, want)
		}
		checked++
	}
	if checked < 20 {
		t.Errorf("only %d rows were checked", checked)
	}
}

// TestDecimalsOf counts decimals as they are written.
func TestDecimalsOf(t *testing.T) {
	for text, want := range map[string]int{"0": 0, "52": 0, "52.5": 1, "-1.22": 2, "52.5071234": 7, "-0.000000001": 9,
		"10": 0} {
		if got := decimalsOf(number(t, text)); got != want {
			t.Errorf("%s has %d decimals, want %d", text, got, want)
		}
	}
}

// TestMessagesKeepPlacesSecret runs the vectors of rules that speak of places and looks for the
// figures of the position in what is said.
func TestMessagesKeepPlacesSecret(t *testing.T) {
	all := casesOf(t)
	for _, r := range append(positionRules, readingRules...) {
		for _, v := range all[r.Code].Draws {
			for _, n := range noticesOf(t, v) {
				for _, f := range secretsOf(t, v) {
					if f != "" && strings.Contains(n.Message, f) {
						t.Errorf("%s: the message %q repeats what it must not", r.Code, n.Message)
					}
				}
			}
		}
	}
}

// secretsOf returns the figures and texts of a report that no message may repeat.
func secretsOf(t *testing.T, v cases.Case) []string {
	var out []string
	for _, f := range findsOf(t, v) {
		add := func(p *find.Position) {
			for _, n := range []find.Number{p.Longitude, p.Latitude} {
				if s := n.String(); len(s) > 4 {
					out = append(out, s, strings.TrimPrefix(s, "-"))
				}
			}
			out = append(out, p.Verbatim)
		}
		if f.Position != nil {
			add(f.Position)
		}
		for i := range f.OtherPositions {
			add(&f.OtherPositions[i])
		}
		if f.Place != nil {
			out = append(out, f.Place.Name, f.Place.Parish)
		}
	}
	return out
}
