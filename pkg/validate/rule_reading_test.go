package validate

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func number(t *testing.T, text string) find.Number {
	t.Helper()
	n, err := find.ParseNumber(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestReadingAgreesWithReference puts the exact figure of each length and mass of the reference
// tables beside its text: the two agree, and a figure half as large again does not.
func TestReadingAgreesWithReference(t *testing.T) {
	checked := 0
	for _, c := range []struct{ file, figure, unit string }{{"lengths.csv", "mm", "mm"}, {"masses.csv", "grams", "g"}} {
		for _, row := range cases.Reference(t, c.file) {
			figure := row[c.figure]
			if figure == "" || row["exact"] != "yes" || row["bound"] == "approximate" || strings.Contains(row["note"], "TRAP") {
				continue
			}
			if i := strings.IndexByte(figure, '.'); i >= 0 && len(figure)-i > 9 {
				continue // more places than the format holds
			}
			q := &find.Quantity{Min: number(t, figure), Unit: c.unit, Verbatim: row["input"]}
			q.Max = q.Min
			if strings.HasSuffix(row["input"], " gr") {
				q.Said = "gr" // grains: the table says so, the text alone does not
			}
			if _, err := readAgain(q, c.unit, ""); err != nil {
				continue // its unit is not one of the format
			}
			if got := compare(q, c.unit, ""); got != agrees && !(got == closed && row["bound"] != "exact") {
				t.Errorf("%s: %q and %s %s: %v, want agreement", row["id"], row["input"], figure, c.unit, got)
			}
			q.Min = find.Float(q.Min.Float() * 1.5)
			q.Max = q.Min
			if q.Min.Float() > 0 && compare(q, c.unit, "") == agrees {
				t.Errorf("%s: %q agrees with one and a half times its figure", row["id"], row["input"])
			}
			checked++
		}
	}
	if checked < 50 {
		t.Errorf("only %d rows were checked", checked)
	}
}

// TestPositionAgreesWithReference puts the published point of each position beside its text: no
// difference is reported, and one is when the point is moved by a tenth of a degree.
func TestPositionAgreesWithReference(t *testing.T) {
	checked := 0
	for _, row := range cases.Reference(t, "coords.csv") {
		if row["expect"] != "ok" {
			continue
		}
		lat, lon := number(t, row["lat"]).Float(), number(t, row["lon"]).Float()
		p := &find.Position{Latitude: find.Float(lat), Longitude: find.Float(lon), Verbatim: row["input"],
			ReferenceSystem: row["crs"]}
		c := &Case{Find: &find.Find{Position: p}, Report: &find.Report{}}
		told := func() (n int) {
			positionDiffers(c, p, "/position", func(pointer, message string) { n++ })
			return n
		}
		if told() != 0 {
			t.Errorf("%s: %q is told to differ from its published point", row["id"], row["input"])
		}
		p.Latitude = find.Float(lat - math.Copysign(0.3, lat))
		if told() > 0 {
			checked++
		}
	}
	if checked < 120 {
		t.Errorf("only %d of the moved points were noticed", checked)
	}
}

// What is passed over because it says plainly what stands beside it is what the long way agrees with: every day of some
// years, with and without a time; and one that differs in any place is not passed over.
func TestSaysPlainly(t *testing.T) {
	passed := 0
	for day := (edtf.Day{Year: 1999, Month: 12, Day: 25}); day.Year < 2001; day = day.AddDays(1) {
		for _, time := range []string{"", "00:00", "09:05", "23:59"} {
			words := fmt.Sprintf("%d %s %d", day.Day, monthNames[day.Month-1], day.Year)
			if time != "" {
				words += ", " + time
			}
			f := find.Found{Date: day.String(), Time: time, Verbatim: words}
			if !saysPlainly(&f) {
				t.Fatalf("%q beside %s is not passed over", words, f.Date)
			}
			passed++
			r, err := edtf.NormaliseFound(words, edtf.Options{Pivot: day.Year - 50})
			if err != nil || r.Date.String() != f.Date || r.Time != time {
				t.Fatalf("%q reads as %s %s, %v", words, r.Date, r.Time, err)
			}
			for _, other := range []find.Found{
				{Date: day.AddDays(1).String(), Time: time, Verbatim: words},
				{Date: day.AddDays(31).String(), Time: time, Verbatim: words},
				{Date: day.AddDays(366).String(), Time: time, Verbatim: words},
				{Date: f.Date, Time: "12:34", Verbatim: f.Verbatim + ", 12:35"},
				{Date: f.Date, Time: time, Verbatim: words + "?"}, {Date: f.Date[:7], Time: time, Verbatim: words},
				{Date: f.Date, Time: time, Verbatim: "about " + words},
			} {
				if saysPlainly(&other) {
					t.Fatalf("%q beside %s %s is passed over", other.Verbatim, other.Date, other.Time)
				}
			}
		}
	}
	if passed < 1000 {
		t.Errorf("%d days were passed over", passed)
	}
}
