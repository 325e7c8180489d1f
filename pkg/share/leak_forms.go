package share

import (
	"encoding/binary"
	"iter"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
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
	{kind: "file-path", all: true,
		like: later(`\b[A-Za-z]:[\\/][\w.~-]|file://|\\\\\w+\\\w|(?:^|[\s'(=])(?:~/\w|/(?:home|Users|mnt|Volumes|storage|` +
			`sdcard)/\w|/media/[a-z][\w-]*/)`)},
	{kind: "phone", all: true, meant: func(s string) bool { return countDigits(s) >= 6 },
		like: later(`\b0[1-9](?:[ .]\d{2}){4}\b|\b07\d{3} ?\d{3} ?\d{3}\b|\b0[1-3]\d{3} \d{6}\b|\+\d{2} ?(?:\(0\) ` +
			`?)?[1-9][\d ()./-]{6,14}\d\b|(?i:\b(?:tel|tél|tlf|phone|mob|mobile|mobil|handy|call|ring|rang|whatsapp|telefon|` +
			`telephone|téléphone)\b)\W{0,3}(?:(?i:me|him|her|us|them|the|on|at|is|ist|est|er|är|no|nr|nummer|number|farmer|` +
			`owner)\W{1,3}){0,3}[+\d][\d ()./-]{4,15}\d\b`)},
	{kind: "phone",
		like: later(`(?:\+|\b00)[1-9][\d ()./-]{6,16}\d\b|\b0[1-9][\d ()/-]{7,14}\d\b|\b0[1-9](?:\.\d{2}){4}\b|\(\d{3}\) ` +
			`?\d{3}-\d{4}\b|\b\d{3}-\d{3}-\d{4}\b`), meant: func(s string) bool {
			return countDigits(s) >= 6 && !strings.Contains(s, "  ")
		}},
	{kind: "grid-reference", meant: namesSpot,
		like: later(`\b[A-HJ-Z]{2} ?(?:\d{3} ?\d{3}|\d{4} ?\d{4}|\d{5} ?\d{5})\b|\b\d{1,2}[C-X] ?[A-Z]{2} ?(?:\d{3} ?\d{3}|` +
			`\d{4} ?\d{4}|\d{5} ?\d{5})\b`)},
	{kind: "position", meant: namesSpot, like: later(`-?\b\d{1,2}\.\d{4,}[°NSns]? +-?\d{1,3}\.\d{4,}\b`)},
	{kind: "position", like: later(`\d{1,3}\s?[°º˚]\s?\d{1,2}(?:[.,]\d+\s?['′’]?|\s?['′’])`)}, // an angle
	{kind: "grid-reference", like: glued},
	{kind: "postcode", meant: isPostcode,
		like: later(`(?i:\b[a-z]{1,2}\d[a-z\d]? ?\d[abd-hjlnp-uw-z]{2}\b)|\b[A-Z] ?[A-Z]? ?\d{1,2} ?[A-Z]? ?\d ` +
			`?[ABD-HJLNP-UW-Z] ?[ABD-HJLNP-UW-Z]\b|\b[1-9]\d{3} ?[A-Z]{2}\b|\b[AC-FHKNPRTV-Y]\d[\dW] ?[\dAC-FHKNPRTV-Y]{4}\b|` +
			`\b(?:D|F|DE|FR|IT|ES)-\d{5}\b|\b(?:CH|DK|AT|BE|NO|NL)-\d{4}\b|\bSE?-\d{3} ?\d{2}\b|\b(?:\d{5}|\d{3} \d{2}) ` +
			`\p{Lu}\p{Ll}{2,}`)},
	{kind: "plate",
		like: later(`\b[A-Z]{2}\d{2} ?[A-Z]{3}\b|\b[A-ZÄÖÜ]{1,3}-[A-Z]{1,2} ?\d{1,4}\b|\b\d{2}-[A-Z]{2}-[A-Z]{2}\b|` +
			`\b[A-Z]{2}-\d{2}-[A-Z]{2}\b|\b\d{1,2}-[A-Z]{2,3}-\d{1,2}\b|\b[A-Z]{1,2}-\d{3}-[A-Z]{1,2}\b|\b\d-[A-Z]{3}-\d{3}\b|` +
			`\b\d{2,3}-[A-Z]{1,2}-\d{1,6}\b|\b[A-Z]{2} \d{2} \d{3}\b`)},
}

// glued are figures as words without a blank between them.
var glued = later(`(?i)(?:zero|one|two|three|four|five|six|seven|eight|nine){3,}`)

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
		cell := text[from:to]
		_, quiet := s.quiet.cells[cell]
		if !quiet && (digits >= 2 || telling || to-from >= 9 && s.audience.coarse() && glued().MatchString(cell)) {
			s.formsIn(cell, from, told, add)
		}
		if !quiet && len(told) == 0 && len(cell) >= 9 && len(cell) < 100 {
			remember(&s.quiet.cells, cell, "")
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

// stamped are UUIDs in their usual form (RFC 9562 section 4), the local ids of a copy and SHA-256 sums in hexadecimal
// digits, and days and spans of months in the form of ISO 8601. By chance the digits of an id may be a telephone
// number.
var stamped = later(`([0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})|(\b(?:person|permission|outing|` +
	`picture)-[0-9a-f]{12}\b|` +
	`\b[0-9a-fA-F]{64}\b)|` +
	`(\d{4}-\d{2}/\d{4}-\d{2}|\b\d{4}-\d{2}-\d{2}(?:T[\dA-Za-z:.+-]*)?)`)

// fixedOf returns from and to of every id, sum and stamp in a text.
func fixedOf(text string) (ids, sums, stamps [][2]int) {
	for from, to := range runs(text, 10, ":.+/-_") { // none is shorter, or has another sign in it
		if run := text[from:to]; strings.IndexByte(run, '-') < 0 && len(run) < 64 {
			continue
		}
		for _, m := range stamped().FindAllStringSubmatchIndex(text[from:to], -1) {
			at := [2]int{from + m[0], from + m[1]}
			switch {
			case m[2] >= 0:
				ids = append(ids, at)
			case m[4] >= 0:
				sums = append(sums, at)
			default:
				stamps = append(stamps, at)
			}
		}
	}
	return ids, sums, stamps
}

// runs yields from and to of each run of letters and digits of ASCII and some signs in a text, from so many bytes on.
// To look only there is many times quicker than to let an expression go through the whole.
func runs(text string, least int, signs string) iter.Seq2[int, int] {
	var in [256]bool
	for c := range in {
		in[c] = c >= '0' && c <= '9' || c|0x20 >= 'a' && c|0x20 <= 'z' || strings.IndexByte(signs, byte(c)) >= 0
	}
	return func(yield func(int, int) bool) {
		for i := 0; i < len(text); i++ {
			from := i
			for i < len(text) && in[text[i]] {
				i++
			}
			if i-from >= least && !yield(from, i) {
				return
			}
		}
	}
}

// blank puts blanks in the place of stretches of a text, so that offsets stay.
func blank(text string, lists ...[][2]int) string {
	var out []byte
	for _, list := range lists {
		for _, m := range list {
			if out == nil {
				out = []byte(text)
			}
			for i := m[0]; i < m[1]; i++ {
				out[i] = ' '
			}
		}
	}
	if out == nil {
		return text
	}
	return string(out)
}

// plain is the text of a file in UTF-8. A file in UTF-16 that says so is turned into it.
func plain(raw []byte) string {
	var order binary.ByteOrder
	switch {
	case len(raw) >= 2 && raw[0] == 0xff && raw[1] == 0xfe:
		order = binary.LittleEndian
	case len(raw) >= 2 && raw[0] == 0xfe && raw[1] == 0xff:
		order = binary.BigEndian
	default:
		return strings.TrimPrefix(string(raw), "\ufeff")
	}
	wide := make([]uint16, 0, len(raw)/2)
	for i := 2; i+1 < len(raw); i += 2 {
		wide = append(wide, order.Uint16(raw[i:]))
	}
	return string(utf16.Decode(wide))
}

// unescaped undoes the escapes of JSON strings (RFC 8259 section 7) wherever they stand.
func unescaped(text string) string {
	if !strings.Contains(text, `\`) {
		return text
	}
	return escapes().ReplaceAllStringFunc(text, func(run string) string {
		var plain string
		if json.Unmarshal([]byte(`"`+run+`"`), &plain, jsontext.AllowInvalidUTF8(true)) != nil {
			return run[1:]
		}
		return strings.Map(func(r rune) rune {
			if r < ' ' {
				return ' '
			}
			return r
		}, plain)
	})
}

var escapes = later(`(?s)(?:\\u[0-9a-fA-F]{4})+|\\.`)

// nearest returns the position that is nearest to a point, within metres of it.
func nearest(list []place, p coordinate.Point, metres float64) (best place, ok bool) {
	slack := metres / 110_000 // a degree of latitude is longer than that
	for _, x := range within2(list, p.Latitude-slack, p.Latitude+slack) {
		if far := coordinate.Distance(p, x.point); far < metres {
			best, metres, ok = x, far, true
		}
	}
	return best, ok
}

// A piece is a stretch of a text without blanks that may be part of a position.
type piece struct {
	at, to int
	digits int  // in it
	ends   bool // a position may end with it
}

// wayWords may stand within a position beside figures; package coordinate knows which mean what.
var wayWords = func() map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(`north south east west northing easting northings eastings latitude longitude nord sud süd est ouest noord zuid oost west syd öst väst øst vest
 breite länge rechtswert hochwert breedte lengte largeur latitud longitud zone utm mgrs utmref wgs epsg geo osgb osgb36 etrs etrs89 itm rd lambert sweref deg min sec grad minuten sekunden rechts hoch`) {
		out[w] = true
	}
	return out
}()

// piecesOf takes a text apart into stretches that may be part of a position. What cannot be ends a
// row of them and is left out.
func piecesOf(text string) (rows [][]piece) {
	var row []piece
	end := func() {
		if len(row) > 0 {
			rows = append(rows, row)
			row = nil
		}
	}
	last := 0
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		if !pieceRune(r) {
			i += size
			continue
		}
		p := piece{at: i}
		letters := 0
		for i < len(text) {
			r, size = utf8.DecodeRuneInString(text[i:])
			if !pieceRune(r) {
				break
			}
			switch {
			case r >= '0' && r <= '9':
				p.digits++
			case unicode.IsLetter(r):
				letters++
			}
			i += size
		}
		p.to = i
		if p.at-last > 3 {
			end()
		}
		last = p.to
		if p.digits == 0 && letters > 3 && !wayWords[strings.ToLower(strings.Trim(text[p.at:p.to], `.,'":`))] {
			end()
			continue
		}
		p.ends = p.digits > 0 || letters > 0
		row = append(row, p)
	}
	end()
	return rows
}

func pieceRune(r rune) bool {
	if r < utf8.RuneSelf {
		return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || strings.IndexByte(`.,'"+-`,
			byte(r)) >= 0
	}
	return unicode.IsLetter(r) || strings.ContainsRune("°º˚′″’´”", r)
}

// Bounds of a spelling: pieces and bytes, and the digits it needs to tell anything.
const (
	mostPieces   = 8
	mostBytes    = 60
	fewestDigits = 4
)

// spellings reads every run of words that could be a position, in any spelling that package
// coordinate knows, and compares it with the positions of the source.
func (s *secrets) spellings(text string, add func(kind, member string, at, to int)) {
	type reading struct {
		member string
		own    bool
	}
	read := map[string]reading{} // runs to what they tell: a log says many things twice
	for _, row := range piecesOf(text) {
		for i := range row {
			if s.stopped() {
				return
			}
			digits, told, to := 0, "", 0
			for j := i; j < len(row) && j < i+mostPieces && row[j].to-row[i].at <= mostBytes; j++ {
				if digits += row[j].digits; digits < fewestDigits || !row[j].ends {
					continue
				}
				run := strings.Trim(text[row[i].at:row[j].to], `"',`)
				r, known := read[run]
				if !known {
					r.member, r.own = s.spelt(run)
					read[run] = r
				}
				switch {
				case r.own:
					told = "" // the shorter run was the beginning of a spot that is shown
				case told == "" || r.member != "":
					told, to = r.member, row[j].to
				}
			}
			if told != "" {
				add("grid-reference", told, row[i].at, to)
			}
		}
	}
}

// spelt reads a run and returns the member of the position that it tells, empty for none, and whether it is a spot that
// the copy shows.
func (s *secrets) spelt(run string) (member string, own bool) {
	if len(run) < 5 || s.allowedRun(run) {
		return "", false
	}
	r, err := coordinate.Normalise(run, coordinate.Options{})
	if err != nil || r.Absent != "" || r.Uncertainty > nearPublic {
		return "", false
	}
	near := s.near
	if s.places {
		near = nearOwner + r.Uncertainty
		_, own = nearest(s.shownAt, r.Point, near)
	} else if _, shown := nearest(s.shownAt, r.Point, near); shown {
		return "", false
	}
	x, ok := nearest(s.points, r.Point, near)
	if !ok || own && s.own([2]float64{r.Point.Latitude, math.Abs(r.Point.Longitude)}, x.point) {
		return "", own
	}
	return s.memberOf(x.of), false
}

// allowedRun tells a run made only of figures that the copy gives as its own.
func (s *secrets) allowedRun(run string) bool {
	for _, w := range strings.FieldsFunc(run, func(r rune) bool { return r == ' ' || r == ',' }) {
		if !s.allowed(w) {
			return false
		}
	}
	return true
}
