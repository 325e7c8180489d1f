package profile

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// MemberOf returns the pointer of a member that people name: by its pointer, or by the heading of its column. It is
// empty where none is known.
func MemberOf(text string) string {
	text = strings.TrimSpace(text)
	if strings.HasPrefix(text, "/") {
		return text
	}
	if pointer, ok := ownNames()[fold(text)]; ok {
		return pointer // empty: two members have it
	}
	name := heading.Understand(text).Field
	switch name {
	case "":
		return ""
	case "found.date", "found.verbatim":
		return "/found/date"
	case "position.verbatim", heading.Easting, heading.Northing:
		return "/position"
	case "dating.verbatim", "dating.date":
		return "/dating"
	}
	at := strings.Split(find.PointerOf(name), "/")
	at = slices.DeleteFunc(at, func(token string) bool { return token != "" && token[0] >= '0' && token[0] <= '9' })
	pointer := strings.Join(at, "/")
	if _, ok := memberAt(pointer); !ok {
		return ""
	}
	if pointer == "/media/file" {
		return "/media"
	}
	return pointer
}

// ownNames are the names of members that are no headings of a sheet of finds, in every language: those of a sheet
// beside it, and of years. One that a heading has too, or two members, has none.
var ownNames = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for _, pointer := range allMembers() {
		first, rest, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
		year := pointer == "/dating/earliest" || pointer == "/dating/latest"
		for _, language := range render.Languages() {
			name := fold(MemberName(pointer, language))
			other, known := out[name]
			switch {
			case !year && (rest == "" || !isBeside(first) || besideName(pointer, language) == ""):
			case known && other != pointer, !year && labelled(name):
				out[name] = ""
			default:
				out[name] = pointer
			}
		}
	}
	return out
})

// twice reports whether a name is that of more than one member.
func twice(name string) bool {
	pointer, ok := ownNames()[fold(name)]
	return ok && pointer == ""
}

// labelled reports whether a name is what the column of a member of a find is called, by reading or in a template.
func labelled(name string) bool {
	field := heading.Understand(name).Field
	return field != "" && !strings.HasPrefix(field, "depth.") // the greatest depth of a permission is none of a find
}

// NamedBy is what a member is called in a language where a condition or a workbook understands that, else its pointer.
func NamedBy(pointer, language string) string {
	if pointer == "" {
		return wholeFind
	}
	if name := MemberName(pointer, language); MemberOf(name) == pointer {
		return name
	}
	return pointer
}

// wholeFind is how a workbook names the whole find.
const wholeFind = "the whole find"

// namedMember is MemberOf with what stands in brackets: a unit, or words that say which member is meant. Brackets that
// say neither are an error.
func namedMember(text string) (pointer string, unit quantity.Unit, err error) {
	if fold(text) == wholeFind {
		return "", 0, nil
	}
	pointer = MemberOf(text)
	outer, inner, ok := strings.Cut(text, "(")
	switch {
	case pointer == "" && fold(text) != "" && twice(text):
		return "", 0, fmt.Errorf("%.40q is what more than one member is called: name one as findslip profile --members does",
			strings.TrimSpace(text))
	case pointer == "" || strings.Count(text, "(") != strings.Count(text, ")"):
		return "", 0, fmt.Errorf("%.40q is no heading and no member that is known", strings.TrimSpace(text))
	case !ok || MemberOf(outer) != pointer || slices.ContainsFunc(render.Languages(), func(language string) bool {
		return fold(MemberName(pointer, language)) == fold(text)
	}):
		return pointer, 0, nil
	}
	if unit, ok = quantity.UnitOfHeading(text); !ok {
		return "", 0, fmt.Errorf("what stands in brackets in %.40q, %.20q, is no unit and no part of it that is known; "+
			"leave it out, or take a name that findslip profile --members lists",
			strings.TrimSpace(text), "("+strings.TrimSpace(inner))
	}
	return pointer, unit, nil
}

// boundOf reads a number, with the unit that stands behind it or is that of its heading, in the unit of the member.
func boundOf(text string, unit quantity.Unit, pointer string) (float64, error) {
	plain := text
	if _, decimals, ok := strings.Cut(text, ","); ok && len(decimals) != 3 { // of three it may be a thousand
		plain = strings.Replace(text, ",", ".", 1)
	}
	n, err := strconv.ParseFloat(plain, 64)
	switch {
	case err == nil && unit == quantity.NoUnit:
		return n, nil
	case err == nil:
		text += " " + unit.String()
	}
	into, wrong := quantity.ParseUnit(unitOf(pointer))
	read := quantity.NormaliseLength
	if into.Dimension() == quantity.Mass {
		read = quantity.NormaliseMass
	}
	r, failed := read(text, quantity.Options{Into: into})
	if wrong != nil || failed != nil || err != nil && unit != quantity.NoUnit || !r.Single() || len(r.Notes) > 0 {
		return 0, fmt.Errorf("%.40q is no number, or has no unit that fits", text)
	}
	return r.Min.Value.Float(), nil
}

// ParseWhen reads a condition as an officer writes it into a cell:
//
//	Class is coin, token
//	Count at least 5 and Material is not silver
//	Field is Long Furlong, Church Field
//	Date found from 2026-01-01 to 2026-12-31
//	not (Picture given or Class is coin)
//
// or in the words of another language, as findslip profile says it. Several are joined by and, or by or; and binds
// closer, and brackets closer still. A cell that begins with { is JSON.
func ParseWhen(text string) (c *Condition, err error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return nil, nil
	case text[0] == '{':
		c = new(Condition)
		if err := json.Unmarshal([]byte(text), c, json.RejectUnknownMembers(true)); err != nil {
			return nil, fmt.Errorf("the condition %.60q is no JSON of a condition", text)
		}
		return c, nil
	}
	for _, t := range tongues() {
		one, wrong := t.parse(text, mostDeep)
		if wrong == nil && (c == nil || one.free() < c.free()) { // one has words where another has a test
			c = one
		} else if wrong != nil && (err == nil || errors.Is(err, errForm) && !errors.Is(wrong, errForm)) {
			err = wrong
		}
	}
	if c != nil {
		return c, nil
	}
	return nil, err
}

// free is how much of a condition is words that may be any.
func (c *Condition) free() (n int) {
	if c == nil {
		return 0
	}
	for _, part := range c.parts() {
		n += part.free()
	}
	return n + len(strings.Join(c.Is, "")) + len(strings.Join(c.Land, ""))
}

var errForm = errors.New("write it as Class is coin, or Count at least 5")

// A tongue has the words of conditions in one language: those that join, and for each test its form.
type tongue struct {
	and, or, not string
	tests        []form
}

// form is how a test is said; of its patterns the second takes a name that is as short as can be.
type form struct {
	name     string
	patterns [2]*regexp.Regexp
}

// tongues are made of the frames in which conditions are said.
var tongues = sync.OnceValue(func() (out []tongue) {
	for _, language := range render.Languages() {
		said := func(name string) string {
			return regexp.QuoteMeta(render.Say(language, name, "name", "\x00", "text", "\x01", "n", "\x01", "day", "\x02"))
		}
		not, _, _ := strings.Cut(render.Say(language, "pNot"), "(")
		t := tongue{" " + render.Say(language, "pAnd") + " ", " " + render.Say(language, "pOr") + " ", not, nil}
		for name := range strings.FieldsSeq("pNotGiven pIsGiven pOlder pIsLeast pIsMost pLand pIsNot pIs span") {
			text := said(name)
			switch name {
			case "pOlder":
				text = regexp.MustCompile("\x01(.*)$").ReplaceAllString(text, "\x01(${1})?")
			case "span":
				text = "\x00(?: " + said("pFrom") + ")?(?: " + said("pTo") + ")?"
			}
			text = "^" + strings.NewReplacer("\x01", "(.+?)", "\x02", `(\d\S*)`).Replace(text) + "$"
			t.tests = append(t.tests, form{name, [2]*regexp.Regexp{
				regexp.MustCompile(strings.Replace(text, "\x00", "(.+)", 1)),
				regexp.MustCompile(strings.Replace(text, "\x00", "(.+?)", 1))}})
		}
		out = append(out, t)
	}
	return out
})

// parse reads a condition in words, so many deep.
func (t *tongue) parse(text string, deep int) (*Condition, error) {
	var c Condition
	if text = strings.TrimSpace(text); text == "" || deep == 0 {
		return nil, fmt.Errorf("a condition lacks a part beside and, or, not or a bracket, or its brackets are nested more "+
			"than %d deep", mostDeep)
	}
	for _, join := range []struct {
		word string
		to   *[]*Condition
	}{{t.or, &c.Any}, {t.and, &c.All}} {
		parts := cutOutside(text, join.word)
		if len(parts) == 1 {
			continue
		}
		if join.to == &c.Any && len(cutOutside(text, t.and)) > 1 {
			return nil, fmt.Errorf("the condition %.60q has%sbeside%[3]s: put brackets around what belongs together", text,
				t.and, strings.TrimSuffix(t.or, " "))
		}
		for _, part := range parts {
			one, err := t.parse(part, deep-1)
			if err != nil {
				return nil, err
			}
			*join.to = append(*join.to, one)
		}
		return &c, nil
	}
	if rest, ok := strings.CutPrefix(text, t.not); ok {
		one, err := t.parse(rest, deep-1)
		return &Condition{Not: one}, err
	}
	if text[0] == '(' && text[len(text)-1] == ')' {
		return t.parse(text[1:len(text)-1], deep-1)
	}
	return t.test(text)
}

// cutOutside cuts a text at a word that stands in no brackets.
func cutOutside(text, word string) (parts []string) {
	open, from := 0, 0
	for i := range len(text) {
		switch text[i] {
		case '(':
			open++
		case ')':
			open--
		}
		if open == 0 && i >= from && strings.HasPrefix(text[i:], word) {
			parts = append(parts, text[from:i])
			from = i + len(word)
		}
	}
	return append(parts, text[from:])
}

// test reads a condition on one member.
func (t *tongue) test(text string) (*Condition, error) {
	err := fmt.Errorf("the condition %.60q is not understood: %w", text, errForm)
	for _, form := range t.tests {
		for _, pattern := range form.patterns {
			at := pattern.FindStringSubmatch(text)
			if at == nil {
				continue
			}
			c, wrong := conditionOf(form.name, text, at[1:])
			if wrong == nil {
				return c, nil
			}
			err = wrong
		}
		if !errors.Is(err, errForm) {
			return nil, err
		}
	}
	return nil, err
}

// conditionOf makes a test of its parts: the name of the member, and what it is held against.
func conditionOf(form, text string, at []string) (*Condition, error) {
	switch {
	case form == "pLand":
		return &Condition{Land: listOf(at[0])}, nil
	case form == "span" && at[1]+at[2] == "":
		return nil, fmt.Errorf("the condition %.60q is not understood: %w", text, errForm)
	}
	pointer, unit, err := namedMember(at[0])
	if err != nil {
		return nil, fmt.Errorf("the condition %.60q names no member that is known: %w", text, err)
	}
	c := &Condition{Member: pointer}
	given := form == "pIsGiven"
	switch form {
	case "pIsGiven", "pNotGiven":
		c.Given = &given
	case "span":
		c.From, c.To = at[1], at[2]
	case "pIs", "pIsNot":
		if c.Is = codesOf(pointer, listOf(at[1])); pointer == "/permission" || pointer == "/place/name" {
			c.Land, c.Is, c.Member = c.Is, nil, ""
		}
		if form == "pIsNot" {
			c = &Condition{Not: c}
		}
	default:
		n, err := boundOf(at[1], unit, pointer)
		switch {
		case err != nil:
			return nil, fmt.Errorf("the condition %.60q is not understood: %w", text, err)
		case form == "pIsLeast":
			c.AtLeast = &n
		case form == "pIsMost":
			c.AtMost = &n
		case at[2] == "" && len(at[1]) == 4:
			return nil, fmt.Errorf("the condition %.60q may mean %[2]s years or the year %[2]s: write older than %[2]s "+
				"years, or Dating (latest year) at most %[2]s", text, at[1])
		default:
			if c.Older = &n; pointer == "/dating" {
				c.Member = "/dating/latest"
			}
		}
	}
	return c, nil
}

// codesOf are the codes that words of a list stand for; what it does not know stays.
func codesOf(pointer string, words []string) []string {
	m, _ := memberAt(pointer)
	scheme := vocabulary.Get(m.list)
	for i, word := range words {
		if scheme == nil || scheme.Has(word) || isGroup(scheme, word) || vocabulary.IsLocal(word) {
			continue
		}
		if found, ok := scheme.Match(word); ok && found.Certainty == "" {
			words[i] = found.Code
		}
	}
	return words
}

// listOf cuts a list at its commas.
func listOf(text string) (out []string) {
	for item := range strings.SplitSeq(text, ",") {
		if item = strings.TrimSpace(item); item != "" {
			out = append(out, item)
		}
	}
	return out
}

// WriteWhen writes a condition in a language as ParseWhen reads it.
func WriteWhen(c *Condition, language string) string {
	if c == nil {
		return ""
	}
	codes := func(_ string, codes []string, _ string) string { return strings.Join(codes, ", ") }
	for _, named := range []func(string, []string, string) string{codeNames, codes} {
		text := c.words(&wording{language, NamedBy, named, func(_, _ string, f float64) string { return number(f) }})
		if again, err := ParseWhen(text); err == nil && text != "" && same(c, again) {
			return text
		}
	}
	raw, _ := json.Marshal(c, json.Deterministic(true))
	return string(raw)
}

func same(a, b *Condition) bool {
	x, _ := json.Marshal(a, json.Deterministic(true))
	y, _ := json.Marshal(b, json.Deterministic(true))
	return string(x) == string(y)
}
