package spreadsheet

import (
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
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
	if said := strings.Join(codes(list), " "); strings.Contains(said, "cells-merged") || strings.Contains(said, "hidden-read") {
		t.Errorf("%s of headings", said)
	}
}

// TestMergedWordsAreOfEachRow: what is said once over several rows is said of each, in notes and columns of no field too.
func TestMergedWordsAreOfEachRow(t *testing.T) {
	r, _ := xlsxReport(t, book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Dog", "Notes"}, []any{1, "bell", "rex", "do not publish"},
			[]any{2, "pin"}, []any{3, "ring", "", "mine"})
		for _, merged := range [][2]string{{"C2", "C4"}, {"D2", "D3"}} {
			if err := f.MergeCell("Sheet1", merged[0], merged[1]); err != nil {
				t.Fatal(err)
			}
		}
	}), Options{})
	for i, notes := range []string{"do not publish", "do not publish", "mine"} {
		if f := r.Finds[i]; f.Columns["Dog"] != "rex" || f.Notes != notes {
			t.Errorf("find %d: %v, %q", i+1, f.Columns, f.Notes)
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

// TestUnseenRows: rows that are hidden or struck through, in a workbook and a web page (HTML, 3.2.6 hidden, 4.5.5 s,
// 4.7.2 del; CSS 2.2, 9.2.4, 11.2), are read and asked about; one struck cell is the keeper's affair.
func TestUnseenRows(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Depth (cm)"}, []any{1, "bell", 12}, []any{2, "nail", 3}, []any{3, "pin", 4},
			[]any{4, "key", 5})
		strike, _ := f.NewStyle(&excelize.Style{Font: &excelize.Font{Strike: true}})
		_ = f.SetCellStyle("Sheet1", "A3", "C3", strike)
		_ = f.SetCellStyle("Sheet1", "B4", "B4", strike)
		_ = f.SetRowVisible("Sheet1", 5, false)
	})
	page := `<table><tr><td>No<td>Find</tr><tr><td>1<td>bell</tr><tr hidden><td>2<td>nail</tr>` +
		`<tr style="Display: none"><td>3<td>pin</tr><tr><td><del>4</del><td><s>key</s></tr><tr><td>5<td><del>key</del> pin</tr>` +
		`<tbody style="visibility:collapse"><tr><td>6<td>stud</tr></tbody>` +
		`<tbody><tr><td>7<td>clasp</tr></table>`
	for text, want := range map[string][]string{string(data): {"", "struck through", "", "hidden"},
		page: {"", "hidden", "hidden", "struck through", "", "hidden", ""}} {
		s, err := DecodeXLSX(strings.NewReader(text), int64(len(text)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for e, err := range s.Entries {
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, e.Origin.Unseen)
			asked := slices.ContainsFunc(e.Notices, func(n notice.Notice) bool { return n.Kind == rowStruck })
			if asked != (e.Origin.Unseen == "struck through") {
				t.Errorf("asked of row %d: %v", e.Origin.Row, asked)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
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

// TestAdviceWorks does what the help of a notice of reading says, and the notice goes away. What the help says is
// beside each; kinds whose help is that nothing has to be done are not here.
func TestAdviceWorks(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		Kind, Before, After string
		Column              int // where the help is to edit the plan
		Field               string
	}](t, "AdviceWorks") {
		said := func(text string, o Options) bool {
			_, list := csvReport(t, text, o)
			return slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind.Code == c.Kind })
		}
		if !said(c.Before, Options{}) {
			t.Errorf("%s is not said of %q", c.Kind, c.Before)
		}
		o := Options{}
		text := c.After
		if c.Field != "" {
			text = c.Before
			m, _, err := ColumnsCSV(strings.NewReader(text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			m.Tables[0].Columns[c.Column].Field = c.Field
			o.Map = m
		}
		if said(text, o) {
			t.Errorf("%s: its advice was followed, and it is still said", c.Kind)
		}
	}
}
