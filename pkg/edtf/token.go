package edtf

import "unicode/utf8"

// tokenKind tells numbers, words and signs apart.
type tokenKind uint8

const (
	noToken tokenKind = iota
	numberToken
	wordToken
	signToken
)

// token is one piece of written text. Blanks are not tokens; gap tells that one
// stood before the token, dot that a full stop ended it (as an ordinal or an
// abbreviation).
type token struct {
	kind       tokenKind
	sign       byte // of a sign: dashes of all lengths are '-', quotes '\''
	digits     uint8
	roman      uint8 // value of a word that is a Roman numeral, 1 to 39
	gap, dot   bool
	capital    bool // the word begins with a capital letter
	word       word
	value      int32
	start, end int32
}

func (t *token) is(sign byte) bool     { return t.kind == signToken && t.sign == sign }
func (t *token) isNumber() bool        { return t.kind == numberToken }
func (t *token) hasClass(c class) bool { return t.kind == wordToken && t.word.class == c }

// maxTokens is the longest text that is read; what is longer is no date.
const maxTokens = 40

// tokens is written text in pieces.
type tokens struct {
	text string
	n    int
	list [maxTokens]token
}

// at returns the token at place i, or the zero token beyond the ends.
func (ts *tokens) at(i int) *token {
	if i < 0 || i >= ts.n {
		return &endToken
	}
	return &ts.list[i]
}

var endToken token

// part returns the text of tokens from i up to j, which is not included.
func (ts *tokens) part(i, j int) string {
	if i >= ts.n || j <= i {
		return ""
	}
	return ts.text[ts.list[i].start:ts.list[min(j, ts.n)-1].end]
}

// remove takes the tokens from i up to j out.
func (ts *tokens) remove(i, j int) {
	copy(ts.list[i:], ts.list[j:ts.n])
	ts.n -= j - i
}

// split cuts text into tokens and reports whether it is short enough.
func (ts *tokens) split(text string) bool {
	ts.text = text
	gap := false
	for i := 0; i < len(text); {
		c := text[i]
		if c == ' ' || c == '\t' || c == '\n' || c == '\r' {
			gap = true
			i++
			continue
		}
		if c == 0xc2 && i+1 < len(text) && text[i+1] == 0xa0 { // no-break space
			gap = true
			i += 2
			continue
		}
		if ts.n == maxTokens {
			return false
		}
		t := &ts.list[ts.n]
		*t = token{gap: gap, start: int32(i)}
		gap = false
		switch {
		case isDigit(c):
			i = t.readNumber(text, i)
		case isLetter(c):
			i = t.readWord(text, i)
		default:
			t.kind, t.sign = signToken, c
			i++
		}
		if t.kind == numberToken || t.kind == wordToken {
			// A full stop belongs to the token unless digits follow it at once.
			if i < len(text) && text[i] == '.' && (i+1 == len(text) || !isDigit(text[i+1]) || t.kind == wordToken) {
				if i+1 == len(text) || text[i+1] != '.' {
					t.dot = true
					i++
				}
			}
		}
		t.end = int32(i)
		ts.n++
	}
	return true
}

func (t *token) readNumber(text string, i int) int {
	t.kind = numberToken
	for i < len(text) && isDigit(text[i]) {
		if t.digits < 9 {
			t.value = t.value*10 + int32(text[i]-'0')
		}
		if t.digits < 255 {
			t.digits++
		}
		i++
	}
	return i
}

// readWord reads letters, folded to lower case without accents, and looks them
// up. Dashes and quotes beyond ASCII come out as signs.
func (t *token) readWord(text string, i int) int {
	var folded [24]byte
	n := 0
	first := i
	t.capital = text[i] >= 'A' && text[i] <= 'Z'
	for i < len(text) {
		c := text[i]
		if c < utf8.RuneSelf {
			if c|0x20 < 'a' || c|0x20 > 'z' {
				break
			}
			i++
			if n < len(folded) {
				folded[n] = c | 0x20
			}
			n++
			continue
		}
		r, size := utf8.DecodeRuneInString(text[i:])
		if sign := foldSign(r); sign != 0 {
			if i == first {
				t.kind, t.sign = signToken, sign
				return i + size
			}
			break
		}
		i += size
		plain := foldLetter(r)
		if i == first+size && r != utf8.RuneError {
			t.capital = isCapital(r)
		}
		for k := range len(plain) {
			if n < len(folded) {
				folded[n] = plain[k]
			}
			n++
		}
	}
	t.kind = wordToken
	if n > 0 && n <= len(folded) {
		w, ok := words.find(folded[:n])
		if !ok && n > 5 && isPeriodForm(folded[:n]) {
			w.class = periodWord
		}
		t.word = w
		t.roman = readRoman(folded[:n])
	}
	return i
}

// foldSign returns the plain sign for dashes, quotes and the like, or 0.
func foldSign(r rune) byte {
	switch r {
	case '‐', '‑', '‒', '–', '—', '―', '−':
		return '-'
	case '‘', '’', '′', '´', 'ʼ':
		return '\''
	case '“', '”', '„', '«', '»':
		return '"'
	case '±', '≈', '∼':
		return '~'
	case '≤':
		return '<'
	case '≥':
		return '>'
	case '⁄', '∕':
		return '/'
	case '…':
		return '.'
	}
	return 0
}

// foldLetter returns the plain letters for an accented one, and nothing for a
// combining mark. Letters that are not folded come out as one strange byte.
func foldLetter(r rune) string {
	switch r {
	case 'à', 'á', 'â', 'ä', 'å', 'ã', 'À', 'Á', 'Â', 'Ä', 'Å', 'Ã':
		return "a"
	case 'è', 'é', 'ê', 'ë', 'È', 'É', 'Ê', 'Ë', 'ᵉ':
		return "e"
	case 'ì', 'í', 'î', 'ï', 'Ì', 'Í', 'Î', 'Ï':
		return "i"
	case 'ò', 'ó', 'ô', 'ö', 'õ', 'ø', 'Ò', 'Ó', 'Ô', 'Ö', 'Õ', 'Ø', 'º', '°':
		return "o"
	case 'ù', 'ú', 'û', 'ü', 'Ù', 'Ú', 'Û', 'Ü':
		return "u"
	case 'ç', 'Ç':
		return "c"
	case 'ÿ', 'ý', 'Ÿ', 'Ý':
		return "y"
	case 'æ', 'Æ':
		return "ae"
	case 'œ', 'Œ':
		return "oe"
	case 'ß', 'ẞ':
		return "ss"
	case '\u0300', '\u0301', '\u0302', '\u0303', '\u0308', '\u030a', '\u0327', '\ufeff', '\u200b':
		return ""
	}
	return "\x7f"
}

func isCapital(r rune) bool {
	switch r {
	case 'À', 'Á', 'Â', 'Ä', 'Å', 'È', 'É', 'Ê', 'Ö', 'Ø', 'Ü', 'Æ', 'Œ', 'Ç':
		return true
	}
	return false
}

// readRoman returns the value of a Roman numeral from 1 to 39, alone or with a
// French or Dutch ordinal ending (xviii, xviiie, xviiieme), else 0.
func readRoman(w []byte) uint8 {
	n := 0
	for n < len(w) && (w[n] == 'x' || w[n] == 'v' || w[n] == 'i') {
		n++
	}
	if n == 0 {
		return 0
	}
	switch string(w[n:]) {
	case "", "e", "es", "eme", "emes", "er", "ers", "de", "th", "ste":
	case "eeme":
		// "iième" after a numeral
	default:
		return 0
	}
	value, used := 0, 0
	for used < n && w[used] == 'x' {
		value += 10
		used++
	}
	if used > 3 {
		return 0
	}
	unit, ok := romanUnits[string(w[used:n])]
	if !ok && n-used > 1 && w[n-1] == 'i' && string(w[n:]) == "eme" {
		unit, ok = romanUnits[string(w[used:n-1])] // xviiiieme for XVIIIième
	}
	if !ok {
		return 0
	}
	return uint8(value + unit)
}

var romanUnits = map[string]int{"": 0, "i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5,
	"vi": 6, "vii": 7, "viii": 8, "ix": 9}
