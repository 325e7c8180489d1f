package render

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/notice"
)

var (
	shell = &notice.Kind{Code: "ordnance", Severity: notice.Warning, Caution: true, Title: "words for ordnance", Help: "Do not touch it."}
	unit  = &notice.Kind{Code: "unit-missing", Severity: notice.Warning, Title: "number without a unit", Help: "Write 8 in or 20 cm.", Spec: "4.1"}
	bad   = &notice.Kind{Code: "date-impossible", Severity: notice.Error, Title: "no such day", Help: "Look at the calendar.", Spec: "4.3"}
)

func sample() Document {
	cell := func(k *notice.Kind, message string, row int, find string) notice.Notice {
		return notice.Notice{Kind: k, Message: message, Location: notice.Location{File: "finds.xlsx", Pointer: "/finds/" + find + "/depth", Sheet: "Finds",
			Cell: "D" + find, Row: row, Column: 4, Heading: "Depth", Find: find}}
	}
	return Document{Tool: "findslip 1.0", AsOf: "2026-04-12", Level: "log", Finds: 9, Met: map[string]int{"bag": 9, "log": 4},
		Missing: []Lack{{Pointer: "/materials", Finds: 5}}, NotChecked: map[string]int{"outside-permission": 2},
		Notices: notice.List{cell(unit, "no unit", 7, "7"), cell(unit, "no unit", 8, "8"), cell(bad, "30 February", 3, "3"), cell(shell, "the words speak of a shell", 9, "9")}}
}

func TestText(t *testing.T) {
	want := `Caution: law and safety
  Finds!D9 (Depth), find 9: the words speak of a shell [ordnance]
      Do not touch it.

Errors
  Finds!D3 (Depth), find 3: 30 February [date-impossible]
      Look at the calendar.

Warnings
  2 places: no unit [unit-missing]
      at Finds!D7 (Depth), find 7, Finds!D8 (Depth), find 8
      Write 8 in or 20 cm.

Not checked, because something it needs is not at hand
  outside-permission: 2 times

9 finds: 1 error, 3 warnings, 0 for information, 1 caution
level log: met by 4 of 9 finds; most often missing: materials (5)
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
	d.Accepted = notice.List{{Kind: bad, Message: "30 February", Accepted: "the diary says so", Location: notice.Location{Find: "3"}}}
	var b bytes.Buffer
	if err := CSV(&b, d); err != nil {
		t.Fatal(err)
	}
	want := `severity,caution,code,find,place,heading,message,perhaps,help,file,sheet,row,column,line,pointer,accepted,deadline
warning,,unit-missing,7,Finds!D7,Depth,'=HYPERLINK(1),,Write 8 in or 20 cm.,finds.xlsx,Finds,7,4,,/finds/7/depth,,
error,,date-impossible,3,,,30 February,,Look at the calendar.,,,,,,,the diary says so,
`
	if d := cmp.Diff(want, b.String()); d != "" {
		t.Error(d)
	}
}

func TestHTMLIsEscapedAndWhole(t *testing.T) {
	d := sample()
	d.Notices[0].Message = `<script>alert("x")</script>`
	d.Notices[0].Location.Find = `7"><img src=x>`
	d.Plan = &Plan{Points: []PlanPoint{{Label: "<b>7</b>", X: 10, Y: 20, Radius: 5, Group: "lead"}, {Label: "8", X: 60, Y: 25, Group: "iron"}},
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
	for _, want := range []string{"◆ caution", "● error", "▲ warning", "30 February", "<svg", "default-src &#39;none&#39;", "20 m", "outside-permission"} {
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

func TestTextIsNoWall(t *testing.T) {
	var d Document
	lacks := &notice.Kind{Code: "level-incomplete", Severity: notice.Warning, Help: "Give it, or say why not."}
	for i := range 40 {
		row := notice.Location{Sheet: "Finds", Row: i + 2, Find: fmt.Sprint(i + 1), Pointer: fmt.Sprintf("/finds/%d", i)}
		d.Notices.Add(notice.Notice{Kind: lacks, Message: fmt.Sprintf("it lacks %d things", min(i, 20)), Location: row},
			notice.Notice{Kind: bad, Message: fmt.Sprintf("%d February", 30+i), Location: row})
	}
	var b bytes.Buffer
	if err := Text(&b, d, TextOptions{}); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if n := strings.Count(text, "it lacks"); n != mostGroups-1 {
		t.Errorf("%d notices of one kind are told in full", n)
	}
	// What is left out is said, with how many: 20 of 21 groups have one place, 4 of those are told.
	for _, want := range []string{"20 places: it lacks 20 things", "16 more places: 16 other notices of this kind; --report html, csv or json tells each [level-incomplete]"} {
		if !strings.Contains(text, want) {
			t.Errorf("lacks %q:\n%s", want, text)
		}
	}
	if n := strings.Count(text, "February [date-impossible]"); n != 40 {
		t.Errorf("%d of 40 errors are told", n)
	}
	if n := strings.Count(text, "Give it, or say why not."); n != 1 {
		t.Errorf("the same advice is given %d times", n)
	}
}

func TestPlacesInWords(t *testing.T) {
	for pointer, want := range map[string]string{
		"/permissions/0/jurisdiction": "permission 1: jurisdiction",
		"/people/1":                   "person 2",
		"/finds/6/depth/min":          "depth min",
		"/finds/6/materials/0/code":   "materials 1 code",
		"/finds/6/columns/2024":       "columns 2024",
		"/finds/6/marks/007":          "marks 007",
		"/people/1/roles/0":           "person 2: roles 1",
		"/title":                      "title",
		"/finds":                      "finds",
	} {
		n := notice.Notice{Kind: bad, Location: notice.Location{Pointer: pointer}}
		if strings.HasPrefix(pointer, "/finds/") {
			n.Find = "7"
		}
		if got := placeWords(&n); got != want {
			t.Errorf("%s is %q, want %q", pointer, got, want)
		}
	}
}

// A find without a number is found by its place in the report, for its id says nothing to people; in a
// table the row says it.
func TestFindWithoutANumberIsFound(t *testing.T) {
	w := &textWriter{}
	for want, n := range map[string]notice.Notice{
		"materials 1, find without a number (record 15)": {Kind: bad, Location: notice.Location{Find: "urn:uuid:895faa47-a14a-5402-87a2-45ca23e01e2c", Pointer: "/finds/14/materials/0"}},
		"materials 1, find 12a":                          {Kind: bad, Location: notice.Location{Find: "12a", Pointer: "/finds/14/materials/0"}},
		"title":                                          {Kind: bad, Location: notice.Location{Pointer: "/title"}},
	} {
		if got := w.place(&n); got != want {
			t.Errorf("it is at %q, want %q", got, want)
		}
	}
}

// JSON that comes in pieces is cleaned as in one, wherever it is cut.
func TestCleanInPieces(t *testing.T) {
	text := "{\"a\": \"gr\u00fcn \u009b31m \u202e \U0001f514 \x1b[31m\xff\xc3\"}\r\n\t\xf0\x9f"
	want := string(CleanJSON([]byte(text)))
	for size := 1; size < len(text); size++ {
		var b bytes.Buffer
		c := cleaner{w: &b}
		for at := 0; at < len(text); at += size {
			if n, err := c.Write([]byte(text[at:min(at+size, len(text))])); err != nil || n == 0 {
				t.Fatal(n, err)
			}
		}
		b.Write(CleanJSON(c.rest))
		if b.String() != want {
			t.Errorf("in pieces of %d: %q, want %q", size, b.String(), want)
		}
	}
	if strings.ContainsAny(want, "\u009b\u202e\x1b") {
		t.Errorf("%q", want)
	}
}
