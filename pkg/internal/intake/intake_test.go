package intake

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var unreadable = &notice.Kind{Code: "test-unreadable", Severity: notice.Error}

func TestForeign(t *testing.T) {
	texts := []Text{{"No.", "7"}, {"Find", "bell"}, {"Object", "second claim"}, {"Depth (in)", "8"}, {"Weather", "rain"}, {"Latitude", "52.5"}, {"Longitude", "-1.2"}, {"depth.min", "deep"}, {"id", "not a URN"}}
	for name, c := range map[string]struct {
		point    bool
		position *find.Position
		columns  map[string]string
	}{
		"place among the texts": {false, &find.Position{Verbatim: "52.5, -1.2"}, map[string]string{"Object": "second claim", "Weather": "rain", "depth.min": "deep", "id": "not a URN"}},
		"place known":           {true, nil, map[string]string{"Object": "second claim", "Weather": "rain", "depth.min": "deep", "id": "not a URN", "Latitude": "52.5", "Longitude": "-1.2"}},
	} {
		t.Run(name, func(t *testing.T) {
			in := &Reader{What: "property", Unreadable: unreadable}
			e := &find.Entry{Find: new(find.Find)}
			in.Foreign(e, texts, c.point)
			want := &find.Find{Number: "7", Name: "bell", Depth: &find.Depth{Quantity: find.Quantity{Verbatim: "8"}}, Position: c.position, Columns: c.columns}
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

func TestNaming(t *testing.T) {
	for _, c := range []struct{ name, description, number, words, notes string }{
		{"007", "bell", "007", "bell", ""},
		{"bell", "", "", "bell", ""},
		{"bell", "green", "", "bell", "green"},
		{"bell", "bell", "", "bell", ""},
		{"", "bell", "", "bell", ""},
		{"", "", "", "", ""},
	} {
		var f find.Find
		Naming(&f, c.name, c.description)
		if f.Number != c.number || f.Name != c.words || f.Notes != c.notes {
			t.Errorf("%q, %q: number %q, name %q, notes %q", c.name, c.description, f.Number, f.Name, f.Notes)
		}
	}
}

func TestNamesBecomePeopleAndLand(t *testing.T) {
	var names Names
	names.Add([]Text{{"Finder", "finder-a"}, {"Permission", "Long Furlong"}, {"Weather", "rain"}})
	names.Add([]Text{{"Finder", "FINDER-A"}, {"Finder", "finder-b"}})
	r := &find.Report{People: []find.Person{{ID: "person-1", Handle: "finder-b"}}}
	x := names.References(r)
	if len(r.People) != 2 || len(r.Permissions) != 1 || x.Person("Finder-A") != r.People[1].ID || x.Person("finder-b") != "person-1" || x.Permission("long furlong") != "permission-1" {
		t.Errorf("%+v", r)
	}
	if got := x.Person("nobody"); got != "nobody" {
		t.Errorf("an unknown name became %q", got)
	}
}
