package normalise

import (
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/vocabulary"
)

const reportID = "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"

// Text that only says that there is nothing becomes the reason, and what else was said stays.
func TestAbsence(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		In   find.Find
		Want jsontext.Value
	}](t, "Absence") {
		t.Run(name, func(t *testing.T) {
			f := c.In
			list := Find(&f, nil, Options{})
			if name == "age" { // the words are those of edtf
				if f.Dating != nil || f.Absent["/dating"] == "" {
					t.Errorf("%+v", f)
				}
				return
			}
			var want, got any
			unmarshal(t, string(c.Want), &want)
			unmarshal(t, canonical(t, &f), &got)
			if d := cmp.Diff(want, got); d != "" {
				t.Error(d)
			}
			if len(list) > 0 {
				t.Errorf("%v", list)
			}
		})
	}
}

// A table notes what it had no word for, and takes that back where there is a word.
func TestBlanks(t *testing.T) {
	f := &find.Find{Number: "7", Name: "bell", Absent: map[string]string{"/number": "blank", "/depth": "not-measured"}}
	Find(f, nil, Options{Table: true})
	want := map[string]string{"/depth": "not-measured", "/finder": "blank", "/permission": "blank", "/found": "blank",
		"/place": "blank", "/position": "blank",
		"/count": "blank", "/materials": "blank", "/identification": "blank"}
	if d := cmp.Diff(want, f.Absent); d != "" {
		t.Error(d)
	}
	f = &find.Find{Number: "7"}
	if Find(f, nil, Options{}); f.Absent != nil {
		t.Errorf("a report that is no table has %v", f.Absent)
	}
}

// What is there is never overwritten.
func TestValuesStay(t *testing.T) {
	f := &find.Find{Depth: &find.Depth{Quantity: find.Quantity{Min: find.Int(20), Max: find.Int(20), Unit: "cm",
		Verbatim: "a foot"}},
		Materials: []find.Material{{Term: find.Term{Code: "tin", Verbatim: "lead", Certainty: "probable"}}},
		Found:     &find.Found{Date: "2026-04-12", Verbatim: "13 April 2026"},
		Position:  &find.Position{Latitude: find.Float(52.5), Longitude: find.Float(-1.2), Verbatim: "SP 5270 9011"},
		Dating:    &find.Dating{Date: "1700", Earliest: find.Int(1690), Verbatim: "1800"}, Kind: "single",
		Count: &find.Quantity{Min: find.Int(3), Max: find.Int(3)}}
	before := canonical(t, f)
	if list := Find(f, nil, Options{}); len(list) > 0 {
		t.Errorf("%v", list)
	}
	if d := cmp.Diff(before, canonical(t, f)); d != "" {
		t.Error(d)
	}
}

// Two materials in one cell: the first keeps the words, and that they were parted is reported.
func TestSeveralMaterials(t *testing.T) {
	f := &find.Find{Materials: []find.Material{{Term: find.Term{Verbatim: "lead/iron"}}}}
	list := Find(f, nil, Options{})
	want := []find.Material{{Term: find.Term{Code: "lead", Verbatim: "lead/iron"}}, {Term: find.Term{Code: "iron"}}}
	if d := cmp.Diff(want, f.Materials); d != "" {
		t.Error(d)
	}
	if len(list) != 1 || list[0].Kind != &kinds.ReadingAssumed || list[0].Pointer != "/materials" {
		t.Errorf("%v", list)
	}
	f = &find.Find{Materials: []find.Material{{Term: find.Term{Verbatim: "lead/shiny"}}}}
	if list := Find(f, nil, Options{}); len(f.Materials) != 1 || f.Materials[0].Code != "" || len(list) != 1 ||
		list[0].Kind != &kinds.TermNotListed {
		t.Errorf("%+v, %v", f.Materials, list)
	}
}

// The unit of a heading is stated, that of an option assumed; the cell's own wins over both.
func TestUnits(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Text, Unit, Min, Code string
		Heading               string // the unit that it states
	}](t, "Units") {
		t.Run(name, func(t *testing.T) {
			f := &find.Find{Depth: &find.Depth{Quantity: find.Quantity{Verbatim: c.Text}}}
			layout := &find.Layout{Columns: []find.LayoutColumn{{Column: 1, Pointers: []string{"/depth"},
				Hints: find.Hints{Unit: c.Heading}}}}
			unit, _ := quantity.ParseUnit(c.Unit) // none where the row has none
			list := Find(f, layout, Options{Unit: unit})
			code := ""
			for _, n := range list {
				code += n.Kind.Code
			}
			if got := f.Depth.Min; got.Known() != (c.Min != "") || got.Known() && got.String() != c.Min || code != c.Code {
				t.Errorf("min %s, notices %q", got, code)
			}
		})
	}
}

// Ids follow the number and not the place in the sheet.
func TestIDs(t *testing.T) {
	ids := func(finds ...*find.Find) []string {
		s := Stream(find.StreamOf(&find.Report{Findslip: "1.0", ID: reportID, Finds: finds}), Options{})
		var out []string
		for e, err := range s.Entries {
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, e.Find.ID)
		}
		return out
	}
	named := func(number, name string) *find.Find { return &find.Find{Number: number, Name: name} }
	first := ids(named("007", "bell"), named("8", "button"), named("", "jetton"))
	sorted := ids(named("", "jetton"), named("12", "thimble"), named("8", "button"), named("7", "bell, cleaned"))
	if first[0] != sorted[3] || first[1] != sorted[2] || first[2] != sorted[0] {
		t.Errorf("%v and %v", first, sorted)
	}
	// 7 and 007: testdata/vectors/identity.json id-002 and id-003.
	if first[0] != "urn:uuid:5e7b1c7b-b6b1-5cb7-b4ed-fd85241bbf62" {
		t.Errorf("the id of number 7 is %s", first[0])
	}
	equal := ids(named("", "button"), named("", "button"), named("", "button"))
	if equal[0] == equal[1] || equal[1] == equal[2] || equal[0] == equal[2] {
		t.Errorf("equal rows share an id: %v", equal)
	}
	if again := ids(named("", "button"), named("", "pin"), named("", "button")); again[0] != equal[0] ||
		again[2] != equal[1] {
		t.Errorf("a row between equal ones changes their ids: %v and %v", equal, again)
	}
	if got := ids(&find.Find{ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11",
		Number: "7"}); got[0] != "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11" {
		t.Errorf("an id that is given is replaced by %s", got[0])
	}
}

// An age that cannot be read is reported as such, and not as a day.
func TestAgesAreNotDays(t *testing.T) {
	f := &find.Find{Dating: &find.Dating{Verbatim: "1790-1690"}, OtherDatings: []find.Dating{{Verbatim: "old"}}}
	for _, n := range Find(f, nil, Options{}) {
		if n.Kind != &kinds.DatingNotRead && n.Kind != &kinds.DatingReversed {
			t.Errorf("%s at %s: %s", n.Kind.Code, n.Pointer, n.Message)
		}
	}
	read, err := Reader("dating", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r := read("1790-1690"); r.Error == nil || r.Error.Code != "dating-reversed" {
		t.Errorf("%+v", r)
	}
}

// A doubt beside a period alone is its certainty, for the label bears no mark; a doubt beside years stands in the date.
func TestDoubtOfAPeriodIsItsCertainty(t *testing.T) {
	for text, want := range map[string]string{"Roman?": "possible", "prob. Roman": "probable", "perhaps Saxon": "possible",
		"wahrscheinlich römisch": "probable", "rzymski?": "possible", "Roman": "", "1850?": "", "c. Roman": ""} {
		f := &find.Find{Dating: &find.Dating{Verbatim: text}}
		Find(f, nil, Options{})
		if f.Dating.Certainty != want || f.Dating.Period == nil && f.Dating.Date == "" {
			t.Errorf("%s: %+v", text, f.Dating)
		}
	}
	f := &find.Find{Dating: &find.Dating{Verbatim: "Roman?", Certainty: "probable"}}
	if Find(f, nil, Options{}); f.Dating.Certainty != "probable" {
		t.Errorf("what was given is %s", f.Dating.Certainty)
	}
}

// Words for nothing say the same in every column, whatever the package of its values knows.
func TestAbsenceIsOneInAllColumns(t *testing.T) {
	for text, want := range cases.Table[map[string]string](t, "AbsenceIsOneInAllColumns") {
		for _, kind := range Readings() {
			read, err := Reader(kind, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if r := read(text); r.Absent != want {
				t.Errorf("%s %q: absent %q, want %q; %+v", kind, text, r.Absent, want, r.Error)
			}
		}
	}
}

// One material said in two languages is one.
func TestOneMaterialTwice(t *testing.T) {
	f := &find.Find{Materials: []find.Material{{Term: find.Term{Verbatim: "brons/bronze"}}}}
	Find(f, nil, Options{})
	if len(f.Materials) != 1 || f.Materials[0].Code != "bronze" || f.Materials[0].Verbatim != "brons/bronze" {
		t.Errorf("%+v", f.Materials)
	}
}

func TestSeveralFactsInOneCell(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		In     find.Find
		Depth  string
		Place  string
		Metal  string
		Count  string
		Notice bool
	}](t, "SeveralFactsInOneCell") {
		t.Run(name, func(t *testing.T) {
			f := c.In
			words := [3]string{f.Name, f.Notes, f.Description}
			list := Find(&f, nil, Options{Table: true})
			said := false
			for _, n := range list {
				said = said || n.Kind == &kinds.FactsTakenOver
			}
			var depth, place, metal, count string
			if f.Depth != nil {
				depth = f.Depth.Verbatim
			}
			if f.Position != nil {
				place = f.Position.Verbatim
			}
			if len(f.Materials) > 0 {
				metal = f.Materials[0].Code
			}
			if f.Count != nil {
				count = f.Count.Verbatim
			}
			if d := cmp.Diff([]any{c.Depth, c.Place, c.Metal, c.Count, c.Notice},
				[]any{depth, place, metal, count, said}); d != "" {
				t.Error(d)
			}
			if words != [3]string{f.Name, f.Notes, f.Description} {
				t.Error("the words were changed")
			}
		})
	}
}

func TestPlaceThatIsAPosition(t *testing.T) {
	for text, moved := range map[string]bool{"SP 5271 9010": true, "52.5066 N 1.2245 W": true, "52.5066, -1.2245": true,
		"Long Furlong": false,
		"by the hedge": false, "field 12": false, "452705, 290115": false, "OS 144": false, "plot 3": false, "12": false} {
		f := &find.Find{Name: "button", Place: &find.Place{Name: text}}
		list := Find(f, nil, Options{Table: true})
		said := false
		for _, n := range list {
			said = said || n.Kind == &kinds.FactsTakenOver
		}
		if got := f.Position != nil && f.Position.Latitude.Known(); got != moved || said != moved ||
			(f.Place == nil) != moved {
			t.Errorf("%q: position %+v, place %+v, said %v", text, f.Position, f.Place, said)
		}
		if moved && f.Position.Verbatim == "" && text != f.Position.Latitude.String()+", "+f.Position.Longitude.String() {
			t.Errorf("%q: the words are lost", text)
		}
	}
	f := &find.Find{Place: &find.Place{Name: "SP 5271 9010", Parish: "Thornmere"},
		Position: &find.Position{Verbatim: "SP 5272 9010"}}
	if Find(f, nil, Options{Table: true}); f.Place == nil || f.Place.Name != "SP 5271 9010" {
		t.Error("a place is moved though there is a position")
	}
}

// A number before things in the plural is a count, in a table; one that belongs to the name is not.
// Common practice, no source.
func TestCountBeforeTheName(t *testing.T) {
	for name, want := range map[string]string{"3 musketkogels": "3", "2x knoop": "2x", "3 x musket ball": "3 x",
		"4 Musketenkugeln": "4", "12 knapper": "12", "2 knappar": "2", "5 musket balls": "5",
		"2 pence": "", "6 pence piece": "", "2 hole button": "", "4 hole buttons": "", "3 ring binders": "", "1 buckles": "",
		"6 mm balls": "", "2 loop buckle": "", "20 Pfennig": "", "10 öre": "",
		"3/4 buckles": "", "007 buckles": "", "1720 tokens": "", "3": "", "3 glass": "", "2 kreuzer 1705 stars": ""} {
		f := &find.Find{Name: name}
		Find(f, nil, Options{Table: true})
		got := ""
		if f.Count != nil {
			got = f.Count.Verbatim
		}
		if got != want || f.Name != name {
			t.Errorf("%q: count %q, want %q", name, got, want)
		}
		g := &find.Find{Name: "3 musket balls"}
		Find(g, nil, Options{})
		if g.Count != nil {
			t.Error("a count is made of the name of a record that is no row of a table")
		}
	}
}

// TestQuickLooksMissNothing holds the quick looks at a text to the readings that they save: what is
// read is never held to be nothing. Each text is three of these pieces, in all orders.
func TestQuickLooksMissNothing(t *testing.T) {
	pieces := strings.Split("|a|of|8|1/2|½|half|ten|foot|ft|in|inches|\"|'|cm|"+
		"8..9 cm|(8 g|g|gr|grains|oz|troy|carat|dram|dozen|surface|lead|Lead?|copper-alloy|gilt|bronze|Münze|silver plated|"+
		"bone|bones|probably|row|the", "|")
	materials := vocabulary.Get("material")
	read, passed := 0, 0
	for _, first := range pieces {
		for _, second := range pieces {
			for _, third := range pieces {
				for _, sign := range []string{" ", ""} {
					s := strings.TrimSpace(first + sign + second + sign + third)
					if !quantity.MayState(s) {
						passed++
						if r, err := quantity.NormaliseLength(s, quantity.Options{}); err == nil && r.Said != quantity.NoUnit {
							t.Fatalf("%q is a length", s)
						}
						if r, err := quantity.NormaliseMass(s, quantity.Options{}); err == nil && r.Said != quantity.NoUnit {
							t.Fatalf("%q is a weight", s)
						}
					}
					if _, ok := materials.Match(s); ok {
						if read++; !materials.MayName(s) || !materials.MayName(s+" 22 g") {
							t.Fatalf("%q is a material", s)
						}
					}
				}
			}
		}
	}
	if read < 1000 || passed < 1000 {
		t.Fatalf("%d readings, %d texts passed over", read, passed)
	}
}

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
