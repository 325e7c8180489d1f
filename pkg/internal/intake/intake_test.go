package intake

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
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
	for _, c := range []struct {
		names string
		holds bool
	}{
		{"001 musket ball 6in|002 button|003 crotal bell", true},
		{"12 - buckle|11) bell|10. ring", true},
		{"1 bell|2|4: ring", true},
		{"1 bell|2 buckles", false},                          // too few
		{"2 buckles|3 coins|2 bells", false},                 // counts
		{"1797 penny|1806 halfpenny|1836 groat", false},      // years
		{"001 bell|002 ring|gate post", false},               // one without
		{"1st bell|2nd bell|3rd bell", false},                // no number of its own
		{"1.5 bell|2.5 bell|3.5 bell", false},                // figures
		{"20240301 bell|20240302 bell|20240303 bell", false}, // days
		{"1 bell|2 ring|99999999999999999999999 cup", false}, // beyond a number
	} {
		var r Running
		for _, name := range strings.Split(c.names, "|") {
			r.Add(name)
		}
		if r.Holds() != c.holds {
			t.Errorf("%s: %v", c.names, r.Holds())
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
	for _, c := range []struct {
		words, age     string
		verbatim, date string
	}{
		{"Middeleeuwen", "13e eeuw", "Middeleeuwen, 13e eeuw", ""},
		{"", "13e eeuw", "13e eeuw", ""},
		{"Roman", "", "Roman", ""},
		{"early 18th century", "1701/1733", "early 18th century", "1701/1733"},
		{"18th century", "18th century", "18th century", "18th century"},
	} {
		var f find.Find
		(&Parts{Dating: c.age, DatingVerbatim: c.words}).Join(&f, func(field string) string { return field })
		if f.Dating == nil || f.Dating.Verbatim != c.verbatim || f.Dating.Date != c.date {
			t.Errorf("%q and %q give %+v", c.words, c.age, f.Dating)
		}
	}
}

// Words of a position, and beside them what says it once more: numbers stand beside the words, all
// else is kept under its heading. Nothing that was written is lost.
func TestPartsOfAPosition(t *testing.T) {
	for name, c := range map[string]struct {
		parts              Parts
		verbatim, lat, lon string
		columns            map[string]string
		kept               []string
	}{
		"both numbers": {Parts{Position: "by the gate", Latitude: "52.5", Longitude: "-1.2"}, "by the gate", "52.5",
			"-1.2", nil, nil},
		"longitude alone": {Parts{Position: "by the gate", Longitude: "-1.2"}, "by the gate", "", "-1.2", nil, nil},
		"latitude alone":  {Parts{Position: "by the gate", Latitude: "52.5"}, "by the gate", "52.5", "", nil, nil},
		"no numbers": {Parts{Position: "SP 5270 9011", Latitude: "52 30 N", Longitude: "1 12 W"}, "SP 5270 9011", "", "",
			map[string]string{"H position.latitude": "52 30 N", "H position.longitude": "1 12 W"},
			[]string{"position.latitude", "position.longitude"}},
		"one is no number": {Parts{Position: "SP 5270 9011", Latitude: "52.5", Longitude: "1 12 W"}, "SP 5270 9011", "", "",
			map[string]string{"H position.latitude": "52.5", "H position.longitude": "1 12 W"}, []string{"position.latitude",
				"position.longitude"}},
		"grid beside words": {Parts{Position: "by the gate", Easting: "452700", Northing: "290110"}, "by the gate", "", "",
			map[string]string{"H position.easting": "452700", "H position.northing": "290110"}, []string{"position.easting",
				"position.northing"}},
		"grid beside degrees": {Parts{Latitude: "52.5", Longitude: "-1.2", Easting: "452700"}, "52.5, -1.2", "", "",
			map[string]string{"H position.easting": "452700"}, []string{"position.easting"}},
		"grid": {Parts{Easting: "452700", Northing: "290110"}, "452700, 290110", "", "", nil, nil},
	} {
		var f find.Find
		kept := c.parts.Join(&f, func(field string) string { return "H " + field })
		if f.Position == nil || f.Position.Verbatim != c.verbatim || f.Position.Latitude.String() != c.lat ||
			f.Position.Longitude.String() != c.lon ||
			!maps.Equal(f.Columns, c.columns) || !slices.Equal(kept, c.kept) {
			t.Errorf("%s: %+v, columns %v, kept %v", name, f.Position, f.Columns, kept)
		}
	}
}
