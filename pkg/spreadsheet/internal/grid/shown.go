package grid

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// significant is the number of decimal digits that spreadsheets show of a number, at most.
const significant = 15

// Shown returns the text of a cell as a person at the spreadsheet takes it, without the rounding
// that a format does: 17.78 for a stored 17.780000000000001, "17.78 in" with the format 0" in",
// 00042 with the format 00000, 50% for a half with a percentage format, 1.5 kg for 1500 with the
// format 0.0," kg". Dates come in ISO 8601 as from [DateParts], elapsed times as 26:30:00, truth
// values as TRUE and FALSE; a serial of no day, an error and text come as they are stored.
func Shown(c Cell, epoch1904 bool) string {
	switch c.Kind {
	case Number:
		return shownNumber(c.Text, c.Format)
	case Date:
		if IsElapsedFormat(c.Format) {
			if text, ok := elapsed(c.Text); ok {
				return text
			}
			return c.Text
		}
		if text, ok := DateParts(c.Text, epoch1904); ok {
			return text
		}
		return c.Text
	case Bool:
		switch c.Text {
		case "1", "true":
			return "TRUE"
		case "0", "false":
			return "FALSE"
		}
	}
	return c.Text
}

// ShownNumber returns the literal of a number without the noise of binary fractions: at most 15
// significant digits, no needless noughts, a point for the decimals, and no exponent as long as
// there are no more than 20 places before or behind the point. An integer keeps all its digits, and
// text that is no number comes back unchanged.
func ShownNumber(literal string) string {
	return scaled(literal, 0)
}

func shownNumber(literal, code string) string {
	if code == "" || !IsNumber(literal) {
		return ShownNumber(literal)
	}
	f := parseFormat(code)
	if !f.plain() {
		return ShownNumber(literal)
	}
	text := scaled(literal, 2*f.percent-3*f.thousands)
	sign := ""
	if strings.HasPrefix(text, "-") {
		sign, text = "-", text[1:]
	}
	if whole, _, _ := strings.Cut(text, "."); f.zeros > len(whole) {
		text = strings.Repeat("0", max(0, min(f.zeros, 64)-len(whole))) + text
	}
	return sign + strings.TrimLeft(f.prefix, " ") + text + strings.Repeat("%", min(f.percent, 4)) + strings.TrimRight(f.suffix, " ")
}

// scaled returns the literal times a power of ten, in plain decimals.
func scaled(literal string, power int) string {
	literal = strings.TrimSpace(literal)
	if !IsNumber(literal) {
		return literal
	}
	if power == 0 && (isInteger(literal) || isShortest(literal)) {
		return literal
	}
	return rounded(literal, power)
}

// rounded is scaled for any number.
func rounded(literal string, power int) string {
	value, err := strconv.ParseFloat(literal, 64)
	if err != nil || math.IsInf(value, 0) {
		return literal
	}
	if value == 0 {
		return "0"
	}
	text := strconv.FormatFloat(value, 'e', significant-1, 64)
	mantissa, exponent, _ := strings.Cut(text, "e")
	point, _ := strconv.Atoi(exponent)
	point += power + 1
	sign := ""
	if mantissa[0] == '-' {
		sign, mantissa = "-", mantissa[1:]
	}
	digits := strings.TrimRight(strings.Replace(mantissa, ".", "", 1), "0")
	const places = 20
	switch {
	case point > places+1 || point < -places:
		if len(digits) > 1 {
			digits = digits[:1] + "." + digits[1:]
		}
		return sign + digits + "E" + strconv.Itoa(point-1)
	case point <= 0:
		return sign + "0." + strings.Repeat("0", -point) + digits
	case point >= len(digits):
		return sign + digits + strings.Repeat("0", point-len(digits))
	default:
		return sign + digits[:point] + "." + digits[point:]
	}
}

// isInteger reports whether the literal is written as an integer in its shortest form.
func isInteger(literal string) bool {
	digits := strings.TrimPrefix(literal, "-")
	if digits == "" || digits[0] == '0' && literal != "0" {
		return false
	}
	for i := 0; i < len(digits); i++ {
		if digits[i] < '0' || digits[i] > '9' {
			return false
		}
	}
	return true
}

// isShortest reports whether the literal is a decimal fraction that comes out as it is written: so few digits
// that all of them hold, no nought to be dropped, and no exponent.
func isShortest(literal string) bool {
	digits := strings.TrimPrefix(literal, "-")
	if len(digits) > significant+1 { // the point is one of them
		return false
	}
	point := strings.IndexByte(digits, '.')
	if point < 1 || point+1 == len(digits) || digits[0] == '0' && point > 1 || digits[len(digits)-1] == '0' {
		return false
	}
	for i := range len(digits) {
		if digits[i]-'0' > 9 && i != point {
			return false
		}
	}
	return true
}

// elapsed returns a serial as hours, minutes and seconds.
func elapsed(serial string) (string, bool) {
	value, err := strconv.ParseFloat(strings.TrimSpace(serial), 64)
	if err != nil || math.Abs(value) > lastSerial1900 {
		return "", false
	}
	second := int64(math.Round(math.Abs(value) * 86400))
	sign := ""
	if value < 0 && second > 0 {
		sign = "-"
	}
	return fmt.Sprintf("%s%02d:%02d:%02d", sign, second/3600, second/60%60, second%60), true
}
