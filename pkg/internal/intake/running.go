package intake

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Running watches the names of a map file for a running number before the words, such as "012 buckle": every name
// begins with one, the numbers only rise or only fall, and at most every second one is left out. Years, which leap, and
// counts, which come again, are not taken for one. Common practice, no source.
type Running struct {
	names, first, last int
	falls, broken      bool
}

// leastRunning is the least number of names that make a running number.
const leastRunning = 3

// Add looks at the name of one more find.
func (r *Running) Add(name string) {
	digits, _, ok := splitNumber(name)
	n, err := strconv.Atoi(digits)
	switch {
	case !ok || err != nil:
		r.broken = true
	case r.names == 0:
		r.first = n
	case r.names == 1:
		r.falls = n < r.last
		fallthrough
	default:
		r.broken = r.broken || n == r.last || (n < r.last) != r.falls
	}
	r.names, r.last = r.names+1, n
}

// Holds reports whether all names so far begin with a running number.
func (r *Running) Holds() bool {
	span := max(r.last-r.first, r.first-r.last) + 1
	return !r.broken && r.names >= leastRunning && span <= 2*r.names
}

// splitNumber cuts a name such as "012 buckle" or "12 - buckle" into its number and its words; there may be no words.
func splitNumber(name string) (number, words string, ok bool) {
	name = strings.TrimSpace(name)
	end := len(name) - len(strings.TrimLeft(name, "0123456789"))
	if end == 0 || end > 6 {
		return "", "", false
	}
	words = strings.TrimLeft(name[end:], " \t.:;,)_#-–")
	first, _ := utf8.DecodeRuneInString(words)
	count := unicode.IsDigit(first) && name[end] == ' ' // 003 2 buckles, but not 1.5 bell
	if words != "" && (len(words) == len(name)-end || !unicode.IsLetter(first) && !count) {
		return "", "", false
	}
	return name[:end], words, true
}
