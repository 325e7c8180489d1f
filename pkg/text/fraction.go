package text

import "unicode/utf8"

// A Fraction is Num/Den; Den is 0 for no fraction.
type Fraction struct{ Num, Den uint8 }

// Vulgar returns the value of a one-character fraction (Unicode, Number Forms).
func Vulgar(c rune) Fraction {
	switch c {
	case '½':
		return Fraction{1, 2}
	case '¼':
		return Fraction{1, 4}
	case '¾':
		return Fraction{3, 4}
	case '⅐':
		return Fraction{1, 7}
	case '⅑':
		return Fraction{1, 9}
	case '⅒':
		return Fraction{1, 10}
	case '⅓':
		return Fraction{1, 3}
	case '⅔':
		return Fraction{2, 3}
	case '⅕':
		return Fraction{1, 5}
	case '⅖':
		return Fraction{2, 5}
	case '⅗':
		return Fraction{3, 5}
	case '⅘':
		return Fraction{4, 5}
	case '⅙':
		return Fraction{1, 6}
	case '⅚':
		return Fraction{5, 6}
	case '⅛':
		return Fraction{1, 8}
	case '⅜':
		return Fraction{3, 8}
	case '⅝':
		return Fraction{5, 8}
	case '⅞':
		return Fraction{7, 8}
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
