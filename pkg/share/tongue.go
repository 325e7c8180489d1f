package share

import (
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A tongue is what is known of one language.
type tongue struct {
	words, phrases, never map[string]bool
	near, lead, the       map[string]bool // what stands before a landmark: near it; near it where it is the known one
	parts                 map[string]bool // of things, beside which something lies that is no place
	definite              []string        // endings that say the
	turned                map[string]bool // words that turn what is named and name nothing: the left, the old, the two
	endings               []string
	compounds             bool // two words make one
	nouns                 bool // nouns have capitals
}

// eachLabelIn is eachLabel for one language.
func eachLabelIn(lists []string, tag string, yield func(text string)) {
	for _, list := range lists {
		for _, concept := range vocabulary.Get(list).Concepts {
			yield(concept.PrefLabel[tag])
			for _, text := range append(slices.Clone(concept.AltLabel[tag]), concept.HiddenLabel[tag]...) {
				yield(text)
			}
		}
	}
}

// has reports whether a folded word is of the language, bent, or made of two of its words.
func (t *tongue) has(key string) bool {
	if t.words[key] {
		return true
	}
	for _, e := range t.endings {
		stem, bent := strings.CutSuffix(key, e)
		if bent && len(stem) >= 3 && (t.words[stem] || e == "ing" && t.words[stem+"e"]) {
			return true
		}
	}
	const least = 4
	for i := least; t.compounds && i+least <= len(key); i++ {
		if !t.words[key[:i]] || t.landed(key) {
			continue
		}
		for _, link := range []string{"", "s", "n", "en", "e", "es", "er"} {
			if rest, ok := strings.CutPrefix(key[i:], link); ok && len(rest) >= least && (t.words[rest] || t.bent(rest)) {
				return true
			}
		}
	}
	return false
}

// landed reports whether a compound begins or ends with a word of land or people.
func (t *tongue) landed(key string) bool {
	for i := 4; i <= len(key); i++ {
		if t.never[key[:i]] || t.never[key[len(key)-i:]] {
			return true
		}
	}
	return false
}

func (t *tongue) bent(key string) bool {
	return slices.ContainsFunc(t.endings, func(e string) bool {
		stem, bent := strings.CutSuffix(key, e)
		return bent && len(stem) >= 4 && t.words[stem]
	})
}

// led reports whether a clause leads to something that is no part of a thing: by the broken cross. Whoever knows the
// land knows the cross. A known phrase leads nowhere.
func (t *tongue) led(keys []string) bool {
	for i := 0; i < len(keys); i++ {
		if n := t.phraseAt(keys, i); n > 0 {
			i += n - 1
			continue
		}
		for n := min(3, len(keys)-i); n > 0; n-- {
			way := strings.Join(keys[i:i+n], " ")
			if t.near[way] || t.lead[way] {
				if t.landmark(keys[i+n:], t.near[way]) {
					return true
				}
				break
			}
		}
	}
	return false
}

// landmark reports whether the words behind a way name something, up to the next one, of which none is a part.
func (t *tongue) landmark(keys []string, known bool) bool {
	some := false
	for _, key := range keys {
		switch {
		case t.the[key]:
			known = true
			continue
		case t.turned[key]:
			continue
		case t.part(key):
			return false
		case t.near[key], t.lead[key], key == "", key == "·", plainWords().lists["and"][key]:
			return some && known
		}
		some = true
		known = known || t.one(key)
	}
	return some && known
}

// one reports whether a word has the article at its end.
func (t *tongue) one(key string) bool {
	return len(key) > 3 && slices.ContainsFunc(t.definite, func(e string) bool { return strings.HasSuffix(key, e) })
}

// place reports whether a clause is a place and says nothing of a thing: at the neck, im Feuer, of which thing a part
// is meant nobody could say; or says of what something came: from the ring of stones. A view, a part from which
// something goes to another, or a time is none: from the top, from the 18th century.
func (t *tongue) place(p phrase, bare bool) bool {
	ways, said, known, from, lists := 0, 0, p.is(0, "outOfThe"), p.is(0, "outOf"), plainWords().lists
	for i := 0; i < len(p); i++ {
		w, two := p[i], p[i]+" "+p.at(i+1)
		switch {
		case t.near[two], t.lead[two]:
			ways, known, i = ways+1, known || t.near[two], i+1
		case t.near[w], t.lead[w]:
			ways, known = ways+1, known || t.near[w]
		case i == 0 && !from:
			return false
		case t.the[w]:
			known = true
		case i == 0, t.turned[w], smallWords()[w], bare && said > 0 && lists["sides"][w]:
		case w == "·", w == "", !bare && (lists["views"][w] || lists["until"][w]),
			strings.ContainsFunc(w, unicode.IsDigit), plainRoman().MatchString(strings.ToUpper(w)):
			return false
		default:
			said++
			known = known || t.one(w)
		}
	}
	return known && said > 0 && (bare && said <= ways || !bare && from && said < 3) && !t.phrases[strings.Join(p, " ")]
}

// place reports whether a whole text is a place in one language.
func (p phrase) place() bool {
	for _, t := range plainWords().tongues {
		if t.place(p, true) {
			return true
		}
	}
	return false
}

// part reports whether a word is a part of a thing, bent, or ends with one.
func (t *tongue) part(key string) bool {
	_, after, _ := strings.Cut(key, "'")
	if t.parts[key] || t.parts[after] || len(key) > 1 && (key[0] == 'l' || key[0] == 'd') && t.parts[key[1:]] {
		return true
	}
	for _, e := range t.endings {
		if stem, bent := strings.CutSuffix(key, e); bent && len(stem) >= 3 && t.parts[stem] {
			return true
		}
	}
	for end := range plainWords().lists["bentEnds"] {
		if strings.HasSuffix(key, end) {
			return false // it ends like an arch, and is bent
		}
	}
	for i := 3; t.compounds && i+4 <= len(key); i++ {
		if t.parts[key[i:]] {
			return true
		}
	}
	return false
}

// phraseAt is how many words a known phrase has that begins at a word, 0 for none.
func (t *tongue) phraseAt(keys []string, at int) int {
	for n := min(5, len(keys)-at); n > 1; n-- {
		if t.phrases[strings.Join(keys[at:at+n], " ")] {
			return n
		}
	}
	return 0
}

// newSieve is one for the copies of a source, whose names it knows; ofFind adds those of a find.
func newSieve(head *find.Report, p *Policy) *sieve {
	s := &sieve{language: strings.ToLower(strings.SplitN(head.Language, "-", 2)[0]), own: map[string]bool{},
		passed: p.passes, seen: map[string]bool{}, gathered: map[string]bool{}}
	eachText(head, s.name)
	return s
}

func (s *sieve) ofFind(f *find.Find) { textsOf(f, nodes()["finds"], "", s.name) }

// name notes the words of a name of a person or a place.
func (s *sieve) name(leaf, _, text string) {
	switch published().leaves[leaf] {
	case "place", "person-name", "handle", "giver", "whereabouts-person":
		if s.gathered[text] {
			return
		}
		s.gathered[strings.Clone(text)] = true
		for w := range strings.FieldsFuncSeq(text, notInWord) {
			if key := keyOf(w); len(key) > 1 && !articles()[key] && !particles()[key] {
				s.own[key] = true
			}
		}
	}
}
