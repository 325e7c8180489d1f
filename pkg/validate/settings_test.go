package validate

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

func TestSettings(t *testing.T) {
	s := DefaultSettings()
	list := s.List()
	if len(list) < 15 {
		t.Fatalf("only %d settings", len(list))
	}
	for _, x := range list {
		if x.Changed() || x.Default == "" || x.Doc == "" || x.Source == "" {
			t.Errorf("setting %+v is not whole", x)
		}
	}
	if s.PloughDepth != 30 || s.LotGrams != 0.5 {
		t.Errorf("plough depth %d, grams of a lot %g", s.PloughDepth, s.LotGrams)
	}
	if err := s.Set("plough-depth", "25"); err != nil || s.PloughDepth != 25 {
		t.Errorf("Set: %v, %d", err, s.PloughDepth)
	}
	for _, bad := range [][2]string{{"plough-depth", "-1"}, {"plough-depth", "deep"}, {"plough-depth", "2.5"},
		{"lot-grams", "NaN"}, {"nothing", "1"}} {
		if err := s.Set(bad[0], bad[1]); err == nil {
			t.Errorf("Set(%q, %q) is accepted", bad[0], bad[1])
		}
	}
	changed := 0
	for _, x := range s.List() {
		if x.Changed() {
			changed++
		}
	}
	if changed != 1 {
		t.Errorf("%d settings changed", changed)
	}
}

// The rules that are off by name are rules, and none of safety, law or sharing.
func TestOffByDefault(t *testing.T) {
	off := slices.DeleteFunc(kinds.All(), func(k *notice.Kind) bool { return k.Off == "" })
	if len(off) == 0 {
		t.Fatal("none is off")
	}
	for _, k := range off {
		code := k.Code
		found := slices.Contains([]string{"dating-not-read", "depth-names-layer", "term-not-listed"}, code) // of readers
		for _, r := range Catalogue() {
			if r.Code == code {
				found = true
				if fixed(r) {
					t.Errorf("%s cannot be off", code)
				}
			}
		}
		if !found {
			t.Errorf("%s is no rule", code)
		}
	}
}

func TestSelect(t *testing.T) {
	has := func(selection, code string) bool {
		t.Helper()
		rules, err := Select(selection)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rules {
			if r.Code == code {
				return true
			}
		}
		return false
	}
	for _, c := range []struct {
		selection, code string
		want            bool
	}{
		{"", "depth-implausible", true}, {"", "recorded-late", false}, {"all", "recorded-late", true},
		{"default", "recorded-late", false},
		{"+recorded-late", "recorded-late", true}, {"+recorded-late", "depth-implausible", true},
		{"-depth", "depth-implausible", false},
		{"-depth", "null-island", true}, {"depth", "depth-implausible", true}, {"depth", "null-island", false},
		{"error", "null-island", true},
		{"error", "depth-implausible", false}, {"all,-error", "null-island", false}, {"depth", "ordnance-possible", true},
		{"-safety", "ordnance-possible", true},
		{"-sharing", "position-too-exact", true},
	} {
		if got := has(c.selection, c.code); got != c.want {
			t.Errorf("%q has %s: %v, want %v", c.selection, c.code, got, c.want)
		}
	}
	if _, err := Select("no-such-rule"); err == nil {
		t.Error("a name that is none is taken")
	}
}

// An acceptance of a rule that was not asked is not called stale: nothing is known of it.
func TestAcceptancesOfRulesThatAreOff(t *testing.T) {
	a := newAcceptances([]find.Acceptance{{Code: "recorded-late", Reason: "typed in winter"},
		{Code: "depth-far", Reason: "a ditch"}})
	rules, err := Select("")
	if err != nil {
		t.Fatal(err)
	}
	if list := a.stale(rules); len(list) != 1 || !strings.Contains(list[0].Message, "depth-far") {
		t.Error(list)
	}
}

const square = `{"type": "Polygon", "coordinates": [[[-1.23, 52.5], [-1.22, 52.5], [-1.22, 52.51], [-1.23, 52.51], ` +
	`[-1.23, 52.5]]]}`

// The shapes of GeoJSON that hold areas: RFC 7946 sections 3.1.6, 3.2 and 3.3.
func TestReadProtected(t *testing.T) {
	for name, x := range map[string]struct {
		text          string
		areas, passed int
		date          string
	}{
		"a collection": {`{"type": "FeatureCollection", "date": "2026-03-01", "features": [{"type": "Feature", ` +
			`"geometry": ` + square + `}, {"type": "Feature", "geometry": {"type": "Point", "coordinates": [-1.2, 52.5]}}, ` +
			`{"type": "Feature", "geometry": null}]}`, 1, 2, "2026-03-01"},
		"a feature": {`{"type": "Feature", "properties": null, "geometry": ` + square + `}`, 1, 0, ""},
		"a polygon": {square, 1, 0, ""},
		"a date in words": {`{"type": "FeatureCollection", "date": "last spring", "features": [{"type": "Feature", ` +
			`"geometry": ` + square + `}]}`, 1, 0, ""},
	} {
		p, passed, err := ReadProtected(strings.NewReader(x.text), "sites.geojson", limit.Limits{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(p.Areas) != x.areas || passed != x.passed || p.Date != x.date {
			t.Errorf("%s: %d areas, %d passed over, date %q", name, len(p.Areas), passed, p.Date)
		}
		if v := p.Areas[0].Contains(coordinate.Point{Longitude: -1.225, Latitude: 52.505}, 5); v != coordinate.Inside {
			t.Errorf("%s: the middle is %v", name, v)
		}
	}
}

// A file of which nothing can be told is an error: checked against nothing is not checked.
func TestReadProtectedRefuses(t *testing.T) {
	for _, text := range []string{"", "[]", "{}", `{"type": "FeatureCollection", "features": []}`,
		`{"type": "Point", "coordinates": [1, 2]}`,
		`{"type": "Polygon", "coordinates": [[[452700, 290110], [452800, 290110], [452800, 290210], [452700, 290110]]]}`,
		`{"type": "Polygon", "coordinates": "x"}`} {
		if p, _, err := ReadProtected(strings.NewReader(text), "x", limit.Limits{}); err == nil {
			t.Errorf("%s: %d areas", text, len(p.Areas))
		}
	}
}

// TestDayNumber holds the count of days to that of package time.
func TestDayNumber(t *testing.T) {
	day := func(t time.Time) edtf.Day {
		return edtf.Day{Year: t.Year(), Month: uint8(t.Month()), Day: uint8(t.Day())}
	}
	first := time.Date(1890, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 100_000 {
		d := day(first.AddDate(0, 0, i))
		if got := daysBetween(day(first), d); got != i || dayOf(dayNumber(d)) != d {
			t.Fatalf("from 1890-01-01 to %s are %d days, want %d", first.AddDate(0, 0, i).Format(time.DateOnly), got, i)
		}
	}
	if got := daysBetween(edtf.Day{Year: -1, Month: 12, Day: 31}, edtf.Day{Month: 1, Day: 1}); got != 1 {
		t.Errorf("over the turn to year 0 are %d days, want 1", got)
	}
}

// TestMoment checks the forms of ISO 8601-1 that the schema lets through, and some that it does not.
func TestMoment(t *testing.T) {
	april := edtf.Day{Year: 2026, Month: 4, Day: 12}
	for text, want := range map[string]moment{
		"2026-04-12":                   {day: april, minute: -1},
		"2026-04-12T14:30":             {day: april, minute: 870},
		"2026-04-12T14:30:59.5Z":       {day: april, minute: 870, zone: utc},
		"2026-04-12T00:00:00+02:00":    {day: april, zone: stated, offset: 120},
		"2026-04-12T23:59-05:30":       {day: april, minute: 1439, zone: stated, offset: -330},
		"2026-04-31":                   {},
		"2026-04":                      {},
		"2026-04-12 14:30":             {},
		"2026-04-12T24:30":             {},
		"2026-04-12T14:30+2":           {},
		"":                             {},
		"2026-04-12T":                  {},
		"２０２６-04-12":                   {},
		"2026-04-12T14:30:00+99:99:99": {},
	} {
		got, ok := momentOf(text)
		if got != want || ok != (want != moment{}) {
			t.Errorf("momentOf(%q) = %+v, %v, want %+v", text, got, ok, want)
		}
	}
}
