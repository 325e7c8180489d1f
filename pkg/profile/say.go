package profile

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Say writes in words what a profile asks, in a language: a line each, indented by what it belongs to. With origins
// each ask says which profile it comes from.
func (e *Effective) Say(language string, origins bool) []string {
	s := &sayer{e: e, language: language}
	s.line(0, "%s (%s)", s.text(e.Title), e.Label())
	if e.Body != nil {
		s.line(1, "Who asks: %s", join(". ", s.text(e.Body.Name), s.text(e.Body.Contact)))
	}
	if text := s.text(e.Purpose); text != "" {
		s.line(1, "What for: %s", text)
	}
	if v := e.Valid; v != nil {
		s.line(1, "To be used %s", span(v.From, v.To))
	}
	if c := e.Covers; c != nil {
		s.line(1, "About finds %s%s", span(c.From, c.To), map[bool]string{true: " within their outline"}[c.Area != nil])
	}
	if e.Jurisdiction != "" {
		s.line(1, "Where a log names no country: %s", e.Jurisdiction)
	}
	if len(e.Chain) > 1 {
		s.line(1, "Based on: %s", strings.Join(e.Chain[1:], ", then "))
	}
	for _, strength := range []Strength{Must, Should, May, Never} {
		s.asks(strength, origins)
	}
	s.rest()
	return s.lines
}

// headings of what is asked, by strength.
var strengthWords = map[Strength]string{Must: "They need:", Should: "They would like:", May: "Welcome too:",
	Never: "They do not want, and a copy made for them leaves out:"}

type sayer struct {
	e        *Effective
	language string
	lines    []string
}

func (s *sayer) line(indent int, format string, args ...any) {
	s.lines = append(s.lines, strings.Repeat("  ", indent)+strings.TrimSpace(fmt.Sprintf(format, args...)))
}

func (s *sayer) text(t Text) string { return s.e.In(t, s.language) }

func join(between string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, between)
}

func span(from, to string) string {
	return join(" ", map[bool]string{true: "from " + from}[from != ""], map[bool]string{true: "to " + to}[to != ""])
}

// asks tells the asks of one strength.
func (s *sayer) asks(strength Strength, origins bool) {
	first := true
	for _, a := range s.e.Asks {
		if a.Strength != strength {
			continue
		}
		if first {
			s.line(1, "%s", strengthWords[strength])
			first = false
		}
		text := s.e.Called(a, s.language)
		if more := wanted(&a.Ask, s.language); more != "" {
			text += " (" + more + ")"
		}
		if a.When != nil {
			text += ", of finds " + a.When.say(s.language)
		}
		if origins {
			text += " [" + a.Name + ", from " + a.From + "]"
		}
		s.line(2, "%s", text)
		for _, part := range []struct {
			name string
			text Text
		}{{"Why", a.Why}, {"Who knows", a.Who}, {"How", a.How}, {"Example", a.Example}} {
			if words := s.text(part.text); words != "" {
				s.line(3, "%s: %s", part.name, words)
			}
		}
	}
}

// wanted says what more is wanted of the members of an ask.
func wanted(w *Wanted, language string) string {
	var parts, names []string
	for _, pointer := range w.Any {
		names = append(names, MemberName(pointer, language))
	}
	parts = append(parts, strings.Join(names, " or "))
	if w.Within > 0 {
		parts = append(parts, "known to "+number(w.Within)+" m")
	}
	if w.AtLeast != nil {
		parts = append(parts, "at least "+number(*w.AtLeast))
	}
	if w.AtMost != nil {
		parts = append(parts, "at most "+number(*w.AtMost))
	}
	if w.OneOf != nil {
		parts = append(parts, "one of "+codeNames(w.Any[0], w.OneOf, language))
	}
	if w.Given {
		parts = append(parts, "a reason why it is missing does not do")
	}
	if w.Pixels > 0 {
		parts = append(parts, fmt.Sprintf("at least %d pixels across", w.Pixels))
	}
	return strings.Join(parts, ", ")
}

func number(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// MemberName is what a member is called in a template, in English where there is no template in that language, else
// its name.
func MemberName(pointer, language string) string {
	column := Column(pointer)
	label := cmp.Or(heading.Label(column, language), heading.Label(column, "en"))
	if first, rest, ok := strings.Cut(strings.Trim(pointer, "/"), "/"); ok && label == "" && beside[first] != nil {
		part := map[string]string{"permission": "permissions", "finder": "people"}[first]
		name := strings.ReplaceAll(rest, "/", ".")
		label = cmp.Or(heading.LabelIn(part, name, language), heading.LabelIn(part, name, "en"))
	}
	return cmp.Or(label, strings.ReplaceAll(strings.Trim(pointer, "/"), "/", " "))
}

// codeNames are the labels of codes.
func codeNames(pointer string, codes []string, language string) string {
	m, _ := memberAt(pointer)
	scheme := vocabulary.Get(m.list)
	var out []string
	for _, code := range codes {
		label := code
		if scheme != nil {
			if c, ok := scheme.Concept(code); ok {
				label = c.Label(language)
			}
		}
		out = append(out, label)
	}
	return strings.Join(out, ", ")
}

// say puts a condition in words, to stand behind "finds".
func (c *Condition) say(language string) string {
	name := "whose " + MemberName(c.Member, language)
	switch {
	case c.All != nil:
		return sayParts(c.All, " and ", language)
	case c.Any != nil:
		return sayParts(c.Any, " or ", language)
	case c.Not != nil:
		return "not (" + c.Not.say(language) + ")"
	case c.Land != nil:
		return "from " + strings.Join(c.Land, " or ")
	case c.Given != nil && *c.Given:
		return name + " is given"
	case c.Given != nil:
		return name + " is not given"
	case c.Is != nil:
		return name + " is " + codeNames(c.Member, c.Is, language)
	case c.Older != nil:
		return name + " is at least " + number(*c.Older) + " years old"
	case c.AtLeast != nil && c.AtMost != nil:
		return name + " is " + number(*c.AtLeast) + " to " + number(*c.AtMost)
	case c.AtLeast != nil:
		return name + " is at least " + number(*c.AtLeast)
	case c.AtMost != nil:
		return name + " is at most " + number(*c.AtMost)
	}
	return name + " is " + span(c.From, c.To)
}

// Needs are the members that the condition of an ask looks at, and those that it asks for: what may be unsure.
func (a *Ask) Needs() []string {
	out := a.When.members(nil)
	for _, pointer := range a.Ask.Any {
		if !slices.Contains(out, pointer) {
			out = append(out, pointer)
		}
	}
	return out
}

func sayParts(parts []*Condition, between, language string) string {
	var out []string
	for _, part := range parts {
		text := part.say(language)
		if part.All != nil || part.Any != nil {
			text = "(" + text + ")"
		}
		out = append(out, text)
	}
	return strings.Join(out, between)
}

// rest tells what is no ask.
func (s *sayer) rest() {
	for _, t := range s.e.Terms {
		for _, word := range sortedKeys(t.Words) {
			s.line(1, "%q is read as %s", word, codeNames(t.Member, []string{t.Words[word]}, s.language))
		}
		if t.Allowed != nil {
			s.line(1, "%s: they work with %s", MemberName(t.Member, s.language), codeNames(t.Member, t.Allowed, s.language))
		}
	}
	for _, text := range sortedKeys(s.e.Headings) {
		s.line(1, "The heading %q is read as %s", text,
			cmp.Or(heading.Label(s.e.Headings[text], s.language), s.e.Headings[text]))
	}
	for _, r := range s.e.Rules {
		s.line(1, "The rule %s is set to %s: %s", r.Rule, r.Set, s.text(r.Reason))
	}
	for _, x := range s.e.Settings {
		s.line(1, "The figure %s is %s: %s", x.Setting, x.Value, s.text(x.Reason))
	}
	for _, w := range s.e.Waivers {
		when := ""
		if w.When != nil {
			when = " for finds " + w.When.say(s.language)
		}
		s.line(1, "Waived: %s%s, by %s on %s%s: %s", w.Ask, when, w.By, w.On,
			map[bool]string{true: ", until " + w.Until}[w.Until != ""], s.text(w.Reason))
	}
	for i, p := range s.e.Promises {
		if i == 0 {
			s.line(1, "They promise:")
		}
		s.line(2, "%s", s.text(p))
	}
	for i, q := range s.e.Questions {
		if i == 0 {
			s.line(1, "What people ask them:")
		}
		s.line(2, "%s", s.text(q.Question))
		s.line(3, "%s", s.text(q.Answer))
	}
}
