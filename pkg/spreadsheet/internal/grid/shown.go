package grid

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// significant is the number of decimal digits that spreadsheets show of a number, at most.
const significant = 15

// NewCell returns a cell of a value as a file stores it: Raw with its Format, in a book with the given date
// system. Of a number, whose Kind is Number, it finds out whether it is shown as a date or a time.
func NewCell(column int, kind Kind, raw string, f *Format, epoch int) Cell {
	c := Cell{Column: column, Kind: kind, Text: raw, Value: raw, Raw: raw, Format: f}
	switch kind {
	case Number:
		if f.IsDate() {
			c.setDate(epoch)
			return c
		}
		c.Value = ShownNumber(raw)
		c.Text = c.Value
		if f != nil {
			c.Text = shownNumber(raw, f)
		}
	case Date, Time:
		c.setDate(epoch)
	case Bool:
		switch raw {
		case "1", "true", "TRUE":
			c.Text, c.Value = "TRUE", "true"
		case "0", "false", "FALSE":
			c.Text, c.Value = "FALSE", "false"
		}
	}
	return c
}

// setDate sets kind, text, value and precision of a serial or an ISO date. A serial of no day that exists
// stays the number that it is.
func (c *Cell) setDate(epoch int) {
	if c.Format != nil && c.Format.elapsed {
		if text, ok := elapsed(c.Raw); ok {
			c.Kind, c.Text, c.Value = Time, text, text
			return
		}
	}
	iso, ok := DateParts(c.Raw, epoch == 1904)
	if !ok {
		if c.Kind = Text; IsNumber(c.Raw) {
			c.Kind = Number
		}
		return
	}
	c.Text, c.Value = iso, iso
	day, clock, both := strings.Cut(iso, "T")
	if !both && strings.IndexByte(iso, ':') > 0 {
		c.Kind = Time
		return
	}
	c.Kind, c.Precision = Date, Day
	if both {
		c.Precision = Second
	}
	if !c.Format.IsDate() {
		return
	}
	c.Precision = c.Format.precision()
	switch c.Precision {
	case Year:
		c.Value = iso[:len("2024")]
	case Month:
		c.Value = iso[:len("2024-05")]
	case Day, NoYear:
		c.Value = day
	case Minute:
		if both && strings.HasSuffix(clock, ":00") {
			c.Value = iso[:len(iso)-len(":00")]
		}
	}
	c.Text = c.Value
	if at, err := time.Parse(time.DateOnly, day); err == nil {
		if text, ok := c.Format.dateText(at); ok {
			c.Text = text
		}
	}
}

// ShownNumber returns the literal of a number without the noise of binary fractions: at most 15
// significant digits, no needless zeros, a point for the decimals, and no exponent as long as there are no
// more than 20 places before or behind the point. An integer keeps all its digits, and text that is no
// number comes back unchanged.
func ShownNumber(literal string) string {
	return scaled(literal, 0)
}

// shownNumber returns a number with the words and the zeros of its format, but with no digit rounded away.
func shownNumber(literal string, f *Format) string {
	if !f.plain() || !IsNumber(literal) {
		return ShownNumber(literal)
	}
	text := scaled(literal, 2*f.percent-3*f.thousands)
	sign := ""
	if strings.HasPrefix(text, "-") {
		sign, text = "-", text[1:]
	}
	if !strings.Contains(text, "E") {
		whole, decimals, _ := strings.Cut(text, ".")
		if f.zeros > len(whole) {
			whole = strings.Repeat("0", min(f.zeros, 64)-len(whole)) + whole
		}
		if f.decimals > len(decimals) {
			decimals += strings.Repeat("0", min(f.decimals, 30)-min(30, len(decimals)))
		}
		if text = whole; decimals != "" {
			text += "." + decimals
		}
	}
	return sign + strings.TrimLeft(f.prefix, " ") + text + strings.Repeat("%", min(f.percent, 4)) +
		strings.TrimRight(f.suffix, " ")
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
// that all of them hold, no zero to be dropped, and no exponent.
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
