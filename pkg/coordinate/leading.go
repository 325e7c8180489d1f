package coordinate

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/text"
)

// Leading cuts a position from the words behind it: 52.30133, -1.90240 Ridge. Of latitude, longitude, height and
// accuracy, as the makers of forms write them, the first two are the position. Both parts are empty where the text does
// not begin with a position that names a spot.
func Leading(s string) (spot, rest string) {
	fields := strings.Fields(s)
	if len(fields) < 2 || len(fields) > 30 || !strings.ContainsAny(s, "0123456789") || isSpot(s) {
		return "", ""
	}
	if n := len(fields); n == 4 || n == 3 {
		if spot := fields[0] + ", " + fields[1]; allDegrees(fields[:2]) && allNumbers(fields[2:]) && isSpot(spot) {
			return spot, strings.Join(fields[2:], " ")
		}
	}
	for n := min(len(fields)-1, 8); n > 0; n-- {
		if !isRemark(fields[n:]) {
			continue
		}
		if spot := strings.TrimRight(strings.Join(fields[:n], " "), " ,;:/-–"); isSpot(spot) {
			return spot, strings.Join(fields[n:], " ")
		}
	}
	return "", ""
}

// isRemark reports whether words behind a position are a remark, and no part of it: a letter alone may be a direction
// (O is west to some), a word may name one, and three figures in a row may be of a second reference.
func isRemark(fields []string) bool {
	for _, f := range fields {
		if threeFigures().MatchString(f) {
			return false
		}
	}
	first, _ := utf8.DecodeRuneInString(fields[0])
	if first == '(' {
		return true
	}
	word := strings.Trim(fields[0], ".,;:()")
	known, ok := find(word)
	return unicode.IsLetter(first) && utf8.RuneCountInString(word) > 1 &&
		!(ok && known.rank > 0 && known.in == asNothing && !known.about && known.kind != tWord)
}

var threeFigures = text.Pattern(`[0-9]{3}`)

func isSpot(s string) bool {
	r, err := Normalise(s, Options{})
	return err == nil && r.Absent == "" && r.Square <= 100 && r.Uncertainty < 2500
}

func allNumbers(fields []string) bool {
	for _, f := range fields {
		if _, err := strconv.ParseFloat(f, 64); err != nil {
			return false
		}
	}
	return true
}

// allDegrees reports whether all are numbers with at least three decimals.
func allDegrees(fields []string) bool {
	for _, f := range fields {
		if at := strings.IndexByte(f, '.'); at < 0 || len(f)-at < 4 {
			return false
		}
	}
	return allNumbers(fields)
}
