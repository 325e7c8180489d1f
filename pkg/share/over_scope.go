package share

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
)

// A scope is which finds a text is about: those of the numbers that it names, or all where it names them in a way that
// cannot be followed to the end - an exception, an open end, a number that no find has.
type scope struct {
	numbers []string // folded; empty and not all: it names none
	all     bool
	known   bool // one of the numbers is that of a find
}

// A token of a text is a number, or a word or a sign between words, folded.
type token struct {
	text   string
	number bool
}

// tokenForm is a number with what hangs on it, a word, or a sign that parts or joins numbers.
var tokenForm = later(`\d+\p{L}*|[\p{L}\p{M}]+|[-–—‒,&+/#№]`)

func tokensOf(text string) (out []token) {
	for _, word := range tokenForm().FindAllString(text, -1) {
		switch {
		case word[0] >= '0' && word[0] <= '9':
			out = append(out, token{find.FoldNumber(word), true})
		case strings.Contains("-–—‒", word):
			out = append(out, token{"-", false})
		case strings.Contains(",&+/", word):
			out = append(out, token{",", false})
		case word == "#" || word == "№":
			out = append(out, token{"#", false})
		default:
			out = append(out, token{keyOf(word), false})
		}
	}
	return out
}

// is reports whether a token is a word of a list.
func (t token) is(list string) bool {
	return !t.number && wordLists()[list].at(phrase{t.text}, 0) > 0
}

// scopeOf reads which finds of those that are known a text names: numbers behind a word for a number, a bag or a find,
// one after the other or from one to another.
func scopeOf(text string, known map[string]bool) (s scope) {
	tokens := tokensOf(text)
	for i := 0; i < len(tokens); i++ {
		if i+1 >= len(tokens) || !tokens[i+1].number || !tokens[i].is("numberLeads") && tokens[i].text != "#" {
			continue
		}
		from := i
		i = s.list(tokens, i+1, known)
		s.all = s.all || openEnd(tokens, from, i)
	}
	if len(s.numbers) > 0 || s.all {
		s.all = s.all || phraseOf(text).speaks("exceptions")
	}
	s.tidy()
	return s
}

// bareScope is scopeOf for a text that begins with a list or a range of known numbers and has no word for a number.
// A single figure counts or measures, but for one of which all others are told apart.
func bareScope(text string, known map[string]bool) (s scope) {
	tokens, p := tokensOf(text), phraseOf(text)
	for i := range min(len(tokens), 4) {
		if !tokens[i].number {
			continue
		}
		end, from := s.list(tokens, i, known), strings.HasSuffix(tokens[i].text, "ff")
		if end == i && !from && !openEnd(tokens, i, end) || s.all && !from {
			s = scope{}
		} else {
			s.all = s.all || openEnd(tokens, i, end) || p.speaks("exceptions")
		}
		break
	}
	if p.speaks("allBut") && slices.ContainsFunc(tokens, func(t token) bool { return t.number && known[t.text] }) {
		s.all, s.known = true, true
	}
	s.tidy()
	return s
}

func (s *scope) tidy() {
	slices.Sort(s.numbers)
	s.numbers = slices.Compact(s.numbers)
}

// list reads the numbers of a list from a token on, and returns where it ends.
func (s *scope) list(tokens []token, i int, known map[string]bool) int {
	last, range_ := "", false
	for i < len(tokens) {
		if n, glued := strings.CutSuffix(tokens[i].text, "ff"); glued && known[n] {
			s.all = true
		}
		number := tokens[i].text
		s.all = s.all || !known[number]
		s.known = s.known || known[number]
		s.numbers = append(s.numbers, number)
		if range_ {
			s.between(last, number, known)
		}
		last = number
		next := i + 1
		range_ = false
		for next < len(tokens) && !tokens[next].number &&
			(tokens[next].text == "," || tokens[next].is("numberJoins") || tokens[next].is("numberRanges") ||
				tokens[next].text == "-" || tokens[next].is("numberLeads") || tokens[next].text == "#") {
			range_ = range_ || tokens[next].text == "-" || tokens[next].is("numberRanges")
			next++
		}
		if next == i+1 || next >= len(tokens) || !tokens[next].number {
			return i
		}
		i = next
	}
	return i
}

// between adds the numbers from one to another.
func (s *scope) between(from, to string, known map[string]bool) {
	first, err1 := strconv.Atoi(from)
	last, err2 := strconv.Atoi(to)
	if err1 != nil || err2 != nil || first > last {
		s.all = true
		return
	}
	for number := range known {
		if n, err := strconv.Atoi(strings.TrimRightFunc(number, unicode.IsLetter)); err == nil && n > first && n < last {
			s.numbers = append(s.numbers, number)
		}
	}
}

// openEnd reports whether the numbers between two tokens are where something begins or ends: from no 5, 5 ff.
func openEnd(tokens []token, from, to int) bool {
	for _, t := range tokens[max(0, from-2):from] {
		if t.is("openBefore") {
			return true
		}
	}
	return to+1 < len(tokens) && tokens[to+1].is("openBehind") ||
		to+2 < len(tokens) && tokens[to+1].is("numberJoins") && tokens[to+2].is("openBehind")
}

// A hint is a text in the row of one find that names others by their numbers, and may say of them too that they are to
// be kept back.
type hint struct {
	at   int // place of the find that says it
	text string
	of   phrase
}

// hints are those of a find. A bare figure names a find only where something is to be kept back.
func (s *said) hints(at int) (out []hint) {
	for i, text := range s.texts {
		p := s.all[i]
		beside := p.speaks("nextOnes") || p.speaks("aboveOnes")
		if !beside && !strings.ContainsAny(text, "0123456789") {
			continue
		}
		if p.speaks("silent") || p.forbids() || (beside || len(scopeOf(text, nil).numbers) > 0) &&
			(p.speaks("remains") || p.speaks("precious") || p.speaks("together")) {
			out = append(out, hint{at, strings.Clone(text), p})
		}
	}
	return out
}

// counted is how many finds beside its own a text speaks of.
func (p phrase) counted() int {
	most := 1
	for n, words := range tellingWords()["counts"] {
		for _, word := range p {
			if word == strconv.Itoa(n+2) || slices.Contains(phraseOf(words), word) {
				most = n + 2
			}
		}
	}
	return most
}

// follow keeps back the finds of which others tell.
func (c *copier) follow(hints []hint) error {
	if len(hints) == 0 {
		return nil
	}
	known, places := map[string]bool{}, map[string][]int{}
	for i := range c.finds {
		if n := find.FoldNumber(c.finds[i].number); n != "" {
			known[n] = true
			places[n] = append(places[n], i)
		}
	}
	of, everyone := map[int][]hint{}, []hint{}
	for _, h := range hints {
		asks := h.of.speaks("silent") || h.of.forbids()
		about := scopeOf(h.text, known)
		if asks && len(about.numbers) == 0 {
			about = bareScope(h.text, known)
		}
		if asks && about.all && about.known {
			everyone = append(everyone, h)
			continue
		}
		for _, n := range about.numbers {
			for _, i := range places[n] {
				if i != h.at {
					of[i] = append(of[i], h)
				}
			}
		}
		for n := range h.of.counted() {
			if h.of.speaks("nextOnes") {
				of[h.at+1+n] = append(of[h.at+1+n], h)
			}
			if h.of.speaks("aboveOnes") {
				of[h.at-1-n] = append(of[h.at-1-n], h)
			}
		}
	}
	for i := range c.finds {
		told := append(of[i], everyone...)
		if c.finds[i].why != "" || len(told) == 0 {
			continue
		}
		f, err := c.source.Finds.Get(i)
		if err != nil {
			return fmt.Errorf("reading find %d again: %w", i+1, err)
		}
		s := saidOf(f)
		for _, h := range told {
			s.all = append(s.all, h.of)
			if why := c.keptBack(s, c.finds[i].grouped); why != "" {
				c.finds[i].why = fmt.Sprintf("%s, as %q at find %s says", why, h.text, c.finds[h.at].label)
				break
			}
		}
	}
	return nil
}
