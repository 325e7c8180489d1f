package share

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
)

func referenceRows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, name := range all[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func figure64(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// The steps are those of guidance on sensitive records of places, the diagonals those of the guide to
// georeferencing (testdata/reference/generalisation.csv, sources beside each row). What is rounded
// lies at most a whole diagonal off, the centre of a cell half of one.
func TestPublishedSteps(t *testing.T) {
	checked := 0
	for _, row := range referenceRows(t, "generalisation.csv") {
		switch row["kind"] {
		case "cell-diagonal":
			side := int64(math.Round(figure64(t, row["step_deg"]) * 1e7))
			// A cell that straddles the equator is as the tables have it; ours begin at it.
			whole := 2 * halfDiagonal(0, side/2, side)
			if want := figure64(t, row["metres"]); math.Abs(whole-want) > want*0.0005+1 {
				t.Errorf("the diagonal of %s degree is %.1f m, published are %s", row["step_deg"], whole, row["metres"])
			}
			checked++
		case "step":
			side := int64(math.Round(figure64(t, row["step_deg"]) * 1e7))
			ours := slices.IndexFunc(steps, func(s struct {
				side int64
				name string
			}) bool {
				return s.side == side
			})
			// "coarse" is their high, "open" their medium sensitivity; we have nothing as fine as their low.
			want := map[string]int{"medium": 0, "high": 1, "low": -1}[row["sensitivity"]]
			if ours != want || ours >= 0 && steps[ours].name != "grid-"+row["step_deg"] {
				t.Errorf("the step of %s sensitivity is number %d, want %d", row["sensitivity"], ours, want)
			}
			checked++
		case "unknown-uncertainty":
			if figure64(t, row["metres"]) != unknownUncertainty {
				t.Errorf("an uncertainty that is not known is taken for %d m, published are %s", unknownUncertainty, row["metres"])
			}
			checked++
		}
	}
	if checked != 8 {
		t.Errorf("%d rows were checked", checked)
	}
}

// Cells at other latitudes, computed on the WGS 84 ellipsoid (testdata/reference/gridref_precision.csv).
func TestComputedDiagonals(t *testing.T) {
	checked := 0
	for _, row := range referenceRows(t, "gridref_precision.csv") {
		side, ok := map[string]int64{"0 decimals": 10_000_000, "1 decimals": 1_000_000, "2 decimals": 100_000}[row["precision"]]
		if row["notation"] != "Decimal degrees" || !ok {
			continue
		}
		lat := int64(math.Round(figure64(t, row["latitude_deg"]) * 1e7))
		want := figure64(t, row["half_diagonal_m"])
		// Theirs is worked out from the sides at the middle latitude, ours is the distance to the corner
		// that lies farther off, nearer the equator: up to 1 in 60 more for a cell of 1 degree at 60 degrees.
		got := halfDiagonal(lat, side/2, side)
		if got < want*0.9995 || got > want*1.017+1 {
			t.Errorf("half the diagonal of %s at %s degrees is %.1f m, computed are %s", row["precision"], row["latitude_deg"], got, row["half_diagonal_m"])
		}
		checked++
	}
	if checked < 15 {
		t.Errorf("%d rows were checked", checked)
	}
}

// A copy that says that it is on a grid and is not is put on it; one that is keeps its cell, and
// nothing else of its position.
func TestAlreadyGeneralised(t *testing.T) {
	position := func(lat, lon, uncertainty float64) *find.Position {
		return &find.Position{Latitude: find.Float(lat), Longitude: find.Float(lon), Uncertainty: find.Float(uncertainty), Verbatim: "by the oak", Method: &find.Term{Code: "phone"}, TakenAt: "2026-04-12T10:42", By: "person-1"}
	}
	for _, c := range []struct {
		name        string
		p           *find.Position
		says        string
		lat, lon    string
		uncertainty float64
	}{
		{"says so and is not", position(52.5063914, -1.2249252, 5), "grid-0.1", "52.5", "-1.5", 0},
		{"says so and is", position(52.55, -1.25, 6530), "grid-0.1", "52.55", "-1.25", 6530},
		{"is too sure", position(52.55, -1.25, 5), "grid-0.1", "52.55", "-1.25", 6530},
		{"is finer than it may be", position(52.505, -1.225, 660), "grid-0.01", "52.5", "-1.5", 0},
	} {
		source := &find.Report{Findslip: "1.0", ID: find.NewReportID(), Finds: []*find.Find{{ID: find.NewReportID(), Name: "button", Permission: "permission-1", Position: c.p, Generalised: map[string]string{"/position": c.says}}}}
		copied, err := Copy(t.Context(), source, Options{Audience: Public})
		if err != nil {
			t.Fatal(err)
		}
		p := copied.Report.Finds[0].Position
		if p.Latitude.String() != c.lat || p.Longitude.String() != c.lon || p.Verbatim != "" || p.Method != nil || p.TakenAt != "" || p.By != "" {
			t.Errorf("%s: the copy has %+v", c.name, p)
		}
		if c.uncertainty > 0 && math.Abs(p.Uncertainty.Float()-c.uncertainty) > 40 {
			t.Errorf("%s: the uncertainty is %s", c.name, p.Uncertainty)
		}
	}
}

// Land of which nothing is said does not count for other land.
func TestCellOfOnePermission(t *testing.T) {
	for _, c := range []struct {
		permissions []string
		want        string
	}{{[]string{"permission-1", "permission-2"}, "grid-0.01"}, {[]string{"permission-1", "permission-1"}, "grid-0.1"}, {[]string{"permission-1", ""}, "grid-0.1"}, {[]string{"", ""}, "grid-0.1"}} {
		source := &find.Report{Findslip: "1.0", ID: find.NewReportID()}
		for i, p := range c.permissions {
			source.Finds = append(source.Finds, &find.Find{ID: find.FindID(source.ID, fmt.Sprint(i)), Name: "button", Permission: p, Sensitivity: "open",
				Position: &find.Position{Latitude: find.Float(52.5063914), Longitude: find.Float(-1.2249252), Uncertainty: find.Int(5)}})
		}
		copied, err := Copy(t.Context(), source, Options{Audience: Public})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range copied.Report.Finds {
			if got := f.Generalised["/position"]; got != c.want {
				t.Errorf("%q: %s, want %s", c.permissions, got, c.want)
			}
			if reason := f.Generalised["/position/uncertainty"]; (reason == "cell-of-one-permission") != (c.want == "grid-0.1") {
				t.Errorf("%q: the reason is %q", c.permissions, reason)
			}
		}
	}
}

// Thousands of random logs in which some finds are restricted: what lies beside one, by outing, day
// or bond, does not give its place away.
func TestNeighboursDoNotTell(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	withheld, coarse := 0, 0
	for range 2000 {
		source := &find.Report{Findslip: "1.0", ID: find.NewReportID()}
		for i := range 8 {
			f := &find.Find{ID: find.FindID(source.ID, fmt.Sprint(i)), Number: fmt.Sprint(i), Name: "button", Permission: fmt.Sprintf("permission-%d", 1+r.IntN(2)), Sensitivity: "open",
				Found:    &find.Found{Date: fmt.Sprintf("2026-04-%02d", 10+r.IntN(4))},
				Position: &find.Position{Latitude: find.Float(coordinate.Round7(52.5 + r.Float64()*0.01)), Longitude: find.Float(coordinate.Round7(-1.23 + r.Float64()*0.01)), Uncertainty: find.Int(5)}}
			if r.IntN(2) == 0 {
				f.Outing = fmt.Sprintf("outing-%d", 1+r.IntN(3))
			}
			if r.IntN(6) == 0 {
				f.Sensitivity = []string{"restricted", "closed", "odd"}[r.IntN(3)]
			}
			if i > 0 && r.IntN(4) == 0 {
				f.Associated = []find.Association{{Find: source.Finds[r.IntN(i)].ID}}
			}
			if i > 0 && r.IntN(8) == 0 {
				f.PartOf = source.Finds[r.IntN(i)].ID
			}
			source.Finds = append(source.Finds, f)
		}
		for _, a := range []Audience{Public, Expert} {
			c, err := Copy(t.Context(), source, Options{Audience: a})
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range c.Report.Finds {
				id := f.ID
				if a == Public {
					id = c.Back[f.ID]
				}
				i := slices.IndexFunc(source.Finds, func(x *find.Find) bool { return x.ID == id })
				if i < 0 {
					continue // the record that only counts
				}
				bound, beside := near(source, source.Finds[i])
				switch {
				case bound && f.Position != nil:
					t.Fatalf("%s sees the place of a find that belongs to a restricted one", a)
				case a == Expert && beside && f.Position != nil:
					t.Fatal("the expert sees the place of a find beside a restricted one")
				case a == Public && beside && f.Position != nil && f.Generalised["/position"] == "grid-0.01":
					t.Fatal("the public sees a find beside a restricted one in a cell of 0.01 degree")
				}
				if f.Position == nil {
					withheld++
				} else if f.Generalised["/position"] == "grid-0.1" {
					coarse++
				}
			}
		}
	}
	if withheld == 0 || coarse == 0 {
		t.Errorf("%d places were withheld, %d were coarse", withheld, coarse)
	}
}

// near tells in its own, slow way whether a find hangs together with one whose place is withheld,
// and whether it was found beside one.
func near(source *find.Report, f *find.Find) (bound, beside bool) {
	secret := func(x *find.Find) bool { return x.Sensitivity != "open" }
	tied := func(a, b *find.Find) bool {
		return a.PartOf == b.ID || b.PartOf == a.ID || slices.ContainsFunc(a.Associated, func(x find.Association) bool { return x.Find == b.ID }) || slices.ContainsFunc(b.Associated, func(x find.Association) bool { return x.Find == a.ID })
	}
	group := []*find.Find{f}
	for i := 0; i < len(group); i++ {
		for _, x := range source.Finds {
			if tied(group[i], x) && !slices.Contains(group, x) {
				group = append(group, x)
			}
		}
	}
	for _, x := range source.Finds {
		if secret(x) {
			bound = bound || slices.Contains(group, x)
			beside = beside || x.Outing != "" && x.Outing == f.Outing || x.Found.Date == f.Found.Date && x.Permission == f.Permission
		}
	}
	return bound, beside
}

// A copy of a copy for the same audience tells the same.
func TestCopyOfACopy(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	for range 200 {
		source := randomReport(r)
		for _, a := range []Audience{Public, Expert} {
			once, err := Copy(t.Context(), source, Options{Audience: a})
			if err != nil {
				t.Fatal(err)
			}
			twice, err := Copy(t.Context(), once.Report, Options{Audience: a})
			if err != nil {
				t.Fatal(err)
			}
			places := func(c *Copied) (out []string) {
				for _, f := range c.Report.Finds {
					if f.Position != nil {
						out = append(out, fmt.Sprint(f.Position.Latitude, f.Position.Longitude, f.Position.Uncertainty, f.Generalised["/position"], f.Found.Date))
					}
				}
				slices.Sort(out)
				return out
			}
			if !slices.Equal(places(once), places(twice)) {
				t.Fatalf("%s: %v became %v", a, places(once), places(twice))
			}
		}
	}
}
