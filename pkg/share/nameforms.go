package share

import (
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
)

// A place goes by its name without the article, bent, shortened, the other way round, and with another word for land:
// Die lange Wiese is der langen Wiese, Langwiese and L. Wiese; Chapel Hams is the chapel field; Seven Acres 7 ac.

// contentOf are the words of a name without those that it may lose.
func contentOf(name string) (out []string) {
	for w := range strings.FieldsFuncSeq(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if key := keyOf(w); key != "" && !articles()[key] {
			out = append(out, key)
		}
	}
	return out
}

var (
	articles = sync.OnceValue(func() map[string]bool { return wordSet("articles") })
	shorts   = sync.OnceValue(func() map[string][]string {
		out := map[string][]string{}
		for _, pair := range tellingWords()["short"] {
			word, short, _ := strings.Cut(pair, " ")
			out[keyOf(word)] = append(out[keyOf(word)], keyOf(short))
		}
		return out
	})
)

// bendings are endings of nouns and adjectives, longest first.
var bendings = []string{"ens", "em", "en", "er", "es", "et", "ne", "e", "s", "n", "x"}

// variantsOf are the forms that one word of a name takes.
func variantsOf(word string) []string {
	out := append([]string{word}, shorts()[word]...)
	if n, err := strconv.Atoi(word); err == nil {
		for name, value := range numberValue() {
			if value == n {
				out = append(out, keyOf(name))
			}
		}
		return out
	}
	for name, n := range numberValue() {
		if keyOf(name) == word {
			return append(out, strconv.Itoa(n))
		}
	}
	stem := word
	for _, e := range bendings {
		if s, ok := strings.CutSuffix(word, e); ok && len(s) >= 3 {
			stem = s
			break
		}
	}
	out = append(out, stem)
	for _, e := range bendings {
		out = append(out, stem+e)
		if stem != word {
			out = append(out, word+e)
		}
	}
	return out
}

// forms adds what a place of this name is called beside its name.
func (s *secrets) forms(kind, member, name string) {
	if s.formed[name] || s.shows(keyOf(name)) {
		return
	}
	s.formed[name] = true
	words := contentOf(name)
	if len(words) == 1 && len(wordsIn(name)) > 1 {
		for _, form := range variantsOf(words[0]) {
			s.lone(member, form)
		}
	}
	x := s.of(kind, member)
	x.whole = true
	shortened := false
	join := func(a, b []string) {
		for _, one := range a {
			for _, two := range b {
				if x.parted = 0; shortened {
					x.parted = uint8(len(one))
				}
				if len(one)+len(two) >= 3 && !s.shows(one+two) {
					s.put(one+two, x)
				}
			}
		}
	}
	initials := ""
	for i, w := range words {
		initials += w[:1]
		if _, err := strconv.Atoi(w); err != nil && len(w) >= 4 && !objectWords()[w] && !landscapeWords()[w] {
			join(variantsOf(w), tellingWords()["generic"])
		}
		if len(w) >= 6 && landscapeWords()[w] && !objectWords()[w] && len(words) > 1 {
			s.lone(member, w)
		}
		if i == 0 {
			continue
		}
		a, b := variantsOf(words[i-1]), variantsOf(w)
		join(a, b)
		join(b, a)
		shortened = true
		if len(w) >= 4 && !unicode.IsDigit(rune(w[0])) {
			join(beginnings(words[i-1]), b)
		}
		if len(words[i-1]) >= 4 && !unicode.IsDigit(rune(w[0])) {
			join(a, beginnings(w))
		}
		shortened = false
		for _, between := range tellingWords()["articles"] {
			join([]string{w + between}, a)
		}
		s.slipOf(kind, member, words[i-1]+w)
	}
	if len(initials) > 1 && !slices.Contains(tellingWords()["plainCapitals"], initials) {
		s.note(hash('i', initials), s.of(kind, member))
	}
}

// beginnings are how a word is cut short.
func beginnings(word string) (out []string) {
	for n := 1; n <= min(5, len(word)-1); n++ {
		out = append(out, word[:n])
	}
	return out
}

// codeOf reports whether the letters that a number on a bag begins with are made of a name: its initials, the
// beginning of a word, or letters of it in their order that hold the initials.
func codeOf(number, name string) bool {
	end := strings.IndexFunc(number, func(r rune) bool { return !unicode.IsLetter(r) })
	if end < 0 {
		end = len(number)
	}
	code, initials := keyOf(number[:end]), ""
	words := contentOf(name)
	for _, w := range words {
		initials += w[:1]
		if len(code) >= 3 && strings.HasPrefix(w, code) && !objectWords()[w] {
			return true
		}
	}
	if len(initials) < 2 || len(code) < 2 {
		return false
	}
	return code == initials || len(code) > 2 && inOrder(code, strings.Join(words, "")) && inOrder(initials, code)
}

// inOrder reports whether the letters of one text stand in another in their order, with the first of both alike.
func inOrder(letters, text string) bool {
	if letters[0] != text[0] {
		return false
	}
	for i := range len(letters) {
		at := strings.IndexByte(text, letters[i])
		if at < 0 {
			return false
		}
		text = text[at+1:]
	}
	return true
}
