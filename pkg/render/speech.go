package render

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// Languages are those in which notices are reported, English first.
var languages = [...]string{"en", "de", "nl", "fr", "da", "sv"}

// Languages returns the languages in which notices are reported, English first.
func Languages() []string { return slices.Clone(languages[:]) }

// A speech is how one language puts things: schema/speech/<language>.json. Where it lacks something, English
// stands in.
type speech struct {
	Language string              `json:"language"`
	Frame    map[string][]string `json:"frame"`  // one text, or one for a single thing and one for several
	Months   []string            `json:"months"` // January first
	Codes    map[string]said     `json:"codes"`
	Checks   []check             `json:"checks"`
	// Facts are, by code and name, where an English message holds what every language must tell of it. Only English
	// has them.
	Facts   map[string]map[string]string `json:"facts"`
	english *speech
}

// said is how a notice of one code is put where several are told as one.
type said struct {
	Say string `json:"say"` // what it is about: a question where only the finder knows
	Do  string `json:"do"`  // the way out; "-": none is needed
	Own bool   `json:"own"` // a single notice of this code is better put in its own words, which are English
	One string `json:"one"` // in other languages, a single notice with the facts of its message
	// At is the way out where the notice is about one of these members.
	At map[string]string `json:"at"`
}

// check is something that rules could not look at, and what would allow it.
type check struct {
	Codes []string `json:"codes"`
	What  string   `json:"what"`
	Allow string   `json:"allow"`
}

// speeches reads each language once. They hang on nothing but the files of the schema.
var speeches = sync.OnceValue(func() map[string]*speech {
	out := map[string]*speech{}
	for _, language := range languages {
		text, _ := schema.Speech(language) // a test reads them
		var s speech
		_ = json.Unmarshal(text, &s)
		s.english = out["en"]
		out[language] = &s
	}
	return out
})

// speechOf returns the speech of a language, English if it is not known.
func speechOf(language string) *speech {
	if s := speeches()[language]; s != nil {
		return s
	}
	return speeches()["en"]
}

// Say fills a sentence of the frame in a language, English where there is none in it: pairs of names and values.
func Say(language, name string, pairs ...string) string {
	return speechOf(language).text(name, pairs...)
}

// SayMany does the same for n things, which the sentence names {n}.
func SayMany(language, name string, n int, pairs ...string) string {
	return speechOf(language).many(name, n, pairs...)
}

// text fills a text of the frame: pairs of names and values.
func (s *speech) text(name string, pairs ...string) string { return s.many(name, 2, pairs...) }

// many fills a text of the frame for n things, which it names {n}.
func (s *speech) many(name string, n int, pairs ...string) string {
	forms := s.Frame[name]
	if len(forms) == 0 && s.english != nil {
		forms = s.english.Frame[name]
	}
	if len(forms) == 0 {
		return name
	}
	form := forms[len(forms)-1]
	if n == 1 {
		form = forms[0]
	}
	return fill(form, append(pairs, "n", strconv.Itoa(n))...)
}

// fill puts values in the place of their names in braces.
func fill(text string, pairs ...string) string {
	if !strings.Contains(text, "{") {
		return text
	}
	for i := 0; i+1 < len(pairs); i += 2 {
		text = strings.ReplaceAll(text, "{"+pairs[i]+"}", pairs[i+1])
	}
	return text
}

// proposed puts the proposals of a notice, with how sure they are; empty where there is none.
func (s *speech) proposed(n *notice.Notice) string {
	if len(n.Proposals) == 0 {
		return ""
	}
	name := map[notice.Grade]string{notice.Certain: "surely", notice.Likely: "perhaps",
		notice.OnlyYou: "onlyYou"}[n.Grade()]
	return AsSentence(s.text(name, "text", Clean(strings.Join(n.Proposals, s.text("or")))))
}

// say is how a group is put: in the words of the language where it has some for the code, else in those of the
// first notice.
func (s *speech) say(g *notice.Group) (say, do string) {
	first := &g.Examples[0]
	own := s.Codes[g.Kind.Code]
	if s.english != nil {
		english := s.english.Codes[g.Kind.Code]
		own.Say, own.Do = cmp.Or(own.Say, english.Say), cmp.Or(own.Do, english.Do)
	}
	say, do = own.Say, cmp.Or(own.At[path.Base(first.Pointer)], own.Do)
	if say == "" || own.Own && g.Count == 1 && s.english == nil {
		say, do = first.Message, first.HelpText()
	}
	if own.One != "" && g.Count == 1 {
		pairs := factsOf(s.english.Facts[g.Kind.Code], first.Message)
		if one := fill(optional().ReplaceAllStringFunc(own.One, func(part string) string {
			if part = fill(part[1:len(part)-1], pairs...); strings.Contains(part, "{") {
				return ""
			}
			return part
		}), pairs...); !strings.Contains(one, "{") {
			say = one
		} else {
			say = first.Message // rather in English than without the facts
		}
	}
	switch {
	case do == "-":
		do = ""
	case g.Kind.Danger():
		do = fill(do, "number", numberToCall(first.Message))
	case g.Kind.Group == "law" && s.english != nil:
		if law := s.law(first.Message); law != "" {
			say = AsSentence(say) + " " + law
		}
	}
	return Clean(say), Clean(do)
}

// factsOf returns the facts of a message by their names, those that come several times in a list.
func factsOf(patterns map[string]string, message string) (pairs []string) {
	for name, pattern := range patterns {
		var found []string
		for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(message, -1) {
			if !slices.Contains(found, m[1]) {
				found = append(found, m[1])
			}
		}
		if len(found) > 0 {
			pairs = append(pairs, name, strings.Join(found, ", "))
		}
	}
	return pairs
}

// optional is what of a sentence is left out where a fact of it is missing.
var optional = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\[[^\]]*\]`) })

// SayCode is how a language puts what notices of a code say; empty where it has no words of its own for it.
func SayCode(language, code string) string {
	s := speechOf(language)
	if s.english == nil {
		return ""
	}
	return Clean(AsSentence(s.Codes[code].Say))
}

// day puts a day, a month or a year of a log.
func (s *speech) day(text string) string {
	year, rest, _ := strings.Cut(text, "-")
	month, day, _ := strings.Cut(rest, "-")
	at, err := strconv.Atoi(month)
	if err != nil || at < 1 || at > len(s.Months) {
		return year
	}
	if day == "" {
		return s.Months[at-1] + " " + year
	}
	return s.text("day", "d", s.inMonth(day), "month", s.Months[at-1], "y", year)
}

// inMonth is a day of a month; French has a form of its own for the first.
func (s *speech) inMonth(day string) string {
	if day == "01" && s.Language == "fr" {
		return "1er"
	}
	return strings.TrimPrefix(day, "0")
}

// colon stands between a name and what is said of it, in French behind a space.
func (s *speech) colon() string {
	if s.Language == "fr" {
		return " : "
	}
	return ": "
}

// span puts two days, with the year once where it is the same.
func (s *speech) span(first, last string) string {
	switch {
	case first == "" || first == last:
		return s.day(last)
	case len(first) == 10 && len(last) == 10 && first[:7] == last[:7]:
		return s.text("span", "first", s.inMonth(first[8:])+s.text("dot"), "last", s.day(last))
	case len(first) >= 7 && len(last) >= 7 && first[:4] == last[:4]:
		return s.text("span", "first", strings.TrimSuffix(s.day(first), " "+first[:4]), "last", s.day(last))
	}
	return s.text("span", "first", s.day(first), "last", s.day(last))
}

// findWords is what a page calls a find: the number on the bag; the id of one without a number says
// nothing to people.
func findWords(label string) string {
	if strings.HasPrefix(label, "urn:") {
		return "without a number"
	}
	return Clean(label)
}

func sortedCodes(m map[string]int) []string {
	out := make([]string, 0, len(m))
	for code := range m {
		out = append(out, code)
	}
	slices.Sort(out)
	return out
}

// Clean makes text from a file harmless on a terminal: control characters, escapes and characters
// that turn the direction of writing are shown as a replacement character, and so is what is no
// UTF-8.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t':
			return ' '
		case obeyed(r):
			return unicode.ReplacementChar
		}
		return r
	}, s)
}

// obeyed tells a character that a terminal obeys instead of showing it.
func obeyed(r rune) bool {
	return unicode.IsControl(r) || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == 0x200e ||
		r == 0x200f || r == 0x61c
}

// CleanJSON writes the characters of a JSON text that a terminal would obey as escapes. The text
// means the same. White space of JSON stays, and what is no UTF-8 becomes a replacement character.
func CleanJSON(text []byte) []byte {
	harmless := func(r rune) bool { return !obeyed(r) || r == '\n' || r == '\t' || r == '\r' }
	if bytes.IndexFunc(text, func(r rune) bool { return !harmless(r) || r == utf8.RuneError }) < 0 {
		return text
	}
	out := make([]byte, 0, len(text)+64)
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		if harmless(r) {
			out = utf8.AppendRune(out, r)
		} else {
			out = fmt.Appendf(out, `\u%04x`, r)
		}
		text = text[size:]
	}
	return out
}

//go:embed look.css
var lookText string

// Look is the style that all pages share, for a style element in their head.
func Look() template.CSS { return template.CSS(strings.TrimSpace(lookText)) } // our own file, nothing of the data

// SVG draws the plan with its legend for a page of another package, or nothing if there is none.
func (p *Plan) SVG(language string) template.HTML {
	s := speechOf(language)
	return p.draw(drawing{north: s.text("north"), unknown: s.text("notKnown")})
}

// Linked draws the plan for a page that has the rows of its finds: each sign leads to one. The legend is not drawn.
func (p *Plan) Linked(language string) template.HTML {
	s := speechOf(language)
	return p.draw(drawing{links: true, north: s.text("north"), unknown: s.text("notKnown")})
}
