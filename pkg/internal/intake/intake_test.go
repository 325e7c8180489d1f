package intake

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

var unreadable = &notice.Kind{Code: "test-unreadable", Severity: notice.Error}

func TestForeign(t *testing.T) {
	texts := []Text{{"No.", "7"}, {"Find", "bell"}, {"Object", "second claim"}, {"Depth (in)", "8"},
		{"Weather", "rain"}, {"Latitude", "52.5"}, {"Longitude", "-1.2"}, {"depth.min", "deep"}, {"id", "not a URN"}}
	for name, c := range map[string]struct {
		point    bool
		position *find.Position
		columns  map[string]string
	}{
		"place among the texts": {false, &find.Position{Verbatim: "52.5, -1.2"},
			map[string]string{"Object": "second claim", "Weather": "rain", "depth.min": "deep", "id": "not a URN"}},
		"place known": {true, nil, map[string]string{"Object": "second claim", "Weather": "rain",
			"depth.min": "deep", "id": "not a URN", "Latitude": "52.5", "Longitude": "-1.2"}},
	} {
		t.Run(name, func(t *testing.T) {
			in := &Reader{What: "property", Unreadable: unreadable}
			e := &find.Entry{Find: new(find.Find)}
			in.Foreign(e, texts, c.point)
			want := &find.Find{Number: "7", Name: "bell", Depth: &find.Depth{Quantity: find.Quantity{Verbatim: "8"}},
				Position: c.position, Columns: c.columns}
			if d := cmp.Diff(want, e.Find, cmp.AllowUnexported(find.Number{})); d != "" {
				t.Error(d)
			}
			if len(e.Notices) != 1 || e.Notices[0].Kind != unreadable || e.Notices[0].Pointer != "/depth/min" {
				t.Errorf("notices %v", e.Notices)
			}
			if got := e.Origin.Layout.HintsAt("/depth").Unit; got != "in" {
				t.Errorf("unit %q", got)
			}
		})
	}
}

func TestRunning(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Names, Why string
		Holds      bool
	}](t, "Running") {
		var r Running
		for _, name := range strings.Split(c.Names, "|") {
			r.Add(name)
		}
		if r.Holds() != c.Holds {
			t.Errorf("%s: %v", c.Names, r.Holds())
		}
	}
	var f find.Find
	if !Naming(&f, "012 - buckle 6in", "by the oak", true) || f.Number != "012" || f.Name != "buckle 6in" ||
		f.Notes != "by the oak" {
		t.Errorf("cut into %q, %q, %q", f.Number, f.Name, f.Notes)
	}
}

func TestNamesBecomePeopleAndLand(t *testing.T) {
	var names Names
	names.Add([]Text{{"Finder", "finder-a"}, {"Permission", "Long Furlong"}, {"Weather", "rain"}})
	names.Add([]Text{{"Finder", "FINDER-A"}, {"Finder", "finder-b"}})
	r := &find.Report{People: []find.Person{{ID: "person-1", Handle: "finder-b"}}}
	x := names.References(r)
	if len(r.People) != 2 || len(r.Permissions) != 1 || x.Person("Finder-A") != r.People[1].ID ||
		x.Person("finder-b") != "person-1" || x.Permission("long furlong") != "permission-1" {
		t.Errorf("%+v", r)
	}
	if got := x.Person("nobody"); got != "nobody" {
		t.Errorf("an unknown name became %q", got)
	}
}

// A log with one column for the period and one for the age; a file of ours with words and EDTF.
func TestPartsOfADating(t *testing.T) {
	for _, c := range cases.Table[[]struct{ Words, Age, Verbatim, Date string }](t, "PartsOfADating") {
		var f find.Find
		(&Parts{Dating: c.Age, DatingVerbatim: c.Words}).Join(&f, func(field string) string { return field })
		if f.Dating == nil || f.Dating.Verbatim != c.Verbatim || f.Dating.Date != c.Date {
			t.Errorf("%q and %q give %+v", c.Words, c.Age, f.Dating)
		}
	}
}

// Words of a position, and beside them what says it once more: numbers stand beside the words, all
// else is kept under its heading. Nothing that was written is lost.
func TestPartsOfAPosition(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Parts              Parts
		Verbatim, Lat, Lon string
		Columns            map[string]string
		Kept               []string
	}](t, "PartsOfAPosition") {
		var f find.Find
		kept := c.Parts.Join(&f, func(field string) string { return "H " + field })
		if f.Position == nil || f.Position.Verbatim != c.Verbatim || f.Position.Latitude.String() != c.Lat ||
			f.Position.Longitude.String() != c.Lon ||
			!maps.Equal(f.Columns, c.Columns) || !slices.Equal(kept, c.Kept) {
			t.Errorf("%s: %+v, columns %v, kept %v", name, f.Position, f.Columns, kept)
		}
	}
}
