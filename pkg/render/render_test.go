package render

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/notice"
)

var (
	shell = &notice.Kind{Code: "ordnance", Severity: notice.Warning, Caution: true, Group: "safety",
		Title: "words for ordnance", Help: "Do not touch it."}
	unit = &notice.Kind{Code: "test-unit", Severity: notice.Warning, Title: "number without a unit",
		Help: "Write 8 in or 20 cm.", Spec: "4.1"}
	bad = &notice.Kind{Code: "test-day", Severity: notice.Error, Title: "no such day", Help: "Look at the calendar.",
		Spec: "4.3"}
)

func sample() Document {
	cell := func(k *notice.Kind, message string, row int, find string) notice.Notice {
		return notice.Notice{Kind: k, Message: message,
			Location: notice.Location{File: "finds.xlsx", Pointer: "/finds/" + find + "/depth", Sheet: "Finds",
				Cell: "D" + find, Row: row, Column: 4, Heading: "Depth", Find: find}}
	}
	seven, eight := cell(unit, "no unit", 7, "7"), cell(unit, "no unit", 8, "8")
	seven.Written, eight.Written = "8", "7"
	return Document{Tool: "findslip 1.0", AsOf: "2026-04-12", Level: "log", Finds: 9,
		Levels: []Receiver{level("bag", "the bags", 9), level("log", "your own log", 4)},
		Asked:  []Receiver{level("log", "your own log", 4)},
		Seen: []Seen{{File: "logs/finds.xlsx", Table: true, Finds: 9, Fields: 2, First: "2026-02-07",
			Last: "2026-03-22"}},
		NotChecked: map[string]int{"outside-permission": 2},
		Notices: notice.List{seven, eight, cell(bad, "30 February", 3, "3"),
			cell(shell, "the words speak of a shell", 9, "9")}}
}

// level is a level that so many of nine finds meet; the others lack the material.
func level(id, title string, good int) Receiver {
	r := Receiver{ID: id, Level: true, Title: map[string]string{"en": title}, Finds: 9, Covered: 9, Good: good}
	if good < 9 {
		r.Asks = []Asked{{Name: "material", Strength: "must", Title: map[string]string{"en": "the material"}, Asked: 9,
			Lacking: 9 - good}}
	}
	return r
}

func TestText(t *testing.T) {
	want := `finds.xlsx: 9 finds in 2 fields, 7 February to 22 March 2026. Every row was read. Safety first: read
  the next lines before anything else.

SAFETY  D9: The words speak of a shell. Do not touch it. [ordnance]

Wrong:
  D3   30 February. Look at the calendar. [test-day]

2 places need a second look:
  D7 "8", D8 "7"   No unit. Write 8 in or 20 cm. [test-unit]

Not checked: whether finds lie inside your fields (no outlines given).
Good for: the bags. For your own log, add: the material (5 finds).
`
	var b bytes.Buffer
	if err := Text(&b, sample(), TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, b.String()); d != "" {
		t.Error(d)
	}
}

var forms = map[string]func(*bytes.Buffer, Document) error{
	"text":  func(b *bytes.Buffer, d Document) error { return Text(b, d, TextOptions{}) },
	"json":  func(b *bytes.Buffer, d Document) error { return JSON(b, d) },
	"csv":   func(b *bytes.Buffer, d Document) error { return CSV(b, d) },
	"html":  func(b *bytes.Buffer, d Document) error { return HTML(b, d) },
	"sarif": func(b *bytes.Buffer, d Document) error { return SARIF(b, d) },
}

func TestSameBytesInAnyOrder(t *testing.T) {
	for name, write := range forms {
		var want bytes.Buffer
		if err := write(&want, sample()); err != nil {
			t.Fatal(err)
		}
		for range 20 {
			d := sample()
			rand.Shuffle(len(d.Notices), func(i, j int) { d.Notices[i], d.Notices[j] = d.Notices[j], d.Notices[i] })
			var got bytes.Buffer
			if err := write(&got, d); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(want.Bytes(), got.Bytes()) {
				t.Fatalf("%s differs:\n%s", name, cmp.Diff(want.String(), got.String()))
			}
		}
	}
}

func TestTerminalEscapesNeverComeThrough(t *testing.T) {
	d := sample()
	d.Notices[0].Message = "\x1b[31mred\x07 \u202egnirts"
	d.Notices[0].Location.Heading = "\x1b]0;title\x07"
	var b bytes.Buffer
	if err := Text(&b, d, TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(b.String(), "\x1b\x07\u202e") {
		t.Errorf("escapes in %q", b.String())
	}
}

func TestColourIsNeverAlone(t *testing.T) {
	var plain, painted bytes.Buffer
	if Text(&plain, sample(), TextOptions{}) != nil || Text(&painted, sample(), TextOptions{Colour: true}) != nil {
		t.Fatal("cannot write")
	}
	var b strings.Builder
	for s := painted.String(); s != ""; {
		before, after, found := strings.Cut(s, "\x1b[")
		b.WriteString(before)
		if s = ""; found {
			_, s, _ = strings.Cut(after, "m")
		}
	}
	if d := cmp.Diff(plain.String(), b.String()); d != "" {
		t.Error(d)
	}
}

func TestCSV(t *testing.T) {
	d := sample()
	d.Notices = d.Notices[:1]
	d.Notices[0].Message = "=HYPERLINK(1)"
	d.Accepted = notice.List{{Kind: bad, Message: "30 February", Accepted: "the diary says so",
		Location: notice.Location{Find: "3"}}}
	var b bytes.Buffer
	if err := CSV(&b, d); err != nil {
		t.Fatal(err)
	}
	want := `severity,caution,code,find,place,heading,written,message,perhaps,help,file,sheet,row,column,line,pointer,accepted,deadline
warning,,test-unit,7,Finds!D7,Depth,8,'=HYPERLINK(1),,Write 8 in or 20 cm.,finds.xlsx,Finds,7,4,,/finds/7/depth,,
error,,test-day,3,,,,30 February,,Look at the calendar.,,,,,,,the diary says so,
`
	if d := cmp.Diff(want, b.String()); d != "" {
		t.Error(d)
	}
}

func TestHTMLIsEscapedAndWhole(t *testing.T) {
	d := sample()
	d.Notices[0].Message = `<script>alert("x")</script>`
	d.Notices[0].Location.Find = `7"><img src=x>`
	d.Plan = &Plan{Points: []PlanPoint{{Label: "<b>7</b>", X: 10, Y: 20, Radius: 5, Group: "lead"},
		{Label: "8", X: 60, Y: 25, Group: "iron"}},
		Areas: []PlanArea{{Label: "field", Ring: [][2]float64{{0, 0}, {100, 0}, {100, 50}, {0, 50}}}}}
	var b bytes.Buffer
	if err := HTML(&b, d); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for _, bad := range []string{"<script>alert", "<img", "<b>7</b>", "http-equiv=\"refresh", "src=\"http"} {
		if strings.Contains(text, bad) {
			t.Errorf("the page holds %s", bad)
		}
	}
	for _, want := range []string{"◆ SAFETY", "● Wrong", "▲ ", "30 February", "<svg", "default-src &#39;none&#39;",
		" m</text>", "inside your fields"} {
		if !strings.Contains(text, want) && !strings.Contains(text, strings.ReplaceAll(want, "&#39;", "'")) {
			t.Errorf("the page lacks %s", want)
		}
	}
	d.Plan = nil
	b.Reset()
	if err := HTML(&b, d); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "<svg") {
		t.Error("a plan is drawn though none was given")
	}
}

// However many notices there are, text tells seven jobs and counts the rest; asked for all, it tells all.
func TestTextIsNoWall(t *testing.T) {
	d := Document{Finds: 40}
	var kinds []*notice.Kind
	for j := range 10 {
		kinds = append(kinds, &notice.Kind{Code: "code-" + string(rune('a'+j)), Severity: notice.Warning})
	}
	for i := range 40 {
		row := notice.Location{Sheet: "Finds", Row: i + 2, Find: fmt.Sprint(i + 1), Pointer: fmt.Sprintf("/finds/%d", i)}
		for j := range 10 {
			kind := kinds[j]
			d.Notices.Add(notice.Notice{Kind: kind, Message: fmt.Sprintf("%d February, said in %q", 30+i, fmt.Sprint(i)),
				Location: row})
		}
	}
	var cut, all bytes.Buffer
	if Text(&cut, d, TextOptions{}) != nil || Text(&all, d, TextOptions{All: true}) != nil {
		t.Fatal("cannot write")
	}
	if n := strings.Count(cut.String(), "\n"); n > 25 {
		t.Errorf("%d lines:\n%s", n, cut.String())
	}
	for _, want := range []string{"400 places need a second look", "and 36 more", "and 3 more things: --all"} {
		if !strings.Contains(cut.String(), want) {
			t.Errorf("lacks %q:\n%s", want, cut.String())
		}
	}
	if n := strings.Count(all.String(), "[code-"); n != 10 {
		t.Errorf("%d of 10 jobs are told", n)
	}
}

// No line is wider than the terminal, but for a word that is wider itself.
func TestWidth(t *testing.T) {
	for _, width := range []int{40, 60, 80, 132} {
		var b bytes.Buffer
		if err := Text(&b, withDeadlines(), TextOptions{Width: width}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSpace(line)); n > width && strings.Contains(strings.TrimSpace(line),
				" ") {
				t.Errorf("width %d: %d wide: %s", width, n, line)
			}
		}
	}
}
