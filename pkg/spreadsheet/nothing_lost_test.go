package spreadsheet

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

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
