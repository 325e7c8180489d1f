package quantity

import (
	"unicode"
	"unicode/utf8"
)

const (
	fractionSlash = '\u2044'
	combining     = '\u0308' // combining diaeresis, in u + U+0308 for ü
)

// foldRune brings the many spellings of one sign to one: blanks to a space,
// inch marks to ", foot marks to ', dashes to -, full-width forms to ASCII.
// It returns 0 for signs that carry nothing.
func foldRune(c rune) rune {
	switch {
	case c < 0x80:
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
		case '×':
			return '*'
		case '\u00AD': // soft hyphen
			return 0
		}
		return c
	case c >= 0xFF01 && c <= 0xFF5E:
		return c - 0xFEE0
	}
	switch c {
	case '\u2000', '\u2001', '\u2002', '\u2003', '\u2004', '\u2005', '\u2006', '\u2007', '\u2008', '\u2009', '\u200A',
		'\u202F', '\u205F', '\u3000', '\u1680', '\u2028', '\u2029':
		return ' '
	case '\u200B', '\u200C', '\u200D', '\u2060', '\uFEFF', '\u200E', '\u200F', '\uFE0E', '\uFE0F':
		return 0
	case '″', '“', '”', '„', '‟', '‶', 'ʺ', 'ˮ', '〃', '〞', '〝':
		return '"'
	case '′', '‘', '’', '‚', '‛', '‵', 'ʹ', 'ʼ', 'ˊ', 'ˋ':
		return '\''
	case '‐', '‑', '‒', '–', '—', '―', '−', '﹣':
		return '-'
	case '∕':
		return '/'
	case '≈', '≃', '≅', '∼', '～', '〜', '≒':
		return '~'
	case '≤', '≦', '⩽':
		return '<'
	case '≥', '≧', '⩾':
		return '>'
	case '⌀', 'Ø':
		return 'ø'
	}
	return c
}

// isLetter reports whether c is a letter of a word.
func isLetter(c rune) bool {
	if c < utf8.RuneSelf {
		return c|0x20 >= 'a' && c|0x20 <= 'z'
	}
	if c < 0x250 {
		return c >= 0xC0 && c != 0xD7 && c != 0xF7 || c == 0xB5
	}
	return unicode.IsLetter(c)
}

// lowerRune brings a letter beyond ASCII to lower case.
func lowerRune(c rune) rune {
	if c < 0x100 {
		if c >= 0xC0 && c <= 0xDE && c != 0xD7 {
			return c + 0x20
		}
		return c
	}
	return unicode.ToLower(c)
}

// A fraction is num/den; den is 0 for no fraction.
type fraction struct{ num, den uint8 }

// vulgar returns the value of a one-character fraction (Unicode, Number Forms).
func vulgar(c rune) fraction {
	switch c {
	case '½':
		return fraction{1, 2}
	case '¼':
		return fraction{1, 4}
	case '¾':
		return fraction{3, 4}
	case '⅐':
		return fraction{1, 7}
	case '⅑':
		return fraction{1, 9}
	case '⅒':
		return fraction{1, 10}
	case '⅓':
		return fraction{1, 3}
	case '⅔':
		return fraction{2, 3}
	case '⅕':
		return fraction{1, 5}
	case '⅖':
		return fraction{2, 5}
	case '⅗':
		return fraction{3, 5}
	case '⅘':
		return fraction{4, 5}
	case '⅙':
		return fraction{1, 6}
	case '⅚':
		return fraction{5, 6}
	case '⅛':
		return fraction{1, 8}
	case '⅜':
		return fraction{3, 8}
	case '⅝':
		return fraction{5, 8}
	case '⅞':
		return fraction{7, 8}
	}
	return fraction{}
}

// raised reads a fraction in raised and lowered digits, such as ³⁄₈, at i.
func raised(s string, i int) (end int, num, den uint64) {
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
	if c != '/' && c != fractionSlash && c != '∕' {
		return 0, 0, 0
	}
	i += size
	den, ok = digits('₀', false)
	if !ok || num == 0 || num >= den {
		return 0, 0, 0
	}
	return i, num, den
}
