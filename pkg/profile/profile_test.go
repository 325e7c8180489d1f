package profile

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/schema"
)

// The levels are profiles as any other: whole, each based on the one before, with words in every language.
func TestLevelsAreProfiles(t *testing.T) {
	names := LevelNames()
	if k := known(); len(names) < 2 || Level(DefaultLevel()) == nil || slices.Contains([]int{len(k.Columns),
		len(k.Programs), len(k.Parts), len(k.Reasoned), len(k.Afar), len(k.OnTheSpot)}, 0) {
		t.Fatalf("levels %v, default %q", names, DefaultLevel())
	}
	for i, name := range names {
		raw, ok := schema.Profile(name)
		if !ok {
			t.Fatalf("level %s is not shipped", name)
		}
		e, list, err := load(name, raw, Folder(fstest.MapFS{}), Known{})
		if err != nil || e == nil || len(list) > 0 {
			t.Fatalf("%s: %v %v", name, err, list)
		}
		if i > 0 && (len(e.Chain) != i+1 || len(e.Asks) <= len(Levels()[i-1].Asks)) {
			t.Errorf("%s is not based on the level before it: %v", name, e.Chain)
		}
		for _, a := range e.Asks {
			if a.Strength != Must || len(a.Columns()) == 0 {
				t.Errorf("%s: %s is of strength %s and has the columns %v", name, a.Name, a.Strength, a.Columns())
			}
			for _, language := range e.Languages {
				if strings.TrimSpace(a.Title[language]) == "" || e.Title[language] == "" {
					t.Errorf("%s: %s has no words in %s", name, a.Name, language)
				}
			}
		}
	}
}

const whole = `{
 "findslipProfile": "1", "id": "thornmere", "version": "1", "title": {"en": "Recorder of Thornmere"},
 "asks": [
  {"name": "day", "strength": "must", "ask": {"any": ["/found/date"]}},
  REST
  {"name": "finder", "strength": "should", "ask": {"any": ["/finder"]}}]
}`

// loadText reads a profile.
func loadText(text string) (*Effective, notice.List) {
	e, list, _ := Load("it.findslip-profile.json", func(name string) ([]byte, error) {
		if name == "it.findslip-profile.json" {
			return []byte(text), nil
		}
		return nil, errors.New("not there")
	}, Known{Danger: func(_, _ string) (speaks bool, wrong string) { return false, "" }})
	return e, list
}

// ask is one ask more, and part a member of the profile more.
func ask(text string) string { return strings.Replace(whole, "REST", text+",", 1) }
func part(text string) string {
	return strings.Replace(ask(`{"name": "x", "strength": "may", "ask": {"any": ["/count"]}}`), `"asks"`, text+`, "asks"`,
		1)
}

// Ways to be wrong have their codes, at the line; what comes near and is right has none. What is refused has vectors in
// testdata/suite/required/profiles.json.
func TestFaults(t *testing.T) {
	for _, row := range rows(t, "fault") {
		text := part(row[3])
		if row[2] == "ask" {
			text = ask(`{"name": "a", ` + row[3] + `}`)
		}
		_, list := loadText(text)
		var codes []string
		for _, n := range list {
			if codes = append(codes, n.Kind.Code); n.Line == 0 || n.File == "" || n.HelpText() == "" {
				t.Errorf("%s: no line, file or advice: %+v", row[0], n)
			}
		}
		if got := strings.Join(slices.Compact(codes), " "); got != row[1] {
			t.Errorf("%s: %q, want %q: %v", row[0], got, row[1], list)
		}
	}
}

// A profile that contradicts itself is told, and one that only seems to is not.
func TestContradictions(t *testing.T) {
	for _, row := range rows(t, "contra") {
		_, list := loadText(`{"findslipProfile": "1", "id": "x", "version": "1", "title": {"en": "x"}, ` + row[2] + `}`)
		told, refused := false, false
		for _, n := range list {
			told = told || strings.HasPrefix(n.Kind.Code, "profile-i") || n.Kind.Code == "profile-conflict"
			refused = refused || n.Kind.Code == "profile-shape" || n.Kind.Code == "profile-unknown"
		}
		if told != (row[1] == "yes") || refused {
			t.Errorf("%s: contradicts itself: %s, and this is said: %v", row[0], row[1], list)
		}
	}
}

// rows are those of testdata/tables.txt of one kind.
func rows(t *testing.T, kind string) (out [][]string) {
	raw, err := os.ReadFile("testdata/tables.txt")
	for line := range strings.Lines(string(raw)) {
		if of, rest, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "\t"); ok && of == kind {
			out = append(out, strings.Split(rest, "\t"))
		}
	}
	if err != nil || len(out) < 5 {
		t.Fatalf("%d rows of %s: %v", len(out), kind, err)
	}
	return out
}

// FuzzLoad holds the reader to its word: no panic, and either a profile or a reason; huge and deep ones are refused in
// few words, and soon.
func FuzzLoad(f *testing.F) {
	const one = `{"name": "a", "strength": "may", "ask": {"any": ["/count"]}`
	for _, text := range []string{
		ask(`{"name": "a", "strength": "never", "when": {"member": "/count", "atLeast": 2}, "ask": {"any": ["/value"]}}`),
		part(`"covers": {"area": {"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,0]]]}}`),
		// it crosses itself
		part(`"covers": {"area": {"type": "Polygon", "coordinates": [[[0,0],[1,1],[1,0],[0,1],[0,0]]]}}`),
		ask(one + `, "when": ` + strings.Repeat(`{"not": `, 40) + `{"member": "/count", "given": true}` +
			strings.Repeat("}", 41)),
		strings.Repeat("[", 1_000_000), strings.Repeat(`{"a":`, 100_000), strings.Repeat(" ", 5<<20),
		strings.Replace(whole, "REST", strings.Repeat(one+"},", 100_000), 1),
		ask(strings.Replace(one, `"a"`, `"`+strings.Repeat("a", 1_000_000)+`"`, 1) + "}"),
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		e, list := loadText(string(text))
		if huge := len(text) > 60_000; (e == nil) != wrong(list) || huge && (e != nil || len(list) > 60) {
			t.Errorf("a profile and a fault, or neither, or %d notices: %.2000v", len(list), list)
		}
	})
}

// A template with must, should, may and never below its headings becomes a profile; why stands below that.
func TestNewFromTable(t *testing.T) {
	a := Answers{Name: "Club of Thornmere", BasedOn: "bag", BaseSum: strings.Repeat("0", 64)}
	err := errors.Join(FromTable("finds", [][]string{{"Number", "Date found", "Depth [cm]", "Value", "Notes"},
		{"example", "2026-04-12", "18"}, {"", "must", "should", "never"}, {"", "We sort by day"}}, &a),
		FromTable("people", [][]string{{"Name", "Contact"}, {"", "must"}, {"", "We ring."}}, &a))
	raw, wrong := New(a)
	p, list := Parse("it", raw)
	got := ""
	for _, x := range p.Asks {
		got += fmt.Sprintln(x.Name, x.Strength, x.Ask.Any, x.Why["en"])
	}
	if err := errors.Join(err, wrong); err != nil || len(list) > 0 || p.ID != "club-of-thornmere" ||
		got != "day must [/found/date] We sort by day\nfinder-contact must [/finder/contact] We ring.\ndepth should "+
			"[/depth] \nvalue never [/value] \n" {
		t.Errorf("%v %v %s %s", err, list, p.ID, got)
	}
	if FromTable("finds", [][]string{{"Number"}, {"x"}}, &a) == nil ||
		FromTable("people", [][]string{{"Whatsit"}, {"must"}}, &a) == nil {
		t.Error("what asks for nothing, or for what is not known, is taken")
	}
}

// Conditions in words say what the JSON says, there and back; what is not understood is told.
func TestWhenInWords(t *testing.T) {
	readme, err := os.ReadFile("../../examples/profiles/README.md")
	if err != nil {
		t.Fatal(err)
	}
	list := rows(t, "when")
	for _, row := range regexp.MustCompile("(?m)^\\| .* \\| `(.*)` \\|$").FindAllSubmatch(readme, -1) {
		list = append(list, []string{string(row[1]), string(row[1])})
	}
	for _, row := range list {
		c, err := ParseWhen(row[0])
		if got := WriteWhen(c, "en"); (err == nil) != (row[1] != "") || err == nil && got != row[1] {
			t.Errorf("%q is written %q, want %q: %v", row[0], got, row[1], err)
		} else if again, err := ParseWhen(got); err != nil || !same(c, again) {
			t.Errorf("%q does not come back: %v", row[0], err)
		} else if c != nil {
			for _, language := range render.Languages() {
				text := WriteWhen(c, language)
				if again, err := ParseWhen(text); err != nil || !same(c, again) || text[0] == '{' && got[0] != '{' {
					t.Errorf("%q does not come back from %s: %q, %v", row[0], language, text, err)
				}
			}
		}
	}
}

// Nothing that an officer types into the workbook is lost: the second row is read where it holds more than the help,
// and what cannot be read, or stands where nothing is read, is named.
func TestSheetsLoseNothing(t *testing.T) {
	p, _ := Parse("it", []byte(ask(`{"name": "a", "strength": "may", "ask": {"any": ["/count"]}}`)))
	for _, row := range rows(t, "cell") {
		var book bytes.Buffer
		if err := WriteSheet(&book, p); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&book)
		if err != nil {
			t.Fatal(err)
		}
		sheet, cell, _ := strings.Cut(row[0], "!")
		_, newErr := f.NewSheet(sheet)
		setErr := f.SetCellStr(sheet, cell, row[1])
		out, outErr := f.WriteToBuffer()
		raw, _, readErr := ReadSheet(out)
		want := cmp.Or(row[2], strings.ToLower(MemberOf(row[1])), row[1])
		if errors.Join(newErr, setErr, outErr) != nil || !strings.Contains(fmt.Sprint(readErr, string(raw)), want) ||
			(readErr == nil) != (row[2] == "") {
			t.Errorf("%s: want %q: %v %s", row[0], want, readErr, raw)
		}
	}
}

// What the command prints as the name of a member is read as that member, in every language, and so is its pointer;
// what a sheet of permissions calls greatest depth is no depth of a find.
func TestNamesComeBack(t *testing.T) {
	named := 0
	for _, language := range render.Languages() {
		for _, pointer := range Members() {
			name := NamedBy(pointer, language)
			if got, _, err := namedMember(name); err != nil || got != pointer {
				t.Errorf("%s: %q of %s is read as %q: %v", language, name, pointer, got, err)
			}
			if name != pointer {
				named++
			}
		}
		for _, beside := range []string{"/permission/maxDepth", "/finder/name"} {
			if got := MemberOf(MemberName(beside, language)); got != beside && got != "" {
				t.Errorf("%s: %q is read as %s", language, MemberName(beside, language), got)
			}
		}
	}
	if named < 300 {
		t.Errorf("only %d names", named)
	}
}

// Every line of from-paper.md, and all of them together, goes through the workbook that officers edit and comes back.
func TestSheetsComeBack(t *testing.T) {
	raw, err := os.ReadFile("../../examples/profiles/from-paper.md")
	if err != nil {
		t.Fatal(err)
	}
	var asks, texts []string
	for _, row := range regexp.MustCompile("(?m)^\\| .* \\| `(.*)` \\|$").FindAllSubmatch(raw, -1) {
		if text := string(row[1]); text[0] == '{' {
			texts, asks = append(texts, ask(text)), append(asks, text)
		} else {
			texts = append(texts, part(text))
		}
	}
	texts = append(texts, ask(strings.Join(asks, ",")))
	for _, text := range texts {
		p, list := Parse("it", []byte(text))
		var book bytes.Buffer
		if err := WriteSheet(&book, p); err != nil {
			t.Fatal(err, list)
		}
		want, _ := p.JSON()
		got, cells, err := ReadSheet(&book)
		if at := cells.Of("/asks/0/ask/any/0"); !strings.HasPrefix(at, `sheet "Asks", cell `) || !strings.HasSuffix(at, "3") {
			t.Errorf("the first ask stands in %s", at)
		}
		if err != nil || string(got) != string(want) {
			t.Errorf("%s\ncomes back as\n%s %v", text, got, err)
		}
	}
	if len(texts) < 45 {
		t.Errorf("only %d lines", len(texts))
	}
}
