package share

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// A form is a sort of thing that is known by how it is written. The forms of several countries are
// common practice, no source.
type form struct {
	kind  string
	like  func() *regexp.Regexp
	all   bool              // looked for in copies for every audience but the finder's own
	meant func(string) bool // sorts out what only looks like it; nil: all is meant
}

var forms = []form{
	{kind: "email", all: true, like: later(`[\pL\d._%+-]+@[\pL\d-]+(?:\.[\pL\d-]+)*\.\pL{2,}`)},
	// A pointer such as /media/view is no path.
	{kind: "file-path", all: true, like: later(`\b[A-Za-z]:[\\/][\w.~-]|file://|\\\\\w+\\\w|(?:^|[\s'(=])(?:~/\w|/(?:home|Users|mnt|Volumes|storage|sdcard)/\w|/media/[a-z][\w-]*/)`)},
	{kind: "phone", all: true, meant: func(s string) bool { return countDigits(s) >= 6 },
		like: later(`\b0[1-9](?:[ .]\d{2}){4}\b|\b07\d{3} ?\d{3} ?\d{3}\b|\+\d{2} ?(?:\(0\) ?)?[1-9][\d ()./-]{6,14}\d\b|(?i:\b(?:tel|tél|tlf|phone|mob|mobile|mobil|handy|call|ring|rang|whatsapp|telefon|telephone|téléphone)\b)\W{0,3}(?:(?i:me|him|her|us|them|the|on|at|no|nr|nummer|number|farmer|owner)\W{1,3}){0,3}[+\d][\d ()./-]{4,15}\d\b`)},
	{kind: "phone", like: later(`(?:\+|\b00)[1-9][\d ()./-]{6,16}\d\b|\b0[1-9][\d ()/-]{7,14}\d\b|\b0[1-9](?:\.\d{2}){4}\b|\(\d{3}\) ?\d{3}-\d{4}\b|\b\d{3}-\d{3}-\d{4}\b`),
		meant: func(s string) bool { return countDigits(s) >= 6 && !strings.Contains(s, "  ") }},
	{kind: "grid-reference", meant: namesSpot,
		like: later(`\b[A-HJ-Z]{2} ?(?:\d{3} ?\d{3}|\d{4} ?\d{4}|\d{5} ?\d{5})\b|\b\d{1,2}[C-X] ?[A-Z]{2} ?(?:\d{3} ?\d{3}|\d{4} ?\d{4}|\d{5} ?\d{5})\b`)},
	{kind: "position", meant: namesSpot, like: later(`-?\b\d{1,2}\.\d{4,}[°NSns]? +-?\d{1,3}\.\d{4,}\b`)},
	{kind: "position", like: later(`\d{1,3}\s?[°º˚]\s?\d{1,2}(?:[.,]\d+\s?['′’]?|\s?['′’])`)}, // an angle
	{kind: "grid-reference", like: glued},
	{kind: "postcode", meant: isPostcode, like: later(`(?i:\b[a-z]{1,2}\d[a-z\d]? ?\d[abd-hjlnp-uw-z]{2}\b)|\b[A-Z] ?[A-Z]? ?\d{1,2} ?[A-Z]? ?\d ?[ABD-HJLNP-UW-Z] ?[ABD-HJLNP-UW-Z]\b|\b[1-9]\d{3} ?[A-Z]{2}\b|\b[AC-FHKNPRTV-Y]\d[\dW] ?[\dAC-FHKNPRTV-Y]{4}\b|\b(?:D|F|DE|FR|IT|ES)-\d{5}\b|\b(?:CH|DK|AT|BE|NO|NL)-\d{4}\b|\bSE?-\d{3} ?\d{2}\b|\b(?:\d{5}|\d{3} \d{2}) \p{Lu}\p{Ll}{2,}`)},
	{kind: "plate", like: later(`\b[A-Z]{2}\d{2} ?[A-Z]{3}\b|\b[A-ZÄÖÜ]{1,3}-[A-Z]{1,2} ?\d{1,4}\b|\b\d{2}-[A-Z]{2}-[A-Z]{2}\b|\b[A-Z]{2}-\d{2}-[A-Z]{2}\b|\b\d{1,2}-[A-Z]{2,3}-\d{1,2}\b|\b[A-Z]{1,2}-\d{3}-[A-Z]{1,2}\b|\b\d-[A-Z]{3}-\d{3}\b|\b\d{2,3}-[A-Z]{1,2}-\d{1,6}\b|\b[A-Z]{2} \d{2} \d{3}\b`)},
}

// webAddress is not looked into for phones and the like.
var webAddress = later(`https?://[^\s"<]+`)

// byForm looks for what is known by its form: a person or place of which the source has no record.
// None of the forms goes across marks of structure, so that a text is looked through cell by cell.
func (s *secrets) byForm(text string, add func(kind, member string, at, to int)) {
	told := map[string]bool{}
	for from := 0; from < len(text) && !s.stopped(); {
		to := from
		digits, telling := 0, false
		for to < len(text) && !parts(text[to]) {
			switch c := text[to]; {
			case c >= '0' && c <= '9':
				digits++
			case c == '@', c == '\\', c == '/', c == '~':
				telling = true
			}
			to++
		}
		if digits >= 2 || telling || to-from >= 9 && s.audience.coarse() && glued().MatchString(text[from:to]) {
			s.formsIn(text[from:to], from, told, add)
		}
		from = to + 1
	}
}

// parts tells a mark of structure: of JSON, of XML, of a table.
func parts(c byte) bool {
	switch c {
	case '"', '{', '}', '[', ']', '<', '>', ',', ';', '\t', '\n', '\r':
		return true
	}
	return false
}

// formsIn looks through one cell. Numbers of finds that the copy keeps may look like anything.
func (s *secrets) formsIn(cell string, at int, told map[string]bool, add func(kind, member string, at, to int)) {
	if figure(cell) {
		return
	}
	if strings.Contains(cell, "://") {
		var web [][2]int
		for _, m := range webAddress().FindAllStringIndex(cell, -1) {
			web = append(web, [2]int{m[0], m[1]})
		}
		cell = blank(cell, web)
	}
	for _, f := range forms {
		if told[f.kind] || !f.all && !s.audience.coarse() {
			continue
		}
		for from := 0; from < len(cell); {
			m := f.like().FindStringIndex(cell[from:])
			if m == nil {
				break
			}
			what := cell[from+m[0] : from+m[1]]
			if (f.meant == nil || f.meant(what)) && !s.shown[hash('n', what)] && !s.shown[hash('n', cell)] && !s.agreed(what) {
				told[f.kind] = true
				add(f.kind, "", at+from+m[0], at+from+m[1])
				break
			}
			from += m[1]
		}
	}
}

// agreed reports whether a text is of a contact that the audience may have.
func (s *secrets) agreed(what string) bool {
	what = strings.ToLower(strings.TrimSpace(what))
	return len(what) > 4 && slices.ContainsFunc(s.contacts, func(c string) bool { return strings.Contains(c, what) })
}

// figure tells a cell that holds one plain number and nothing else, and no number to dial.
func figure(cell string) bool {
	cell = strings.Trim(cell, " :-")
	for i := range len(cell) {
		if c := cell[i]; (c < '0' || c > '9') && c != '.' {
			return false
		}
	}
	return !strings.HasPrefix(cell, "0") || strings.HasPrefix(cell, "0.") || len(cell) < 9
}

func countDigits(s string) (n int) {
	for i := range len(s) {
		if s[i] >= '0' && s[i] <= '9' {
			n++
		}
	}
	return n
}

// isPostcode sorts out years with an era and figures with a unit or a word behind them, and asks
// for both letters and digits in the second half of a code of seven.
func isPostcode(s string) bool {
	switch strings.ToLower(s[len(s)-2:]) {
	case "nd", "rd", "th", "st", "ft", "gr", "pt", "pl", "dr":
		return false
	}
	word := strings.TrimLeft(s, "0123456789 ")
	switch word {
	case "AD", "BC", "CE", "MM", "CM", "KM", "IN", "FT", "KG", "OZ", "GR", "AM", "PM", "SA", "SD", "SS":
		return false
	}
	if len(s) >= 7 && unicode.IsLetter(rune(s[0])) && s[1] >= '0' && s[1] <= '9' && !strings.Contains(s, "-") {
		tail := s[len(s)-4:]
		if half := strings.TrimSpace(s[:len(s)-4]); len(half) == 3 {
			return strings.ContainsAny(tail, "0123456789") && strings.ContainsFunc(tail, unicode.IsLetter)
		}
	}
	return true
}
