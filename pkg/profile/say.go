package profile

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Say writes in words what a profile asks, in a language: a line each, indented by what it belongs to. With origins
// each ask says which profile it comes from.
func (e *Effective) Say(language string, origins bool) []string {
	s := &sayer{e: e, language: language}
	s.lines = append(s.lines, fmt.Sprintf("%s (%s)", s.text(e.Title), e.Label()))
	if e.Body != nil {
		s.line(1, "pWho", "text", join(". ", s.text(e.Body.Name), s.text(e.Body.Contact)))
	}
	s.line(1, "pFor", "text", s.text(e.Purpose))
	s.line(1, "pValid", "span", e.span(language))
	if c := e.Covers; c != nil {
		outline := ""
		if c.Area != nil {
			outline = render.Say(language, "pOutline")
		}
		s.line(1, "pCovers", "text", join(", ", span(language, c.From, c.To), outline, s.where(c.When)))
	}
	s.line(1, "pCountry", "text", e.Jurisdiction)
	s.line(1, "pBased", "text", strings.Join(e.Chain[1:], ", "))
	for _, strength := range []Strength{Must, Should, May, Never} {
		s.asks(strength, origins)
	}
	s.rest()
	return s.lines
}

// span is the days on which it is to be used.
func (e *Effective) span(language string) string {
	if e.Valid == nil {
		return ""
	}
	return span(language, e.Valid.From, e.Valid.To)
}

// When says on which days it is to be used.
func (e *Effective) When(language string) string {
	return render.Say(language, "pValid", "span", e.span(language))
}

type sayer struct {
	e        *Effective
	language string
	lines    []string
}

// line adds a sentence of the frame; one whose last value is empty is left out.
func (s *sayer) line(indent int, name string, pairs ...string) {
	if len(pairs) == 0 || pairs[len(pairs)-1] != "" {
		s.lines = append(s.lines, strings.Repeat("  ", indent)+render.Say(s.language, name, pairs...))
	}
}

func (s *sayer) text(t Text) string { return s.e.In(t, s.language) }

// where says of which finds; empty: of all.
func (s *sayer) where(c *Condition) string {
	if c == nil {
		return ""
	}
	return render.Say(s.language, "pWhere", "when", c.say(s.language))
}

func join(between string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(part string) bool { return part == "" }), between)
}

func span(language, from, to string) string {
	if from != "" {
		from = render.Say(language, "pFrom", "day", from)
	}
	if to != "" {
		to = render.Say(language, "pTo", "day", to)
	}
	return join(" ", from, to)
}

// asks tells the asks of one strength.
func (s *sayer) asks(strength Strength, origins bool) {
	first := true
	for _, a := range s.e.Asks {
		if a.Strength != strength || a.allowed { // rest says what they work with
			continue
		}
		if first && strength == Never {
			s.line(1, "unwanted")
		} else if first {
			s.line(1, "p"+string(strength))
		}
		first = false
		text := s.e.Called(a, s.language)
		if more := wanted(&a.Ask, s.language); more != text && more != "" {
			text += " (" + more + ")"
		}
		text = join(", ", strings.TrimRight(text, "."), s.where(a.When))
		if a.Share > 0 {
			text += ", " + render.Say(s.language, "pShare", "n", figureIn(s.language, a.Share))
		}
		if origins {
			text += " " + render.Say(s.language, "pOrigin", "name", a.Name, "from", a.From)
		}
		s.lines = append(s.lines, "    "+text)
		if a.leavesOut() {
			s.line(3, "dangerStays")
		}
		s.line(3, "pWhy", "text", s.text(a.Why))
		s.line(3, "whoKnows", "who", s.text(a.Who))
		s.line(3, "pHow", "text", s.text(a.How))
		s.line(3, "pExample", "text", s.text(a.Example))
	}
}

// wanted says what more is wanted of the members of an ask.
func wanted(w *Wanted, language string) string {
	var parts, names []string
	if slices.Contains(w.Any, "") {
		return ""
	}
	for _, pointer := range w.Any {
		names = append(names, MemberName(pointer, language))
	}
	parts = append(parts, strings.Join(names, " "+render.Say(language, "pOr")+" "))
	figure := func(name string, n *float64) {
		if n != nil && *n != 0 {
			parts = append(parts, render.Say(language, name, "n", figureIn(language, *n)))
		}
	}
	measure := func(name string, n *float64) {
		if n != nil && *n != 0 {
			parts = append(parts, render.Say(language, name, "n", measureIn(language, w.Any[0], *n)))
		}
	}
	pixels, figures := float64(w.Pixels), float64(w.Figures)
	figure("pWithin", &w.Within)
	measure("pLeast", w.AtLeast)
	most := "pMost"
	if strings.HasSuffix(w.Any[0], "/resolution") {
		most = "pPrecise" // a weight to 0.1 g
	}
	measure(most, w.AtMost)
	figure("pFigures", &figures)
	figure("pPixels", &pixels)
	if w.OneOf != nil {
		parts = append(parts, render.Say(language, "pOneOf", "text", codeNames(w.Any[0], w.OneOf, language)))
	}
	days := float64(w.Days)
	figure("pDays", &days)
	if w.Precision != "" {
		parts = append(parts, render.Say(language, "p"+w.Precision))
	}
	if w.Given {
		parts = append(parts, render.Say(language, "pGiven"))
	}
	text := strings.Join(parts, ", ")
	for i := range w.Or {
		text += "; " + render.Say(language, "pOr") + " " + wanted(&w.Or[i], language)
	}
	return text
}

// figureIn writes a number as a language does.
func figureIn(language string, f float64) string {
	if language == "en" {
		return number(f)
	}
	return strings.Replace(number(f), ".", ",", 1)
}

// measureIn writes a number of a member with the unit that it is in.
func measureIn(language, pointer string, f float64) string {
	return strings.TrimSpace(figureIn(language, f) + " " + unitOf(pointer))
}

// unitOf is the unit of the numbers of a member, empty where they have none.
func unitOf(pointer string) string {
	for _, f := range fields() {
		if f.Unit != "" && (f.Pointer == pointer || strings.TrimSuffix(f.Pointer, "/min") == pointer) {
			return f.Unit
		}
	}
	return ""
}

func number(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// MemberName is what a member is called in a template, in English where there is no template in that language, else
// its name.
func MemberName(pointer, language string) string {
	if year := map[string]string{"/dating/earliest": "pEarliest", "/dating/latest": "pLatest"}[pointer]; year != "" {
		return render.Say(language, year, "name", MemberName("/dating", language))
	}
	column := Column(pointer)
	label := cmp.Or(heading.Label(column, language), heading.Label(column, "en"))
	return cmp.Or(label, besideName(pointer, language), titles()[pointer],
		strings.ReplaceAll(strings.Trim(pointer, "/"), "/", " "))
}

// titles are what the schema calls members that have no column.
var titles = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for _, f := range fields() {
		out[f.Pointer] = f.Title
	}
	return out
})

// besideName is what a member of a permission or a person is called on their sheet of a template, empty where there is
// no column for it.
func besideName(pointer, language string) string {
	first, rest, _ := strings.Cut(strings.Trim(pointer, "/"), "/")
	part, name := map[string]string{"permission": "permissions", "finder": "people"}[first], strings.ReplaceAll(rest, "/",
		".")
	return cmp.Or(heading.LabelIn(part, name, language), heading.LabelIn(part, name, "en"))
}

// CodeNames are the labels of codes of what an ask asks for.
func (a *Ask) CodeNames(codes []string, language string) []string {
	return labels(a.Ask.Any[0], codes, language)
}

func codeNames(pointer string, codes []string, language string) string {
	return strings.Join(labels(pointer, codes, language), ", ")
}

// labels are those of codes and of groups of codes.
func labels(pointer string, codes []string, language string) (out []string) {
	m, _ := memberAt(pointer)
	scheme := vocabulary.Get(m.list)
	for _, code := range codes {
		if scheme != nil {
			if c, ok := scheme.Concept(code); ok {
				code = c.Label(language)
			} else if isGroup(scheme, code) {
				code = strings.ReplaceAll(code, "-", " ")
			}
		}
		out = append(out, code)
	}
	return out
}

// say puts a condition in words.
func (c *Condition) say(language string) string {
	return c.words(&wording{language, MemberName, codeNames, measureIn})
}

// wording is how members and codes are called in conditions that are put in words.
type wording struct {
	language string
	member   func(pointer, language string) string
	codes    func(pointer string, codes []string, language string) string
	measure  func(language, pointer string, f float64) string
}

// words puts a condition in words, in English in those that ParseWhen reads.
func (c *Condition) words(w *wording) string {
	say := func(frame string, pairs ...string) string {
		return render.Say(w.language, frame, append(pairs, "name", w.member(c.Member, w.language))...)
	}
	switch {
	case c.All != nil:
		return w.parts(c.All, "pAnd")
	case c.Any != nil:
		return w.parts(c.Any, "pOr")
	case c.Not != nil && c.Not.Is != nil:
		return render.Say(w.language, "pIsNot", "name", w.member(c.Not.Member, w.language), "text",
			w.codes(c.Not.Member, c.Not.Is, w.language))
	case c.Not != nil:
		return say("pNot", "text", c.Not.words(w))
	case c.Land != nil:
		return say("pLand", "text", strings.Join(c.Land, ", "))
	case c.Given != nil && *c.Given:
		return say("pIsGiven")
	case c.Given != nil:
		return say("pNotGiven")
	case c.Is != nil:
		return say("pIs", "text", w.codes(c.Member, c.Is, w.language))
	case c.Older != nil:
		return render.Say(w.language, "pOlder", "n", figureIn(w.language, *c.Older), "name",
			w.member(strings.TrimSuffix(c.Member, "/latest"), w.language))
	case c.AtLeast != nil && c.AtMost != nil:
		return say("pIsLeast", "n", w.measure(w.language, c.Member, *c.AtLeast)) + ", " + say("pIsMost", "n",
			w.measure(w.language, c.Member, *c.AtMost))
	case c.AtLeast != nil:
		return say("pIsLeast", "n", w.measure(w.language, c.Member, *c.AtLeast))
	case c.AtMost != nil:
		return say("pIsMost", "n", w.measure(w.language, c.Member, *c.AtMost))
	}
	return say("pIsSpan", "span", span(w.language, c.From, c.To))
}

// parts joins conditions by a word.
func (w *wording) parts(parts []*Condition, between string) string {
	var out []string
	for _, part := range parts {
		text := part.words(w)
		if part.All != nil || part.Any != nil {
			text = "(" + text + ")"
		}
		out = append(out, text)
	}
	return strings.Join(out, " "+render.Say(w.language, between)+" ")
}

// Needs are the members that the condition of an ask looks at, and those that it asks for: what may be unsure.
func (a *Ask) Needs() []string {
	out := a.When.members(nil)
	for _, pointer := range a.Ask.Members() {
		if !slices.Contains(out, pointer) {
			out = append(out, pointer)
		}
	}
	return out
}

// rest tells what is no ask.
func (s *sayer) rest() {
	for _, t := range s.e.Terms {
		for _, word := range slices.Sorted(maps.Keys(t.Words)) {
			s.line(1, "pWord", "word", strconv.Quote(word), "text", codeNames(t.Member, []string{t.Words[word]}, s.language))
		}
		for _, code := range slices.Sorted(maps.Keys(t.Preferred)) {
			s.line(1, "pPreferred", "text", strconv.Quote(t.Preferred[code]), "code",
				codeNames(t.Member, []string{code}, s.language))
		}
		if t.Allowed != nil {
			s.line(1, "pAllowed", "name", MemberName(t.Member, s.language), "text",
				codeNames(t.Member, t.Allowed, s.language))
		}
	}
	for _, p := range s.e.Periods {
		s.line(1, "pPeriod", "word", strconv.Quote(p.Word), "from", strconv.Itoa(p.From), "to", strconv.Itoa(p.To))
	}
	for _, text := range slices.Sorted(maps.Keys(s.e.Headings)) {
		s.line(1, "pHeading", "word", strconv.Quote(text), "text",
			cmp.Or(heading.Label(s.e.Headings[text], s.language), s.e.Headings[text]))
	}
	for _, r := range s.e.Rules {
		s.line(1, "pRule", "name", r.Rule, "set", r.Set, "text", s.text(r.Reason))
	}
	for _, x := range s.e.Settings {
		s.line(1, "pFigure", "name", x.Setting, "set", string(x.Value), "text", s.text(x.Reason))
	}
	for _, w := range s.e.Waivers {
		s.line(1, "pWaived", "name", join(", ", w.Ask, s.where(w.When)), "by", w.By, "day",
			join(", ", w.On, span(s.language, "", w.Until)), "text", s.text(w.Reason))
	}
	for i, p := range s.e.Promises {
		if i == 0 {
			s.line(1, "pPromise")
		}
		s.lines = append(s.lines, "    "+s.text(p))
	}
	said := ""
	for _, theirs := range []string{"askYou", "pQuestions"} {
		for _, q := range s.e.Questions {
			if (len(q.Answer) == 0) != (theirs == "askYou") {
				continue
			}
			if said != theirs {
				s.line(1, theirs)
				said = theirs
			}
			s.lines = append(s.lines, "    "+s.text(q.Question))
			if len(q.Answer) > 0 {
				s.lines = append(s.lines, "      "+s.text(q.Answer))
			}
		}
	}
}
