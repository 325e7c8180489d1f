package lexicon

import (
	"strings"
	"sync"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/text"
)

// longestPhrase bounds a text that says only that there is no value, in bytes.
const longestPhrase = 64

// The reasons that signs alone give.
const (
	notNoted = "not-noted"
	notKnown = "not-known"
)

// phrases are whole texts without a value.
type phrases struct {
	absent  text.Table[[]said]
	surface text.Table[bool]
	beside  text.Table[bool] // subjects and small words
}

// said is the reason that a text gives to some readers, or to all where in is empty.
type said struct {
	reason, in string
	subject    bool // only beside what has no value: no date
}

var loadPhrases = sync.OnceValue(func() *phrases {
	p := new(phrases)
	each := func(class string, f func(key string, e Entry)) {
		for _, l := range load() {
			for _, e := range l.Words[class] {
				for _, form := range e.Forms {
					var buf [longestPhrase]byte
					key, _ := appendPhrase(buf[:0], form)
					f(string(key), e)
					if plain := text.AppendPlain(nil, key); string(plain) != string(key) {
						f(string(plain), e)
					}
					if other := spelt(string(key)); other != string(key) {
						f(other, e)
					}
				}
			}
		}
	}
	add := func(subject bool) func(string, Entry) {
		return func(key string, e Entry) {
			at := p.absent.Put(key)
			*at = append(*at, said{string(e.Is), e.In, subject})
		}
	}
	each("absent", add(false))
	each("absent-without", add(true))
	each("on-surface", func(key string, _ Entry) { *p.surface.Put(key) = true })
	for _, class := range [...]string{"absent-subject", "absent-small"} {
		each(class, func(key string, _ Entry) { *p.beside.Put(key) = *p.beside.Put(key) || class == "absent-subject" })
	}
	return p
})

// appendPhrase appends the folded words of s with one blank between them, and reports whether there is nothing but
// letters and signs, short enough.
func appendPhrase(b []byte, s string) ([]byte, bool) {
	start := len(b)
	for i := 0; i < len(s); {
		c, size := rune(s[i]), 1
		if c >= utf8.RuneSelf {
			c, size = utf8.DecodeRuneInString(s[i:])
			c = text.Sign(c)
		}
		i += size
		switch {
		case c < utf8.RuneSelf && text.IsDigit(byte(c)), len(b)+2*utf8.UTFMax > start+longestPhrase:
			return b, false
		case text.IsLetter(c) || text.IsMark(c) || c == '\'' && len(b) > start && b[len(b)-1] != ' ':
			b = text.AppendLetter(b, c)
		case c != 0 && len(b) > start && b[len(b)-1] != ' ':
			b = append(b, ' ')
		}
	}
	for len(b) > start && (b[len(b)-1] == ' ' || b[len(b)-1] == '\'') {
		b = b[:len(b)-1]
	}
	return b, true
}

// Surface is what [Phrase] returns of a text that says only that the find lay on the surface.
const Surface = "surface"

// Phrase returns the reason where a whole text says only that there is no value, "-", "n/a", "date unknown", or Surface
// where it says only that. The reader is measure, date, position or term.
func Phrase(s, reader string) (means string, ok bool) {
	if len(s) > longestPhrase {
		return "", false
	}
	var buf [longestPhrase + utf8.UTFMax]byte
	key, ok := appendPhrase(buf[:0], s)
	if !ok {
		return "", false
	}
	if len(key) == 0 {
		return signsOnly(s)
	}
	p := loadPhrases()
	if means = p.find(key, reader, false); means != "" {
		return means, true
	}
	if p.surface.At(key) != nil {
		return Surface, true
	}
	if core, subject := p.core(key); len(core) < len(key) && len(core) > 0 {
		if means = p.find(core, reader, subject); means != "" {
			return means, true
		}
	}
	return "", false
}

// Absence returns the reason where a whole text says only that there is no value.
func Absence(s, reader string) (reason string, ok bool) {
	if reason, ok = Phrase(s, reader); reason == Surface {
		return "", false
	}
	return reason, ok
}

func (p *phrases) find(key []byte, reader string, subject bool) string {
	at := p.absent.At(key)
	if at == nil {
		return ""
	}
	for _, s := range *at {
		if (s.in == "" || strings.Contains(s.in, reader)) && (subject || !s.subject) {
			return s.reason
		}
	}
	return ""
}

// core takes the subjects and small words off both ends of a phrase, and reports whether a subject was among them.
func (p *phrases) core(key []byte) (core []byte, subject bool) {
	for {
		first, last := key, key
		for i, c := range key {
			if c == ' ' {
				first = key[:i]
				break
			}
		}
		for i := len(key) - 1; i >= 0; i-- {
			if key[i] == ' ' {
				last = key[i+1:]
				break
			}
		}
		if len(first) == len(key) {
			return key, subject
		}
		if at := p.beside.At(last); at != nil {
			subject = subject || *at
			key = key[:len(key)-len(last)-1]
		} else if at := p.beside.At(first); at != nil {
			subject = subject || *at
			key = key[len(first)+1:]
		} else {
			return key, subject
		}
	}
}

// signsOnly returns the reason of a text without a letter.
func signsOnly(s string) (reason string, ok bool) {
	marks, strokes := 0, 0
	for _, c := range s {
		switch c = text.Sign(c); c {
		case ' ', 0, '(', ')', '[', ']':
		case '?':
			marks++
		case '-', '/', '.', '_', '*', '…', '·':
			strokes++
		default:
			return "", false
		}
	}
	switch {
	case marks > 0 && strokes == 0:
		return notKnown, true
	case strokes > 0 && marks == 0 && strokes < 10:
		return notNoted, true
	}
	return "", false
}

// meanings are the forms of the classes that are asked for by name, by class and by class and meaning.
var meanings = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for _, class := range [...]string{"weekday", "day-near", "date-pattern", "at-time", "oclock", "not-counted", "side",
		"ditto", "total", "with", "coat", "grid-label", "position-name", "direction", "and", "piece", "article", "the"} {
		for is, forms := range Forms(class) {
			for _, form := range forms {
				var buf [longestPhrase + utf8.UTFMax]byte
				key, _ := appendPhrase(buf[:0], form)
				plain := text.AppendPlain(nil, key)
				for _, k := range [...]string{string(key), string(plain), spelt(string(key))} {
					out[class+"\x00"+k], out[class+"\x00"+is+"\x00"+k] = true, true
				}
			}
		}
	}
	return out
})

// Says reports whether a whole text is a form of a class in any language. The classes are those that stand alone:
// weekday, day-near, date-pattern, at-time, oclock, not-counted, side, ditto, total, with, coat, grid-label,
// position-name, direction, and, piece, article, the.
func Says(class, s string) bool { return saysKey(class, s) }

// Means reports whether a whole text is a form of a class with a meaning.
func Means(class, is, s string) bool { return saysKey(class+"\x00"+is, s) }

func saysKey(prefix, s string) bool {
	if len(s) > longestPhrase {
		return false
	}
	var buf [2*longestPhrase + utf8.UTFMax]byte
	b := append(append(buf[:0], prefix...), 0)
	key, ok := appendPhrase(b, s)
	return ok && len(key) > len(b) && meanings()[string(key)]
}
