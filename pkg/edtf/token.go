package edtf

import (
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// tokenKind tells numbers, words and signs apart.
type tokenKind uint8

const (
	noToken tokenKind = iota
	numberToken
	wordToken
	signToken
)

// token is one piece of written text. Blanks are not tokens; gap tells that one
// stood before the token, dot that a full stop ended it (as an ordinal or an
// abbreviation).
type token struct {
	kind       tokenKind
	sign       byte // of a sign: dashes of all lengths are '-', quotes '\''
	digits     uint8
	roman      uint8 // value of a word that is a Roman numeral, 1 to 39
	gap, dot   bool
	capital    bool // the word begins with a capital letter
	word       word
	value      int32
	start, end int32
}

func (t *token) is(sign byte) bool     { return t.kind == signToken && t.sign == sign }
func (t *token) isNumber() bool        { return t.kind == numberToken }
func (t *token) hasClass(c class) bool { return t.kind == wordToken && t.word.class == c }

// maxTokens is the longest text that is read; what is longer is no date.
const maxTokens = 40

// tokens is written text in pieces.
type tokens struct {
	text  string
	clash uint32 // languages that differ in a word
	n     int
	list  [maxTokens]token
}

// at returns the token at place i, or the zero token beyond the ends.
func (ts *tokens) at(i int) *token {
	if i < 0 || i >= ts.n {
		return &endToken
	}
	return &ts.list[i]
}

var endToken token

// part returns the text of tokens from i up to j, which is not included.
func (ts *tokens) part(i, j int) string {
	if i >= ts.n || j <= i {
		return ""
	}
	return ts.text[ts.list[i].start:ts.list[min(j, ts.n)-1].end]
}

// remove takes the tokens from i up to j out.
func (ts *tokens) remove(i, j int) {
	copy(ts.list[i:], ts.list[j:ts.n])
	ts.n -= j - i
}

// best returns, of the languages that differ in a word, those that have the most words of the text.
func (ts *tokens) best() uint32 {
	if ts.clash == 0 {
		return 0
	}
	return lexicon.Best(ts.clash, func(yield func(uint32) bool) {
		for i := range ts.list[:ts.n] {
			if t := &ts.list[i]; t.kind == wordToken && !yield(uint32(t.word.languages)) {
				return
			}
		}
	})
}

// split cuts text into tokens and reports whether it is short enough.
func (ts *tokens) split(s string, stated *lexicon.Language) bool {
	ts.text = s
	gap := false
	for i := 0; i < len(s); {
		c := s[i]
		if c == ' ' || c == '\t' || c == '\n' || c == '\r' {
			gap = true
			i++
			continue
		}
		if c >= utf8.RuneSelf {
			if r, size := utf8.DecodeRuneInString(s[i:]); sign(r) == ' ' || sign(r) == 0 {
				gap = gap || sign(r) == ' '
				i += size
				continue
			}
		}
		if ts.n == maxTokens {
			return false
		}
		t := &ts.list[ts.n]
		*t = token{gap: gap, start: int32(i)}
		gap = false
		switch {
		case isDigit(c):
			i = t.readNumber(s, i)
		case isLetter(c):
			i = t.readWord(s, i, stated)
		default:
			t.kind, t.sign = signToken, c
			i++
		}
		if t.kind == numberToken || t.kind == wordToken {
			// A full stop belongs to the token unless digits follow it at once.
			if i < len(s) && s[i] == '.' && (i+1 == len(s) || !isDigit(s[i+1]) || t.kind == wordToken) {
				if i+1 == len(s) || s[i+1] != '.' {
					t.dot = true
					i++
				}
			}
		}
		t.end = int32(i)
		if t.word.clash {
			ts.clash |= uint32(t.word.languages)
		}
		ts.n++
	}
	return true
}

func (t *token) readNumber(s string, i int) int {
	t.kind = numberToken
	for i < len(s) && isDigit(s[i]) {
		if t.digits < 9 {
			t.value = t.value*10 + int32(s[i]-'0')
		}
		if t.digits < 255 {
			t.digits++
		}
		i++
	}
	return i
}

// readWord reads letters, folded, and looks them up. Dashes and quotes beyond ASCII come out as signs.
func (t *token) readWord(s string, i int, stated *lexicon.Language) int {
	first, size := utf8.DecodeRuneInString(s[i:])
	if first = sign(first); !text.IsLetter(first) && !text.IsMark(first) && first != 'º' && first != '°' {
		t.kind, t.sign = signToken, byte(min(first, 0x7f))
		return i + size
	}
	var buf [48]byte
	folded, end := text.AppendWord(buf[:0], s, i, func(c rune, _ int) bool { return c == 'º' || c == '°' })
	t.kind, t.capital = wordToken, text.Lower(first) != first
	if len(folded) == 0 || len(folded) > len(buf)-2*utf8.UTFMax {
		return end
	}
	w, at, ok := words().Word(s, end, folded, stated)
	if !ok && len(folded) > 5 && isPeriodForm(folded) {
		w.class = periodWord
	}
	if t.word = w; at == end {
		t.roman = readRoman(folded)
	}
	return at
}

// sign brings the spellings of a sign to the one that dates are read with.
func sign(c rune) rune {
	switch c = text.Sign(c); c {
	case '±':
		return '~'
	case '…':
		return '.'
	case text.FractionSlash:
		return '/'
	}
	return c
}

// readRoman returns the value of a Roman numeral from 1 to 39, alone or with the ending of an ordinal (xviii,
// xviiie), else 0.
func readRoman(w []byte) uint8 {
	n := 0
	for n < len(w) && (w[n] == 'x' || w[n] == 'v' || w[n] == 'i') {
		n++
	}
	if n == 0 {
		return 0
	}
	if n < len(w) {
		if end, ok := words().Find(w[n:], nil); !ok || end.also&alsoEnding == 0 {
			return 0
		}
	}
	value, used := 0, 0
	for used < n && w[used] == 'x' {
		value += 10
		used++
	}
	if used > 3 {
		return 0
	}
	unit, ok := romanUnits[string(w[used:n])]
	if !ok && n-used > 1 && w[n-1] == 'i' && len(w) > n+1 {
		unit, ok = romanUnits[string(w[used:n-1])] // xviiiieme for XVIIIième
	}
	if !ok {
		return 0
	}
	return uint8(value + unit)
}

var romanUnits = map[string]int{"": 0, "i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5,
	"vi": 6, "vii": 7, "viii": 8, "ix": 9}
