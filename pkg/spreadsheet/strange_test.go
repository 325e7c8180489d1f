package spreadsheet

import (
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/notice"
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

func TestSheetsOfStrangeForms(t *testing.T) {
	for _, c := range []struct {
		name, csv string
		want      []string
		notes     []int
	}{
		{"two tables side by side", `No,Date,Find,Depth,,No,Date,Find,Depth
A1,2022-03-05,coin,4 in,,B1,2022-04-02,ring,5 in
A2,2022-03-05,button,3 in,,B2,2022-04-02,unknown,2 in
A3,2022-03-06,bell,2 in,,,,,
`, []string{"A1 coin 2022-03-05 4 in", "B1 ring 2022-04-02 5 in", "A2 button 2022-03-05 3 in", "B2 unknown 2022-04-02 2 in", "A3 bell 2022-03-06 2 in"}, nil},
		{"a thing that nobody knows in the second table", `Nr,Datum,Vondst,,Nr,Datum,Vondst
H1,2022-03-05,duit,,L1,2022-04-02,ring
H2,2022-03-05,knoop,,L2,2022-04-02,gesp
H3,2022-03-06,kogel,,L3,2022-04-03,onbekend
Totaal,3,,,Totaal,3,
`, []string{"H1 duit 2022-03-05", "L1 ring 2022-04-02", "H2 knoop 2022-03-05", "L2 gesp 2022-04-02", "H3 kogel 2022-03-06", "L3 onbekend 2022-04-03"}, []int{5}},
		{"units below the headings, and a word for pieces", `Nr,Datum,Ansprache,Tiefe,Gewicht,Rechtswert,Hochwert,Anzahl
,,,[cm],g,m (UTM 32N),m,Stk
1,2021-04-03,Musketenkugel,15,"28,4",561234,5934567,1
2,2021-04-03,Knopf,10,,561240,5934570,2
3,2021-04-04,Schnalle,12,4,561255,5934580,1
`, []string{"1 Musketenkugel 2021-04-03 15", "2 Knopf 2021-04-03 10", "3 Schnalle 2021-04-04 12"}, nil},
		{"a count of finds in the columns of number and day", `Find no,Date,Description,Depth
1,2022-08-12,buckle,4 in
2,2022-08-12,button,3 in
No. of finds,2,,
`, []string{"1 buckle 2022-08-12 4 in", "2 button 2022-08-12 3 in"}, []int{4}},
		{"every note is named", `No,Find,Depth
1,buckle,4 in
left early,,
2,button,3 in
rained off,,
3,pin,2 in
`, []string{"1 buckle 4 in", "2 button 3 in", "3 pin 2 in"}, []int{3, 5}},
		{"a finder and his words under a heading that nobody knows", `Who,Qwertzu,Depth,Grid,Remarks
GG,coin,4 in,SN 612 345,
TB,"ring, gold",,,
GG,pin,5 in,SN 612 346,
TB,bell,,,
`, []string{"coin 4 in", "ring, gold", "pin 5 in", "bell"}, nil},
		{"no headings", `3/9/2018,Knowe Park,thimble,5 inch,NT 512 334
4/9/2018,Knowe Park,bawbee,4 inch,NT 512 335
13/9/2018,Dookit field,button,6 inch,NT 512 336
`, []string{"thimble 3/9/2018 5 inch", "bawbee 4/9/2018 4 inch", "button 13/9/2018 6 inch"}, nil},
		{"no headings, and degrees", `1,2018-09-03,thimble,12 cm,55.6123,-2.7712
2,2018-09-04,coin,10 cm,55.6124,-2.7713
`, []string{"1 thimble 2018-09-03 12 cm", "2 coin 2018-09-04 10 cm"}, nil},
		{"a tally", `Outing,Field,Buttons,Musket balls,Remarks
2026-01-03,Long Acre,3,2,wet
2026-01-10,Sheep Walk,1,,cold
2026-01-17,Long Acre,,5,
Total,,4,7,
`, []string{"Buttons 2026-01-03", "Musket balls 2026-01-03", "Buttons 2026-01-10", "Musket balls 2026-01-17"}, []int{5}},
		{"a count in the column of names", `Date,Site,Target,Depth,Era
2026-03-07,Bean field,minie ball,8 in,1863
2026-03-07,Bean field,flat button,5 in,1800
,,Keepers: 2,,
`, []string{"minie ball 2026-03-07 8 in", "flat button 2026-03-07 5 in"}, []int{4}},
		{"headings in two languages", `N°,Date/datum,Champ / akker,Objet (voorwerp),Profondeur/diepte (cm)
1,2026-03-07,Le Clos,bouton,8
2,2026-03-08,De Kouter,knoop,12
`, []string{"1 bouton 2026-03-07 8", "2 knoop 2026-03-08 12"}, nil},
		{"day and field above the headings and between", `26 March 2026: Cae Melyn (permission of the tenant),,,
Bag,Item,Depth (in),Notes
A1,halfpenny,5,
2 April 2026: Cae Ucha,,,
A2,whorl,6,
`, []string{"A1 halfpenny 26 March 2026 5", "A2 whorl 2 April 2026 6"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, list := csvReport(t, c.csv, Options{})
			var got []string
			for _, f := range r.Finds {
				parts := []string{f.Number, f.Name}
				if f.Found != nil {
					parts = append(parts, f.Found.Date, f.Found.Verbatim)
				}
				if f.Depth != nil {
					parts = append(parts, f.Depth.Verbatim)
				}
				got = append(got, strings.Join(strings.Fields(strings.Join(parts, " ")), " "))
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("finds %q, want %q", got, c.want)
			}
			missing := slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == headingsMissing })
			if missing != strings.HasPrefix(c.name, "no headings") {
				t.Errorf("said that there are no headings: %v", missing)
			}
			var notes []int
			for _, n := range list {
				if n.Kind == rowNotAFind {
					notes = append(notes, n.Row)
				}
			}
			if !slices.Equal(notes, c.notes) {
				t.Errorf("rows that are no finds %d, want %d", notes, c.notes)
			}
		})
	}
}

// TestFieldsAboveTablesSideBySide: a field above each half is the field of its finds.
func TestFieldsAboveTablesSideBySide(t *testing.T) {
	r, _ := csvReport(t, "Long Acre,,,Sheep Walk,,\nNo,Date,Item,No,Date,Item\n1,2026-01-03,button,21,2026-01-10,buckle\n2,2026-01-03,ball,22,2026-01-10,thimble\n", Options{})
	var got []string
	for _, f := range r.Finds {
		if p := r.Permission(f.Permission); p != nil {
			got = append(got, f.Number+" "+p.Place.Name)
		}
	}
	if want := []string{"1 Long Acre", "21 Sheep Walk", "2 Long Acre", "22 Sheep Walk"}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
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
