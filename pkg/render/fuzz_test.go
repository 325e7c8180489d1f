package render

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// FuzzReadBaseline: an earlier report that is read can be compared with.
func FuzzReadBaseline(f *testing.F) {
	var b bytes.Buffer
	if err := JSON(&b, sample()); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(`{"noticesVersion":"1.0","notices":[{"code":"a","severity":"error","message":"b","pointer":"/finds/1/x","find":"7"}]}`))
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
	return Receiver{ID: s, Title: text, Finds: 2, Covered: 2, More: []More{{Title: text, Why: text, Finds: 1}},
		Asks: []Asked{{Name: s, Strength: "must", Title: text, How: text, Who: text, Lacking: 1, Finds: []string{s}}}}
}
