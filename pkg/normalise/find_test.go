package normalise

import (
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
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

// The words of an unnumbered find count as they were written, whatever the reading options are.
func TestIDsOfUnnumberedFindsKeepTheirWords(t *testing.T) {
	id := func(o Options) string {
		f := &find.Find{Name: "button", Found: &find.Found{Verbatim: "3/4/2026"},
			Position: &find.Position{Verbatim: "SP 5270 9011"}}
		s := Stream(find.StreamOf(&find.Report{ID: reportID, Finds: []*find.Find{f}}), o)
		for e, err := range s.Entries {
			if err != nil {
				t.Fatal(err)
			}
			if len(e.Notices) == 0 || e.Notices[0].Kind != &kinds.NumberMissing {
				t.Errorf("%v", e.Notices)
			}
		}
		return f.ID
	}
	if a, b := id(Options{}), id(Options{Order: edtf.MonthDayYear}); a != b || a != find.UnnumberedFindID(reportID,
		"3/4/2026", "SP 5270 9011", "button", 1) {
		t.Errorf("%s and %s", a, b)
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

// Words for nothing say the same in every column, whatever the package of its values knows.
func TestAbsenceIsOneInAllColumns(t *testing.T) {
	for text, want := range map[string]string{"withheld": "withheld", "illegible": "illegible", "unleserlich": "illegible",
		"onleesbaar": "illegible", "ulæselig": "illegible",
		"illisible": "illegible", "oläslig": "illegible", "nicht gemessen": "not-measured", "ej mätt": "not-measured",
		"ikke målt": "not-measured", "non mesuré": "not-measured",
		"niet gemeten": "not-measured", "not applicable": "not-applicable", "n.v.t.": "not-applicable", "n.a.": "not-noted",
		"keine Angabe": "not-noted", "onbekend": "not-noted",
		"uppgift saknas": "not-noted", "ikke oplyst": "not-noted", "pas noté": "not-noted", "nicht bekannt": "not-known",
		"don't know": "not-known", "?": "not-known"} {
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
