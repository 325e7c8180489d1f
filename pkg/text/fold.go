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
