// Package phrase finds words and phrases in what people write: whole words only, whatever their case and whatever
// stands between them.
package phrase

import (
	"iter"
	"maps"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Set is phrases to look for. It is made once and read by many.
type Set struct {
	first map[string][]phrase // by first word
	sieve Sieve               // of the first words
}

type phrase struct {
	rest []string // the words after the first
	tag  int
}

func New() *Set { return &Set{first: map[string][]phrase{}} }

// Add adds phrases under a tag, in lower case.
func (s *Set) Add(tag int, phrases ...string) {
	for _, p := range phrases {
		var words []string
		for rest := p; ; {
			w, next, ok := Next(rest, new([MaxWord]byte))
			if !ok {
				break
			}
			words, rest = append(words, string(w)), next
		}
		if len(words) == 0 {
			continue
		}
		s.first[words[0]] = append(s.first[words[0]], phrase{words[1:], tag})
		s.sieve.Add(words[0])
	}
}

// First returns the words that a phrase begins with.
func (s *Set) First() iter.Seq[string] { return maps.Keys(s.first) }

// Scan calls found with the tag of the longest phrase at each word of the text, in order, and goes
// on behind it, until found returns false. Of phrases of equal length each is reported.
func (s *Set) Scan(text string, found func(tag, words int) bool) {
	if s == nil {
		return
	}
	var buf [MaxWord]byte
	for rest := text; ; {
		w, next, ok := Next(rest, &buf)
		if !ok {
			return
		}
		rest = next
		if !s.sieve.Lets(w) {
			continue
		}
		candidates := s.first[string(w)]
		longest := -1
		var behind string
		for i := range candidates {
			if p := &candidates[i]; len(p.rest) >= longest {
				if after, ok := follows(next, p.rest); ok && len(p.rest) > longest {
					longest, behind = len(p.rest), after
				}
			}
		}
		if longest < 0 {
			continue
		}
		for i := range candidates {
			p := &candidates[i]
			if len(p.rest) != longest {
				continue
			}
			if _, ok := follows(next, p.rest); ok && !found(p.tag, longest+1) {
				return
			}
		}
		rest = behind
	}
}

// At returns the tag of the longest phrase that the text begins with, and how many words it has; 0 words: none.
func (s *Set) At(text string) (tag, words int) {
	var buf [MaxWord]byte
	w, next, ok := Next(text, &buf)
	if !ok || !s.sieve.Lets(w) {
		return 0, 0
	}
	for _, p := range s.first[string(w)] {
		if _, ok := follows(next, p.rest); ok && len(p.rest) >= words {
			tag, words = p.tag, len(p.rest)+1
		}
	}
	return tag, words
}

// Has reports whether any phrase of the set stands in the text.
func (s *Set) Has(text string) bool {
	any := false
	s.Scan(text, func(int, int) bool { any = true; return false })
	return any
}

// follows reports whether the text begins with the words, and returns what is behind them.
func follows(text string, words []string) (string, bool) {
	var buf [MaxWord]byte
	for _, want := range words {
		w, next, ok := Next(text, &buf)
		if !ok || string(w) != want {
			return "", false
		}
		text = next
	}
	return text, true
}

// A Sieve holds back most words that are not in a table, without a look into the table.
type Sieve [256]uint64

func (s *Sieve) Add(word string) {
	at := place([]byte(word))
	s[at>>6] |= 1 << (at & 63)
}

// Lets reports whether the word may be one of those that were added.
func (s *Sieve) Lets(word []byte) bool {
	at := place(word)
	return s[at>>6]&(1<<(at&63)) != 0
}

// place makes one of 16,384 numbers of the first two bytes of a word, its last two and its length.
func place(w []byte) uint32 {
	n := len(w)
	if n == 0 {
		return 0
	}
	h := uint32(w[0])<<24 | uint32(w[min(1, n-1)])<<16 | uint32(w[max(0, n-2)])<<8 | uint32(w[n-1])
	return (h ^ uint32(n)<<12) * 0x9E3779B1 >> 18
}

// MaxWord is the most bytes of a word that are compared; no phrase has a longer one.
const MaxWord = 48

// Next returns the next run of letters and digits in lower case, in buf, and the text behind
// it. A longer word than buf holds is cut, so that it equals no word of a phrase.
func Next(text string, buf *[MaxWord]byte) (word []byte, rest string, ok bool) {
	start := 0
	for start < len(text) && letters[text[start]] == between {
		start++
	}
	n := 0
	for i := start; i < len(text); i++ { // as most texts are
		switch c := letters[text[i]]; {
		case c == between:
			return buf[:n], text[i:], true
		case c == beyond:
			return nextOfAny(text[start:], buf)
		case n < MaxWord:
			buf[n] = c
			n++
		}
	}
	return buf[:n], "", n > 0
}

// letters says of each byte of ASCII what it is in lower case, or that it stands between words.
var letters = func() (t [256]byte) {
	for i := range t {
		switch r := rune(i); {
		case i >= utf8.RuneSelf:
			t[i] = beyond
		case isWordRune(r):
			t[i] = byte(unicode.ToLower(r))
		}
	}
	return t
}()

const (
	between = 0
	beyond  = 1 // the byte is of a letter or sign outside ASCII
)

// nextOfAny does the same for any text.
func nextOfAny(text string, buf *[MaxWord]byte) (word []byte, rest string, ok bool) {
	start := strings.IndexFunc(text, isWordRune)
	if start < 0 {
		return nil, "", false
	}
	n := 0
	for i, r := range text[start:] {
		if !isWordRune(r) {
			return buf[:n], text[start+i:], true
		}
		if r = unicode.ToLower(r); n+utf8.RuneLen(r) <= MaxWord {
			n += utf8.EncodeRune(buf[n:], r)
		}
	}
	return buf[:n], "", true
}

func isWordRune(r rune) bool {
	if r < utf8.RuneSelf {
		return r|0x20 >= 'a' && r|0x20 <= 'z' || r >= '0' && r <= '9'
	}
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r))
}
