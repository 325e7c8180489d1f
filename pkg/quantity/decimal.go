package quantity

import (
	"fmt"
	"math"
	"math/bits"
)

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
