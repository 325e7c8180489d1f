package quantity

import (
	"fmt"
	"math"
	"math/bits"
)

// number reads one number without its unit: digits, fractions, words.
func (p *parser) number(m *measure) bool {
	t := p.tok()
	switch {
	case t.kind == kNumber:
		m.num, m.den, m.stepNum, m.stepDen = t.num, t.den, 1, t.den
		if t.rounded {
			p.note(NoteNoise, "figures that a sum in a spreadsheet leaves behind are rounded away")
		}
		if t.comma {
			p.note(NoteDecimalComma, "the comma is taken for a decimal comma")
		}
		p.i++
		if t.places == 0 {
			return p.mixed(m, t)
		}
		return true
	case t.kind == kFraction:
		m.num, m.den, m.stepNum, m.stepDen = t.num, t.den, 1, t.den
		p.i++
		p.skipOf()
		return true
	// foot and a half
	case p.dimension == Length && t.is(wUnit) && (t.word.unit == FT || t.word.unit == IN || t.word.unit == M) &&
		p.peek(1).is(wAnd) && (p.peek(2).is(wHalf) || p.peek(2).is(wArticle) && p.peek(3).is(wHalf)):
		m.num, m.den, m.stepNum, m.stepDen = 1, 1, 1, 1
		return true
	case t.kind == kWord:
		return p.numberWord(m)
	}
	return false
}

// mixed reads what may follow a whole number: 8 ½, 8 1/2, 8-1/2, 8/9.
//
// Grammar: mixed.
func (p *parser) mixed(m *measure, whole *token) bool {
	t := p.tok()
	switch {
	case t.kind == kFraction:
		p.i++
		return p.add(m, t.num, t.den)
	case t.kind == kNumber && t.places == 0 && p.peek(1).kind == kSlash && p.wholeAt(2):
		if !p.proper(t, p.peek(2)) || !t.spaced {
			p.failAt(CodeFractionAmbiguous, whole.at, p.peek(2).end, "", "")
			return false
		}
		den := p.peek(2).num
		p.i += 3
		return p.add(m, t.num, den)
	case t.kind == kDash && p.fractionAt(1):
		f, next := p.peek(1), p.peek(1).spaced
		if t.spaced || next {
			if m.num <= 1 {
				return true // 0 - 1/2 and 1 - 1/2 are left to the range
			}
			if f.kind == kNumber {
				f = p.peek(3)
			}
			p.failAt(CodeRange, whole.at, f.end, "", "")
			return false
		}
		if f.kind == kFraction {
			p.i += 2
			return p.add(m, f.num, f.den)
		}
		den := p.peek(3).num
		p.i += 4
		return p.add(m, f.num, den)
	case t.kind == kSlash && p.wholeAt(1):
		return p.slash(m, whole, p.peek(1))
	}
	return p.andPart(m) || p.err == nil
}

// wholeAt reports whether a whole number stands n tokens further on.
func (p *parser) wholeAt(n int) bool {
	t := p.peek(n)
	return t.kind == kNumber && t.places == 0
}

// fractionAt reports whether a proper fraction stands n tokens further on.
func (p *parser) fractionAt(n int) bool {
	t := p.peek(n)
	return t.kind == kFraction || p.wholeAt(n) && p.peek(n+1).kind == kSlash && p.wholeAt(n+2) && p.proper(t, p.peek(n+2))
}

// proper reports whether a/b is a fraction that people write behind a whole
// number.
//
// Grammar: proper.
func (p *parser) proper(a, b *token) bool {
	if a.num == 0 || a.num >= b.num {
		return false
	}
	switch b.num {
	case 2, 3, 4, 5, 6, 8, 10, 12, 16, 32, 64:
		return true
	}
	return false
}

// slash settles n/d that stands alone. Halves and quarters are fractions.
// Eighths to sixty-fourths are fractions only where no range can be meant.
// Other pairs are a range, if it is a narrow one; all else is refused.
//
// Grammar: slash.
func (p *parser) slash(m *measure, a, b *token) bool {
	n, d := a.num, b.num
	sign := p.tok()
	// U+2044 FRACTION SLASH leaves no doubt.
	fraction := sign.end-sign.at == 3 && p.s[sign.at] == 0xE2 && n > 0 && n < d
	if !fraction {
		switch d {
		case 2, 4:
			fraction = n > 0 && n < d
		case 3: // 2/3 is a fraction to some and a range to others
		case 8, 16, 32, 64:
			fraction = n > 0 && d > 2*n && n&1 == 1
		default:
			if n > 0 && n < d && d <= 2*n {
				return true // left to the range
			}
		}
	}
	if !fraction || p.peek(2).kind == kSlash {
		p.failAt(CodeFractionAmbiguous, a.at, b.end, "", "")
		return false
	}
	if n == 2 && d == 4 {
		p.note(NoteAlternatives, "2/4 is read as a half; it may have been 2 to 4")
	}
	m.num, m.den, m.stepNum, m.stepDen = n, d, 1, d
	p.i += 2
	p.skipOf()
	return true
}

// skipOf skips "of a" between a fraction and its unit.
//
// Grammar: of-a.
func (p *parser) skipOf() {
	start := p.i
	if p.tok().is(wOf) {
		p.i++
	}
	if p.tok().is(wArticle) {
		p.i++
	}
	if p.i > start && !p.tok().is(wUnit|wTroy|wGrain|wUnlisted|wOther|wCarat|wDram|wDozen) {
		p.i = start
	}
}

// add adds a/b to a whole number.
func (p *parser) add(m *measure, a, b uint64) bool {
	whole, ok := mul(m.num, b)
	if m.den != 1 || !ok || b == 0 {
		p.lost()
		return false
	}
	m.num, m.den, m.stepNum, m.stepDen = whole+a, b, 1, b
	return true
}

// andPart reads a part joined by and: eight and a half, 8 and 3/4, and behind
// a unit, a foot and a half.
//
// Grammar: half-behind, part.
func (p *parser) andPart(m *measure) bool {
	t := p.tok()
	if m.den != 1 || !t.is(wAnd) && t.kind != kAmp || p.between && !p.andAhead() {
		return false
	}
	n := 1
	if p.peek(1).is(wArticle) && p.peek(2).is(wHalf|wQuarter|wEighth|wThird) {
		n = 2
	}
	next := p.peek(n)
	switch {
	case next.is(wHalf):
		p.i += n + 1
		return p.add(m, 1, 2)
	case next.is(wQuarter | wEighth | wThird):
		p.i += n + 1
		return p.add(m, 1, part(next))
	case next.is(wNumber) && next.word.den == 1 && p.peek(n+1).is(wQuarter|wEighth|wThird) &&
		uint64(next.word.num) < part(p.peek(n+1)):
		num, den := uint64(next.word.num), part(p.peek(n+1))
		p.i += n + 2
		return p.add(m, num, den)
	case next.is(wNumber) && next.word.den == 4: // dreiviertel
		p.i += n + 1
		return p.add(m, uint64(next.word.num), 4)
	case next.kind == kFraction:
		p.i += n + 1
		return p.add(m, next.num, next.den)
	case p.fractionAt(n):
		num, den := next.num, p.peek(n+2).num
		p.i += n + 3
		return p.add(m, num, den)
	}
	return false
}

// andAhead reports whether another and follows the present one: between 8 and a half and 9 in.
func (p *parser) andAhead() bool {
	for k := p.i + 1; k < p.n; k++ {
		if p.token[k].is(wAnd) {
			return true
		}
	}
	return false
}

// part is the denominator that a word names.
func part(t *token) uint64 {
	switch {
	case t.is(wHalf):
		return 2
	case t.is(wThird):
		return 3
	case t.is(wQuarter):
		return 4
	}
	return 8
}

// numberWord reads a number in words.
//
// Grammar: number-word.
func (p *parser) numberWord(m *measure) bool {
	t := p.tok()
	m.weak = t.is(wArticle | wHalf | wRange | wAnd | wOf | wAt | wQuarter)
	switch {
	case t.is(wSurface) && p.dimension == Length && (p.peek(1).is(wRange) || p.peek(1).kind == kDash):
		m.num, m.den, m.stepNum, m.stepDen = 0, 1, 0, 1 // surface to 4 in
		p.i++
		return true
	case t.is(wHalf), t.is(wQuarter) && !t.is(wNumber):
		den := uint64(2)
		if !t.is(wHalf) {
			den = 4
		}
		m.num, m.den, m.stepNum, m.stepDen = 1, den, 1, den
		p.i++
		p.skipOf()
		return true
	case t.is(wHundred):
		m.num, m.den, m.stepNum, m.stepDen = 100, 1, 1, 1
		p.i++
		p.underHundred(m)
		return true
	case !t.is(wNumber | wArticle):
		return false
	}
	n, d := uint64(1), uint64(1)
	if t.is(wNumber) {
		n, d = uint64(t.word.num), uint64(t.word.den)
	}
	m.num, m.den, m.stepNum, m.stepDen = n, d, 1, d
	p.i++
	if t.is(wRound) { // une dizaine de cm
		p.approximate = true
		p.skipOf()
		return true
	}
	if d != 1 {
		return true
	}
	if n >= 100 && n%100 == 0 { // trzysta
		p.underHundred(m)
		return true
	}
	return p.afterWord(m, t, n)
}

// afterWord reads what stands behind a whole number in words: its part, its hundred or its ones.
func (p *parser) afterWord(m *measure, t *token, n uint64) bool {
	next := p.tok()
	dashed := 0
	if next.kind == kDash && !next.spaced && !p.peek(1).spaced {
		dashed = 1
		next = p.peek(1)
	}
	switch {
	case n == 1 && next.is(wHalf), next.is(wQuarter|wEighth|wThird) && n < part(next):
		m.den = part(next)
		m.stepDen = m.den
		p.i += dashed + 1
		p.skipOf()
		return true
	case n > 0 && n < 20 && next.is(wHundred) && dashed == 0:
		m.num = n * 100
		p.i++
		p.underHundred(m)
		return true
	}
	p.joinTens(m, t, dashed)
	return p.andPart(m) || p.err == nil
}

// joinTens reads the second word of twenty-five, vingt et un, soixante-dix.
func (p *parser) joinTens(m *measure, first *token, dashed int) {
	next := p.peek(dashed)
	if next.is(wAnd) {
		// vingt et un, soixante-et-onze; not dertig en een halve
		n := dashed + 1
		if p.peek(n).kind == kDash && !p.peek(n).spaced {
			n++
		}
		one := p.peek(n)
		fits := one.is(wNumber) && (one.word.num == 1 || one.word.num == 11 && m.num == 60)
		if first.is(wTens) && !p.between && fits && next.word.arg > 0 && !p.peek(n+1).is(wHalf) {
			m.num += uint64(one.word.num)
			p.i += n + 1
		}
		return
	}
	if !next.is(wNumber) || next.word.den != 1 {
		return
	}
	v := uint64(next.word.num)
	switch {
	case m.num == 4 && v == 20 && dashed == 1: // quatre-vingts
		m.num = 80
		p.i += 2
		if p.tok().kind == kDash && p.peek(1).is(wNumber) && p.peek(1).word.num < 20 && !p.tok().spaced {
			m.num += uint64(p.peek(1).word.num)
			p.i += 2
		}
	case m.num == 10 && v >= 7 && v <= 9 && dashed == 1, // dix-sept
		first.is(wTens) && v > 0 && v < 10 && m.num%10 == 0 && m.num >= 20,
		m.num == 60 && v >= 10 && v < 20 && dashed == 1: // soixante-quinze
		m.num += v
		p.i += dashed + 1
	}
}

// underHundred reads what follows the word hundred.
//
// Grammar: under-hundred.
func (p *parser) underHundred(m *measure) {
	n := 0
	if p.tok().is(wAnd) {
		n = 1
	}
	next := p.peek(n)
	if !next.is(wNumber) || next.word.den != 1 || next.word.num == 0 || next.word.num > 99 || p.between ||
		p.peek(n+1).is(wHalf|wQuarter|wThird) {
		return
	}
	below := measure{num: uint64(next.word.num)}
	p.i += n + 1
	dashed := 0
	if p.tok().kind == kDash && !p.tok().spaced && !p.peek(1).spaced {
		dashed = 1
	}
	p.joinTens(&below, next, dashed)
	m.num += below.num
}

// one is the Decimal 1.
const one = 1_000_000_000

// Decimal is an exact number in billionths (1e-9), so 21.59 is
// 21590000000. The zero value is zero. It holds from about -9.2 to 9.2
// thousand million; what does not fit is an error and is never rounded away.
type Decimal int64

// Whole returns n as a Decimal; an n that does not fit gives the nearest
// whole number that does.
func Whole(n int64) Decimal {
	const limit = math.MaxInt64 / one
	return Decimal(min(max(n, -limit), limit) * one)
}

// ParseDecimal reads a plain number: an optional minus sign, digits, and
// optionally a point with one to nine digits. It takes no plus sign, exponent,
// comma or blank, and an overflow is an error.
func ParseDecimal(s string) (Decimal, error) {
	d, rest, ok := scanDecimal(s)
	if !ok || rest != "" {
		return 0, fmt.Errorf("decimal %q: expected digits with at most nine after a point, and no more than 9223372036",
			clip(s))
	}
	return d, nil
}

// scanDecimal reads the number at the start of s and returns what follows it.
func scanDecimal(s string) (d Decimal, rest string, ok bool) {
	i, negative := 0, false
	if i < len(s) && s[i] == '-' {
		negative, i = true, 1
	}
	start := i
	var n uint64
	for ; i < len(s) && isDigit(s[i]); i++ {
		n = n*10 + uint64(s[i]-'0')
		if n > math.MaxInt64/one {
			return 0, s, false
		}
	}
	if i == start {
		return 0, s, false
	}
	n *= one
	// A point must have a digit behind it, so that "7..9" leaves its dots.
	if i+1 < len(s) && s[i] == '.' && isDigit(s[i+1]) {
		i++
		scale := uint64(one)
		for ; i < len(s) && isDigit(s[i]); i++ {
			if scale == 1 {
				return 0, s, false
			}
			scale /= 10
			n += uint64(s[i]-'0') * scale
		}
	}
	if n > math.MaxInt64 {
		return 0, s, false
	}
	d = Decimal(n)
	if negative {
		d = -d
	}
	return d, s[i:], true
}

// String writes the shortest plain decimal, without exponent: "21.59", "0", "-3".
func (d Decimal) String() string {
	var buf [24]byte
	return string(d.append(buf[:0]))
}

// Append appends d to b as String writes it.
func (d Decimal) Append(b []byte) []byte { return d.append(b) }

// append writes d to b as String does.
func (d Decimal) append(b []byte) []byte {
	n := uint64(d)
	if d < 0 {
		b = append(b, '-')
		n = -n
	}
	b = appendUint(b, n/one)
	frac := n % one
	if frac == 0 {
		return b
	}
	b = append(b, '.')
	for scale := uint64(one / 10); frac != 0; scale /= 10 {
		b = append(b, byte('0'+frac/scale))
		frac %= scale
	}
	return b
}

// Float returns the float64 nearest to d, for drawing and for rough
// comparison only; keep the Decimal for anything that is written down.
func (d Decimal) Float() float64 { return float64(d) / one }

// MarshalJSON writes d as a JSON number in its shortest plain form.
func (d Decimal) MarshalJSON() ([]byte, error) { return d.append(nil), nil }

// UnmarshalJSON reads a JSON number written without exponent.
func (d *Decimal) UnmarshalJSON(b []byte) error {
	v, err := ParseDecimal(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// places is how many digits stand behind the point of d in its shortest form.
func (d Decimal) places() int {
	frac := d % one
	n := 9
	if frac == 0 {
		return 0
	}
	for frac%10 == 0 {
		frac /= 10
		n--
	}
	return n
}

func appendUint(b []byte, n uint64) []byte {
	var buf [20]byte
	i := len(buf)
	for {
		i--
		buf[i] = byte('0' + n%10)
		if n /= 10; n == 0 {
			return append(b, buf[i:]...)
		}
	}
}

func isDigit(c byte) bool { return c-'0' < 10 }

// mulDiv returns a*b/c rounded half to even, computed in 128 bits, and
// whether the result fits a Decimal.
func mulDiv(a, b, c uint64) (uint64, bool) {
	hi, lo := bits.Mul64(a, b)
	if hi >= c {
		return 0, false
	}
	q, r := bits.Div64(hi, lo, c)
	if rest := c - r; r > rest || r == rest && q&1 == 1 {
		q++
	}
	return q, q <= math.MaxInt64
}

// mul returns a*b and whether it fits 64 bits.
func mul(a, b uint64) (uint64, bool) {
	hi, lo := bits.Mul64(a, b)
	return lo, hi == 0
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// clip shortens text for a message.
func clip(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	cut := most
	for cut > 0 && s[cut]&0xC0 == 0x80 {
		cut--
	}
	return s[:cut] + "…"
}
