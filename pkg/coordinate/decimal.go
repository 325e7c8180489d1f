package coordinate

import (
	"math"
	"strconv"
)

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
