package share

import (
	"math/bits"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// folded is a text in the one form in which it is compared: without case, marks, signs that nobody sees
// and letters of other scripts that look like Latin ones, and with nothing between its letters and digits.
type folded struct {
	text   []byte
	at     []int32 // where each byte came from
	starts []bool  // a word begins here; the one after the last byte too
	upper  []bool  // it was a capital
	cells  []bool  // it is the first of its cell
}

// fold takes a text apart.
func fold(text string) *folded {
	f := &folded{text: make([]byte, 0, len(text)), at: make([]int32, 0, len(text)), starts: make([]bool, 0, len(text)+1),
		upper: make([]bool, 0, len(text)), cells: make([]bool, 0, len(text))}
	const none, letter, digit = 0, 1, 2
	kind, cell := none, true
	put := func(r rune, at, k int, upper bool) {
		n := len(f.text)
		f.text = utf8.AppendRune(f.text, r)
		for i := range len(f.text) - n {
			f.at, f.upper = append(f.at, int32(at)), append(f.upper, upper)
			f.starts, f.cells = append(f.starts, i == 0 && kind != k), append(f.cells, cell)
		}
		kind, cell = k, false
	}
	for i := 0; i < len(text); {
		c := text[i]
		size := 1
		switch {
		case c >= 'a' && c <= 'z':
			put(rune(c), i, letter, false)
		case c >= 'A' && c <= 'Z':
			put(rune(c)+'a'-'A', i, letter, true)
		case c >= '0' && c <= '9':
			put(rune(c), i, digit, false)
		case c < utf8.RuneSelf:
			kind = none
			cell = cell || parts(c)
		default:
			var r rune
			if r, size = utf8.DecodeRuneInString(text[i:]); r == utf8.RuneError && size == 1 {
				r = rune(c) // a file in another encoding: most likely Latin 1
			}
			switch {
			case unicode.IsLetter(r):
				for _, b := range bare(r) {
					put(b, i, letter, unicode.IsUpper(r))
				}
			case unicode.IsNumber(r):
				for _, b := range bare(r) {
					put(b, i, digit, false)
				}
			case invisible(r):
			default:
				kind = none
			}
		}
		i += size
	}
	f.starts = append(f.starts, true)
	return f
}

// invisible reports whether a reader sees nothing of a sign: marks, joiners, soft hyphens.
func invisible(r rune) bool {
	return unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Me, r) || unicode.Is(unicode.Cf, r) || r == '\u034f' ||
		r == '\u115f' || r == '\u3164'
}

// lookalikes are letters of other scripts that a reader takes for Latin ones (Unicode TR 39, confusables;
// from memory), and letters that are written with two.
var lookalikes = func() map[rune]string {
	out := map[rune]string{'ß': "ss", 'ẞ': "ss", 'ø': "o", 'Ø': "o", 'æ': "ae", 'Æ': "ae", 'œ': "oe", 'Œ': "oe", 'ł': "l",
		'Ł': "l", 'ı': "i", 'đ': "d", 'þ': "th", 'ð': "d", 'ʼ': ""}
	for pair := range strings.FieldsSeq("аa Аa еe Еe оo Оo рp Рp сc Сc уy Уy хx Хx іi Іi јj Јj ѕs Ѕs кk Кk мm Мm нh Нh " +
		"тt Тt вb Вb һh ԁd ԛq ԝw αa Αa εe Εe οo Οo ρp Ρp τt Τt υu Υy χx Χx ιi Ιi κk Κk νv Νn Μm ηn Ηh Βb ζz Ζz ɑa ɡg ɩi") {
		runes := []rune(pair)
		out[runes[0]] = string(runes[1])
	}
	return out
}()

// bare is a letter or digit without case and marks.
func bare(r rune) string {
	if text, ok := lookalikes[r]; ok {
		return text
	}
	var out []rune
	for _, d := range norm.NFKD.String(string(r)) {
		if unicode.Is(unicode.Mn, d) || unicode.Is(unicode.Cf, d) {
			continue
		}
		if n := digitOf(d); n >= 0 {
			d = rune('0' + n)
		}
		if text, ok := lookalikes[d]; ok {
			out = append(out, []rune(text)...)
			continue
		}
		if unicode.IsLetter(d) || unicode.IsDigit(d) {
			out = append(out, unicode.ToLower(d))
		}
	}
	return string(out)
}

// digitOf is the value of a decimal digit of any script, -1 for none: in each script they stand in a row
// of ten that begins with zero.
func digitOf(r rune) int {
	if r < utf8.RuneSelf {
		return -1
	}
	for _, one := range "①❶➀➊⓵⑴⒈" { // in circles and the like, one to nine
		if r >= one && r < one+9 {
			return int(r-one) + 1
		}
	}
	if !unicode.Is(unicode.Nd, r) {
		return -1
	}
	n := 0
	for from := r - 1; n < 9 && unicode.Is(unicode.Nd, from); from-- {
		n++
	}
	if n == 9 && unicode.Is(unicode.Nd, r-10) { // rows that follow one another, as the mathematical ones do
		return int(r-0x1d7ce) % 10
	}
	return n
}

// keyOf is a text as it is looked up.
func keyOf(text string) string { return string(fold(text).text) }

// names finds the texts of the source, whatever stands between their letters, in other capitals, in the
// plural and joined to other words. Short ones count between the borders of words, and before the endings
// of a plural or a genitive.
func (s *secrets) names(text string, add func(kind, member string, at, to int)) {
	f := fold(text)
	for i := 0; i+3 <= len(f.text); i++ {
		if i%256 == 0 && s.stopped() {
			return
		}
		lengths := s.lengths[headOf(f.text[i:i+3])]
		if lengths == 0 {
			continue
		}
		h := hash('k', "")
		for n := 1; n <= bits.Len64(lengths)-1 && i+n <= len(f.text); n++ {
			h = (h ^ uint64(f.text[i+n-1])) * fnvPrime
			if lengths&(1<<n) == 0 {
				continue
			}
			if x, ok := s.keys[h]; ok && f.fits(i, i+n, x) {
				s.tell(x, int(f.at[i]), f.after(i+n, text), add)
			}
		}
	}
}

// fits reports whether a stretch may be the text that it looks like: one that is an everyday word, or all
// digits, only between the borders of words.
func (f *folded) fits(from, to int, x secret) bool {
	if x.parted > 0 && !f.starts[from+int(x.parted)] {
		return false
	}
	if x.word || x.whole || to-from <= 5 {
		return f.starts[from] && f.ends(to, x) && f.meant(from, x)
	}
	if x.code {
		return f.starts[from] // a longer code begins with that of the cell around it
	}
	// letters of a word at the edge that make it a part of a compound: "finder b" is not in "finder before"
	const least = 4
	first, last := to, from
	for i := from + 1; i < to; i++ {
		if f.starts[i] {
			first, last = min(first, i), i
		}
		if f.cells[i] && (i-from < least || to-i < least) {
			return false // "finder" in one cell and "a" in the next
		}
	}
	return (f.starts[from] || first-from >= least) && (f.ends(to, x) || to-last >= least)
}

// endings of a plural or a genitive.
var endings = []string{"", "s", "es", "e", "n", "en", "er", "ens", "ene", "erne", "ar", "or", "arna"}

// ends reports whether a word ends at a place, but for an ending.
func (f *folded) ends(at int, x secret) bool {
	if x.whole {
		return f.starts[at]
	}
	for _, e := range endings {
		if at+len(e) <= len(f.text) && string(f.text[at:at+len(e)]) == e && f.starts[at+len(e)] {
			return true
		}
	}
	return false
}

// meant sorts out everyday words: they are meant as a name where they have a capital and do not begin a cell.
func (f *folded) meant(at int, x secret) bool { return !x.word || f.upper[at] && !f.cells[at] }

// after is the offset in the text of what stands behind a stretch.
func (f *folded) after(to int, text string) int {
	if to == 0 || to > len(f.at) {
		return len(text)
	}
	at := int(f.at[to-1])
	_, size := utf8.DecodeRuneInString(text[at:])
	return at + size
}

// figuresText is a text as figures are looked for in it: digits of other scripts and number words as digits,
// words for degrees as marks, and nothing that is not seen. Its offsets are not those of the text.
func figuresText(text string) string {
	if !needsFigures(text) {
		return text
	}
	var b strings.Builder
	b.Grow(len(text))
	for _, r := range text {
		switch n := digitOf(r); {
		case n >= 0:
			b.WriteByte(byte('0' + n))
		case r == '．' || r == '٫' || r == '·':
			b.WriteByte('.')
		case r == '−' || r == '–':
			b.WriteByte('-')
		case r == '\u00a0' || r == '\u2009' || r == '\u202f' || r == '\u2007':
			b.WriteByte(' ')
		case invisible(r):
		case unicode.Is(unicode.No, r) || r > 0x2000 && unicode.IsLetter(r): // raised, in circles, of other looks
			if plain := norm.NFKC.String(string(r)); strings.Trim(plain, "0123456789") == "" || unicode.IsLetter(r) {
				b.WriteString(plain)
				continue
			}
			b.WriteRune(r)
		default:
			b.WriteRune(r)
		}
	}
	return numberWords(b.String())
}

func needsFigures(text string) bool {
	for i := range len(text) {
		if text[i] >= utf8.RuneSelf {
			return true
		}
	}
	found := false
	eachNumberWord(text, func(_, _ int) bool {
		found = true
		return false
	})
	return found
}

// eachNumberWord calls yield for every word that is a number, a point or a mark of an angle, with a full stop
// behind it.
func eachNumberWord(text string, yield func(from, to int) bool) {
	const longestWord = 32
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		if !unicode.IsLetter(r) {
			i += size
			continue
		}
		from := i
		for i < len(text) {
			if r, size = utf8.DecodeRuneInString(text[i:]); !unicode.IsLetter(r) {
				break
			}
			i += size
		}
		if n := i - from; n < 2 || n > longestWord || !numberWord()[strings.ToLower(text[from:i])] {
			continue
		}
		to := i
		if to < len(text) && text[to] == '.' {
			to++
		}
		if !yield(from, to) {
			return
		}
	}
}

var (
	numberWord = sync.OnceValue(func() map[string]bool {
		out := map[string]bool{}
		for word := range numberValue() {
			out[word] = true
		}
		for word := range strings.FieldsSeq("point dot decimal komma comma virgule punkt degree degrees deg grad graden " +
			"grader degré degrés minute minutes minuten minutter minuter min second seconds sekunden sec seconden sekunder " +
			"seconde secondes") {
			out[word] = true
		}
		return out
	})
	numberValue = sync.OnceValue(func() map[string]int {
		out := map[string]int{}
		for n, list := range []string{"zero nought oh null nul zéro noll", "one eins ein een un ett",
			"two zwei twee deux två", "three drei drie trois tre", "four vier quatre fire fyra", "five fünf vijf cinq fem",
			"six sechs zes seks sex", "seven sieben zeven sept syv sju", "eight acht huit otte åtta",
			"nine neun negen neuf ni nio", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
			"eighteen", "nineteen"} {
			for w := range strings.FieldsSeq(list) {
				out[w] = n
			}
		}
		for n, w := range strings.Fields("twenty thirty forty fifty sixty seventy eighty ninety") {
			out[w] = (n + 2) * 10
		}
		return out
	})
)

// numberWords turns runs of number words into digits: "five two point five one" is 52.51, "fifty two" is
// 52; and words for degrees, minutes and seconds into marks.
func numberWords(text string) string {
	var found [][2]int
	eachNumberWord(text, func(from, to int) bool {
		found = append(found, [2]int{from, to})
		return true
	})
	if found == nil {
		return text
	}
	var b []byte
	last, lastEnd, tens := 0, -1, false
	for _, m := range found {
		word := strings.TrimSuffix(strings.ToLower(text[m[0]:m[1]]), ".")
		between := text[last:m[0]]
		mark := ""
		value, isNumber := numberValue()[word]
		switch {
		case isNumber:
			mark = itoa(value)
		case strings.HasPrefix(word, "deg") || strings.HasPrefix(word, "gra") || strings.HasPrefix(word, "dég"):
			mark = "°"
		case strings.HasPrefix(word, "min"):
			mark = "'"
		case strings.HasPrefix(word, "sec") || strings.HasPrefix(word, "sek"):
			mark = `"`
		default:
			mark = "."
		}
		joined := lastEnd >= 0 && last == lastEnd && strings.Trim(between, " -,") == "" && len(between) <= 3
		switch {
		case joined && isNumber && tens && value < 10 && value > 0: // fifty two
			b = append(b[:len(b)-1], mark...)
		case joined && (isNumber || mark == "."):
			b = append(b, mark...)
		default:
			b = append(b, between+mark...)
		}
		tens = isNumber && value >= 20
		last, lastEnd = m[1], m[1]
	}
	return string(append(b, text[last:]...))
}

func itoa(n int) string {
	if n >= 10 {
		return string([]byte{byte('0' + n/10), byte('0' + n%10)})
	}
	return string([]byte{byte('0' + n)})
}
