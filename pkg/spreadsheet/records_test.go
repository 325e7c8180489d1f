package spreadsheet

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
)

// Every field of the three tables is one of its records, and each label comes back to its own field.
func TestRecordHeadingsFitTheFields(t *testing.T) {
	for part, fields := range map[string][]string{
		"people": {"id", "name", "name.first", "name.last", "handle", "roles.1", "contact"},
		"permissions": {"id", "place.name", "grantedBy", "occupier", "validFrom", "validTo", "maxDepth", "ploughDepth",
			"landUse", "basis", "terms", "documentNumber"},
		"outings": {"id", "permission", "date", "start", "end", "people", "method", "digRule", "detector.model", "hours",
			"nothingFound"},
	} {
		for _, field := range fields {
			for _, language := range []string{"en", "de", "nl", "da", "fr", "sv"} {
				label := heading.LabelIn(part, field, language)
				if got := heading.UnderstandIn(part, label).Field; label == "" || got != field {
					t.Errorf("%s: label %q of %s in %s is taken for %q", part, label, field, language, got)
				}
			}
		}
	}
}

// logs are one log with its landowners and outings, as people keep them, in English and German.
var logs = map[string]map[string][][]any{
	"by id": {
		"Finds": {{"No", "Find", "Depth (in)", "Finder", "Field", "Outing"},
			{1, "crotal bell", 8, "finder-a", "F1", "12/4/2026"}, {2, "cloth seal", 6, "finder-b", "F2", "13/4/2026"}},
		"Landowners": {{"Our contacts"}, {"No", "Landowner", "Phone", "Email", "Dog"},
			{"L1", "Owner One", "01000 000001", "one@example.org", "barks"}, {"L2", "Owner Two", "01000 000002"}},
		"Permissions": {{"Field no", "Field name", "Landowner", "Max depth (in)", "Valid from", "Gate code"},
			{"F1", "Long Furlong", "L1", 8, "3/4/2026", "by the oak"}, {"F2", "Chapel Piece", "L2", 10, "14/4/2026", nil}},
		"Outings": {{"Date", "Field", "Who", "Hours", "Detector"},
			{"12/4/2026", "F1", "finder-a, finder-b", "3,5", "model one"}, {"13/4/2026", "F2", "finder-b", "2 h", "model one"}},
	},
	"by name": {
		"Funde": {{"Nr", "Fund", "Tiefe (in)", "Finder", "Genehmigung", "Begehung"},
			{1, "Schelle", 8, "finder-a", "Long Furlong", "12.4.2026"},
			{2, "Tuchplombe", 6, "finder-b", "Chapel Piece", "13.4.2026"}},
		"Eigentümer": {{"Nr", "Eigentümer", "Telefon", "E-Mail", "Hund"},
			{"L1", "Owner One", "01000 000001", "one@example.org", "barks"}, {"L2", "Owner Two", "01000 000002"}},
		"Felder": {{"Nr", "Feldname", "Eigentümer", "maximale Tiefe (in)", "gültig ab", "Torcode"},
			{"F1", "Long Furlong", "Owner One", 8, "3.4.2026", "by the oak"},
			{"F2", "Chapel Piece", "Owner Two", 10, "14.4.2026", nil}},
		"Begehungen": {{"Datum", "Acker", "Teilnehmer", "Dauer", "Gerät"},
			{"12.4.2026", "Long Furlong", "finder-a; finder-b", "3,5 Std", "model one"},
			{"13.4.2026", "Chapel Piece", "finder-b", "2", "model one"}},
		"Ausrüstung":  {{"Spaten"}, {"stumpf"}},
		"Funde alt":   {{"Nr", "Fund", "Tiefe"}, {7, "Knopf", "5 cm"}},
		"findslipalt": {{"x"}},
	},
}

func TestSheetsAsPeopleKeepThem(t *testing.T) {
	for name, sheets := range logs {
		t.Run(name, func(t *testing.T) {
			data := book(t, func(f *excelize.File) {
				first := true
				for _, sheet := range slices.Sorted(func(yield func(string) bool) {
					for s := range sheets {
						if !yield(s) {
							return
						}
					}
				}) {
					if first {
						_ = f.SetSheetName("Sheet1", sheet)
						first = false
					} else if _, err := f.NewSheet(sheet); err != nil {
						t.Fatal(err)
					}
					rows(t, f, sheet, sheets[sheet]...)
				}
			})
			r, list := xlsxReport(t, data, Options{})
			var people []string
			ids := map[string]string{}
			for _, p := range r.People {
				role := ""
				if len(p.Roles) > 0 {
					role = p.Roles[0].Code
				}
				people = append(people, strings.Join([]string{p.Name + p.Handle, role, p.Contact}, "|"))
				ids[p.Name+p.Handle] = p.ID
				if !localID.MatchString(p.ID) {
					t.Errorf("id %q", p.ID)
				}
			}
			want := []string{"Owner One|landowner|01000 000001; one@example.org", "Owner Two|landowner|01000 000002",
				"finder-a||", "finder-b||"}
			slices.Sort(people)
			if d := cmp.Diff(want, people); d != "" {
				t.Error(d)
			}
			if len(r.Permissions) != 2 || len(r.Outings) != 2 || len(r.Finds) != 2 && name != "by name" || len(r.Finds) != 3 &&
				name == "by name" {
				t.Fatalf("%d permissions, %d outings, %d finds: %v", len(r.Permissions), len(r.Outings), len(r.Finds), codes(list))
			}
			p, o := r.Permissions[0], r.Outings[0]
			if p.Place.Name != "Long Furlong" || p.GrantedBy != ids["Owner One"] || p.MaxDepth.Verbatim != "8" {
				t.Errorf("%+v", p)
			}
			if o.Permission != p.ID || !slices.Equal(o.People, []string{ids["finder-a"], ids["finder-b"]}) ||
				o.Hours.String() != "3.5" || o.Detector.Model != "model one" {
				t.Errorf("%+v", o)
			}
			for i, f := range r.Finds[:2] {
				if f.Permission != r.Permissions[i].ID || f.Outing != r.Outings[i].ID || f.Finder != o.People[i] {
					t.Errorf("find %d: %s %s %s", i, f.Permission, f.Outing, f.Finder)
				}
			}
			// Nothing is lost: what no field understands stays with its record, and so does an id of their own.
			for _, kept := range []string{"barks", "by the oak", "L1", "F1"} {
				found := false
				for c := range columnsOf(r) {
					found = found || c == kept
				}
				if !found {
					t.Errorf("%q is lost", kept)
				}
			}
			said := codes(list)
			wantSaid := []string{"heading-unknown"}
			if name == "by name" {
				wantSaid = append(wantSaid, "sheet-beside")
			}
			for _, code := range wantSaid {
				if !slices.ContainsFunc(said, func(s string) bool { return strings.HasPrefix(s, code) }) {
					t.Errorf("%s is not said: %v", code, said)
				}
			}
		})
	}
}

func columnsOf(r *find.Report) map[string]bool {
	out := map[string]bool{}
	for _, p := range r.People {
		for _, text := range p.Columns {
			out[text] = true
		}
	}
	for _, p := range r.Permissions {
		for _, text := range p.Columns {
			out[text] = true
		}
	}
	for _, o := range r.Outings {
		for _, text := range o.Columns {
			out[text] = true
		}
	}
	return out
}

// What the form of a sheet may mean is said.
func TestMergedCellsAndHiddenColumnsAreSaid(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Date", "Dog"}, []any{1, "bell", "13/4/2026", "x"},
			[]any{2, "pin", nil, "y"})
		if err := f.MergeCell("Sheet1", "C2", "C3"); err != nil {
			t.Fatal(err)
		}
		if err := f.SetColVisible("Sheet1", "D", false); err != nil {
			t.Fatal(err)
		}
	})
	_, list := xlsxReport(t, data, Options{})
	for _, want := range []string{"cells-merged C2", "hidden-read"} {
		if said := codes(list); !slices.Contains(said, want) {
			t.Errorf("%s is not said: %v", want, said)
		}
	}
	_, list = xlsxReport(t, book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Where", nil}, []any{1, "bell", "a", "b"})
		_ = f.MergeCell("Sheet1", "C1", "D1")
	}), Options{})
	for _, code := range codes(list) {
		if strings.HasPrefix(code, "cells-merged") || code == "hidden-read" {
			t.Errorf("%s of headings", code)
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

// TestStruckRows: a row that is struck through is read and asked about; one struck cell is the keeper's affair.
func TestStruckRows(t *testing.T) {
	f := excelize.NewFile()
	for i, row := range [][]any{{"No", "Find", "Depth (cm)"}, {1, "bell", 12}, {2, "nail", 3}, {3, "pin", 4}} {
		cell, _ := excelize.CoordinatesToCellName(1, i+1)
		if err := f.SetSheetRow("Sheet1", cell, &row); err != nil {
			t.Fatal(err)
		}
	}
	strike, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Strike: true}})
	if err != nil {
		t.Fatal(err)
	}
	for _, span := range [][2]string{{"A3", "C3"}, {"B4", "B4"}} {
		if err := f.SetCellStyle("Sheet1", span[0], span[1], strike); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	s, err := DecodeXLSX(bytes.NewReader(b.Bytes()), int64(b.Len()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var said []bool
	for e, err := range s.Entries {
		if err != nil {
			t.Fatal(err)
		}
		is := false
		for _, n := range e.Notices {
			is = is || n.Kind == rowStruck && n.Kind.Severity == notice.Warning
		}
		said = append(said, is)
	}
	if len(said) != 3 || said[0] || !said[1] || said[2] {
		t.Errorf("asked of rows %v", said)
	}
}

// TestCopyColumnsAreGuarded writes a copy whose report says of itself what a spreadsheet would run,
// and what no text table holds.
func TestCopyColumnsAreGuarded(t *testing.T) {
	for audience, want := range map[string]string{"public": ",public,", "=1+1": ",'=1+1,", "a\x00b": ",a␀b,"} {
		r := &find.Report{Findslip: find.Version, ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", Audience: audience,
			Changed: "2026-04-12T00:00:00Z",
			Finds:   []*find.Find{{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101", Number: "1", Name: "thimble"}}}
		var b strings.Builder
		if err := EncodeCSV(&b, find.StreamOf(r), WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), want) || strings.Contains(b.String(), "\x00") {
			t.Errorf("%q: %q is not in\n%s", audience, want, b.String())
		}
		in, err := DecodeCSV(strings.NewReader(b.String()), Options{File: "copy.csv"})
		if err != nil {
			t.Fatalf("%q: %v", audience, err)
		}
		for range in.Entries {
		}
		if kept := audience == "public"; (in.Report.Audience == audience) != kept {
			t.Errorf("%q comes back as %q", audience, in.Report.Audience)
		}
	}
}

func TestWordsThatAreNoPictures(t *testing.T) {
	r, list := csvReport(t, "No,Find,Photo\n1,a,see pic\n2,b,yes\n3,c,on phone\n4,d,IMG_1.jpg\n", Options{})
	said := 0
	for _, n := range list {
		if n.Kind == cellUnreadable {
			said++
		}
	}
	for i, f := range r.Finds {
		if want := i == 3; (len(f.Media) == 1) != want || (f.Columns["Photo"] == "") != want {
			t.Errorf("find %d: %v, %v", i, f.Media, f.Columns)
		}
	}
	if said != 3 {
		t.Errorf("said %d times", said)
	}
}

// TestAdviceWorks does what the help of a notice of reading says, and the notice goes away. What the help says is
// beside each; kinds whose help is that nothing has to be done are not here.
func TestAdviceWorks(t *testing.T) {
	for _, c := range []struct {
		kind          *notice.Kind
		before, after string
		plan          func(m *ColumnMap) // where the help is to edit the plan
	}{
		// rename the heading
		{headingUnknown, "No,Find,Wether\n1,bell,dry\n2,pin,wet\n", "No,Find,Notes\n1,bell,dry\n2,pin,wet\n", nil},
		{headingUnknown, "No,Find,Zork\n1,bell,dry\n2,pin,wet\n", "",
			func(m *ColumnMap) { m.Tables[0].Columns[2].Field = "notes" }},
		{headingClaimed, "No,Find,Depth,Depth\n1,bell,4 in,5 in\n2,pin,6 in,6 in\n",
			"No,Find,Depth,Detector depth\n1,bell,4 in,5 in\n2,pin,6 in,6 in\n", nil},
		{orderContradicts, "No,Find,Date\n1,bell,25/12/2025\n2,pin,12/25/2025\n",
			"No,Find,Date\n1,bell,2025-12-25\n2,pin,2025-12-25\n", nil},
		{nameFrom, "No,Description,Depth\n1,bell,4 in\n2,pin,6 in\n", "No,Find,Depth\n1,bell,4 in\n2,pin,6 in\n", nil},
		{headingsMissing, "1,2026-04-12,bell,4 in\n2,2026-04-13,pin,6 in\n3,2026-04-13,button,6 in\n",
			"No,Date,Find,Depth\n1,2026-04-12,bell,4 in\n2,2026-04-13,pin,6 in\n3,2026-04-13,button,6 in\n", nil},
		{columnByContent, "No,Qwertz,Find\n1,2026-04-12,bell\n2,2026-04-13,pin\n3,2026-04-13,button\n", "",
			func(m *ColumnMap) { m.Tables[0].Columns[1].Field = "found.date" }},
		{columnByContent, "No,Qwertz,Find\n1,2026-04-12,bell\n2,2026-04-13,pin\n3,2026-04-13,button\n",
			"No,Date found,Find\n1,2026-04-12,bell\n2,2026-04-13,pin\n3,2026-04-13,button\n", nil},
		{totalDiffers, "No,Find,Count\n1,bell,2\n2,pin,5\nTotal,,8\n", "No,Find,Count\n1,bell,2\n2,pin,5\nTotal,,7\n", nil},
		// give it a number or a name
		{rowNotAFind, "No,Find,Depth\n1,bell,4 in\nleft early,,\n2,pin,6 in\n",
			"No,Find,Depth\n1,bell,4 in\n3,left boot,\n2,pin,6 in\n", nil},
		{tallyRead, "Outing,Buttons,Coins\n2026-01-03,3,2\n2026-01-04,1,1\n",
			"Date,Find,How many\n2026-01-03,Button,3\n2026-01-03,Coin,2\n", nil},
		{cellUnreadable, "No,Find,Photo\n1,bell,see album\n2,pin,p2.jpg\n", "No,Find,Photo\n1,bell,p1.jpg\n2,pin,p2.jpg\n",
			nil},
		{headingsNone, "Qaz,Wsx\nedc,rfv\ntgb,yhn\n", "No,Find\n1,rfv\n2,yhn\n", nil},
		{headingsNone, "Qaz,Wsx\nedc,rfv\ntgb,yhn\n", "", func(m *ColumnMap) { m.Tables[0].Columns[1].Field = "name" }},
	} {
		said := func(text string, o Options) bool {
			_, list := csvReport(t, text, o)
			return slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == c.kind })
		}
		if !said(c.before, Options{}) {
			t.Errorf("%s is not said of %q", c.kind.Code, c.before)
		}
		o := Options{}
		text := c.after
		if c.plan != nil {
			text = c.before
			m, _, err := ColumnsCSV(strings.NewReader(text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			c.plan(m)
			o.Map = m
		}
		if said(text, o) {
			t.Errorf("%s: %q was done, and it is still said", c.kind.Code, c.kind.Help)
		}
	}
}
