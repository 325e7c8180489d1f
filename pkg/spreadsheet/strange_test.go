package spreadsheet

import (
	"strings"
	"testing"
)

// What a sheet of an unusual form must give: a line a find, its number, name, day, depth, and the rows that are
// told to be none. The logs are cut down from invented ones whose truth was written before they were read.
// TestTitlesSayWhatHolds: what stands above the headings holds for the rows below where no column says it.
func TestTitlesSayWhatHolds(t *testing.T) {
	r, _ := csvReport(t, `"Club dig of 12 April 2026, Mill Farm, field: Kiln Haugh",,,
"Depths in inches, weights in grams",,,
,,,
Member,Object,Depth from,Depth to,OS ref (NO),Wt,UTM 32V E
wren,bodle,3,5,3120 5210,2.2,
plodder,whorl,6,6,3121 5212,18,
wren/plodder,button,2,8,3122 5213,0.6,
`, Options{})
	if len(r.Finds) != 3 || len(r.People) != 2 {
		t.Fatalf("%d finds, %d people", len(r.Finds), len(r.People))
	}
	f := r.Finds[0]
	if f.Found == nil || f.Found.Verbatim != "12 April 2026" || f.Position == nil ||
		f.Position.Verbatim != "NO 3120 5210" {
		t.Errorf("found %+v, position %+v", f.Found, f.Position)
	}
	if p := r.Permission(f.Permission); p == nil || p.Place.Name != "Kiln Haugh" {
		t.Errorf("the field is %+v", p)
	}
	if r.Finds[2].Finder != r.Finds[0].Finder || r.Finds[2].Columns["Member"] != "wren/plodder" {
		t.Errorf("two finders: %q, %v", r.Finds[2].Finder, r.Finds[2].Columns)
	}
	for _, stays := range []string{"Stand 12 April 2026", "12 April 2026 to 3 May 2026, Mill Farm"} {
		if r, _ = csvReport(t, "\""+stays+"\",,\nNo,Object,Depth (cm)\n1,bodle,3\n2,whorl,4\n",
			Options{}); r.Finds[0].Found != nil {
			t.Errorf("%q became the day of the finds", stays)
		}
	}
}

// TestPlanOfASecondTable: what is edited in the plan of a further table of a sheet is taken back.
func TestPlanOfASecondTable(t *testing.T) {
	const text = "No,Find,Depth (cm)\n1,bell,12\n2,pin,4\n\nWho,What,Material,Period\nwren,scraper,flint,old\nplodder,sherd,pot,late\n"
	m, _, err := ColumnsCSV(strings.NewReader(text), Options{})
	if err != nil || len(m.Tables) != 2 {
		t.Fatalf("%v, %+v", err, m)
	}
	for i := range m.Tables[1].Columns {
		if c := &m.Tables[1].Columns[i]; c.Heading == "Period" {
			c.Field = "notes"
		}
	}
	r, _ := csvReport(t, text, Options{Map: m})
	if len(r.Finds) != 4 || r.Finds[3].Notes != "late" || r.Finds[3].Dating != nil || r.Finds[0].Depth == nil {
		t.Errorf("%d finds, the last %+v", len(r.Finds), r.Finds[len(r.Finds)-1])
	}
	m.Tables[1].Read = "notes"
	if r, _ = csvReport(t, text, Options{Map: m}); len(r.Finds) != 2 || len(r.Notes) < 2 {
		t.Errorf("%d finds, notes %q", len(r.Finds), r.Notes)
	}
}
