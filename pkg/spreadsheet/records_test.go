package spreadsheet

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
	"github.com/xuri/excelize/v2"
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
	if said := strings.Join(codes(list), " "); strings.Contains(said, "cells-merged") ||
		strings.Contains(said, "hidden-read") {
		t.Errorf("%s of headings", said)
	}
}

// TestMergedWordsAreOfEachRow: what is said once over several rows is said of each, in notes and columns of no field
// too.
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
	const text = "No,Find,Depth (cm)\n1,bell,12\n2,pin,4\n\nWho,What,Material,Period\nwren,scraper,flint,old\n" +
		"plodder,sherd,pot,late\n"
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
// 4.7.2 del; CSS 2.2, 9.2.4, 11.2), are read and asked about; one struck cell is the keeper's affair, but for the
// number and the name. Nobody sees a row that is too low, white on no ground, or of a format without a picture (";;;").
func TestUnseenRows(t *testing.T) {
	data := book(t, func(f *excelize.File) {
		rows(t, f, "Sheet1", []any{"No", "Find", "Depth (cm)"}, []any{1, "bell", 12}, []any{2, "nail", 3}, []any{3, "pin", 4},
			[]any{4, "key", 5}, []any{5, "stud", 6}, []any{6, "clasp", 7}, []any{7, "hook", 8}, []any{8, "cap", 9},
			[]any{9, "bar", 9}, []any{10, "awl", 1}, []any{11, "tap", 1}, []any{12, "nut", 1}, []any{13, "peg", 1})
		fill := func(colour string) excelize.Fill {
			return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
		}
		strike, _ := f.NewStyle(&excelize.Style{Font: &excelize.Font{Strike: true}})
		_ = f.SetCellStyle("Sheet1", "A3", "C3", strike)
		_ = f.SetCellStyle("Sheet1", "C4", "C4", strike)
		_ = f.SetCellStyle("Sheet1", "B6", "B6", strike)
		_ = f.SetCellStyle("Sheet1", "B7", "C7", strike)
		none := ";;;"
		for row, style := range map[string]*excelize.Style{"8": {Font: &excelize.Font{Color: "FFFFFF"}},
			"9": {CustomNumFmt: &none}, "11": {Font: &excelize.Font{Color: "F8F8F8"}}, "12": {Font: &excelize.Font{Size: 1}},
			"13": {Font: &excelize.Font{Color: "CC0000"}, Fill: fill("CC0000")},
			"14": {Font: &excelize.Font{Color: "FFFFFF"}, Fill: fill("203040")}} { // a heading's colours are seen
			id, _ := f.NewStyle(style)
			_ = f.SetCellStyle("Sheet1", "A"+row, "C"+row, id)
		}
		_ = f.SetRowHeight("Sheet1", 10, 0.5)
		_ = f.SetRowVisible("Sheet1", 5, false)
	})
	page := `<table><tr><td>No<td>Find</tr><tr><td>1<td>bell</tr><tr hidden><td>2<td>nail</tr>` +
		`<tr style="Display: none"><td>3<td>pin</tr><tr><td><del>4</del><td><s>key</s></tr><tr><td>5<td><del>key</del> ` +
		`pin</tr>` +
		`<tbody style="visibility:collapse"><tr><td>6<td>stud</tr></tbody>` +
		`<tbody><tr><td>7<td>clasp</tr></table>`
	for text, want := range map[string][]string{string(data): {"", "struck through", "", "hidden", "struck through",
		"struck through", "hidden", "hidden", "hidden", "hidden", "hidden", "hidden", ""},
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
			if got = append(got, e.Origin.Unseen); e.Find.Columns[find.UnseenColumn] != e.Origin.Unseen {
				t.Errorf("row %d keeps %q", e.Origin.Row, e.Find.Columns)
			}
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

// TestNothingIsLost makes sheets at random, of all that people put into them, and finds every text of every
// cell in what was read or in a notice.
func TestNothingIsLost(t *testing.T) {
	for seed := range uint64(heavy.Some(60, 1000)) {
		m := &sheetMaker{Rand: rand.New(rand.NewPCG(seed, 17))}
		data := m.make(t)
		s, err := DecodeXLSX(bytes.NewReader(data), int64(len(data)), Options{})
		if err != nil {
			t.Fatalf("sheet %d: %v", seed, err)
		}
		headings := ""
		r, list, err := find.Collect(s.Map(func(e *find.Entry, _ bool) bool {
			for _, c := range e.Origin.Layout.Columns {
				headings += c.Heading
			}
			return true
		}))
		if err != nil {
			t.Fatalf("sheet %d: %v", seed, err)
		}
		said := allSaid(t, r, list) + squash(headings)
		for cell, text := range m.texts {
			if !strings.Contains(said, squash(text)) {
				t.Errorf("sheet %d: %s %q is lost", seed, cell, text)
			}
		}
		if t.Failed() && seed > 50 {
			return
		}
	}
}

func squash(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }

// allSaid is all that a report and its notices say.
func allSaid(t *testing.T, r *find.Report, list notice.List) string {
	t.Helper()
	raw, err := find.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	said := strings.NewReplacer(`\"`, `"`, `\n`, "", `\\`, `\`).Replace(string(raw))
	for i := range list {
		said += "\n" + list[i].Message + list[i].Heading
	}
	return squash(said)
}

// sheetMaker makes one sheet.
type sheetMaker struct {
	*rand.Rand
	f     *excelize.File
	row   int
	texts map[string]string // by cell, of all that has to be found again
	words int
}

type maker func(m *sheetMaker) (value any, format string)

func (m *sheetMaker) word() string {
	m.words++
	return fmt.Sprintf("w%dord%d", m.words, m.IntN(90)+10)
}

func (m *sheetMaker) one(of ...string) string { return of[m.IntN(len(of))] }

// kinds of columns, with a heading and what stands below.
var madeColumns = []struct {
	heading []string
	cell    maker
}{
	{[]string{"No", "Find no.", "Nr", "Ref"}, func(m *sheetMaker) (any, string) { return m.row, m.one("", "000", "0") }},
	{[]string{"Find", "Object", "What did you find?", "Vondst", "Gegenstand"},
		func(m *sheetMaker) (any, string) { return m.word() + " button", "" }},
	{[]string{"Date", "Datum", "When"}, func(m *sheetMaker) (any, string) {
		return 45000 + m.IntN(500), m.one("d/m/yyyy", "yyyy-mm-dd", "mmm-yy", "d-mmm")
	}},
	{[]string{"Depth (in)", "Tiefe [cm]", "How deep"},
		func(m *sheetMaker) (any, string) { return float64(m.IntN(40)) / 2, m.one("", "0.0", "0.00\" in\"") }},
	{[]string{"Material", "Metal"}, func(m *sheetMaker) (any,
		string) {
		return m.one("lead", "bronze", "silver?", m.word()), ""
	}},
	{[]string{"Field", "Where", "Parish"}, func(m *sheetMaker) (any,
		string) {
		return m.one("Long Furlong", "Chapel Piece", m.word()), ""
	}},
	{[]string{"Who", "Finder"}, func(m *sheetMaker) (any, string) { return m.one("finder-a", "finder-b"), "" }},
	{[]string{"Grid ref", "GPS"}, func(m *sheetMaker) (any,
		string) {
		return m.one("SP 5270 9011", "52.5012, -1.2034", m.word()), ""
	}},
	{[]string{"Weight (g)", "Wt"}, func(m *sheetMaker) (any, string) {
		return float64(m.IntN(400)) / 10,
			m.one("", "0.00", "0.0\" g\"")
	}},
	{[]string{"Qty", "How many"}, func(m *sheetMaker) (any, string) { return m.IntN(9) + 1, "" }},
	{[]string{"Notes", "Remarks", "Anything else?"},
		func(m *sheetMaker) (any, string) { return m.word() + " and " + m.word(), "" }},
	{[]string{"Photo", "Pictures"}, func(m *sheetMaker) (any, string) { return m.word() + ".jpg", "" }},
	{[]string{"Weather", "Swapped with", "Zork", "Plough depth", "Hours"},
		func(m *sheetMaker) (any, string) { return m.word(), "" }},
	{[]string{"Value £", "% left"}, func(m *sheetMaker) (any, string) {
		return float64(m.IntN(100)) / 100,
			m.one("0%", "£0.00", "")
	}},
}

func (m *sheetMaker) put(column, row int, value any, format string) {
	cell, _ := excelize.CoordinatesToCellName(column, row)
	_ = m.f.SetCellValue("Sheet1", cell, value)
	if format != "" {
		if style, err := m.f.NewStyle(&excelize.Style{CustomNumFmt: &format}); err == nil {
			_ = m.f.SetCellStyle("Sheet1", cell, cell, style)
		}
	}
	if text, ok := value.(string); ok {
		m.texts[cell] = text
	} else if format == "" {
		m.texts[cell] = fmt.Sprint(value)
	}
	if m.IntN(25) == 0 {
		comment := m.word()
		if m.f.AddComment("Sheet1", excelize.Comment{Cell: cell, Author: "me",
			Paragraph: []excelize.RichTextRun{{Text: comment}}}) == nil {
			m.texts[cell+" comment"] = comment
		}
	}
}

// formula writes a formula of which the file has no result: plain ones, which are worked out, and others, which
// are kept as they stand. A word in it is found again either way.
func (m *sheetMaker) formula(column, row int) {
	cell, _ := excelize.CoordinatesToCellName(column, row)
	word := m.word()
	above, _ := excelize.CoordinatesToCellName(column, max(1, row-1))
	text := m.one(`"`+word+`"&""`, `IF(1>0,"`+word+`","no")`, `NOSUCH("`+word+`")`, above+`&" `+word+`"`,
		`CONCATENATE("`+word+`"," ",`+above+`)`, `VLOOKUP("`+word+`",A1:B9,2,FALSE)`)
	if m.f.SetCellFormula("Sheet1", cell, text) == nil {
		m.texts[cell] = word
	}
}

func (m *sheetMaker) make(t *testing.T) []byte {
	t.Helper()
	m.f, m.texts = excelize.NewFile(), map[string]string{}
	defer m.f.Close()
	order := m.Perm(len(madeColumns))[:4+m.IntN(len(madeColumns)-4)]
	row := 1
	for range m.IntN(3) {
		m.put(1+m.IntN(2), row, m.word()+" of "+m.word(), "")
		row += 1 + m.IntN(2)
	}
	if m.IntN(12) > 0 {
		for i, c := range order {
			m.put(i+1, row, m.one(madeColumns[c].heading...), "")
		}
		row++
	}
	start := row
	for range 1 + m.IntN(20) {
		m.row++
		switch m.IntN(14) {
		case 0: // a note or a section between the finds
			m.put(1, row, m.one(m.word()+" - no digging", "Sunday 21 April 2024 - Ten Acre", "2024", m.word()), "")
			if m.IntN(2) == 0 {
				to, _ := excelize.CoordinatesToCellName(len(order), row)
				from, _ := excelize.CoordinatesToCellName(1, row)
				_ = m.f.MergeCell("Sheet1", from, to)
			}
		case 1: // a total
			m.put(1, row, m.one("Total", "Sub-total", "Summe", "Totaal"), "")
			for i := range order[1:] {
				if m.IntN(3) == 0 {
					m.put(i+2, row, m.IntN(100), "")
				}
			}
		case 2:
			row++ // a gap
		default:
			for i, c := range order {
				switch m.IntN(12) {
				case 0:
				case 1:
					if row > start {
						m.put(i+1, row, m.one(`"`, "ditto", "do.", "same", "-\"-", "idem", "as above"), "")
					}
				case 3:
					if m.IntN(3) == 0 {
						m.formula(i+1, row)
						continue
					}
					value, format := madeColumns[c].cell(m)
					m.put(i+1, row, value, format)
				case 2:
					m.put(i+1, row, m.one("?", "tbc", "N/A", "unknown", m.word()), "")
				default:
					value, format := madeColumns[c].cell(m)
					m.put(i+1, row, value, format)
				}
			}
		}
		row++
	}
	if m.IntN(3) == 0 { // a second table
		row += 1
		m.put(1, row, m.word()+" hours", "")
		for i, h := range []string{"Month", "Hours", "Finds"} {
			m.put(i+1, row+1, h, "")
			m.put(i+1, row+2, m.word(), "")
		}
	}
	var b bytes.Buffer
	if err := m.f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
