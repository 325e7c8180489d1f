package lexicon

import (
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/text"
)

// A Table finds what a folded word means to one reader.
type Table[T any] struct {
	words text.Table[found[T]]
	room  []in[T] // for words that are still to come
}

// found is the meaning of a word: in all languages together, and in each that has it.
type found[T any] struct {
	any   T
	exact bool // not only without its accents
	by    []in[T]
	first bool // a form of several words begins with it
}

type in[T any] struct {
	language int
	means    T
}

// A Word is one form as a reader is asked about it.
type Word struct {
	Language  *Language
	Class, In string
	Is        Meaning
	Form      string
	Number    Number // of the class "number"
}

// Compile makes the table of a reader. mean says what a word is to it, and false for what it does not know. merge joins
// the meanings that a word has in several classes or languages.
//
// A word is found as it is spelt, and else without its accents (ete) or as a keyboard without them writes it (fuenf).
func Compile[T any](mean func(Word) (T, bool), merge func(old, more T) T) *Table[T] {
	t := new(Table[T])
	var loose []Word
	var meant []T
	add := func(w Word) {
		m, ok := mean(w)
		if !ok {
			return
		}
		key := t.key(w.Form)
		t.add(key, w.Language.Index, m, merge, true)
		if spelt(w.Form) != w.Form {
			loose, meant = append(loose, w), append(meant, m)
		}
	}
	for _, l := range load() {
		for class, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					add(Word{l, class, e.In, e.Is, form, Number{}})
				}
			}
		}
		l.Numbers.All(func(word string, v Number) { add(Word{l, "number", "", "", word, v}) })
		for _, word := range l.Numbers.Hundred {
			add(Word{l, "hundred", "", "", word, Number{}})
		}
	}
	for i, w := range loose {
		folded := t.key(w.Form)
		if utf8.RuneCountInString(folded) == 1 {
			continue
		}
		for _, other := range [...]string{text.Bare(folded), spelt(folded)} {
			if other != folded {
				t.add(t.key(other), w.Language.Index, meant[i], merge, false)
			}
		}
	}
	// What belongs to no one language belongs to each.
	t.words.All(func(_ string, f *found[T]) {
		for i := range f.by {
			if load()[f.by[i].language].Tag != "mul" {
				continue
			}
			for j := range f.by {
				if j != i {
					f.by[j].means = merge(f.by[j].means, f.by[i].means)
				}
			}
		}
	})
	return t
}

// key returns the key of a form: its folded words with one blank between.
func (t *Table[T]) key(form string) string {
	folded := Folded(form)
	if !strings.ContainsAny(folded, joints) {
		return folded
	}
	words := strings.FieldsFunc(folded, func(r rune) bool { return strings.ContainsRune(joints, r) })
	if len(words) > 1 {
		t.words.Put(words[0]).first = true
	}
	return strings.Join(words, " ")
}

// joints may stand between the words of one form.
const joints = " -./:"

func isJoint(c byte) bool { return strings.IndexByte(joints, c) >= 0 }

// FindLonger finds the longest form of several words whose first, folded, ends in s at end. It returns where the
// form ends.
func (t *Table[T]) FindLonger(s string, end int, first []byte, stated *Language) (m T, at int, ok bool) {
	if end >= len(s) || !isJoint(s[end]) {
		return m, end, false
	}
	if f := t.words.At(first); f == nil || !f.first {
		return m, end, false
	}
	var buf [64]byte
	key := append(buf[:0], first...)
	for i, words := end, 1; words < 5; words++ {
		start := i
		for i < len(s) && isJoint(s[i]) && i-start < 3 {
			i++
		}
		from := i
		key, i = text.AppendWord(append(key, ' '), s, i, nil)
		if from == start || i == from {
			break
		}
		if more, is := t.Find(key, stated); is {
			m, at, ok = more, i, true
		}
	}
	return m, at, ok
}

// Word returns what the folded word, which ends in s at end, means, or the longest form that it begins, and where that
// ends.
func (t *Table[T]) Word(s string, end int, folded []byte, stated *Language) (m T, at int, ok bool) {
	if m, at, ok = t.FindLonger(s, end, folded, stated); ok {
		return m, at, ok
	}
	m, ok = t.Find(folded, stated)
	return m, end, ok
}

// spelt returns a word as a keyboard without its letters writes it.
func spelt(word string) string {
	if text.IsFolded(word) {
		return word
	}
	return text.Bare(text.Typed(word))
}

func (t *Table[T]) add(key string, language int, m T, merge func(old, more T) T, exact bool) {
	f := t.words.Put(key)
	switch {
	case len(f.by) == 0:
		f.any, f.exact = m, exact
	case f.exact && !exact:
		return // a word that is spelt so is not taken for another without its accents
	default:
		f.any = merge(f.any, m)
	}
	for i := range f.by {
		if f.by[i].language == language {
			f.by[i].means = merge(f.by[i].means, m)
			return
		}
	}
	if len(f.by) == 0 { // most words are of one language
		if len(t.room) == 0 {
			t.room = make([]in[T], 512)
		}
		f.by, t.room = t.room[:0:1], t.room[1:]
	}
	f.by = append(f.by, in[T]{language, m})
}

// Find returns what a folded word means: to the stated language, which has the first word, or to all together where
// none is stated or the stated one does not have the word.
func (t *Table[T]) Find(folded []byte, stated *Language) (m T, ok bool) {
	f := t.words.At(folded)
	if f == nil || len(f.by) == 0 {
		var buf [48]byte
		plain := text.AppendPlain(buf[:0], folded)
		if len(plain) < 2 || string(plain) == string(folded) {
			return m, false
		}
		if f = t.words.At(plain); f == nil || len(f.by) == 0 {
			return m, false
		}
	}
	if stated != nil {
		for i := range f.by {
			if f.by[i].language == stated.Index {
				return f.by[i].means, true
			}
		}
	}
	return f.any, true
}

// Clashes marks what each word means to all together with the set of the languages that have it, bit n for the language
// of index n, and reports whether two of them differ.
func (t *Table[T]) Clashes(differ func(a, b T) bool, mark func(m *T, languages uint32, clash bool)) {
	t.words.All(func(_ string, f *found[T]) {
		set, clash := uint32(0), false
		for i := range f.by {
			set |= 1 << f.by[i].language
			for j := range i {
				clash = clash || differ(f.by[i].means, f.by[j].means)
			}
		}
		mark(&f.any, set, clash)
	})
}

// Best returns, of a set of languages, those that have the most words of a text, each given as the set of its
// languages.
func Best(set uint32, words func(func(languages uint32) bool)) uint32 {
	var counts [32]int
	most := 0
	for languages := range words {
		for i := range counts {
			if languages&set&(1<<i) != 0 {
				counts[i]++
				most = max(most, counts[i])
			}
		}
	}
	best := uint32(0)
	for i, n := range counts {
		if n == most && set&(1<<i) != 0 {
			best |= 1 << i
		}
	}
	return best
}

// Each returns the languages of a set, without mul.
func Each(languages uint32) []*Language {
	var out []*Language
	for _, l := range load() {
		if languages&(1<<l.Index) != 0 && l.Tag != "mul" {
			out = append(out, l)
		}
	}
	return out
}
