package render

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
)

// unwanted are words that a finder should not have to read: of politeness that costs time, of blame, and of our
// own machinery.
var unwanted = regexp.MustCompile(`(?i)\b(please|sorry|valid|invalid|you forgot|oops|URIs?|members?|JSON|pointers?|schemas?|objects? class|boolean|bitte|ungültig|alstublieft|ongeldig|s'il vous plaît|invalide|venligst|ugyldig|vänligen|ogiltig)\b`)

// texts returns everything that a language says, by its place in the file.
func (s *speech) texts() map[string]string {
	out := map[string]string{}
	for name, forms := range s.Frame {
		for i, form := range forms {
			out["frame "+name+" "+string(rune('1'+i))] = form
		}
	}
	for code, own := range s.Codes {
		out[code+" say"], out[code+" do"] = own.Say, own.Do
	}
	for _, c := range s.Checks {
		out["what "+c.What], out["allow "+c.What] = c.What, c.Allow
	}
	return out
}

// Words are short, everyday, and of the finder.
func TestWordsAreEveryday(t *testing.T) {
	for _, language := range languages {
		for place, text := range speechOf(language).texts() {
			if found := unwanted.FindString(text); found != "" {
				t.Errorf("%s, %s: %q in %q", language, place, found, text)
			}
			if n := utf8.RuneCountInString(text); n > 160 && !strings.HasPrefix(place, "frame planCaption") &&
				!strings.HasPrefix(place, "frame markNote") {
				t.Errorf("%s, %s: %d letters", language, place, n)
			}
			if text != strings.TrimSpace(text) && !strings.HasPrefix(place, "frame or") && !strings.HasPrefix(place,
				"frame someFinds") {
				t.Errorf("%s, %s: space around %q", language, place, text)
			}
		}
	}
}

var holes = regexp.MustCompile(`\{[a-z]+\}`)

// Every language says all that English says, with the same holes to fill.
func TestLanguagesSayTheSame(t *testing.T) {
	english := speechOf("en")
	for _, language := range languages[1:] {
		s := speechOf(language)
		if s.Language != language || len(s.Months) != 12 {
			t.Fatalf("%s is of language %q and has %d months", language, s.Language, len(s.Months))
		}
		same := func(what string, a, b []string) {
			if d := cmp.Diff(a, b); d != "" {
				t.Errorf("%s, %s: %s", language, what, d)
			}
		}
		same("frame", slices.Sorted(maps.Keys(english.Frame)), slices.Sorted(maps.Keys(s.Frame)))
		for name, forms := range english.Frame {
			last := forms[len(forms)-1]
			other := s.Frame[name]
			same(name, slices.Sorted(slices.Values(holes.FindAllString(last, -1))),
				slices.Sorted(slices.Values(holes.FindAllString(other[len(other)-1], -1))))
		}
		for code, own := range english.Codes {
			if s.Codes[code].Say == "" || (own.Do == "-") != (s.Codes[code].Do == "-") {
				t.Errorf("%s does not say %s as English does", language, code)
			}
		}
		var a, b [][]string
		for i := range english.Checks {
			a, b = append(a, english.Checks[i].Codes), append(b, s.Checks[i].Codes)
		}
		if d := cmp.Diff(a, b); d != "" {
			t.Errorf("%s: %s", language, d)
		}
	}
	if n := len(english.Codes); n < 80 {
		t.Errorf("only %d codes are put in words", n)
	}
}

func TestDaysInWords(t *testing.T) {
	for _, c := range []struct{ language, first, last, want string }{
		{"en", "2026-02-07", "2026-03-22", "7 February to 22 March 2026"},
		{"en", "2026-02-07", "2026-02-22", "7 to 22 February 2026"},
		{"en", "2025-12-07", "2026-02-22", "7 December 2025 to 22 February 2026"},
		{"en", "2026-02-07", "2026-02-07", "7 February 2026"},
		{"en", "2019", "2026-02", "2019 to February 2026"},
		{"de", "2026-02-07", "2026-02-22", "7. bis 22. Februar 2026"},
		{"sv", "2026-02-07", "2026-03-22", "7 februari till 22 mars 2026"},
	} {
		if got := speechOf(c.language).span(c.first, c.last); got != c.want {
			t.Errorf("%s to %s: %q, want %q", c.first, c.last, got, c.want)
		}
	}
	var s Seen
	for _, date := range []string{"2026-03-22", "2026-02~", "", "19XX", "2026-21", "2025-12-30/2026-01-02", "../2020"} {
		s.Day(date)
	}
	if s.First != "2025-12-30" || s.Last != "2026-03-22" {
		t.Errorf("from %s to %s", s.First, s.Last)
	}
}
