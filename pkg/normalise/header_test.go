package normalise

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
)

func headerReport() *find.Report {
	return &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", Audience: "Landowner",
		People: []find.Person{{ID: "person-1", Handle: "finder-a",
			Roles: []find.Term{{Verbatim: "Finder"}, {Verbatim: "n/a"}}}},
		Permissions: []find.Permission{{ID: "permission-1", Basis: &find.Term{Verbatim: "not recorded"},
			LandUse:   &find.Term{Verbatim: "Ploughed"},
			ValidFrom: "1 March 2026", ValidTo: "-", PloughDepth: &find.Quantity{Verbatim: "10 in"},
			MaxDepth: &find.Quantity{Verbatim: "n/a"},
			Absent:   map[string]string{"/terms": "not-known"}}},
		Outings: []find.Outing{{ID: "outing-1", Date: "12/4/2026", Start: "9.30 am", End: "unknown"}}}
}

func TestHeader(t *testing.T) {
	r := headerReport()
	list := Header(r, Options{Order: edtf.DayMonthYear})
	p := r.Permissions[0]
	if p.ValidFrom != "2026-03-01" || p.ValidTo != "" || p.MaxDepth != nil || p.Basis != nil {
		t.Errorf("%+v", p)
	}
	if p.PloughDepth.Min.String() != "25.4" || p.PloughDepth.Verbatim != "10 in" {
		t.Errorf("plough depth %+v", p.PloughDepth)
	}
	want := map[string]string{"/terms": "not-known", "/validTo": "not-noted", "/maxDepth": "not-noted",
		"/basis": "not-noted"}
	if d := cmp.Diff(want, p.Absent); d != "" {
		t.Error(d)
	}
	o := r.Outings[0]
	if o.Date != "2026-04-12" || o.Start != "09:30" || o.End != "" || o.Absent["/end"] != "not-noted" {
		t.Errorf("%+v", o)
	}
	roles := r.People[0].Roles
	if roles[0].Code != "finder" || roles[0].Verbatim != "Finder" || roles[1].Verbatim != "n/a" || roles[1].Note != "" {
		t.Errorf("%+v", roles)
	}
	if r.Audience != "landowner" {
		t.Errorf("audience %q", r.Audience)
	}
	for _, n := range list {
		t.Errorf("%s at %s: %s", n.Kind.Code, n.Pointer, n.Message)
	}
}

// The report of the caller is left as it was, also what its pointers and maps lead to.
func TestHeaderLeavesTheCallersReportAlone(t *testing.T) {
	r := headerReport()
	before := canonical(t, r)
	s := Stream(find.StreamOf(r), Options{Order: edtf.DayMonthYear, Unit: quantity.IN})
	if s.Report.Outings[0].Date != "2026-04-12" {
		t.Errorf("the stream has %+v", s.Report.Outings[0])
	}
	if d := cmp.Diff(before, canonical(t, r)); d != "" {
		t.Error(d)
	}
}

func TestHeaderTwiceIsOnce(t *testing.T) {
	r := headerReport()
	Header(r, Options{Order: edtf.DayMonthYear})
	once := canonical(t, r)
	Header(r, Options{Order: edtf.DayMonthYear})
	if d := cmp.Diff(once, canonical(t, r)); d != "" {
		t.Error(d)
	}
}

// What cannot be read stays, and is reported at its place from the top of the report.
func TestHeaderFaults(t *testing.T) {
	r := &find.Report{Permissions: []find.Permission{{},
		{ValidFrom: "3/4/2026", PloughDepth: &find.Quantity{Verbatim: "8"}}},
		Outings: []find.Outing{{Start: "late"}},
		People:  []find.Person{{Roles: []find.Term{{Verbatim: "chief bottle washer"}}}}}
	got := map[string]string{}
	for _, n := range Header(r, Options{}) {
		got[n.Pointer] = n.Kind.Code
	}
	want := map[string]string{"/permissions/1/validFrom": "date-order-unknown",
		"/permissions/1/ploughDepth": "unit-missing",
		"/outings/0/start":           "date-not-read", "/people/0/roles/0": "term-not-listed"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if r.Permissions[1].ValidFrom != "3/4/2026" || r.Permissions[1].PloughDepth.Verbatim != "8" ||
		r.Outings[0].Start != "late" {
		t.Errorf("words are lost: %+v %+v", r.Permissions[1], r.Outings[0])
	}
	if list := Header(&find.Report{Permissions: []find.Permission{{PloughDepth: &find.Quantity{Verbatim: "8"}}}},
		Options{Unit: quantity.IN}); len(list) != 1 || list[0].Kind != &kinds.UnitAssumed {
		t.Errorf("a unit from the options is not told: %v", list)
	}
}

// A country is understood by its name in any language, by a code in any spelling; what may be several is asked about.
func TestCountries(t *testing.T) {
	for written, want := range map[string]string{"England": "GB-ENG", "Schottland": "GB-SCT", "Danmark": "DK",
		"gb-wls": "GB-WLS",
		"NL":     "NL", "Georgia": "", "Narnia": ""} {
		r := &find.Report{Permissions: []find.Permission{{ID: "permission-1", Jurisdiction: written}}}
		f := &find.Find{Place: &find.Place{Name: "Long Furlong", Country: written}}
		list := append(Header(r, Options{}), Find(f, nil, Options{})...)
		asked := 0
		for i := range list {
			if list[i].Kind == &kinds.CountryNotRead {
				asked++
			}
		}
		if p := r.Permissions[0]; p.Jurisdiction != want || f.Place.Country != want || (asked == 2) != (want == "") {
			t.Errorf("%q: %q, %q, %v", written, p.Jurisdiction, f.Place.Country, list)
		}
		if kept := f.Place.Verbatim; written != want && kept != written || written == want && kept != "" {
			t.Errorf("%q is kept as %q", written, kept)
		}
	}
}
