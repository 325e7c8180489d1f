package lexicon

import (
	"bytes"
	"cmp"
	"slices"
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

// A part of a phrase is a word, or a form of several, with the roles that it may play.
type part struct {
	is     map[string]string // class to the reason that it gives
	absent []said
}

// said is the reason that a text gives to some readers, or to all where in is empty.
type said struct{ reason, in string }

func (p *part) any(classes ...string) bool {
	for _, class := range classes {
		if _, ok := p.is[class]; ok {
			return true
		}
	}
	return false
}

var loadPhrases = sync.OnceValue(func() *text.Table[part] {
	parts := new(text.Table[part])
	for _, l := range load() {
		for _, class := range [...]string{"absent", "absent-without", "absent-subject", "absent-small", "absent-not",
			"absent-done", "on-surface", "surface-small", "found"} {
			for _, e := range l.Words[class] {
				for _, form := range e.Forms {
					addPart(parts, class, form, e)
				}
			}
		}
	}
	return parts
})

func addPart(parts *text.Table[part], class, form string, e Entry) {
	var buf [longestPhrase]byte
	key, _ := appendPhrase(buf[:0], form)
	keys := [...]string{string(key), text.Bare(string(key)), spelt(string(key))}
	for i, k := range keys {
		if slices.Contains(keys[:i], k) {
			continue
		}
		at := parts.Put(k)
		if class == "absent" {
			at.absent = append(at.absent, said{string(e.Is), e.In})
		}
		if at.is == nil {
			at.is = map[string]string{}
		}
		if at.is[class] == "" {
			at.is[class] = string(e.Is)
		}
	}
}

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
	return reasonOf(key, reader)
}

// reasonOf reads a phrase word by word, the longest form first. One word is the core, and the others say no more.
func reasonOf(key []byte, reader string) (reason string, ok bool) {
	var parts [longestPhrase / 2]*part
	n := 0
	for ; len(key) > 0; n++ {
		end := len(key)
		for parts[n] = loadPhrases().At(key); parts[n] == nil; parts[n] = loadPhrases().At(key[:end]) {
			if end = bytes.LastIndexByte(key[:end], ' '); end < 0 {
				return "", false
			}
		}
		key = bytes.TrimPrefix(key[end:], []byte{' '})
	}
	beside := func(core int, classes ...string) bool {
		for i, p := range parts[:n] {
			if i != core && !p.any("absent-small", "absent-subject") && !p.any(classes...) {
				return false
			}
		}
		return true
	}
	for i, p := range parts[:n] {
		for k, other := range parts[:n] {
			switch {
			case i == k:
			case p.any("absent-done") && other.any("absent-not") && beside(i, "absent-not"):
				return p.is["absent-done"], true
			case p.any("absent-without") && other.any("absent-subject") && beside(i):
				return cmp.Or(other.is["absent-subject"], p.is["absent-without"]), true
			}
		}
	}
	for i, p := range parts[:n] {
		at := slices.IndexFunc(p.absent, func(s said) bool { return s.in == "" || strings.Contains(s.in, reader) })
		switch {
		case at >= 0 && beside(i):
			return p.absent[at].reason, true
		case p.any("on-surface") && beside(i, "surface-small", "found"):
			return Surface, true
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
