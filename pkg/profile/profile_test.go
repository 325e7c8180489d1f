package profile

import (
	"bytes"
	"errors"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// The levels are profiles as any other: whole, each based on the one before, with words in every language.
func TestLevelsAreProfiles(t *testing.T) {
	names := LevelNames()
	if len(names) < 2 || Level(DefaultLevel()) == nil {
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
	}, Known{})
	return e, list
}

func codesOfList(list notice.List) (out []string) {
	for _, n := range list {
		if !slices.Contains(out, n.Kind.Code) {
			out = append(out, n.Kind.Code)
		}
	}
	return out
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
	a := func(rest string) string { return ask(`{"name": "a", "strength": "must", ` + rest + `}`) }
	for _, c := range []struct{ name, text, code string }{
		{"whole", ask(`{"name": "a", "strength": "may", "ask": {"any": ["/count"]}}`), ""},
		{"a heading that is known", part(`"headings": {"Number": "name"}`), "profile-idle"},
		{"a word that is known", part(`"terms": [{"member": "/materials", "words": {"gold": "silver"}}]`), "profile-idle"},
		{"a word for what is not allowed",
			part(`"terms": [{"member": "/materials", "allowed": ["gold"], "words": {"glimmer": "tin"}}]`), "profile-idle"},
		{"a language that no text has", part(`"languages": ["en", "cy"]`), "profile-language"},
		{"texts in a language that is not named", part(`"purpose": {"en": "p", "cy": "p"}`), "profile-language"},
		{"untold where blank", a(`"when": {"member": "/weight", "atLeast": 1}, "ask": {"any": ["/count"]}`),
			"profile-untold"},
		{"no column", a(`"ask": {"any": ["/opinions"]}`), "profile-no-column"},
		{"exact without why", a(`"ask": {"any": ["/position/longitude"], "within": 10}`), "profile-why"},
	} {
		_, list := loadText(c.text)
		if got := strings.Join(codesOfList(list), " "); got != c.code {
			t.Errorf("%s: %q, want %q: %v", c.name, got, c.code, list)
		}
		for _, n := range list {
			if n.Line == 0 || n.File == "" || n.HelpText() == "" {
				t.Errorf("%s: no line, file or advice: %+v", c.name, n)
			}
		}
	}
}

// Huge and deep profiles are refused in words, and soon.
func TestHostile(t *testing.T) {
	deep := `{"member": "/count", "given": true}`
	for range 40 {
		deep = `{"not": ` + deep + `}`
	}
	wide := strings.Repeat(`{"name": "a", "strength": "may", "ask": {"any": ["/count"]}},`, 100_000)
	ring := "[[0,0],[1,1],[1,0],[0,1],[0,0]]"
	for name, text := range map[string]string{
		"deep condition": ask(`{"name": "a", "strength": "must", "when": ` + deep + `, "ask": {"any": ["/count"]}}`),
		"brackets":       strings.Repeat("[", 1_000_000),
		"objects":        strings.Repeat(`{"a":`, 100_000),
		"100,000 asks":   strings.Replace(whole, "REST", wide, 1),
		"5 MB of blanks": strings.Repeat(" ", 5<<20),
		"long name": ask(`{"name": "` + strings.Repeat("a", 1_000_000) +
			`", "strength": "may", "ask": {"any": ["/count"]}}`),
		"crossing ring": part(`"covers": {"area": {"type": "Polygon", "coordinates": [` + ring + `]}}`),
	} {
		if e, list := loadText(text); e != nil || len(list) == 0 || len(list) > 60 {
			t.Errorf("%s: taken, or %d notices", name, len(list))
		}
	}
}

// FuzzLoad holds the reader to its word: no panic, and either a profile or a reason.
func FuzzLoad(f *testing.F) {
	f.Add([]byte(ask(`{"name": "a", "strength": "never", "when": {"member": "/count", "atLeast": 2}, "ask": {"any": ["/value"]}}`)))
	f.Add([]byte(part(`"covers": {"area": {"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,0]]]}}`)))
	f.Fuzz(func(t *testing.T, text []byte) {
		e, list := loadText(string(text))
		if (e == nil) != slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind.Severity == notice.Error }) {
			t.Errorf("a profile and a fault, or neither: %v", list)
		}
	})
}

// A template with must, should, may and never below its headings becomes a profile; why stands below that.
func TestNewFromTable(t *testing.T) {
	var a Answers
	rows := [][]string{{"Number", "Date found", "Depth [cm]", "Value", "Notes"}, {"example", "2026-04-12", "18"},
		{"", "must", "should", "never"}, {"", "We sort by day"}}
	if err := FromTable(rows, &a); err != nil {
		t.Fatal(err)
	}
	a.Name, a.BasedOn, a.BaseSum = "Club of Thornmere", "bag", strings.Repeat("0", 64)
	raw, err := New(a)
	if err != nil {
		t.Fatal(err)
	}
	p, list := Parse("it", raw)
	if len(list) > 0 || p.ID != "club-of-thornmere" || len(p.Asks) != 3 {
		t.Fatalf("%v\n%s", list, raw)
	}
	if day := p.Asks[0]; day.Name != "day" || day.Strength != Must || day.Why["en"] != "We sort by day" {
		t.Errorf("the day: %+v", day)
	}
	if p.Asks[1].Ask.Any[0] != "/depth" || p.Asks[2].Strength != Never {
		t.Errorf("%+v %+v", p.Asks[1], p.Asks[2])
	}
	for _, rows := range [][][]string{{{"Number"}}, {{"Number"}, {"x"}}, {{"Whatsit"}, {"must"}}} {
		if err := FromTable(rows, new(Answers)); err == nil {
			t.Errorf("%v is taken", rows)
		}
	}
	for _, a := range []Answers{{Name: "x", Must: []string{"whatsit"}}, {Name: " ", Must: []string{"Finder"}}} {
		if raw, err := New(a); err == nil {
			t.Errorf("a heading that nobody knows, or a profile of nobody, is taken: %s", raw)
		}
	}
}

// Conditions in words say what the JSON says, there and back; what is not understood is told.
func TestWhenInWords(t *testing.T) {
	for text, want := range map[string]string{
		"Class is coin, token":                                   `Class is coin, token`,
		"count at least 5 and Material is silver":                `Count at least 5 and Material is silver`,
		"Picture not given or Picture given":                     `Picture not given or Picture given`,
		"Field is Long Furlong":                                  `Field is Long Furlong`,
		"Date found from 2026-01-01 to 2026-12-31":               `Date found from 2026-01-01 to 2026-12-31`,
		"Depth at most 20":                                       `Depth at most 20`,
		`{"not":{"member":"/count","given":true}}`:               `not (Count given)`,
		`/count at least 1 and /count at most 2 or /depth given`: `(Count at least 1 and Count at most 2) or Depth given`,
		"/identification/by given":                               `/identification/by given`,
		"Class is not coin, token":                               `Class is not coin, token`,
		"not (Picture given or not Class is coin)":               `not (Picture given or Class is not coin)`,
		"Material is gold and (Count given or Field is Furlong (east))": `Material is gold and (Count given or ` +
			`Field is Furlong (east))`,
		`{"member":"/count","atLeast":2,"atMost":5}`: `{"member":"/count","atLeast":2,"atMost":5}`,
	} {
		c, err := ParseWhen(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := WriteWhen(c); got != want {
			t.Errorf("%q is written %q, want %q", text, got, want)
		}
		if again, err := ParseWhen(WriteWhen(c)); err != nil || !same(c, again) {
			t.Errorf("%q does not come back: %v", text, err)
		}
		if len(c.say("en")) == 0 {
			t.Errorf("%q is not put in words", text)
		}
	}
	readme, err := os.ReadFile("../../examples/profiles/README.md")
	if err != nil {
		t.Fatal(err)
	}
	rows := regexp.MustCompile("(?m)^\\| .* \\| `(.*)` \\|$").FindAllSubmatch(readme, -1)
	for _, row := range rows {
		if c, err := ParseWhen(string(row[1])); err != nil || WriteWhen(c) != string(row[1]) {
			t.Errorf("examples/profiles/README.md: %s: %v, is written %q", row[1], err, WriteWhen(c))
		}
	}
	if len(rows) < 8 {
		t.Errorf("examples/profiles/README.md has %d conditions", len(rows))
	}
	for _, text := range []string{"whatsit is coin", "Class", "count at least five", "{", "not ", "Count given and ",
		"(Count given",
		strings.Repeat("(", 500) + "Count given" + strings.Repeat(")", 500)} {
		if _, err := ParseWhen(text); err == nil {
			t.Errorf("%q is taken", text)
		}
	}
}

// Cells that cannot be read are named.
func TestSheetsSayWhatIsWrong(t *testing.T) {
	if _, err := ReadSheet(bytes.NewReader([]byte("no workbook"))); err == nil {
		t.Error("a text is taken for a workbook")
	}
	for member, want := range map[string]string{"whatsit": `sheet "Asks", cell C3: "whatsit" is no heading`,
		"Finder": ""} {
		var book bytes.Buffer
		p, _ := Parse("it", []byte(ask(`{"name": "a", "strength": "may", "ask": {"any": ["`+member+`"]}}`)))
		p.Asks = []*Ask{{Name: "a", Strength: May, Ask: Wanted{Any: []string{member}}}}
		if err := WriteSheet(&book, p); err != nil {
			t.Fatal(err)
		}
		if _, err := ReadSheet(&book); (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s in the column of members: %v", member, err)
		}
	}
}

// A profile that is not meant for today says so; what it asks is said in words in the reports of examples/profiles.
func TestRemarks(t *testing.T) {
	e, _ := loadText(part(`"valid": {"from": "2026-01-01", "to": "2026-12-31"}`))
	for day, want := range map[string]int{"2025-12-31": 1, "2026-06-01": 0, "2027-01-01": 1} {
		if got := len(e.Remarks(day)); got != want {
			t.Errorf("%s: %d remarks", day, got)
		}
	}
}
