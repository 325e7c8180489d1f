package coordinate

import "unicode/utf8"

// kind is what a token means.
type kind uint8

const (
	tNumber kind = iota
	tSign        // + or -
	tDegree      // ° and the ways to write it
	tMinute
	tSecond
	tComma // also semicolon and solidus: ends a coordinate
	tColon // between two numbers
	tHemisphere
	tLatitude  // the word or a short form of it
	tLongitude //
	tEasting   // the word or a short form of it
	tNorthing
	tX
	tY
	tMetre
	tZone   // "zone", "UTM"
	tLetter // any other single letter
	tWord   // any other word
)

// token is a piece of the text, input[from:to].
type token struct {
	kind     kind
	letter   byte // of a sign, a hemisphere (N S E W, O where ambiguous) or a single letter, upper case
	single   bool // one letter as written, which may also be the band of a UTM zone
	spaced   bool // a blank stood before it
	from, to int
	number   decimal
}

// maxTokens bounds a text: more than any notation needs.
const maxTokens = 32

// tokens is a text taken apart.
type tokens struct {
	list [maxTokens]token
	n    int
}

func (t *tokens) slice() []token { return t.list[:t.n] }

// lex takes a tidy text apart. Brackets, equals signs and colons after words say nothing and are left out.
func lex(s string, t *tokens) *Error {
	spaced := false
	for i := 0; i < len(s); {
		if t.n == maxTokens {
			return faultAt(s, i, len(s), "unread", "there is more here than a position needs", "give the position alone")
		}
		c := s[i]
		k := token{from: i, spaced: spaced}
		spaced = false
		switch {
		case c == ' ':
			spaced = true
			i++
			continue
		case c-'0' <= 9:
			d, n := scanDecimal(s[i:])
			k.kind, k.number = tNumber, d
			i += n
		case c == '+' || c == '-':
			k.kind, k.letter = tSign, c
			i++
		case c == ',' || c == ';' || c == '/' || c == '|':
			k.kind = tComma
			i++
		case c == ':':
			i++
			if t.n == 0 || t.list[t.n-1].kind != tNumber || i >= len(s) || s[i]-'0' > 9 {
				spaced = true
				continue
			}
			k.kind = tColon
		case c == '=' || c == '(' || c == ')' || c == '[' || c == ']' || c == '<' || c == '>':
			i++
			spaced = true
			continue
		case c == '.' && t.n > 0 && t.list[t.n-1].kind > tColon: // after a word cut short
			i++
			spaced = true
			continue
		case c == '\'' || c == '`':
			k.kind = tMinute
			i++
			if i < len(s) && s[i] == c {
				k.kind = tSecond
				i++
			}
		case c == '"':
			k.kind = tSecond
			i++
		case c == '*' || c == '~' || c == '^':
			return unread(s, i, i+1)
		case isLetter(c):
			j := i
			for j < len(s) && isLetter(s[j]) {
				n := 1
				if s[j] >= utf8.RuneSelf {
					var r rune
					r, n = utf8.DecodeRuneInString(s[j:])
					if !isWordRune(r) {
						break
					}
				}
				j += n
			}
			if n := unitLetter(s, i, j, t); n > 0 {
				j = i + n
			}
			if j == i { // a sign beyond ASCII
				n, ok := mark(s[i:], &k)
				if !ok {
					return unread(s, i, i+n)
				}
				i += n
				break
			}
			if meaning(s[i:j], &k); s[i:j] == "s" && unitLetter(s, i, j, t) == 1 {
				k.kind, k.letter, k.single = tSecond, 0, false
			} else if s[i:j] == "m" && unitLetter(s, i, j, t) == 1 {
				k.kind = tMinute
			}
			i = j
		default:
			return unread(s, i, i+1)
		}
		k.to = i
		t.list[t.n] = k
		t.n++
		t.join()
	}
	return nil
}

// join lets "nördlicher Breite" and "latitude nord" be one word: the half of the Earth says which of the two
// it is.
func (t *tokens) join() {
	if t.n < 2 {
		return
	}
	a, b := &t.list[t.n-2], &t.list[t.n-1]
	if a.kind != tHemisphere {
		a, b = b, a
	}
	if a.kind != tHemisphere || !(b.kind == tLatitude && (a.letter == 'N' || a.letter == 'S') || b.kind == tLongitude && (a.letter == 'E' || a.letter == 'W' || a.letter == 'O')) {
		return
	}
	if a.letter == 'O' {
		return // east to some, west to others
	}
	one := *a
	one.from, one.to, one.single, one.spaced = min(a.from, b.from), max(a.to, b.to), false, t.list[t.n-2].spaced
	t.n--
	t.list[t.n-1] = one
}

// unitLetter tells whether the letters at i begin with the d, m or s of 52d30m22s, which stand between
// figures or at the end; it returns 1 then, for what follows such as the N of 22sN is a word of its own. An S is
// south, and so is an s where no d stood for the degrees.
func unitLetter(s string, i, j int, t *tokens) int {
	if t.n == 0 || t.list[t.n-1].kind != tNumber || t.list[t.n-1].to != i {
		return 0
	}
	before := func(k kind) bool { return t.n > 1 && t.list[t.n-2].kind == k && isLetter(s[t.list[t.n-2].from]) }
	digit := i+1 < len(s) && s[i+1]-'0' <= 9
	switch c := s[i]; {
	case c == 'd' && digit, c == 'm' && (digit || j == i+2) && before(tDegree):
		return 1
	case c == 's' && before(tMinute) && (j == i+1 || j == i+2):
		return 1
	}
	return 0
}

func unread(s string, from, to int) *Error {
	return faultAt(s, from, to, "unread", "a part of this could not be read as a position",
		"write latitude and longitude in degrees, a grid reference, or easting and northing with their system")
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= utf8.RuneSelf }

// isWordRune tells the letters beyond ASCII that occur in the words below.
func isWordRune(r rune) bool {
	switch r {
	case 'ä', 'ö', 'ü', 'æ', 'ø', 'å', 'Ä', 'Ö', 'Ü', 'Æ', 'Ø', 'Å', 'é', 'É', 'è', 'ß':
		return true
	}
	return false
}

// mark reads the signs for degree, minute and second beyond ASCII; it returns the bytes used.
func mark(s string, k *token) (int, bool) {
	r, n := utf8.DecodeRuneInString(s)
	switch r {
	case '°', 'º', '˚', '∘', '⁰', '゜', '\u1d52':
		k.kind = tDegree
	case '′', '’', '‘', 'ʹ', '´', 'ʼ', '＇', '‛':
		k.kind = tMinute
		if r2, n2 := utf8.DecodeRuneInString(s[n:]); r2 == r {
			k.kind = tSecond
			n += n2
		}
	case '″', '”', '“', 'ʺ', '˝', '〃', '„', '＂', '‟':
		k.kind = tSecond
	case '·', '•':
		k.kind = tComma
	default:
		return n, false
	}
	return n, true
}

// meaning tells what a word stands for.
func meaning(word string, k *token) {
	var buf [16]byte
	if len(word) > len(buf) {
		k.kind = tWord
		return
	}
	b := buf[:copy(buf[:], word)]
	for i, c := range b {
		if c >= 'A' && c <= 'Z' {
			b[i] = c + 'a' - 'A'
		}
	}
	k.single = len(b) == 1
	switch string(b) {
	case "n", "north", "nord", "noord", "norte", "nb", "nbr", "noorderbreedte", "norr", "nördliche", "nördlicher", "noorderlijke", "nordlig", "nordlige", "northern":
		k.kind, k.letter = tHemisphere, 'N'
	case "s", "south", "süd", "sued", "sud", "zuid", "z", "zb", "syd", "sur", "söder", "zuiderbreedte", "südliche", "südlicher", "zuidelijke", "sydlig", "sydlige", "southern":
		k.kind, k.letter = tHemisphere, 'S'
	case "e", "east", "ost", "oost", "est", "öst", "øst", "ö", "ø", "Ö", "Ø", "Öst", "Øst", "este", "ol", "oosterlengte", "öster", "östliche", "östlicher", "öl", "oostelijke", "østlig", "østlige", "östlig", "östliga", "eastern":
		k.kind, k.letter = tHemisphere, 'E'
	case "w", "west", "ouest", "oeste", "ovest", "vest", "väst", "v", "wl", "westerlengte", "väster", "westliche", "westlicher", "westelijke", "vestlig", "vestlige", "västlig", "västliga", "western":
		k.kind, k.letter = tHemisphere, 'W'
	case "o":
		k.kind, k.letter = tHemisphere, 'O'
	case "lat", "latitude", "breite", "breitengrad", "breedte", "breedtegraad", "bredde", "breddegrad", "latitud", "br", "bredd", "breddgrad":
		k.kind = tLatitude
	case "lon", "long", "lng", "longitude", "länge", "Länge", "laenge", "längengrad", "lengte", "lengtegraad", "længde", "længdegrad",
		"longitud", "längd", "längdgrad", "l":
		k.kind = tLongitude
	case "d", "deg", "degs", "degree", "degrees", "grad", "graden", "grader":
		k.kind = tDegree
	case "min", "mins", "minute", "minutes", "minuten":
		k.kind = tMinute
	case "sec", "secs", "second", "seconds", "sekunden", "sek":
		k.kind = tSecond
	case "easting", "eastings", "me", "rechtswert", "rechts", "r", "oosting", "ostwert":
		k.kind = tEasting
	case "northing", "northings", "mn", "hochwert", "hoch", "h", "noording", "nordwert":
		k.kind = tNorthing
	case "x":
		k.kind = tX
	case "y":
		k.kind = tY
	case "m", "metre", "metres", "meter", "meters":
		k.kind = tMetre
	case "utm", "zone":
		k.kind = tZone
	default:
		k.kind = tWord
		if len(b) == 1 {
			k.kind = tLetter
		}
	}
	if k.single && k.letter == 0 || k.single && k.kind != tHemisphere {
		k.letter = b[0] - 'a' + 'A'
	}
}

// decimalCommas turns the commas that are decimal signs into points, in place, where the text leaves no doubt.
func decimalCommas(s string) (string, *Error) {
	var at [8]int
	n, groups, letters, points := 0, 0, false, false
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c-'0' <= 9:
			if i == 0 || s[i-1]-'0' > 9 {
				groups++
			}
		case c == ',' && i > 0 && i+1 < len(s) && s[i-1]-'0' <= 9 && s[i+1]-'0' <= 9:
			if n == len(at) {
				return s, nil
			}
			at[n] = i
			n++
		case c == '.' && i > 0 && i+1 < len(s) && s[i-1]-'0' <= 9 && s[i+1]-'0' <= 9:
			points = true
		case isLetter(c) || c == '\'' || c == '"':
			letters = true
		case c == ':':
			// the comma in 33:18,44:24 parts two coordinates
			if n > 0 && allDigits(s[at[n-1]+1:i]) {
				return s, nil
			}
		}
	}
	if n == 0 || points {
		return s, nil
	}
	const help = "write decimals with a point, and a comma with a blank between latitude and longitude"
	if !letters {
		switch {
		case n == 1 && groups == 2:
			if at[0] >= 4 && allDigits(s[:at[0]]) {
				return s, nil
			}
			return s, fault(s, "comma-ambiguous", "this comma may be a decimal sign or may part latitude from longitude", help,
				s[:at[0]]+", "+s[at[0]+1:])
		case n == 1 && groups%2 == 0:
			return s, nil
		case n == 2 && groups == 3:
			return s, fault(s, "comma-ambiguous", "these commas may be decimal signs or may part the numbers", help)
		case n == 3 && groups == 4:
			b, d := s[at[0]+1:at[1]], s[at[2]+1:]
			if len(b) <= 2 && b < "60" || !allDigits(d) || len(d) <= 2 && d < "60" {
				return s, fault(s, "comma-ambiguous", "these commas may be decimal signs or may part degrees and minutes", help,
					s[:at[0]]+"."+b+", "+s[at[1]+1:at[2]]+"."+d)
			}
			at[1] = at[2]
			n = 2
		case n > 3:
			return s, nil
		}
	}
	b := []byte(s)
	for _, i := range at[:n] {
		b[i] = '.'
	}
	return string(b), nil
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i]-'0' > 9 {
			return false
		}
	}
	return s != ""
}
