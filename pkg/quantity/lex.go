package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// A token is one piece of the text of a cell.
type token struct {
	kind    kind
	places  uint8 // digits behind the decimal sign of a number
	spaced  bool  // a blank stands before it
	comma   bool  // a number with a decimal comma
	rounded bool  // a number whose noise was rounded away
	zero    bool  // a number that begins with 0 and has more digits
	at      uint16
	end     uint16
	num     uint64 // the digits of a number; numerator of a fraction sign
	den     uint64 // 10^places, or the denominator of a fraction sign
	word    word
}

type kind uint8

const (
	kEnd       kind = iota
	kNumber         // 8, 8.5, 8,5
	kFraction       // ½
	kWord           // a word of the table
	kInch           // " ″ ”
	kFoot           // ' ′ ’
	kDash           // - – —
	kSlash          // /
	kPlus           // +
	kPlusMinus      // ±
	kDots           // .. …
	kTilde          // ~ ≈
	kLess           // < ≤
	kMore           // > ≥
	kEqual          // =
	kOpen           // ( [
	kClose          // ) ]
	kComma          // ,
	kDot            // .
	kColon          // : ;
	kAmp            // &
	kQuery          // ?
	kTimes          // × *
	kUnknown        // a sign or word that means nothing here
)

// maxTokens is how many pieces a cell may have, and maxLength how many bytes;
// a longer text is a note, not a quantity.
const (
	maxTokens = 31
	maxLength = 240
	maxDigits = 15
)

// A lexer cuts text into tokens. The token list always ends in kEnd.
type lexer struct {
	s string
	// language is the stated one, whose words come first; nil where none is.
	language *lexicon.Language
	clash    uint32 // languages that differ in a word of the text
	n        int
	token    [maxTokens + 1]token
	// fault is the code of what cannot be cut, with the place of it.
	fault    string
	from, to int
}

func (l *lexer) run(s string) bool {
	l.s = s
	i := 0
	spaced := false
	for i < len(s) {
		c, size := rune(s[i]), 1
		if c >= utf8.RuneSelf {
			c, size = utf8.DecodeRuneInString(s[i:])
			c = text.Sign(c)
		}
		if c <= ' ' && c != 0 || c == 0 && size == 1 {
			spaced = true
			i += size
			continue
		}
		if c == 0 { // a sign that carries nothing, such as a zero-width blank
			i += size
			continue
		}
		if l.n == maxTokens {
			return l.stop(CodeTooLong, i, len(s))
		}
		t := &l.token[l.n]
		t.at, t.spaced = uint16(i), spaced
		spaced = false
		switch {
		case c >= '0' && c <= '9' || (c == '.' || c == ',') && l.leadingPoint(i+size):
			next, ok := l.number(t, i)
			if !ok {
				return false
			}
			i = next
		case text.IsLetter(c):
			i = l.letters(t, i)
		default:
			i = l.sign(t, c, i, i+size)
		}
		t.end = uint16(i)
		l.n++
	}
	l.token[l.n] = token{at: uint16(len(s)), end: uint16(len(s)), spaced: spaced}
	return true
}

func (l *lexer) stop(code string, from, to int) bool {
	l.fault, l.from, l.to = code, from, to
	return false
}

// leadingPoint reports whether the point before i begins a number: ".5".
func (l *lexer) leadingPoint(i int) bool {
	if i >= len(l.s) || !isDigit(l.s[i]) {
		return false
	}
	if l.n == 0 {
		return true
	}
	last := l.token[l.n-1]
	if (last.kind == kWord || last.kind == kUnknown) && int(last.end) == i-1 {
		return false // c.10 cm: the point ends the word
	}
	return last.kind != kNumber && last.kind != kDot
}

// digit returns the digit at i, plain or full-width, and its size in bytes.
func (l *lexer) digit(i int) (d uint64, size int) {
	if i < len(l.s) {
		if c := l.s[i]; isDigit(c) {
			return uint64(c - '0'), 1
		} else if c == 0xEF && i+2 < len(l.s) && l.s[i+1] == 0xBC && l.s[i+2]-0x90 < 10 {
			return uint64(l.s[i+2] - 0x90), 3 // U+FF10 to U+FF19
		}
	}
	return 0, 0
}

// separator returns a decimal sign at i that has a digit behind it.
func (l *lexer) separator(i int) (sign byte, size int) {
	if i >= len(l.s) {
		return 0, 0
	}
	switch c := l.s[i]; {
	case c == '.' || c == ',':
		sign, size = c, 1
	case c == 0xEF && i+2 < len(l.s) && l.s[i+1] == 0xBC && (l.s[i+2] == 0x8E || l.s[i+2] == 0x8C):
		sign, size = '.', 3 // U+FF0E, full-width point
		if l.s[i+2] == 0x8C {
			sign = ',' // U+FF0C
		}
	default:
		return 0, 0
	}
	if _, n := l.digit(i + size); n == 0 {
		return 0, 0
	}
	return sign, size
}

// number reads digits with decimal signs. Groups of thousands are taken only
// where both signs stand ("1.200,5"), since one alone is ambiguous.
//
// Grammar: number.
func (l *lexer) number(t *token, start int) (next int, ok bool) {
	t.kind, t.den = kNumber, 1
	i, digits, group := start, 0, 0
	var before, last byte
	var leading int // digits before the first sign
	for {
		d, size := l.digit(i)
		if size > 0 {
			if digits++; digits > maxDigits {
				return l.noise(t, start)
			}
			t.num = t.num*10 + d
			t.zero = t.zero || digits == 2 && t.num < 10
			if last != 0 {
				group++
				t.places++
				t.den *= 10
			}
			i += size
			continue
		}
		sign, size := l.separator(i)
		if size == 0 {
			break
		}
		if last != 0 {
			// A second, different sign: what went before were thousands, if
			// they can be.
			if before != 0 || sign == last || group != 3 || leading == 0 || leading > 3 {
				break
			}
			before = last
			t.places, t.den, group = 0, 1, 0
		} else {
			leading = digits
		}
		last = sign
		i += size
	}
	t.comma = last == ','
	if before == 0 && group == 3 && leading >= 1 && leading <= 3 && !t.zero && t.num >= 1000 &&
		(t.comma || l.language != nil && l.language.Numbers.Thousands == ".") {
		return 0, l.stop(CodeNumberAmbiguous, start, i)
	}
	return i, true
}

// noise reads a number whose many figures are the noise of a sum in a spreadsheet: 203.20000000000002. What is
// more than that noise is refused.
func (l *lexer) noise(t *token, start int) (next int, ok bool) {
	end := l.numberEnd(start)
	fail := func() (int, bool) { return 0, l.stop(CodeNumberTooLong, start, end) }
	v, err := strconv.ParseFloat(l.s[start:end], 64)
	if err != nil {
		return fail()
	}
	short := strconv.FormatFloat(v, 'f', 9, 64)
	short = strings.TrimRight(strings.TrimRight(short, "0"), ".")
	whole, frac, _ := strings.Cut(short, ".")
	if back, err := strconv.ParseFloat(short, 64); err != nil || math.Abs(back-v) > v*1e-14 || len(whole)+len(frac) > 12 ||
		len(frac) > 6 {
		return fail()
	}
	*t = token{kind: kNumber, at: t.at, spaced: t.spaced, den: 1, places: uint8(len(frac)), rounded: true}
	for _, c := range whole + frac {
		t.num = t.num*10 + uint64(c-'0')
	}
	for range frac {
		t.den *= 10
	}
	return end, true
}

func (l *lexer) numberEnd(i int) int {
	for {
		if _, n := l.digit(i); n > 0 {
			i += n
		} else if _, n := l.separator(i); n > 0 {
			i += n
		} else {
			return i
		}
	}
}

// letters reads a word: letters, and an apostrophe between two letters.
func (l *lexer) letters(t *token, i int) int {
	var buf [48]byte
	folded, end := text.AppendWord(buf[:0], l.s, i, func(c rune, next int) bool { return c == '\'' && l.letterAt(next) })
	w, at, ok := words().Word(l.s, end, folded, l.language)
	if ok {
		t.kind, t.word = kWord, w
		l.clashes(w)
		return at
	}
	t.kind = kUnknown
	if n, ok := lexicon.Hundreds(folded); ok {
		t.kind, t.word = kWord, word{is: wNumber, num: n, den: 1}
	}
	return end
}

// clashes keeps the languages that differ in a word.
func (l *lexer) clashes(w word) {
	if w.clash {
		l.clash |= uint32(w.languages)
	}
}

// best returns, of the languages that differ in a word, those that have the most words of the text.
func (l *lexer) best() uint32 {
	if l.clash == 0 {
		return 0
	}
	return lexicon.Best(l.clash, func(yield func(uint32) bool) {
		for i := range l.token[:l.n] {
			if t := &l.token[i]; t.kind == kWord && !yield(uint32(t.word.languages)) {
				return
			}
		}
	})
}

func (l *lexer) letterAt(i int) bool {
	if i >= len(l.s) {
		return false
	}
	c, _ := utf8.DecodeRuneInString(l.s[i:])
	return text.IsLetter(text.Sign(c))
}

// signs are the marks that mean one thing wherever they stand.
var signs = map[rune]kind{
	'"': kInch, '-': kDash, '/': kSlash, text.FractionSlash: kSlash, '±': kPlusMinus, '…': kDots, '~': kTilde,
	'=': kEqual, '(': kOpen, '[': kOpen, ')': kClose, ']': kClose, ',': kComma, ':': kColon, ';': kColon, '!': kColon,
	'&': kAmp, '?': kQuery, '*': kTimes,
}

// sign reads one mark at i; next is where the mark ends.
func (l *lexer) sign(t *token, c rune, i, next int) int {
	rest := l.s[next:]
	switch c {
	case '\'':
		t.kind = kFoot
		// Two single marks side by side are one double mark.
		if d, size := utf8.DecodeRuneInString(rest); size > 0 && text.Sign(d) == '\'' {
			t.kind = kInch
			return next + size
		}
	case '+':
		t.kind = kPlus
		if strings.HasPrefix(rest, "-") {
			t.kind = kPlusMinus
			return next + 1
		}
		if strings.HasPrefix(rest, "/-") {
			t.kind = kPlusMinus
			return next + 2
		}
	case '.':
		t.kind = kDot
		for next < len(l.s) && l.s[next] == '.' {
			t.kind = kDots
			next++
		}
	case '<', '>':
		t.kind = kLess
		if c == '>' {
			t.kind = kMore
		}
		if strings.HasPrefix(rest, "=") {
			next++
		}
	default:
		if kind, known := signs[c]; known {
			t.kind = kind
			return next
		}
		if f := text.Vulgar(c); f.Den != 0 {
			t.kind, t.num, t.den = kFraction, uint64(f.Num), uint64(f.Den)
			return next
		}
		if end, num, den := text.Raised(l.s, i); den != 0 {
			t.kind, t.num, t.den = kFraction, num, den
			return end
		}
		t.kind = kUnknown
	}
	return next
}
