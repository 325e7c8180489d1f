package share

import (
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/vocabulary"
)

// lettersLeftOut are a word and its forms with one letter left out.
func lettersLeftOut(key string) []string {
	out := []string{key}
	for i := range key {
		out = append(out, key[:i]+key[i+1:])
	}
	return out
}

// letterFigures are figures that stand for letters.
var letterFigures = strings.NewReplacer("0", "o", "1", "l", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b")

// slips finds words that are a name or a place but for one letter, pairs of words that are, and the initials of places.
func (s *secrets) slips(text string, add func(kind, member string, at, to int)) {
	if len(s.slipped)+len(s.formed) == 0 {
		return
	}
	heard := false
	tell := func(kind, member string, at, to int) { heard = true; add(kind, member, at, to) }
	last, from, to := "", 0, 0
	for at := 0; at < len(text); {
		size := strings.IndexFunc(text[at:], notInWord)
		if size < 0 {
			size = len(text) - at
		}
		word := text[at : at+size]
		key := ""
		if size >= 2 && size <= 40 {
			var quiet bool
			if key, quiet = s.quiet.words[word]; !quiet {
				heard = false
				if key = s.slipsIn(word, at, tell); !heard {
					remember(&s.quiet.words, word, key)
				}
			}
			if pair := text[from : at+size]; last != "" && at-to <= 3 && len(last+key) >= 9 {
				if _, quiet := s.quiet.pairs[pair]; !quiet {
					heard = false
					if s.slip(last+key, pair, from, at+size, tell); !heard {
						remember(&s.quiet.pairs, pair, "")
					}
				}
			}
		}
		last, from, to = key, at, at+size
		at += size
		for at < len(text) {
			r, n := utf8.DecodeRuneInString(text[at:])
			if !notInWord(r) {
				break
			}
			at += n
		}
	}
}

// slipsIn looks at one word, and returns its key with letters in the place of figures.
func (s *secrets) slipsIn(word string, at int, add func(kind, member string, at, to int)) string {
	key := keyOf(word)
	if x, ok := s.figure('i', key); ok && word == strings.ToUpper(word) && len(word) <= 4 && !s.shows(key) {
		s.tell(x, at, at+len(word), add)
	}
	if strings.ContainsAny(key, "01234578") && strings.Trim(key, "0123456789") != "" {
		key = letterFigures.Replace(key)
	}
	if !known(word) {
		s.slip(key, word, at, at+len(word), add)
	}
	return key
}

func (s *secrets) slip(key, word string, at, to int, add func(kind, member string, at, to int)) {
	if own := keyOf(word); len(key) < 5 || s.shows(own) || strings.Contains(s.handles, own) {
		return
	}
	for _, form := range lettersLeftOut(key) {
		x, ok := s.slipped[hash('l', form)]
		if !ok || len(form) < len(key) && len(form) < len(x.key)-1 {
			continue
		}
		if vocabulary.EditDistance(key, x.key) <= 1 {
			s.tell(x.secret, at, to, add)
			return
		}
	}
}

// quiet are words, pairs of words and cells that tell nothing, for a copy says most of them many times; words with
// their keys. Without them a copy takes nearly twice as long.
type quiet struct {
	words, pairs, cells map[string]string
	of                  int // how much was known of the source when they were looked at
}

// begin forgets what was quiet before more was known.
func (q *quiet) begin(s *secrets) {
	of := len(s.keys) + len(s.slipped) + len(s.figures) + len(s.shown) + len(s.handles) + len(s.contacts) + len(s.formed)
	if q.words == nil || q.of != of {
		*q = quiet{map[string]string{}, map[string]string{}, map[string]string{}, of}
	}
}

// remember keeps a text, in the place of all others when there are too many.
func remember(texts *map[string]string, text, key string) {
	if len(*texts) >= 1<<13 {
		*texts = map[string]string{}
	}
	(*texts)[strings.Clone(text)] = key
}
