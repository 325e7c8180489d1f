package render

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
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
	r := Receiver{ID: id, Level: true, Title: map[string]string{"en": title},
		Score: Score{Finds: 9, Covered: 9, Good: good}}
	if good < 9 {
		r.Asks = []Asked{{Name: "material", Strength: "must", Title: map[string]string{"en": "the material"},
			Count: Count{Asked: 9, Lacking: 9 - good}}}
	}
	return r
}

func TestText(t *testing.T) {
	want := `finds.xlsx: 9 finds in 2 fields, 7 February to 22 March 2026. Every row was read. Safety first: read
  the next lines before anything else.

SAFETY  D9: The words speak of a shell. Do not touch it. [ordnance]

Wrong:
  D3   30 February. Look at the calendar. [test-day]

Second look, 2 places:
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
	for _, want := range []string{"Second look, 400 places", "and 36 more", "and 3 more things: --all"} {
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

// The colours of the pages, by day and by night: text has a contrast of 4.5 to 1, what carries meaning
// beside it 3 to 1. Source: W3C, Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and
// 1.4.11, with the contrast ratio and the relative luminance as defined there.
func TestColoursCanBeRead(t *testing.T) {
	sets := regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(lookText, -1)
	if len(sets) != 2 || !strings.Contains(lookText, "@media screen and (prefers-color-scheme: dark)") {
		t.Fatalf("%d sets of colours, want one and another for dark screens", len(sets))
	}
	for i, set := range sets {
		colours := map[string]float64{}
		for _, m := range regexp.MustCompile(`--([a-z]+): #([0-9a-f]{3,6});`).FindAllStringSubmatch(set[1], -1) {
			colours[m[1]] = luminance(t, m[2])
		}
		for _, pair := range []struct {
			front, back string
			least       float64
		}{{"ink", "paper", 4.5}, {"soft", "paper", 4.5}, {"ink", "aim", 4.5}, {"error", "paper", 3}, {"warning", "paper", 3},
			{"info", "paper", 3}, {"caution", "paper", 3}} {
			a, okA := colours[pair.front]
			b, okB := colours[pair.back]
			if contrast := (max(a, b) + 0.05) / (min(a, b) + 0.05); !okA || !okB || contrast < pair.least {
				t.Errorf("set %d: %s on %s has a contrast of %.2f, want %.1f", i+1, pair.front, pair.back, contrast, pair.least)
			}
		}
	}
	if colour := regexp.MustCompile(`#[0-9a-f]{3,6}\b`).FindString(strings.Split(strings.Split(pageText, "</style>")[0],
		"<style>")[1]); colour != "" {
		t.Errorf("the page has the colour %s of its own, which is the same by day and by night", colour)
	}
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	n, err := strconv.ParseUint(hex, 16, 32)
	if err != nil || len(hex) != 6 {
		t.Fatalf("#%s is no colour", hex)
	}
	linear := func(v uint64) float64 {
		c := float64(v&255) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(n>>16) + 0.7152*linear(n>>8) + 0.0722*linear(n)
}

// A notice of a whole find has no place within it, and no sign that stands for one.
func TestPageNamesNoEmptyPlace(t *testing.T) {
	d := Document{Finds: 1}
	d.Notices = notice.List{{Kind: bad, Message: "something is missing",
		Location: notice.Location{Find: "7", Pointer: "/finds/0"}}}
	var b bytes.Buffer
	if err := HTML(&b, d); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), `<a href="#"`) || !strings.Contains(b.String(), "Something is missing") {
		t.Error("an empty place is written")
	}
}

// What SARIF 2.1.0 (OASIS Standard, errata 01) asks of a log, by section.
func TestSARIFAsTheStandardHasIt(t *testing.T) {
	d := compared(t)
	d.Notices[0].File, d.Notices[0].Line = "spring finds/log 1.csv", 7
	d.Accepted = notice.List{{Kind: bad, Message: "30 February", Accepted: "the diary says so",
		Location: notice.Location{Find: "3", Pointer: "/finds/2"}}}
	var b bytes.Buffer
	if err := SARIF(&b, d); err != nil {
		t.Fatal(err)
	}
	var log struct {
		Version string
		Runs    []struct {
			Tool struct {
				Driver struct {
					Name  string
					Rules []struct{ ID string }
				}
			}
			Results []struct {
				RuleID        string
				RuleIndex     *int
				Level         string
				Message       struct{ Text string }
				BaselineState string
				Suppressions  []struct{ Kind, Justification string }
				Locations     []struct {
					PhysicalLocation struct {
						ArtifactLocation struct{ URI string }
						Region           *struct{ StartLine, StartColumn int }
					}
				}
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &log); err != nil {
		t.Fatal(err)
	}
	if log.Version != "2.1.0" { // 3.13.2
		t.Errorf("version %q", log.Version)
	}
	if len(log.Runs) != 1 || log.Runs[0].Tool.Driver.Name == "" { // 3.13.4, 3.14.6, 3.19.8
		t.Fatalf("runs %+v", log.Runs)
	}
	run := log.Runs[0]
	if want := len(d.Notices) + 2; len(run.Results) != want {
		t.Errorf("%d results, want %d", len(run.Results), want)
	}
	uris := map[string]bool{}
	for _, r := range run.Results {
		if r.Message.Text == "" { // 3.27.11, 3.11.8
			t.Errorf("%s has no message", r.RuleID)
		}
		if !slices.Contains([]string{"error", "warning", "note", "none"}, r.Level) { // 3.27.10
			t.Errorf("level %q", r.Level)
		}
		if r.RuleIndex == nil || run.Tool.Driver.Rules[*r.RuleIndex].ID != r.RuleID { // 3.27.5, 3.27.6
			t.Errorf("the rule index of %s points elsewhere", r.RuleID)
		}
		accepted := len(r.Suppressions) > 0
		if !accepted && !slices.Contains([]string{"new", "unchanged", "updated", "absent"}, r.BaselineState) { // 3.27.24
			t.Errorf("baseline state %q", r.BaselineState)
		}
		for _, s := range r.Suppressions { // 3.35.2, 3.35.4
			if s.Kind != "external" || s.Justification != "the diary says so" {
				t.Errorf("suppression %+v", s)
			}
		}
		for _, l := range r.Locations {
			uris[l.PhysicalLocation.ArtifactLocation.URI] = true
			if g := l.PhysicalLocation.Region; g != nil && (g.StartLine < 1 || g.StartColumn < 0) { // 3.30.5, 3.30.6
				t.Errorf("region %+v", g)
			}
		}
	}
	if !uris["spring%20finds/log%201.csv"] { // 3.4.3: a URI reference as RFC 3986 has it
		t.Errorf("files %v", uris)
	}
}

// FuzzReadBaseline: an earlier report that is read can be compared with.
func FuzzReadBaseline(f *testing.F) {
	var b bytes.Buffer
	if err := JSON(&b, sample()); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(`{"noticesVersion":"1.0","notices":[{"code":"a","severity":"error","message":"b",` +
		`"pointer":"/finds/1/x","find":"7"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		before, err := ReadBaseline(bytes.NewReader(data), "old.json", limit.Limits{})
		if err != nil {
			return
		}
		d := sample()
		d.Baseline = before
		for _, form := range []func(*bytes.Buffer) error{
			func(b *bytes.Buffer) error { return Text(b, d, TextOptions{}) }, func(b *bytes.Buffer) error { return HTML(b, d) },
		} {
			var out bytes.Buffer
			if err := form(&out); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// FuzzForms puts any text into every place of a notice that comes from a file: no form passes on a
// control character, an escape of a terminal, or a tag.
func FuzzForms(f *testing.F) {
	for _, s := range []string{"\x1b]0;title\x07\x1b[31m", "<script>alert(1)</script>", "\u202egpj.exe",
		"\"><img src=x onerror=alert(1)>", "=HYPERLINK(\"x\")", "a\r\nb\tc", "\x9b31m", "\xff\xfe\x00", "]]>--><!--",
		"javascript:alert(1)"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		kind := &notice.Kind{Code: "unit-missing", Severity: notice.Error, Title: "t", Help: "h", Spec: "4.1"}
		n := notice.New(kind, "/finds/0/"+s, "message "+s)
		n.Location = notice.Location{File: s, Pointer: "/" + s, Sheet: s, Cell: "A1", Row: 1, Column: 1, Heading: s, Find: s}
		n.Help, n.Proposals = s, []string{s}
		d := Document{Tool: "findslip", AsOf: "2026-04-12", Asked: []Receiver{hostile(s)}, NotChecked: map[string]int{},
			Notices: notice.List{n}}
		d.Baseline = &Baseline{Name: s, AsOf: s, Notices: notice.List{n}}
		for name, form := range map[string]func(*bytes.Buffer) error{
			"text":   func(b *bytes.Buffer) error { return Text(b, d, TextOptions{}) },
			"colour": func(b *bytes.Buffer) error { return Text(b, d, TextOptions{Colour: true}) },
			"html":   func(b *bytes.Buffer) error { return HTML(b, d) },
			"csv":    func(b *bytes.Buffer) error { return CSV(b, d) },
			"json":   func(b *bytes.Buffer) error { return JSON(b, d) },
			"sarif":  func(b *bytes.Buffer) error { return SARIF(b, d) },
		} {
			var b bytes.Buffer
			if err := form(&b); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			text := b.String()
			if name == "colour" { // its own escapes
				text = strings.NewReplacer("\x1b[0m", "", "\x1b[1m", "", "\x1b[2m", "", "\x1b[31m", "", "\x1b[33m", "", "\x1b[35m",
					"", "\x1b[36m", "").Replace(text)
			}
			if at := strings.IndexFunc(text, func(r rune) bool { return obeyed(r) && r != '\n' }); at >= 0 {
				t.Fatalf("%s passes on %q", name, text[at:min(len(text), at+8)])
			}
			if !utf8.ValidString(text) {
				t.Fatalf("%s is not UTF-8", name)
			}
			if name == "html" && (strings.Contains(text, "<script>alert") || strings.Contains(text, "<img src=x")) {
				t.Fatal("html passes on a tag")
			}
		}
	})
}

// hostile is a receiver whose texts are all one text.
func hostile(s string) Receiver {
	text := map[string]string{"en": s}
	return Receiver{ID: s, Title: text, Score: Score{Finds: 2, Covered: 2},
		More: []More{{Title: text, Why: text, Finds: 1}},
		Asks: []Asked{{Name: s, Strength: "must", Title: text, How: text, Who: text,
			Count: Count{Lacking: 1, Finds: []string{s}}}}}
}

// TestPlacesOfSeveralFiles: where there are several files, a place says in which of them it is.
func TestPlacesOfSeveralFiles(t *testing.T) {
	kind := &notice.Kind{Code: "depth-doubtful", Severity: notice.Warning, Title: "Depth doubtful", Help: "Look again."}
	var d Document
	for _, at := range []notice.Location{{File: "a/ana.xlsx", Sheet: "Sheet1", Cell: "D7", Row: 7, Column: 4},
		{File: "bo.csv", Row: 3}} {
		d.Notices.Add(notice.Notice{Kind: kind, Message: "deeper than its detector reaches", Location: at})
	}
	d.Seen = []Seen{{File: "a/ana.xlsx", Finds: 2}, {File: "bo.csv", Finds: 1}}
	var text, page bytes.Buffer
	if err := errors.Join(Text(&text, d, TextOptions{}), HTML(&page, d)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"ana.xlsx D7", "bo.csv row 3"} {
		if !strings.Contains(text.String(), want) || !strings.Contains(page.String(), want) {
			t.Errorf("%q is not named in the text or the page:\n%s", want, text.String())
		}
	}
}

// TestManyPlaces: a museum's file with more places than anybody puts right by hand is told on one screen, with every
// sentence of safety whole.
func TestManyPlaces(t *testing.T) {
	var list notice.List
	for _, kind := range [...]*notice.Kind{&kinds.OrdnancePossible, &kinds.ReportDue, &kinds.DateImpossible,
		&kinds.QuantityNegative, &kinds.NumberRepeated, &kinds.UnitMissing, &kinds.DateNotRead, &kinds.PositionNotRead,
		&kinds.MaterialUnlikeClass, &kinds.OlderThanMaterial, &kinds.DateOrderUnknown, &kinds.FilledDown} {
		for i := range 300 {
			n := notice.New(kind, fmt.Sprintf("/finds/%d/name", i), strings.Repeat("something is odd here ", 12))
			n.Cell, n.Row = fmt.Sprintf("C%d", i+2), i+2
			list.Add(n)
		}
	}
	for _, o := range [...]TextOptions{{}, {All: true}} {
		var out strings.Builder
		if err := Text(&out, Document{Notices: list}, o); err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(out.String(), "\n"); (n <= 25) == o.All {
			t.Errorf("%d lines:\n%s", n, out.String())
		}
		if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), "The police decide. [ordnance-possible]") {
			t.Errorf("safety is cut:\n%s", out.String())
		}
	}
}
