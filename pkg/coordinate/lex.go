package coordinate

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/text"
)

// kind is what a token means.
type kind uint8

const (
	tNumber kind = iota
	tSign        // + or -
	tDegree      // ° and the ways to write it
	tMinute
	tSecond
	tComma // also semicolon and solidus: ends a coordinate
	tColon // between two numbers
	tHemisphere
	tLatitude  // the word or a short form of it
	tLongitude //
	tEasting   // the word or a short form of it
	tNorthing
	tX
	tY
	tMetre
	tZone   // "zone", "UTM"
	tLetter // any other single letter
	tWord   // any other word
)

// token is a piece of the text, input[from:to].
type token struct {
	kind     kind
	letter   byte // of a sign, a hemisphere (N S E W, O where ambiguous) or a single letter, upper case
	single   bool // one letter as written, which may also be the band of a UTM zone
	spaced   bool // a blank stood before it
	from, to int
	number   decimal
}

// maxTokens bounds a text: more than any notation needs.
const maxTokens = 32

// tokens is a text taken apart.
type tokens struct {
	list [maxTokens]token
	n    int
}

func (t *tokens) slice() []token { return t.list[:t.n] }

// lex takes a tidy text apart. Brackets, equals signs and colons after words say nothing and are left out.
func lex(s string, t *tokens) *Error {
	spaced := false
	for i := 0; i < len(s); {
		if t.n == maxTokens {
			return faultAt(s, i, len(s), "unread", "there is more here than a position needs", "give the position alone")
		}
		c := s[i]
		k := token{from: i, spaced: spaced}
		spaced = false
		switch {
		case c == ' ':
			spaced = true
			i++
			continue
		case c-'0' <= 9:
			d, n := scanDecimal(s[i:])
			k.kind, k.number = tNumber, d
			i += n
		case c == '+' || c == '-':
			k.kind, k.letter = tSign, c
			i++
		case c == ',' || c == ';' || c == '/' || c == '|':
			k.kind = tComma
			i++
		case c == ':':
			i++
			if t.n == 0 || t.list[t.n-1].kind != tNumber || i >= len(s) || s[i]-'0' > 9 {
				spaced = true
				continue
			}
			k.kind = tColon
		case strings.IndexByte("=()[]<>", c) >= 0,
			c == '.' && t.n > 0 && t.list[t.n-1].kind > tColon: // after a word cut short
			i++
			spaced = true
			continue
		case c == '\'' || c == '`' || c == '"':
			var n int
			k.kind, n = quoteMark(s[i:])
			i += n
		case isLetter(c):
			n, ok := lexWord(s, i, t, &k)
			if !ok {
				return unread(s, i, i+n)
			}
			i += n
		default:
			return unread(s, i, i+1)
		}
		k.to = i
		t.list[t.n] = k
		t.n++
		t.join()
	}
	return nil
}

// quoteMark returns what the quotation marks at the start of s say: two single ones are a double one.
func quoteMark(s string) (kind, int) {
	switch {
	case s[0] == '"':
		return tSecond, 1
	case len(s) > 1 && s[1] == s[0]:
		return tSecond, 2
	}
	return tMinute, 1
}

// lexWord reads the word or the sign beyond ASCII at i into k and returns its bytes; false where it means nothing here.
func lexWord(s string, i int, t *tokens, k *token) (n int, ok bool) {
	j := i
	for j < len(s) && isLetter(s[j]) {
		n := 1
		if s[j] >= utf8.RuneSelf {
			var r rune
			r, n = utf8.DecodeRuneInString(s[j:])
			if r = text.Sign(r); !text.IsLetter(r) && !text.IsMark(r) || isDegree(r) {
				break
			}
		}
		j += n
	}
	if n := unitLetter(s, i, j, t); n > 0 {
		j = i + n
	}
	if j == i {
		return mark(s[i:], k)
	}
	if meaning(s[i:j], k); s[i:j] == "s" && unitLetter(s, i, j, t) == 1 {
		k.kind, k.letter, k.single = tSecond, 0, false
	} else if s[i:j] == "m" && unitLetter(s, i, j, t) == 1 {
		k.kind = tMinute
	}
	return j - i, true
}

// join lets "nördlicher Breite" and "latitude nord" be one word: the half of the Earth says which of the two
// it is.
func (t *tokens) join() {
	if t.n < 2 {
		return
	}
	a, b := &t.list[t.n-2], &t.list[t.n-1]
	if a.kind != tHemisphere {
		a, b = b, a
	}
	if a.kind != tHemisphere || !(b.kind == tLatitude && (a.letter == 'N' || a.letter == 'S') || b.kind == tLongitude &&
		(a.letter == 'E' || a.letter == 'W' || a.letter == 'O')) {
		return
	}
	if a.letter == 'O' {
		return // east to some, west to others
	}
	one := *a
	one.from, one.to, one.single, one.spaced = min(a.from, b.from), max(a.to, b.to), false, t.list[t.n-2].spaced
	t.n--
	t.list[t.n-1] = one
}

// unitLetter reports whether the letters at i begin with the d, m or s of 52d30m22s, which stand between
// figures or at the end; it returns 1 then, for what follows such as the N of 22sN is a word of its own. An S is
// south, and so is an s where no d stood for the degrees.
func unitLetter(s string, i, j int, t *tokens) int {
	if t.n == 0 || t.list[t.n-1].kind != tNumber || t.list[t.n-1].to != i {
		return 0
	}
	before := func(k kind) bool { return t.n > 1 && t.list[t.n-2].kind == k && isLetter(s[t.list[t.n-2].from]) }
	digit := i+1 < len(s) && s[i+1]-'0' <= 9
	switch c := s[i]; {
	case c == 'd' && digit, c == 'm' && (digit || j == i+2) && before(tDegree):
		return 1
	case c == 's' && before(tMinute) && (j == i+1 || j == i+2):
		return 1
	}
	return 0
}

func unread(s string, from, to int) *Error {
	return faultAt(s, from, to, "unread", "a part of this could not be read as a position",
		"write latitude and longitude in degrees, a grid reference, or easting and northing with their system")
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= utf8.RuneSelf }

// isDegree reports whether a sign is one of those that people take for the degree sign.
func isDegree(r rune) bool {
	switch r {
	case '°', 'º', '˚', '∘', '⁰', '゜', '\u1d52':
		return true
	}
	return false
}

// mark reads the signs for degree, minute and second beyond ASCII; it returns the bytes used.
func mark(s string, k *token) (int, bool) {
	r, n := utf8.DecodeRuneInString(s)
	switch {
	case isDegree(r):
		k.kind = tDegree
	case r == '·', r == '•':
		k.kind = tComma
	default:
		return n, false
	}
	return n, true
}

// meaning tells what a word stands for.
func meaning(s string, k *token) {
	k.single = len(s) == 1
	w, ok := find(s)
	k.kind, k.letter = w.kind, w.letter
	if !ok || k.kind == tWord {
		k.kind = tWord
		if k.single {
			k.kind = tLetter
		}
	}
	if k.single && k.kind != tHemisphere {
		k.letter = s[0] &^ 0x20
	}
}

// decimalCommas turns the commas that are decimal signs into points, in place, where the text leaves no doubt.
func decimalCommas(s string) (string, *Error) {
	var at [8]int
	n, groups, letters, points := 0, 0, false, false
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c-'0' <= 9:
			if i == 0 || s[i-1]-'0' > 9 {
				groups++
			}
		case c == ',' && i > 0 && i+1 < len(s) && s[i-1]-'0' <= 9 && s[i+1]-'0' <= 9:
			if n == len(at) {
				return s, nil
			}
			at[n] = i
			n++
		case c == '.' && i > 0 && i+1 < len(s) && s[i-1]-'0' <= 9 && s[i+1]-'0' <= 9:
			points = true
		case isLetter(c) || c == '\'' || c == '"':
			letters = true
		case c == ':':
			// the comma in 33:18,44:24 parts two coordinates
			if n > 0 && allDigits(s[at[n-1]+1:i]) {
				return s, nil
			}
		}
	}
	if n == 0 || points {
		return s, nil
	}
	if !letters {
		switch kept, err := bareCommas(s, at[:n], groups); {
		case err != nil || kept == nil:
			return s, err
		default:
			n = copy(at[:], kept)
		}
	}
	b := []byte(s)
	for _, i := range at[:n] {
		b[i] = '.'
	}
	return string(b), nil
}

// bareCommas returns those of the commas between figures that are decimal signs in a text of groups numbers without
// letters or marks: none where they part numbers, and an error where nobody can tell.
func bareCommas(s string, at []int, groups int) ([]int, *Error) {
	const help = "write decimals with a point, and a comma with a blank between latitude and longitude"
	switch n := len(at); {
	case n == 1 && groups == 2:
		if at[0] >= 4 && allDigits(s[:at[0]]) {
			return nil, nil
		}
		return nil, fault(s, "comma-ambiguous", "this comma may be a decimal sign or may part latitude from longitude", help,
			s[:at[0]]+", "+s[at[0]+1:])
	case n == 1 && groups%2 == 0, n > 3:
		return nil, nil
	case n == 2 && groups == 3:
		return nil, fault(s, "comma-ambiguous", "these commas may be decimal signs or may part the numbers", help)
	case n == 3 && groups == 4:
		b, d := s[at[0]+1:at[1]], s[at[2]+1:]
		if len(b) <= 2 && b < "60" || !allDigits(d) || len(d) <= 2 && d < "60" {
			return nil, fault(s, "comma-ambiguous", "these commas may be decimal signs or may part degrees and minutes", help,
				s[:at[0]]+"."+b+", "+s[at[1]+1:at[2]]+"."+d)
		}
		return []int{at[0], at[2]}, nil
	}
	return at, nil
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i]-'0' > 9 {
			return false
		}
	}
	return s != ""
}

// decimal is an unsigned decimal number as it was written, with its sign kept apart so that -0 degrees 30 minutes is
// not lost.
type decimal struct {
	value    float64
	whole    int // digits before the point
	decimals int // digits after it
	digits   int
	negative bool
	explicit bool // a sign was written
	comma    bool // the decimal sign was a comma
	text     string
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
	1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// signed returns the value with its sign.
func (d decimal) signed() float64 {
	if d.negative {
		return -d.value
	}
	return d.value
}

// step is one unit of the last digit given.
func (d decimal) step() float64 {
	if d.decimals < len(powers) {
		return 1 / powers[d.decimals]
	}
	return math.Pow(10, -float64(d.decimals))
}

// tail is the number made of the last n digits before the point and all behind it.
func (d decimal) tail(n int) float64 {
	if d.whole <= n {
		return d.value
	}
	t, _ := scanDecimal(d.text[d.whole-n:])
	return t.value
}

// scanSigned reads an optional sign and a number with a point; it returns the bytes used, 0 for none.
func scanSigned(s string) (decimal, int) {
	at := 0
	if s != "" && (s[0] == '+' || s[0] == '-') {
		at = 1
	}
	d, n := scanDecimal(s[at:])
	if n == 0 {
		return decimal{}, 0
	}
	d.negative, d.explicit = at == 1 && s[0] == '-', at == 1
	return d, at + n
}

// scanDecimal reads digits, and a point with digits behind it; it returns the bytes used, 0 for none. Up to fifteen
// digits the division below is correctly rounded; longer numbers go through strconv.
func scanDecimal(s string) (decimal, int) { return scanNumber(s, '.') }

func scanNumber(s string, point byte) (decimal, int) {
	var d decimal
	var m uint64
	i := 0
	for ; i < len(s) && s[i]-'0' <= 9; i++ {
		if d.digits < 19 {
			m = m*10 + uint64(s[i]-'0')
		}
		d.digits++
	}
	d.whole = i
	if i == 0 {
		return decimal{}, 0
	}
	if i+1 < len(s) && s[i] == point && s[i+1]-'0' <= 9 {
		d.comma = point == ','
		for i++; i < len(s) && s[i]-'0' <= 9; i++ {
			if d.digits < 19 {
				m = m*10 + uint64(s[i]-'0')
			}
			d.digits++
			d.decimals++
		}
	}
	d.text = s[:i]
	if d.digits <= 19 && m < 1<<53 && d.decimals < len(powers) {
		d.value = float64(m) / powers[d.decimals]
		return d, i
	}
	text := d.text
	if d.comma {
		text = text[:d.whole] + "." + text[d.whole+1:]
	}
	d.value, _ = strconv.ParseFloat(text, 64)
	return d, i
}
