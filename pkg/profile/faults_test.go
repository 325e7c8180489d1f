package profile

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/notice"
)

const whole = `{
 "findslipProfile": "1", "id": "thornmere", "version": "1", "title": {"en": "Recorder of Thornmere"},
 "asks": [
  {"name": "day", "strength": "must", "ask": {"any": ["/found/date"]}},
  REST
  {"name": "finder", "strength": "should", "ask": {"any": ["/finder"]}}]
}`

// loadText reads a profile.
func loadText(text string) (*Effective, notice.List) {
	known := Known{
		Rule: func(code string) Standing {
			return map[string]Standing{"thing-spare": Changeable, "ordnance-possible": Fixed}[code]
		},
	}
	e, list, _ := Load("it.findslip-profile.json", func(name string) ([]byte, error) {
		if name == "it.findslip-profile.json" {
			return []byte(text), nil
		}
		return nil, errors.New("not there")
	}, known)
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
		{"no JSON", "{", "profile-shape"},
		{"a heading that is known", part(`"headings": {"Number": "name"}`), "profile-idle"},
		{"a word that is known", part(`"terms": [{"member": "/materials", "words": {"gold": "silver"}}]`), "profile-idle"},
		{"a word for what is not allowed",
			part(`"terms": [{"member": "/materials", "allowed": ["gold"], "words": {"glimmer": "tin"}}]`), "profile-idle"},
		{"a language that no text has", part(`"languages": ["en", "cy"]`), "profile-language"},
		{"texts in a language that is not named", part(`"purpose": {"en": "p", "cy": "p"}`), "profile-language"},
		{"untold where blank", a(`"when": {"member": "/weight", "atLeast": 1}, "ask": {"any": ["/count"]}`),
			"profile-untold"},
		{"no such code", a(`"ask": {"any": ["/objectClass"], "oneOf": ["coyn"]}`), "profile-term-unknown"},
		{"no column", a(`"ask": {"any": ["/custody"]}`), "profile-no-column"},
		{"nothing between", a(`"ask": {"any": ["/media"], "atLeast": 3, "atMost": 2}`), "profile-impossible"},
		{"exact without why", a(`"ask": {"any": ["/position/longitude"], "within": 10}`), "profile-why"},
		{"opinion off", part(`"rules": [{"rule": "thing-spare", "set": "off", "reason": {"en": "r"}}]`), ""},
		{"link", part(`"purpose": {"en": "see https://example.org"}`), "profile-text"},
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
