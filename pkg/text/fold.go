// Package text holds the one way in which words, signs and figures are folded before they are
// compared or read: every reader of the project cuts and compares text with it.
//
// A folded word is in lower case, its letters composed (ü, not u with a mark behind it). A plain word
// has no accents either. [Sign] brings the many spellings of one sign to one.
//
// Functions that append do so to the slice of the caller and keep nothing.
//
// This package is unstable: it may change between any two versions.
package text

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// FractionSlash is U+2044, which leaves no doubt that a fraction is meant.
const FractionSlash = '\u2044'

// Sign brings the spellings of one sign to one: blanks to a space, inch marks to ", foot marks to ',
// dashes to -, full-width forms to ASCII. It returns 0 for signs that carry nothing, such as a blank
// of no width. Letters and signs that have one spelling come back as they are.
func Sign(c rune) rune {
	switch {
	case c < utf8.RuneSelf:
		if c < ' ' {
			return ' '
		}
		return c
	case c < 0x100:
		switch c {
		case '\u00A0':
			return ' '
		case '´':
			return '\''
		case '«', '»':
			return '"'
		case '×':
			return '*'
		case '\u00AD':
			return 0
		}
		return c
	case c >= 0xFF01 && c <= 0xFF5E:
		return c - 0xFEE0
	case c < 0x2000:
		return farSign(c)
	}
	switch c {
	case '\u2000', '\u2001', '\u2002', '\u2003', '\u2004', '\u2005', '\u2006', '\u2007', '\u2008', '\u2009', '\u200A',
		'\u202F', '\u205F', '\u3000', '\u2028', '\u2029':
		return ' '
	case '\u200B', '\u200C', '\u200D', '\u2060', '\uFEFF', '\u200E', '\u200F', '\uFE0E', '\uFE0F':
		return 0
	case '″', '“', '”', '„', '‟', '‶', '〃', '〞', '〝':
		return '"'
	case '′', '‘', '’', '‚', '‛', '‵':
		return '\''
	case '‐', '‑', '‒', '–', '—', '―', '−', '﹣':
		return '-'
	case '∕':
		return '/'
	case '≈', '≃', '≅', '∼', '〜', '≒':
		return '~'
	case '≤', '≦', '⩽':
		return '<'
	case '≥', '≧', '⩾':
		return '>'
	case '⌀':
		return 'ø'
	}
	return c
}

func farSign(c rune) rune {
	switch c {
	case 'ʺ', 'ˮ', '˝':
		return '"'
	case 'ʹ', 'ʼ', 'ˊ', 'ˋ':
		return '\''
	case '\u1680':
		return ' '
	}
	return c
}

// IsLetter reports whether c is a letter of a word; the micro sign is one, and so is a unit of one character.
func IsLetter(c rune) bool {
	if c < utf8.RuneSelf {
		return c|0x20 >= 'a' && c|0x20 <= 'z'
	}
	if c < 0x250 {
		return c >= 0xC0 && c != 0xD7 && c != 0xF7 || c == 0xB5
	}
	return unicode.IsLetter(c) || unitSign(c) != ""
}

// unitSign returns the letters of a unit that is one character (Unicode, CJK Compatibility).
func unitSign(c rune) string {
	switch c {
	case '㎛':
		return "µm"
	case '㎜':
		return "mm"
	case '㎝':
		return "cm"
	case '㎞':
		return "km"
	case '㎍':
		return "µg"
	case '㎎':
		return "mg"
	case '㎏':
		return "kg"
	}
	return ""
}

// IsMark reports whether c is a mark that joins the letter before it.
func IsMark(c rune) bool { return c >= 0x300 && c < 0x370 }

// IsDigit reports whether c is a plain figure.
func IsDigit(c byte) bool { return c-'0' < 10 }

// Lower brings a letter to lower case.
func Lower(c rune) rune {
	switch {
	case c >= 'A' && c <= 'Z':
		return c + 'a' - 'A'
	case c < 0xC0:
		return c
	case c == 'μ': // Greek, for the micro sign
		return 'µ'
	case c < 0x100:
		if c <= 0xDE && c != 0xD7 {
			return c + 0x20
		}
		return c
	}
	return unicode.ToLower(c)
}

// IsFolded reports whether a text is of small plain letters, figures and signs, which folding leaves alone.
func IsFolded(s string) bool {
	for i := range len(s) {
		if c := s[i]; c >= utf8.RuneSelf || c-'A' < 26 {
			return false
		}
	}
	return true
}

// AppendFold appends a word in its folded form to b.
func AppendFold(b []byte, word string) []byte {
	for i := 0; i < len(word); {
		c, size := rune(word[i]), 1
		if c >= utf8.RuneSelf {
			c, size = utf8.DecodeRuneInString(word[i:])
			c = Sign(c)
		}
		i += size
		b = AppendLetter(b, c)
	}
	return b
}

// AppendLetter appends the folded form of a letter to b, or joins a mark to the letter at the end of b.
func AppendLetter(b []byte, c rune) []byte {
	switch {
	case c == 0:
		return b
	case IsMark(c):
		last, size := utf8.DecodeLastRune(b)
		if size == 0 {
			return b
		}
		var buf [2 * utf8.UTFMax]byte
		two := utf8.AppendRune(utf8.AppendRune(buf[:0], last), c)
		if one, n := utf8.DecodeRune(norm.NFC.Bytes(two)); n < len(two) && one != last {
			return utf8.AppendRune(b[:len(b)-size], one)
		}
		return b
	}
	if c > 0x3300 {
		if unit := unitSign(c); unit != "" {
			return append(b, unit...)
		}
	}
	return utf8.AppendRune(b, Lower(c))
}

// AppendWord appends the folded letters of the word that begins at i to b, as many as fit, and returns where the word
// ends. A sign that is no letter ends it, unless within says that it belongs to the word before what stands at next.
func AppendWord(b []byte, s string, i int, within func(c rune, next int) bool) (folded []byte, end int) {
	for i < len(s) {
		c, size := rune(s[i]), 1
		if c >= utf8.RuneSelf {
			c, size = utf8.DecodeRuneInString(s[i:])
			c = Sign(c)
		}
		if c != 0 && !IsLetter(c) && !IsMark(c) && (within == nil || !within(c, i+size)) {
			break
		}
		if len(b)+2*utf8.UTFMax <= cap(b) { // longer than any word we know
			b = AppendLetter(b, c)
		}
		i += size
	}
	return b, i
}

// Key brings words to the form in which two are compared: lower case, without accents, with all but letters, figures
// and the signs that count one blank.
func Key(s, signs string) string {
	if folded, ok := keyASCII(s); ok {
		return folded
	}
	var buf [64]byte
	b := buf[:0]
	for _, r := range s {
		switch r = Sign(r); {
		case IsLetter(r) || IsMark(r):
			b = AppendLetter(b, r)
		case unicode.IsDigit(r) || strings.ContainsRune(signs, r):
			b = utf8.AppendRune(b, r)
		case len(b) > 0 && b[len(b)-1] != ' ':
			b = append(b, ' ')
		}
	}
	if n := len(b); n > 0 && b[n-1] == ' ' {
		b = b[:n-1]
	}
	return string(AppendPlain(make([]byte, 0, len(b)+8), b))
}

// keyASCII is the quick way for plain lower-case words.
func keyASCII(s string) (string, bool) {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && (c != ' ' || i == 0 || i == len(s)-1 || s[i-1] == ' ') {
			return "", false
		}
	}
	return s, true
}

// AppendPlain appends a folded word without its accents to b.
func AppendPlain(b []byte, folded []byte) []byte {
	for i := 0; i < len(folded); {
		c := folded[i]
		if c < utf8.RuneSelf {
			b = append(b, c)
			i++
			continue
		}
		r, size := utf8.DecodeRune(folded[i:])
		i += size
		if plain := Plain(r); plain != "" {
			b = append(b, plain...)
		} else {
			b = utf8.AppendRune(b, r)
		}
	}
	return b
}

// Plain returns the plain letters for a lower-case letter with an accent, or nothing where it has none.
func Plain(r rune) string {
	switch r {
	case 'à', 'á', 'â', 'ä', 'å', 'ã', 'ą':
		return "a"
	case 'è', 'é', 'ê', 'ë', 'ę', 'ᵉ':
		return "e"
	case 'ì', 'í', 'î', 'ï':
		return "i"
	case 'ò', 'ó', 'ô', 'ö', 'õ', 'ø', 'º', '°':
		return "o"
	case 'ù', 'ú', 'û', 'ü':
		return "u"
	case 'ç', 'ć':
		return "c"
	case 'ÿ', 'ý':
		return "y"
	case 'ł':
		return "l"
	case 'ń', 'ñ':
		return "n"
	case 'ś':
		return "s"
	case 'ź', 'ż':
		return "z"
	case 'æ':
		return "ae"
	case 'œ':
		return "oe"
	case 'ß':
		return "ss"
	}
	if r > 0xFF { // any other letter with a mark
		apart := norm.NFKD.String(string(r))
		if c, n := utf8.DecodeRuneInString(apart); c != r && c < utf8.RuneSelf && n < len(apart) {
			return string(c)
		}
	}
	return ""
}

// Spelt returns how a keyboard without the letter writes it: ä as ae, å as aa, ø as oe; nothing for other letters.
func Spelt(r rune) string {
	switch r {
	case 'ä', 'æ':
		return "ae"
	case 'ö', 'ø', 'œ':
		return "oe"
	case 'ü':
		return "ue"
	case 'å':
		return "aa"
	case 'ß':
		return "ss"
	}
	return ""
}

// Typed returns a text as a keyboard without its letters writes it: Muenze for Münze. Letters that only bear an
// accent stay.
func Typed(s string) string {
	var b strings.Builder
	for _, r := range s {
		if spelt := Spelt(Lower(r)); spelt == "" {
			b.WriteRune(r)
		} else if Lower(r) == r {
			b.WriteString(spelt)
		} else {
			b.WriteString(strings.ToUpper(spelt[:1]) + spelt[1:])
		}
	}
	return b.String()
}

// Bare returns folded words without their accents: Munze for Münze.
func Bare(folded string) string { return string(AppendPlain(nil, []byte(folded))) }

// A Fraction is Num/Den; Den is 0 for no fraction.
type Fraction struct{ Num, Den uint8 }

// vulgar are the fractions of one character from U+2150 on, and quarters those from U+00BC on.
var (
	vulgar = [...]Fraction{{1, 7}, {1, 9}, {1, 10}, {1, 3}, {2, 3}, {1, 5}, {2, 5}, {3, 5}, {4, 5}, {1, 6}, {5, 6}, {1, 8},
		{3, 8}, {5, 8}, {7, 8}}
	quarters = [...]Fraction{{1, 4}, {1, 2}, {3, 4}}
)

// Vulgar returns the value of a one-character fraction (Unicode, Number Forms).
func Vulgar(c rune) Fraction {
	switch {
	case c >= '⅐' && c <= '⅞':
		return vulgar[c-'⅐']
	case c >= '¼' && c <= '¾':
		return quarters[c-'¼']
	}
	return Fraction{}
}

// Raised reads a fraction in raised and lowered digits, such as ³⁄₈, at i.
func Raised(s string, i int) (end int, num, den uint64) {
	digits := func(base rune, latin bool) (v uint64, ok bool) {
		for n := 0; i < len(s) && n < 3; n++ {
			c, size := utf8.DecodeRuneInString(s[i:])
			switch {
			case latin && c == '¹':
				c = base + 1
			case latin && c == '²':
				c = base + 2
			case latin && c == '³':
				c = base + 3
			}
			if c < base || c > base+9 {
				break
			}
			v, ok = v*10+uint64(c-base), true
			i += size
		}
		return v, ok
	}
	num, ok := digits('⁰', true)
	if !ok || i >= len(s) {
		return 0, 0, 0
	}
	c, size := utf8.DecodeRuneInString(s[i:])
	if c != '/' && c != FractionSlash && c != '∕' {
		return 0, 0, 0
	}
	i += size
	den, ok = digits('₀', false)
	if !ok || num == 0 || num >= den {
		return 0, 0, 0
	}
	return i, num, den
}

// A Table finds values by short keys without allocating: open addressing, never more than half full.
// It is made once and then only read, by any number of goroutines.
type Table[T any] struct {
	slots []slot[T]
	n     int
}

type slot[T any] struct {
	key   string
	value T
}

// hash is FNV-1a.
func hash[K string | []byte](key K) uint32 {
	h := uint32(2166136261)
	for i := 0; i < len(key); i++ {
		h = (h ^ uint32(key[i])) * 16777619
	}
	return h ^ h>>15
}

// At returns the value of a key to be read or changed, or nil where there is none. The empty key has none.
func (t *Table[T]) At(key []byte) *T {
	if len(t.slots) == 0 {
		return nil
	}
	mask := uint32(len(t.slots) - 1)
	for i := hash(key) & mask; t.slots[i].key != ""; i = (i + 1) & mask {
		if t.slots[i].key == string(key) {
			return &t.slots[i].value
		}
	}
	return nil
}

// Put returns the value of a key, made where there was none. The key is not empty.
func (t *Table[T]) Put(key string) *T {
	if 2*t.n >= len(t.slots) {
		old := t.slots
		t.slots, t.n = make([]slot[T], max(64, 2*len(old))), 0
		for i := range old {
			if old[i].key != "" {
				*t.Put(old[i].key) = old[i].value
			}
		}
	}
	mask := uint32(len(t.slots) - 1)
	i := hash(key) & mask
	for ; t.slots[i].key != ""; i = (i + 1) & mask {
		if t.slots[i].key == key {
			return &t.slots[i].value
		}
	}
	t.slots[i].key = key
	t.n++
	return &t.slots[i].value
}

// All calls f for each key and value, in no order.
func (t *Table[T]) All(f func(key string, value *T)) {
	for i := range t.slots {
		if t.slots[i].key != "" {
			f(t.slots[i].key, &t.slots[i].value)
		}
	}
}

// IsHidden reports whether a character shows nothing by itself and can make others show something else: a control
// character but for tab and line ends, or a mark that turns the direction of writing (Unicode Standard Annex #9,
// section 2).
func IsHidden(r rune) bool {
	switch {
	case r == '\t', r == '\n', r == '\r':
		return false
	case r < 0x20, r >= 0x7F && r < 0xA0:
		return true
	case r == 0x061C, r == 0x200E, r == 0x200F, r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069:
		return true
	}
	return false
}

// HasHidden reports whether a text has a character that IsHidden.
func HasHidden(s string) bool {
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c >= 0x7F {
			return strings.IndexFunc(s[i:], IsHidden) >= 0
		}
	}
	return false
}

// Visible returns a text with its hidden characters made visible: a control character as its picture (Unicode,
// block Control Pictures), any other as [U+202E].
func Visible(s string) string {
	if !HasHidden(s) {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case !IsHidden(r):
			_, size := utf8.DecodeRuneInString(s[i:])
			b.WriteString(s[i : i+size])
		case r < 0x20:
			b.WriteRune(0x2400 + r)
		case r == 0x7F:
			b.WriteRune(0x2421)
		default:
			fmt.Fprintf(&b, "[U+%04X]", r)
		}
	}
	return b.String()
}
