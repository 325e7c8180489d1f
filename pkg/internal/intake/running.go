package intake

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A Running watches the names of a map file for a running number before the words, such as "012 buckle" or "V3 buckle":
// every name begins with one, behind the same letters if any, the numbers only rise or only fall, and at most every
// second one is left out. Years, which leap, and counts, which come again, are not taken for one. Where the numbers
// have letters or zeros before them, or are many, some names may be without: they are no finds, unless their words
// tell of a thing. Common practice, no source.
type Running struct {
	names, first, last int
	falls, broken      bool
	prefix             string
	padded             int // with a zero or the sign for a number before it
	odd                int // names without a number
	again              int // names with the number of the one before
	seen               map[int]bool
}

// leastRunning is the least number of names that make a running number.
const leastRunning = 3

// Add looks at the name of one more find.
func (r *Running) Add(name string) {
	m, ok := splitMark(name)
	n, err := strconv.Atoi(m.digits)
	switch {
	case !ok || err != nil:
		r.odd++
		return
	case r.names == 0:
		r.first, r.prefix = n, m.prefix
	case r.names == 1:
		r.falls = n < r.last
		fallthrough
	default:
		if n == r.last && m.letter == "" {
			r.again++
		}
		r.broken = r.broken || n != r.last && (n < r.last) != r.falls || m.prefix != r.prefix
	}
	if r.seen == nil {
		r.seen = map[int]bool{}
	}
	if !r.seen[n] && len(r.seen) < maxSeen && m.prefix == r.prefix {
		r.seen[n] = true
	}
	if m.digits[0] == '0' || m.sign != "" {
		r.padded++
	}
	r.names, r.last = r.names+1, n
}

// Holds reports whether all names so far begin with a running number, or nearly all and no doubt is left.
func (r *Running) Holds() bool {
	span := max(r.last-r.first, r.first-r.last) + 1
	enough := r.names >= leastRunning || r.names == 2 && min(r.first, r.last) >= 10 // 12 and 13 are no counts
	sure := r.names >= 2*leastRunning || r.names >= leastRunning && (r.prefix != "" || r.padded == r.names)
	if r.broken && r.names == len(r.seen) { // one of each, but sorted by what lies where
		r.last, r.first = slices.Max(slices.Collect(maps.Keys(r.seen))), slices.Min(slices.Collect(maps.Keys(r.seen)))
		return r.names > leastRunning && r.last-r.first+1 == r.names && r.odd == 0
	}
	slip := r.again == 0 || r.again*4 <= r.names && max(r.first, r.last) > leastRunning // 1, 2, 2 may be counts
	return !r.broken && slip && enough && span <= 2*r.names && (r.prefix == "" || sure) &&
		(r.odd == 0 || sure && r.odd*2 <= r.names)
}

// mark is a name that begins with a number: V3b buckle.
type mark struct{ sign, prefix, digits, letter, words string }

var marks = text.Pattern(`^([#№] ?)?(\pL{0,3}|\pL{4,16} )([0-9]{1,6})([a-z]?)(?:([\s.:;,)_#–-]+)(.*))?$`)

// splitMark cuts a name such as "012 buckle" or "12 - buckle" into its number and its words; there may be no words. A
// word before the number, as in "maple 1 - buckle", is no thing, and a sign stands behind it.
func splitMark(name string) (out mark, ok bool) {
	m := marks().FindStringSubmatch(strings.TrimSpace(name))
	if m == nil {
		return out, false
	}
	out = mark{m[1], m[2], m[3], m[4], m[6]}
	first, _ := utf8.DecodeRuneInString(out.words)
	count := unicode.IsDigit(first) && strings.HasPrefix(m[5], " ") // 003 2 buckles, but not 1.5 bell
	if long := strings.TrimSpace(m[2]); len(long) < len(m[2]) {
		_, thing := vocabulary.Get("object-class").Match(long)
		return out, strings.ContainsAny(m[5], ":-–") && out.words != "" && !thing && heading.Understand(long).Field == ""
	}
	return out, out.words == "" || unicode.IsLetter(first) || count
}

func (m *mark) number() string { return m.prefix + m.digits + m.letter }

// Dated counts a text that is a day for the order of day and month.
func (s *Survey) Dated(text string) {
	if len(s.days) < maxSeen && IsDay(text) {
		s.days = append(s.days, text)
	}
}
